/* `bladegap curve LOG`: open area against position from a log of a slow opening, and what a film has taken. */
#include "base/attributes.h"
#include "base/units.h"
#include "commands/command.h"
#include "commands/curve_logs.h"
#include "commands/engine_any.h"
#include "commands/log_options.h"
#include "commands/picture_option.h"
#include "io/config/card_file.h"
#include "io/format/output_file.h"
#include "io/picture/picture_opening.h"
#include "io/report/opening_report.h"
#include "physics/atmosphere.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PATH_SIZE = OUTPUT_FILE_PATH_SIZE, FILE_MAX = 2 + PICTURE_FORMAT_COUNT };

static const struct option_row curve_options[] = {
    OPTION_ROW_TEXT("baseline", "CLEANLOG", "log of the same car when it was clean: what is lost is measured against it"),
    OPTION_ROW_TEXTS("at", "NAME=FROM:TO",
                     "seconds of the log that count: opening=30:150 of LOG, clean=10:120 of the baseline; repeats"),
    OPTION_ROW_REAL("displacement-cc", "CC", 50, 12000, "displacement of the engine, cubic centimetres"),
    OPTION_ROW_TEXT("engine", "FILE", "engine file, or the name of a shipped one: gives displacement and position at the stop"),
    OPTION_ROW_TEXT("car", "CARD",
                    "the car's card, as bladegap fit takes it: gives displacement, position at the stop and altitude"),
    OPTION_ROW_REAL("stop-pct", "PCT", -10, 60, "what the position reads with the blade at its closed stop"),
    OPTION_ROW_REAL("altitude", "M", -500, 4500, "where it was logged; the sea by default"),
    OPTION_ROW_REAL("baro-kpa", "KPA", 50, 110, "pressure of the air that day, absolute, instead of --altitude"),
    OPTION_ROW_REAL("intake-c", "C", -40, 80, "temperature of the air that was drawn in, instead of the log's"),
    OPTION_ROW_TEXT("out", "DIR", "folder for curve.csv, curve.json and the picture; --format alone: beside the log"),
    PICTURE_OPTION_ROW,
    PICTURE_OPTION_FOR_ROW,
    LOG_OPTIONS_ROWS,
};

/* Everything a curve owns. */
struct job {
  const struct command_line *line;
  struct curve_logs logs;
  struct opening_setting setting;
  double altitude_m; // NaN: nobody says
  bool weather_given;
  struct opening_curve curve;
  char folder[PATH_SIZE];
  size_t file_count;
  char files[FILE_MAX][PATH_SIZE];
};

/* ---- What is known beside ---- */

static enum status read_engine(const char *name, struct opening_setting *setting, struct error *error) {
  struct engine *engine = calloc(1, sizeof *engine);
  if (!engine) return error_set(error, STATUS_NO_MEMORY, "out of memory for an engine");
  const enum status status = engine_any_read(name, engine, error);
  setting->displacement_m3 = engine->plant.charge.displacement_m3;
  setting->stop_ratio = engine->plant.throttle.closed_position_ratio;
  free(engine);
  return status;
}

/* What a card leaves open stays open; its position at the stop counts only where it says that the key shows the stop. */
static enum status read_card(struct job *job, const char *words, struct error *error) {
  struct card *card = calloc(1, sizeof *card);
  if (!card) return error_set(error, STATUS_NO_MEMORY, "out of memory for a car's card");
  const enum status status = card_file_read_or_words(words, card, error);
  struct opening_setting *setting = &job->setting;
  if (status == STATUS_OK && card_has(card, CARD_displacement_l))
    setting->displacement_m3 = card->values[CARD_displacement_l] * UNITS_M3_PER_L;
  const bool stop = card_choice(card, CARD_key_on_means, COMPUTER_KEY_ON_UNKNOWN) == COMPUTER_KEY_ON_STOP;
  if (status == STATUS_OK && stop && card_has(card, CARD_stop_pct))
    setting->stop_ratio = card->values[CARD_stop_pct] * UNITS_RATIO_PER_PCT;
  if (status == STATUS_OK && card_has(card, CARD_altitude_m)) job->altitude_m = card->values[CARD_altitude_m];
  free(card);
  return status;
}

/* What engine file or card say, which the other options overrule. */
static enum status read_car(struct job *job, struct error *error) {
  const char *engine = options_text(job->line, "engine", NULL), *card = options_text(job->line, "car", NULL);
  if (engine && card) return error_set(error, STATUS_USAGE, "curve: give --engine FILE or --car CARD, not both");
  if (engine) return read_engine(engine, &job->setting, error);
  return card ? read_card(job, card, error) : STATUS_OK;
}

static enum status read_setting(struct job *job, struct error *error) {
  const struct command_line *line = job->line;
  struct opening_setting *setting = &job->setting;
  *setting = (struct opening_setting){.name = job->logs.path, .intake_k = NAN, .stop_ratio = NAN};
  job->altitude_m = NAN;
  const enum status status = read_car(job, error);
  if (status != STATUS_OK) return status;
  if (options_given(line, "altitude")) job->altitude_m = options_real(line, "altitude", 0.0);
  job->weather_given = !isnan(job->altitude_m) || options_given(line, "baro-kpa");
  setting->ambient_pa = atmosphere_pressure_pa(isnan(job->altitude_m) ? 0.0 : job->altitude_m);
  setting->ambient_sd_pa = isnan(job->altitude_m) ? CURVE_LOGS_UNKNOWN_SD_PA : CURVE_LOGS_WEATHER_SD_PA;
  if (options_given(line, "altitude") && options_given(line, "baro-kpa"))
    return error_set(error, STATUS_USAGE, "--altitude and --baro-kpa both tell the pressure of the day: give one");
  if (options_given(line, "baro-kpa")) {
    setting->ambient_pa = options_real(line, "baro-kpa", 0.0) * UNITS_PA_PER_KPA;
    setting->ambient_sd_pa = CURVE_LOGS_BARO_SD_PA;
  }
  if (options_given(line, "intake-c")) setting->intake_k = options_real(line, "intake-c", 0.0) + UNITS_KELVIN_AT_ZERO_C;
  if (options_given(line, "displacement-cc")) setting->displacement_m3 = options_real(line, "displacement-cc", 0.0) * 1e-6;
  if (options_given(line, "stop-pct")) setting->stop_ratio = options_real(line, "stop-pct", 0.0) * UNITS_RATIO_PER_PCT;
  return STATUS_OK;
}

/* ---- Files ---- */

static enum status choose_folder(struct job *job, struct error *error) {
  const char *slash = strrchr(job->logs.path, '/');
  int length = 0;
  if (options_given(job->line, "out"))
    length = snprintf(job->folder, PATH_SIZE, "%s", options_text(job->line, "out", ""));
  else if (options_given(job->line, "format"))
    length = slash ? snprintf(job->folder, PATH_SIZE, "%.*s", slash == job->logs.path ? 1 : (int)(slash - job->logs.path),
                              job->logs.path)
                   : snprintf(job->folder, PATH_SIZE, ".");
  else
    return STATUS_OK;
  if (length < 0 || length + 32 > PATH_SIZE)
    return error_set(error, STATUS_CANNOT_CREATE, "--out: the path is longer than %d characters", PATH_SIZE - 32);
  return output_file_make_folder(job->folder, error);
}

static const char *name_file(struct job *job, const char *ending) {
  char *path = job->files[job->file_count++];
  const size_t length = strlen(job->folder);
  memcpy(path, job->folder, length);
  snprintf(path + length, PATH_SIZE - length, "/curve%s", ending);
  return path;
}

static struct opening_report report_of(const struct job *job, const char **files) {
  for (size_t i = 0; i < job->file_count; i++) files[i] = job->files[i];
  return (struct opening_report){.curve = &job->curve,
                                 .log = job->logs.path,
                                 .baseline = job->logs.clean_path,
                                 .stop_given = isfinite(job->setting.stop_ratio),
                                 .weather_given = job->weather_given,
                                 .file_count = job->file_count,
                                 .files = files};
}

static enum status save(struct job *job, bool as_json, struct error *error) {
  const char *files[FILE_MAX];
  const struct opening_report report = report_of(job, files);
  struct output_file file;
  enum status status = output_file_open(&file, name_file(job, as_json ? ".json" : ".csv"), error);
  if (status != STATUS_OK) return status;
  if (as_json)
    status = opening_report_json(&report, file.stream, error);
  else
    opening_report_csv(&report, file.stream);
  if (status == STATUS_OK) return output_file_commit(&file, error);
  output_file_discard(&file);
  return status;
}

static enum status save_files(struct job *job, struct picture_option_drawing *drawing, struct error *error) {
  if (job->folder[0] == '\0') return STATUS_OK;
  bool formats[PICTURE_FORMAT_COUNT];
  picture_option_formats(job->line, formats);
  enum status status = STATUS_OK;
  if (options_given(job->line, "out")) {
    status = save(job, false, error);
    if (status == STATUS_OK) status = save(job, true, error);
  }
  for (int i = 0; i < PICTURE_FORMAT_COUNT && status == STATUS_OK; i++) {
    if (!formats[i] || i == PICTURE_dumb) continue;
    struct error one;
    error_clear(&one);
    const char *path = name_file(job, picture_format_rows[i].ending);
    const struct picture_target target = picture_option_target(drawing, (enum picture_format)i, path, job->logs.path);
    if (!picture_option_end(drawing, picture_opening_draw(&job->curve, job->logs.path, &target, &one), &one)) job->file_count--;
  }
  return status;
}

static enum status tell(struct job *job, struct error *error) {
  const char *files[FILE_MAX];
  const struct opening_report report = report_of(job, files);
  if (job->line->json) return opening_report_json(&report, stdout, error);
  if (job->line->quiet) return STATUS_OK;
  bool formats[PICTURE_FORMAT_COUNT];
  picture_option_formats(job->line, formats);
  const enum status status = opening_report_print(&report, stdout, error);
  if (status != STATUS_OK || !formats[PICTURE_dumb]) return status;
  return picture_opening_draw(&job->curve, job->logs.path, &(struct picture_target){.format = PICTURE_dumb}, error);
}

static enum status do_job(struct job *job, struct error *error) {
  job->logs =
      (struct curve_logs){.path = job->line->operands[0], .clean_path = options_text(job->line, "baseline", NULL), .at = "at"};
  enum status status = read_setting(job, error);
  if (status == STATUS_OK) status = choose_folder(job, error);
  if (status == STATUS_OK) status = curve_logs_read(job->line, &job->logs, error);
  if (status == STATUS_OK) status = curve_logs_find(&job->logs, &job->setting, true, &job->curve, error);
  if (status != STATUS_OK) return status;
  struct picture_option_drawing drawing;
  picture_option_begin(&drawing, job->line);
  status = save_files(job, &drawing, error);
  if (status == STATUS_OK) status = tell(job, error);
  return status == STATUS_OK ? picture_option_result(&drawing, error) : status;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct job *job = calloc(1, sizeof *job);
  if (!job) return error_set(error, STATUS_NO_MEMORY, "out of memory for a curve");
  job->line = line;
  const enum status status = do_job(job, error);
  curve_logs_destroy(&job->logs);
  free(job);
  return status;
}

const struct command command_curve = {
    .name = "curve",
    .text = "open area against position from a log of a slow opening: what a film has taken",
    .operands = "LOG",
    .operand_least = 1,
    .operand_most = 1,
    .options = curve_options,
    .option_count = ARRAY_COUNT(curve_options),
    .run = run,
    .details =
        "From a log with engine speed, throttle position and air flow or manifold pressure: how much is open at each position, "
        "with its "
        "error. It takes no engine file: displacement and weather are enough. The columns are those that `plot` reads.\n\n"
        "First out of gear or in park, parking brake on, wheels chocked, in the open or with extraction, hands and sleeves clear "
        "of belts "
        "and fans. Then, warm and with nothing switched on, half a minute of idle, and the pedal down so slowly that 3000 rpm "
        "takes a "
        "minute and a half. An ordinary drive serves as well: stretches that move are left out.\n\n"
        "With --baseline, the same car logged when it was clean, the air area lost at idle is measured. Without it a bend at the "
        "bottom of "
        "the curve is not told from the bore's own shape, and nothing is claimed. Only where nothing passes well above the stop "
        "(--stop-pct) can it be no clean throttle, or the stop is elsewhere. bladegap estimate --curve takes what is lost as a "
        "reading.\n\n"
        "  bladegap curve scenarios/logs/opening-film.csv --engine four-16 --out curve\n"
        "  bladegap curve drive.csv --displacement-cc 1496 --altitude 50 --stop-pct 13.3 --out curve\n"
        "  bladegap curve drive.csv --car my-card.csv\n"
        "  bladegap curve day.csv --baseline drive.csv --displacement-cc 1600 --at opening=30:150",
};
