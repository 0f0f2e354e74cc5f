/* `bladegap fmu ENGINE --out FILE.fmu`: an engine as a unit for other people's simulations. */
#include "car/engine_check.h"
#include "commands/command.h"
#include "commands/engine_any.h"
#include "commands/engine_options.h"
#include "io/config/data_folder.h"
#include "io/format/json.h"
#include "io/format/output_file.h"
#include "io/picture/picture_area.h"
#include "io/unit/unit_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char *const version_names[] = {"2", "3", NULL};

static const struct option_row fmu_options[] = {
    OPTION_ROW_TEXT("out", "FILE", "write the unit there; NAME.fmu of the engine by default"),
    OPTION_ROW_CHOICE("version", "2|3", version_names, "of FMI: 2 (2.0) or 3 (3.0, by default)"),
    OPTION_ROW_TEXTS("set", "NAME=VALUE",
                     "a number of the engine file (idle_air.learned_most_pct=20); may be given several times"),
    ENGINE_OPTIONS_SCALE_ROW,
};

enum { PATH_SIZE = OUTPUT_FILE_PATH_SIZE };

/* The first that is there of NAME in the folders of data and the places seen from them. */
static enum status find_part(const char *const *names, const char *what, char path[PATH_SIZE], struct error *error) {
  char folder[DATA_FOLDER_PATH_SIZE];
  for (size_t i = 0; data_folder_base(i, folder); i++)
    for (size_t k = 0; *folder && names[k]; k++)
      if (snprintf(path, PATH_SIZE, "%s/%s", folder, names[k]) < PATH_SIZE && access(path, R_OK) == 0) return STATUS_OK;
  return error_set(error, STATUS_NO_INPUT,
                   "%s of the unit is missing: it is built and installed with the program (cmake --build, --install)", what);
}

/* What the blade leaves open, clean and with films; false without gnuplot. */
static bool draw_gap(const struct engine *engine, const char *path) {
  const struct picture_area area = {
      .bore = &engine->plant.throttle.bore,
      .shape = &engine->plant.throttle.film_shape,
      .largest_film_m = 60e-6,
      .title = "What the blade leaves open",
      .engine_title = engine->title,
      .on_a_screw = engine->plant.throttle.kind == THROTTLE_CABLE,
  };
  const struct picture_target target = {.format = PICTURE_png, .path = path};
  struct error error;
  error_clear(&error);
  return picture_area_draw(&area, &target, &error) == STATUS_OK;
}

static enum status write_unit(const struct command_line *line, struct unit_file *unit, const char *out, struct error *error) {
  static const char *const objects[] = {"unit/bladegap.so", "../../" BLADEGAP_UNIT_FOLDER "/bladegap.so", NULL};
  static const char *const sources[] = {"unit/sources", NULL};
  char object[PATH_SIZE], source[PATH_SIZE], picture[] = "/tmp/bladegap-XXXXXX.png";
  enum status status = find_part(objects, "the shared object", object, error);
  if (status == STATUS_OK) status = find_part(sources, "the source", source, error);
  if (status != STATUS_OK) return status;
  const int made = mkstemps(picture, 4);
  if (made >= 0) close(made);
  const bool drawn = made >= 0 && draw_gap(unit->engine, picture);
  if (!drawn && !line->quiet) fputs("bladegap: the unit was written without its picture: gnuplot did not draw it\n", stderr);
  unit->object = object;
  unit->sources = source;
  unit->picture = drawn ? picture : NULL;
  status = unit_file_write(unit, out, error);
  unit->object = unit->sources = unit->picture = NULL; // they stood on this stack
  if (made >= 0) unlink(picture);
  return status;
}

static enum status print_unit(const struct command_line *line, const struct unit_file *unit, const char *out,
                              struct error *error) {
  if (!line->json) {
    if (!line->quiet)
      printf("%s: %s, FMI %d.0 for co-simulation, in steps of whole 10 ms\n", out, unit->engine->title, unit->version);
    return STATUS_OK;
  }
  struct json *json = json_create();
  json_put_text(json, "file", out);
  json_put_text(json, "engine", unit->engine->name);
  json_put_count(json, "version", unit->version);
  const enum status status = json_print(json, stdout, error);
  json_destroy(json);
  return status;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct engine *engine = calloc(1, sizeof *engine);
  if (!engine) return error_set(error, STATUS_NO_MEMORY, "out of memory for an engine");
  char name[PATH_SIZE];
  enum status status = engine_any_read(line->operands[0], engine, error);
  if (status == STATUS_OK) status = engine_options_apply(line, engine, NULL, error);
  if (status == STATUS_OK) status = engine_check(engine, error);
  snprintf(name, sizeof name, "%s.fmu", engine->name);
  const char *out = options_text(line, "out", name);
  struct unit_file unit = {.engine = engine, .version = 2 + options_choice(line, "version", 1), .program = BLADEGAP_VERSION};
  if (status == STATUS_OK) status = write_unit(line, &unit, out, error);
  if (status == STATUS_OK) status = print_unit(line, &unit, out, error);
  free(engine);
  return status;
}

const struct command command_fmu = {
    .name = "fmu",
    .text = "writes an engine as a unit for other simulations (FMI, co-simulation)",
    .operands = "ENGINE",
    .operand_least = 1,
    .operand_most = 1,
    .options = fmu_options,
    .option_count = ARRAY_COUNT(fmu_options),
    .run = run,
    .details = "The unit contains the engine, a shared object for Linux on x86-64, its sources, a page about its variables and a "
               "picture. It needs no compiler and no other file. Inputs are the conditions of bladegap list faults "
               "(set.film_um), the key and what a scan tool does; outputs the channels of bladegap list channels and the fault "
               "codes; parameters the numbers of the engine file. See docs/fmu.md.\n\n  bladegap fmu four-16 --out four-16.fmu\n "
               " bladegap fmu models/six-30.cfg --version 2 --set idle_air.learned_most_pct=20 --out six.fmu",
};
