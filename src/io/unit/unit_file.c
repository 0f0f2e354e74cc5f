#include "io/unit/unit_file.h"

#include "analysis/unit/unit.h"
#include "fmu/resource.h"
#include "io/unit/unit_text.h"
#include "io/unit/zip_file.h"

#include <dirent.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- Which variables: an output that is no number on this engine is not there ---- */

static enum status fill(const struct engine *engine, struct unit *unit, struct unit_list *list, struct error *error) {
  struct unit_variable variable;
  for (uint32_t i = 0; unit_variable_at(i, &variable); i++) {
    if (!unit_variable_fits(&variable, engine)) continue;
    if (variable.role == UNIT_OUTPUT && variable.type == UNIT_REAL) {
      double value;
      const enum status status = unit_get(unit, i, UNIT_REAL, &value, error);
      if (status != STATUS_OK) return status;
      if (isnan(value)) continue;
    }
    if (variable.kind == UNIT_KIND_PARAMETER) {
      variable.start = unit_variable_parameter(&variable, engine);
      if (variable.start < variable.min || variable.start > variable.max) continue; // nothing that this engine has
    }
    list->items[list->count++] = variable;
  }
  return STATUS_OK;
}

static enum status find_variables(const struct engine *engine, struct unit_list *list, struct error *error) {
  struct unit *unit = NULL;
  list->count = 0;
  list->items = malloc(unit_variable_count() * sizeof *list->items);
  enum status status =
      list->items ? unit_create(engine, &unit, error) : error_set(error, STATUS_NO_MEMORY, "out of memory for a unit");
  if (status == STATUS_OK) status = unit_begin(unit, error);
  if (status == STATUS_OK) status = unit_step(unit, 1, error);
  if (status == STATUS_OK) status = fill(engine, unit, list, error);
  unit_destroy(unit);
  return status;
}

/* ---- Sources ---- */

static const char *const folders[] = {"base", "physics", "plant",           "control",       "solver",
                                      "car",  "sim",     "analysis/settle", "analysis/unit", "fmu"};
enum { FOLDER_COUNT = sizeof folders / sizeof folders[0], SOURCES_MOST = 400, NAME_SIZE = 320 };

struct sources {
  size_t count;
  char names[SOURCES_MOST][NAME_SIZE];    // all files
  const char *compiled[SOURCES_MOST + 1]; // of them, NULL after the last
};

static int is_source(const struct dirent *entry) {
  const size_t size = strlen(entry->d_name);
  return size > 2 && (strcmp(entry->d_name + size - 2, ".c") == 0 || strcmp(entry->d_name + size - 2, ".h") == 0) &&
         strcmp(entry->d_name, "solver_cvode.c") != 0;
}

static enum status find_sources(const char *root, int version, struct sources *sources, struct error *error) {
  size_t compiled = 0;
  sources->count = 0;
  for (int i = 0; i < FOLDER_COUNT; i++) {
    char folder[OUTPUT_FILE_PATH_SIZE];
    struct dirent **entries;
    snprintf(folder, sizeof folder, "%s/%s", root, folders[i]);
    const int count = scandir(folder, &entries, is_source, alphasort);
    if (count < 0) return error_set(error, STATUS_NO_INPUT, "%s: the unit's sources belong there", folder);
    for (int k = 0; k < count; k++) {
      const char *name = entries[k]->d_name;
      // Each version's calls are that version's only: names of the other would be exported too.
      const bool other = i == FOLDER_COUNT - 1 && strncmp(name, version == 2 ? "fmi3" : "fmi2", 4) == 0;
      if (!other && sources->count < SOURCES_MOST) {
        char *full = sources->names[sources->count++];
        snprintf(full, NAME_SIZE, "%s/%s", folders[i], name);
        if (name[strlen(name) - 1] == 'c') sources->compiled[compiled++] = full;
      }
      free(entries[k]);
    }
    free(entries);
  }
  sources->compiled[compiled] = NULL;
  return STATUS_OK;
}

/* ---- The archive ---- */

typedef void (*writer)(const struct unit_file *unit, const struct unit_list *list, const char *const *sources, FILE *stream);

static void write_build(const struct unit_file *unit, const struct unit_list *list, const char *const *sources, FILE *stream) {
  (void)unit, (void)list;
  unit_text_build(sources, stream);
}
static void write_page(const struct unit_file *unit, const struct unit_list *list, const char *const *sources, FILE *stream) {
  (void)sources;
  unit_text_page(unit, list, stream);
}
static void write_engine(const struct unit_file *unit, const struct unit_list *list, const char *const *sources, FILE *stream) {
  (void)list, (void)sources;
  resource_write(unit->engine, stream);
}

static enum status add_text(struct zip_file *zip, const char *name, writer write, const struct unit_file *unit,
                            const struct unit_list *list, const char *const *sources, struct error *error) {
  char *text = NULL;
  size_t size = 0;
  FILE *stream = open_memstream(&text, &size);
  if (!stream) return error_set(error, STATUS_NO_MEMORY, "out of memory for %s", name);
  write(unit, list, sources, stream);
  fclose(stream);
  zip_file_add(zip, name, text, size);
  free(text);
  return STATUS_OK;
}

static enum status add_sources(struct zip_file *zip, const char *root, const struct sources *sources, struct error *error) {
  enum status status = STATUS_OK;
  for (size_t i = 0; i < sources->count && status == STATUS_OK; i++) {
    char name[NAME_SIZE + 16], path[OUTPUT_FILE_PATH_SIZE];
    snprintf(name, sizeof name, "sources/%s", sources->names[i]);
    if (snprintf(path, sizeof path, "%s/%s", root, sources->names[i]) < (int)sizeof path)
      status = zip_file_add_file(zip, name, path, error);
  }
  return status;
}

static enum status fill_archive(struct zip_file *zip, const struct unit_file *unit, const struct unit_list *list,
                                const struct sources *sources, struct error *error) {
  const char *const *compiled = sources->compiled;
  const bool old = unit->version == 2;
  enum status status = add_text(zip, "modelDescription.xml", unit_text_describe, unit, list, compiled, error);
  if (status == STATUS_OK) status = add_text(zip, "resources/" RESOURCE_NAME, write_engine, unit, list, compiled, error);
  if (status == STATUS_OK) status = add_text(zip, "documentation/index.html", write_page, unit, list, compiled, error);
  if (status == STATUS_OK && !old)
    status = add_text(zip, "sources/buildDescription.xml", write_build, unit, list, compiled, error);
  if (status == STATUS_OK && unit->picture)
    status = zip_file_add_file(zip, old ? "model.png" : "documentation/diagram.png", unit->picture, error);
  if (status == STATUS_OK)
    status = zip_file_add_file(
        zip, old ? "binaries/linux64/" UNIT_INPUT_IDENTIFIER ".so" : "binaries/x86_64-linux/" UNIT_INPUT_IDENTIFIER ".so",
        unit->object, error);
  return status == STATUS_OK ? add_sources(zip, unit->sources, sources, error) : status;
}

enum status unit_file_write(const struct unit_file *unit, const char *path, struct error *error) {
  struct unit_list list = {0};
  struct zip_file zip;
  struct sources *sources = malloc(sizeof *sources);
  enum status status =
      sources ? find_variables(unit->engine, &list, error) : error_set(error, STATUS_NO_MEMORY, "out of memory for a unit");
  if (status == STATUS_OK) status = find_sources(unit->sources, unit->version, sources, error);
  if (status == STATUS_OK) status = zip_file_open(&zip, path, error);
  if (status == STATUS_OK) {
    status = fill_archive(&zip, unit, &list, sources, error);
    if (status == STATUS_OK)
      status = zip_file_commit(&zip, error);
    else
      zip_file_discard(&zip);
  }
  free(list.items);
  free(sources);
  return status;
}
