/* `bladegap plot CSV [CSV]`: draws a run again, or a log from a car, or two laid over each other. */
#include "analysis/log/log_phases.h"
#include "commands/command.h"
#include "commands/engine_any.h"
#include "commands/log_options.h"
#include "commands/picture_option.h"
#include "commands/stretch_option.h"
#include "io/config/find_file.h"
#include "io/format/json.h"
#include "io/format/output_file.h"
#include "io/format/text.h"
#include "io/log/log_file.h"
#include "io/picture/run_pictures.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PATH_SIZE = OUTPUT_FILE_PATH_SIZE, FILE_MAX = PICTURE_FORMAT_COUNT * RUN_PICTURES_MAX, RUN_MAX = 2 };

static const struct option_row plot_options[] = {
    OPTION_ROW_TEXT("out", "DIR", "folder for the pictures; that of the CSV by default"),
    PICTURE_OPTION_ROW,
    PICTURE_OPTION_FOR_ROW,
    OPTION_ROW_REAL("from", "S", 0, 1e9, "draw from this time on, in seconds"),
    OPTION_ROW_REAL("to", "S", 0, 1e9, "draw up to this time, seconds"),
    OPTION_ROW_TEXT("engine", "FILE", "engine of the run: also draws gap area against opening, and the gap to scale"),
    OPTION_ROW_TEXT("title", "TEXT", "title of the picture; the CSV's path by default"),
    OPTION_ROW_TEXTS(
        "at", "NAME=FROM:TO",
        "gives the seconds of a phase, instead of those found of its kind: idle=30:60; bladegap help phases lists the phases"),
    LOG_OPTIONS_ROWS,
};

/* Everything a plot owns. */
struct job {
  const struct command_line *line;
  const char *path; // of the first
  bool has_engine;
  struct engine engine;
  size_t log_count;
  struct log_text logs[RUN_MAX];
  struct story story;
  char folder[PATH_SIZE];
  char prefix[PATH_SIZE]; // of the pictures' names
  size_t file_count;
  char files[FILE_MAX][PATH_SIZE];
};

static void print_note(const struct job *job, const char *text) {
  if (!job->line->quiet) fprintf(stderr, "bladegap: %s\n", text);
}

/* ---- Where the pictures go ---- */

/* Where a path's file name begins, and how long it is without its ending. */
static const char *stem_of(const char *path, int *length) {
  const char *slash = strrchr(path, '/');
  const char *name = slash ? slash + 1 : path;
  const char *dot = strrchr(name, '.');
  *length = (int)(dot && dot > name ? dot - name : (long)strlen(name));
  return name;
}

static bool is_run(const char *name, int length) { return length == 3 && strncmp(name, "run", 3) == 0; }

/* What tells one of two runs from the other: its file's stem; of a run.csv the folder's name. */
static const char *distinct_name(const char *path, int *length) {
  const char *name = stem_of(path, length);
  if (!is_run(name, *length) || name <= path + 1) return name;
  const char *end = name - 1, *start = end;
  while (start > path && start[-1] != '/') start--;
  if (start == end || *start == '.') return name;
  *length = (int)(end - start);
  return start;
}

/* run.csv becomes run.png; log.csv becomes log-run.png, so that several logs can share a folder; two become A-over-B-run.png. */
static enum status place(struct job *job, struct error *error) {
  int stem, second;
  const char *name = stem_of(job->path, &stem);
  const char *slash = strrchr(job->path, '/');
  const int length = slash ? (int)(slash - job->path) : 0;
  char beside[PATH_SIZE];
  if (length >= PATH_SIZE || strlen(job->line->operands[job->log_count - 1]) >= PATH_SIZE)
    return error_set(error, STATUS_CANNOT_CREATE, "%s: the path is longer than %d characters", job->path, PATH_SIZE);
  snprintf(beside, sizeof beside, "%.*s", slash == job->path ? 1 : length, job->path);
  snprintf(job->folder, sizeof job->folder, "%s", options_text(job->line, "out", slash ? beside : "."));
  if (job->log_count > 1) {
    name = distinct_name(job->path, &stem);
    const char *other = distinct_name(job->line->operands[1], &second);
    snprintf(job->prefix, sizeof job->prefix, "%.*s-over-%.*s-", stem, name, second, other);
  } else if (!is_run(name, stem)) {
    snprintf(job->prefix, sizeof job->prefix, "%.*s-", stem, name);
  }
  return output_file_make_folder(job->folder, error);
}

static enum status name_file(const struct job *job, const char *stem, enum picture_format format, char path[PATH_SIZE],
                             struct error *error) {
  const bool here = strcmp(job->folder, ".") == 0;
  const int length = snprintf(path, PATH_SIZE, "%s%s%s%s%s", here ? "" : job->folder, here ? "" : "/", job->prefix, stem,
                              picture_format_rows[format].ending);
  if (length < 0 || length >= PATH_SIZE)
    return error_set(error, STATUS_CANNOT_CREATE, "%s: the path is longer than %d characters", job->folder, PATH_SIZE);
  return STATUS_OK;
}

/* ---- What the engine's file adds to a log ---- */

/* A car tells its absolute throttle position, or that less the reading at the closed stop; with the engine's
 * readings at both ends either gives the opening. Only where the log has no opening of its own. */
static void place_blade(const struct job *job, struct log_text *log) {
  const struct throttle_params *throttle = &job->engine.plant.throttle;
  const struct log_text_column *absolute = log_text_column_of(log, CHANNEL_tp_pct);
  const struct log_text_column *relative = log_text_column_of(log, CHANNEL_blade_pct);
  const double closed_pct = 100.0 * throttle->closed_position_ratio;
  const double span_ratio = throttle->open_position_ratio - throttle->closed_position_ratio;
  const double travel_deg = 90.0 - throttle->bore.closed_angle_rad / UNITS_RAD_PER_DEG;
  if (log_text_column_of(log, CHANNEL_blade_deg) || (relative && relative->own) || !(absolute || relative)) return;
  struct recording *recording = &log->recording;
  for (size_t row = 0; row < recording->row_count; row++) {
    double *values = recording->values + row * CHANNEL_COUNT;
    const double reading_pct = relative ? values[CHANNEL_blade_pct] : values[CHANNEL_tp_pct] - closed_pct;
    values[CHANNEL_blade_pct] = reading_pct / span_ratio;
    values[CHANNEL_blade_deg] = travel_deg * values[CHANNEL_blade_pct] / 100.0;
  }
  char text[256];
  snprintf(text, sizeof text,
           "blade_pct and blade_deg computed from '%.60s' with the engine's readings: %.4g %% closed, %.4g "
           "%% wide open",
           relative ? relative->name : absolute->name, closed_pct, 100.0 * throttle->open_position_ratio);
  print_note(job, text);
}

/* ---- A window in time ---- */

/* Rows and events outside of it go; of each code the state at its beginning stays. */
static enum status cut_window(const struct job *job, struct log_text *log, const char *path, struct error *error) {
  const double from_s = options_real(job->line, "from", -INFINITY), to_s = options_real(job->line, "to", INFINITY);
  struct recording *r = &log->recording;
  size_t kept = 0, events = 0;
  if (!(from_s < to_s)) return error_set(error, STATUS_USAGE, "--from %g s is not before --to %g s", from_s, to_s);
  const double first_s = recording_value(r, 0, CHANNEL_time_s), last_s = recording_value(r, r->row_count - 1, CHANNEL_time_s);
  for (size_t row = 0; row < r->row_count; row++) {
    const double now_s = recording_value(r, row, CHANNEL_time_s);
    if (now_s < from_s || now_s > to_s) continue;
    memmove(r->values + kept * CHANNEL_COUNT, r->values + row * CHANNEL_COUNT, CHANNEL_COUNT * sizeof *r->values);
    kept++;
  }
  if (kept == 0)
    return error_set(error, STATUS_BAD_DATA, "%s has no row from %g to %g s; it goes from %g to %g s", path, from_s, to_s,
                     first_s, last_s);
  r->row_count = kept;
  for (size_t i = 0; i < r->event_count; i++) {
    struct recording_event event = r->events[i];
    const bool before = event.time_s < from_s;
    if (event.time_s > to_s || (before && event.kind != RECORDING_CODE)) continue;
    if (before) event.time_s = from_s;
    r->events[events++] = event;
  }
  r->event_count = events;
  return STATUS_OK;
}

/* Marks what the car did in a log: a note where a phase begins. A run's own data has its own notes. */
static enum status mark_phases(struct job *job, struct error *error) {
  struct log_text *log = &job->logs[0];
  struct log_phase by_hand[STRETCH_OPTION_MAX];
  struct log_phases_setting setting = {.by_hand = by_hand};
  struct log_phases *phases = calloc(1, sizeof *phases);
  if (!phases) return error_set(error, STATUS_NO_MEMORY, "out of memory for the phases of a log");
  enum status status = stretch_option_phases(job->line, "at", by_hand, &setting.by_hand_count, error);
  if (status == STATUS_OK) status = log_phases_find(&log->recording, &setting, phases, error);
  for (size_t i = 0; status == STATUS_OK && i < phases->count; i++) {
    const struct log_phase *phase = &phases->phases[i];
    struct recording_event event = {.time_s = phase->from_s, .kind = RECORDING_NOTE, .code = -1};
    if (phase->kind == LOG_PHASE_load_step) continue; // the phase behind it says so
    snprintf(event.text, sizeof event.text, "%s", log_phase_rows[phase->kind].text);
    status = recording_add_event(&log->recording, &event, error);
  }
  free(phases);
  return status;
}

static enum status load(struct job *job, struct error *error) {
  enum status status = STATUS_OK;
  for (size_t i = 0; i < job->line->operand_count && status == STATUS_OK; i++) {
    job->log_count = i + 1;
    status = find_file_exists(job->line->operands[i], error);
    if (status == STATUS_OK) status = log_options_read(job->line, job->line->operands[i], &job->logs[i], error);
  }
  if (status != STATUS_OK) return status;
  job->has_engine = options_given(job->line, "engine") > 0;
  if (job->has_engine) status = engine_any_read(options_text(job->line, "engine", ""), &job->engine, error);
  if (status != STATUS_OK) return status;
  for (size_t i = 0; i < job->log_count && status == STATUS_OK; i++) {
    if (job->has_engine) place_blade(job, &job->logs[i]);
    status = cut_window(job, &job->logs[i], job->line->operands[i], error);
  }
  if (status == STATUS_OK && job->log_count > 1 && options_given(job->line, "at"))
    status = error_set(error, STATUS_USAGE, "--at is for one log, and there are %zu", job->log_count);
  if (status != STATUS_OK || job->log_count > 1) return status;
  if (!job->logs[0].own || options_given(job->line, "at")) status = mark_phases(job, error);
  if (status != STATUS_OK) return status;
  story_find(&job->logs[0].recording, &job->story);
  if (job->has_engine && !job->story.first.happened)
    print_note(job, "no steady idle is found in this log (that takes speed_rpm, target_rpm and pedal_pct): the pictures "
                    "of area and gap show the engine alone");
  return STATUS_OK;
}

/* ---- Drawing ---- */

static void draw_one(struct job *job, const struct run_pictures *pictures, const struct run_pictures_item *item,
                     enum picture_format format, struct picture_option_drawing *drawing) {
  char *path = format == PICTURE_dumb ? NULL : job->files[job->file_count];
  struct error one;
  error_clear(&one);
  enum status status = path ? name_file(job, item->stem, format, path, &one) : STATUS_OK;
  if (status == STATUS_OK) {
    const struct picture_target target = picture_option_target(drawing, format, path, job->path);
    status = run_pictures_draw(pictures, item, &target, &one);
  }
  if (picture_option_end(drawing, status, &one) && path) job->file_count++;
}

static enum status draw(struct job *job, struct error *error) {
  bool formats[PICTURE_FORMAT_COUNT];
  struct run_pictures_item items[RUN_PICTURES_MAX];
  struct picture_option_drawing drawing;
  picture_option_formats(job->line, formats);
  picture_option_begin(&drawing, job->line);
  const bool two = job->log_count > 1;
  const struct run_pictures pictures = {
      .engine = job->has_engine ? &job->engine : NULL,
      .recording = &job->logs[0].recording,
      .story = &job->story,
      .title = options_text(job->line, "title", two ? "Two runs laid over each other" : job->path),
      .engine_title = two               ? job->path
                      : job->has_engine ? job->engine.title
                                        : "",
      .is_log = !job->logs[0].own,
      .other = two ? &job->logs[1].recording : NULL,
      .other_title = two ? job->line->operands[1] : NULL,
  };
  for (int format = 0; format < PICTURE_FORMAT_COUNT; format++) {
    if (!formats[format]) continue;
    const size_t count = run_pictures_list(&pictures, picture_option_form(job->line, (enum picture_format)format), items);
    for (size_t i = 0; i < count; i++) draw_one(job, &pictures, &items[i], (enum picture_format)format, &drawing);
  }
  return picture_option_result(&drawing, error);
}

/* ---- Report ---- */

static void put_log(struct json *json, const struct log_text *log, const char *path) {
  json_put_text(json, "file", path);
  json_put_count(json, "rows", (long long)log->recording.row_count);
  json_put_count(json, "rows_left_out", (long long)log->rows.count);
  json_put_count(json, "values_left_out", (long long)log->values.count);
  json_open_array(json, "columns");
  for (size_t i = 0; i < log->column_count; i++) {
    const struct log_text_column *column = &log->columns[i];
    json_open_object(json, NULL);
    json_put_text(json, "name", column->name);
    if (column->channel >= 0)
      json_put_text(json, "channel", channel_rows[column->channel].name);
    else
      json_put_null(json, "channel");
    if (column->unit[0])
      json_put_text(json, "unit", column->unit);
    else
      json_put_null(json, "unit");
    json_close(json);
  }
  json_close(json);
}

static enum status print_json(const struct job *job, struct error *error) {
  struct json *json = json_create();
  if (job->log_count == 1) {
    put_log(json, &job->logs[0], job->path);
  } else {
    json_open_array(json, "logs");
    for (size_t i = 0; i < job->log_count; i++) {
      json_open_object(json, NULL);
      put_log(json, &job->logs[i], job->line->operands[i]);
      json_close(json);
    }
    json_close(json);
  }
  json_open_array(json, "files");
  for (size_t i = 0; i < job->file_count; i++) json_put_text(json, NULL, job->files[i]);
  json_close(json);
  const enum status status = json_print(json, stdout, error);
  json_destroy(json);
  return status;
}

static enum status print_columns(const struct log_text *log, struct error *error) {
  static const char *const headings[] = {"column", "unit", "read as"};
  struct text_table table;
  text_table_init(&table, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < log->column_count; i++) {
    const struct log_text_column *column = &log->columns[i];
    if (column->channel < 0) continue;
    text_table_add(&table, "%s", column->name);
    text_table_add(&table, "%s%s", column->unit, column->assumed ? " (assumed)" : "");
    text_table_add(&table, "%s", channel_rows[column->channel].name);
  }
  const int failed = text_table_print(&table, stdout, 2);
  if (log_text_column_of(log, CHANNEL_tp_pct) && log_text_column_of(log, CHANNEL_blade_pct))
    printf("tp_pct of about 10 at the closed stop and blade_pct of 0 are the same place.\n");
  text_table_destroy(&table);
  return failed ? error_set(error, STATUS_NO_MEMORY, "out of memory for the list of columns") : STATUS_OK;
}

static enum status print_log(const struct log_text *log, const char *path, struct error *error) {
  const struct recording *recording = &log->recording;
  printf("%s: %zu rows, %.2f to %.2f s, %zu left out\n", path, recording->row_count,
         recording_value(recording, 0, CHANNEL_time_s), recording_value(recording, recording->row_count - 1, CHANNEL_time_s),
         log->rows.count);
  if (!log->own) return print_columns(log, error);
  printf("a run's own data: %zu channels, %zu events\n", log->column_count, recording->event_count);
  return STATUS_OK;
}

static enum status print_text(const struct job *job, struct error *error) {
  enum status status = STATUS_OK;
  for (size_t i = 0; i < job->log_count && status == STATUS_OK; i++)
    status = print_log(&job->logs[i], job->line->operands[i], error);
  for (size_t i = 0; i < job->file_count; i++) printf("%s%s\n", i ? "" : "\n", job->files[i]);
  return status;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct job *job = calloc(1, sizeof *job);
  if (!job) return error_set(error, STATUS_NO_MEMORY, "out of memory for a plot");
  job->line = line;
  job->path = line->operands[0];
  enum status status = load(job, error);
  if (status == STATUS_OK) status = place(job, error);
  if (status == STATUS_OK) status = draw(job, error);
  if (status == STATUS_OK && line->json)
    status = print_json(job, error);
  else if (status == STATUS_OK && !line->quiet)
    status = print_text(job, error);
  for (size_t i = 0; i < job->log_count; i++) log_text_destroy(&job->logs[i]);
  free(job);
  return status;
}

const struct command command_plot = {
    .name = "plot",
    .text = "draws a run again, or a logged file of a real car",
    .operands = "CSV ...",
    .operand_least = 1,
    .operand_most = RUN_MAX,
    .options = plot_options,
    .option_count = ARRAY_COUNT(plot_options),
    .run = run,
    .details =
        "The picture of run.csv is run.png; that of any other log.csv is log-run.png. If events.csv is beside a run's own data, "
        "its notes, codes and stalls are drawn too; for another log, what the car did (bladegap phases). Two files are drawn "
        "over each other on the same scales, with a panel for each channel that moved in either or differs between "
        "them.\n\nColumns are known by the data names of SAE J1979 / ISO 15031-5, by plain names, and by our own (bladegap list "
        "channels), in any letter case: Time; Engine RPM; Target Idle Speed; Absolute Throttle Position, TPS; Relative Throttle "
        "Position; Intake Manifold Absolute Pressure, MAP; Air Flow Rate from Mass Air Flow Sensor, MAF; Calculated LOAD Value; "
        "Engine Coolant Temperature, ECT; Intake Air Temperature, IAT; Ignition Timing Advance for #1 Cylinder; Relative "
        "Accelerator Pedal Position; A/C Request. Time and one more are enough.\n\nAny delimiter, decimal mark and encoding will "
        "do; times as numbers, clock or date; one value per row; names in a column (docs/logs.md). The unit may be in brackets, "
        "after a comma, the last word, or in a row or column of units: s, ms, min, h; rpm, rad/s; kPa, Pa, hPa, mbar, bar, psi, "
        "inHg, mmHg; g/s, kg/h, kg/s, lb/min; C, F, K; %; deg. Where there is none, the first of these is assumed, and stderr "
        "says so. What is not understood is listed; rows and values that cannot be used are left out, counted and reported with "
        "their line.\n\n  bladegap plot out/film-droop/run.csv --engine models/four-16.cfg\n  bladegap plot before.csv --out "
        "pictures --title 'before cleaning'\n  bladegap plot before.csv after.csv --from 60 --to 180\n  bladegap plot "
        "out/film-droop/run.csv --for slide --format pdf",
};
