/* `bladegap plot CSV`: draws a run again, or a log from a car. */
#include "commands/command.h"
#include "commands/picture_option.h"
#include "io/config/engine_file.h"
#include "io/format/json.h"
#include "io/format/output_file.h"
#include "io/format/text.h"
#include "io/log/log_file.h"
#include "io/picture/run_pictures.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PATH_SIZE = OUTPUT_FILE_PATH_SIZE, FILE_MAX = PICTURE_FORMAT_COUNT * PICTURE_COUNT };

static const struct option_row plot_options[] = {
    OPTION_ROW_TEXT("out", "DIR", "folder for the pictures; that of the CSV by default"),
    PICTURE_OPTION_ROW,
    OPTION_ROW_TEXT("engine", "FILE", "engine of the run: also draws gap area against opening, and the gap to scale"),
    OPTION_ROW_TEXT("title", "TEXT", "title of the picture; the CSV's path by default"),
};

/* Everything a plot owns. */
struct job {
  const struct command_line *line;
  const char *path;
  bool has_engine;
  struct engine engine;
  struct log_file log;
  struct story story;
  char folder[PATH_SIZE];
  char prefix[PATH_SIZE]; // of the pictures' names
  size_t file_count;
  char files[FILE_MAX][PATH_SIZE];
};

static void print_note(const struct job *job, const char *text) {
  if (!job->line->quiet) fprintf(stderr, "bladegap: %s\n", text);
}

static void print_notes(const struct job *job) {
  char line[4096];
  for (const char *at = job->log.notes; at && *at;) {
    const int size = (int)strcspn(at, "\n");
    snprintf(line, sizeof line, "%.*s", size, at);
    print_note(job, line);
    at += size + (at[size] == '\n');
  }
}

/* ---- Where the pictures go ---- */

/* run.csv becomes run.png; log.csv becomes log-run.png, so that several logs can share a folder. */
static enum status place(struct job *job, struct error *error) {
  const char *slash = strrchr(job->path, '/');
  const char *name = slash ? slash + 1 : job->path;
  const char *dot = strrchr(name, '.');
  const int stem = (int)(dot && dot > name ? dot - name : (long)strlen(name));
  const int length = slash ? (int)(slash - job->path) : 0;
  char beside[PATH_SIZE];
  if (length >= PATH_SIZE)
    return error_set(error, STATUS_CANNOT_CREATE, "%s: the path is longer than %d characters", job->path, PATH_SIZE);
  snprintf(beside, sizeof beside, "%.*s", slash == job->path ? 1 : length, job->path);
  snprintf(job->folder, sizeof job->folder, "%s", options_text(job->line, "out", slash ? beside : "."));
  const bool is_run = stem == 3 && strncmp(name, "run", 3) == 0;
  if (!is_run) snprintf(job->prefix, sizeof job->prefix, "%.*s-", stem, name);
  return output_file_make_folder(job->folder, error);
}

/* ---- What the engine's file adds to a log ---- */

/* A car tells its absolute throttle position, or that less the reading at the closed stop; with the engine's
 * readings at both ends either gives the opening. Only where the log has no opening of its own. */
static void place_blade(struct job *job) {
  const struct throttle_params *throttle = &job->engine.plant.throttle;
  const struct log_file_column *absolute = log_file_column_of(&job->log, CHANNEL_tp_pct);
  const struct log_file_column *relative = log_file_column_of(&job->log, CHANNEL_blade_pct);
  const double closed_pct = 100.0 * throttle->closed_position_ratio;
  const double span_ratio = throttle->open_position_ratio - throttle->closed_position_ratio;
  const double travel_deg = 90.0 - throttle->bore.closed_angle_rad / UNITS_RAD_PER_DEG;
  if (log_file_column_of(&job->log, CHANNEL_blade_deg) || (relative && relative->own) || !(absolute || relative)) return;
  struct recording *recording = &job->log.recording;
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

static enum status load(struct job *job, struct error *error) {
  enum status status = log_file_read(job->path, &job->log, error);
  if (status != STATUS_OK) return status;
  job->has_engine = options_given(job->line, "engine") > 0;
  if (job->has_engine) status = engine_file_read(options_text(job->line, "engine", ""), &job->engine, error);
  if (status != STATUS_OK) return status;
  print_notes(job);
  if (job->has_engine) place_blade(job);
  story_find(&job->log.recording, &job->story);
  if (job->has_engine && !job->story.first.happened)
    print_note(job, "no steady idle is found in this log (that takes speed_rpm, target_rpm and pedal_pct): the pictures "
                    "of area and gap show the engine alone");
  return STATUS_OK;
}

/* ---- Drawing ---- */

static enum status draw(struct job *job, struct error *error) {
  const struct run_pictures pictures = {
      .engine = job->has_engine ? &job->engine : NULL,
      .recording = &job->log.recording,
      .story = &job->story,
      .title = options_text(job->line, "title", job->path),
      .engine_title = job->has_engine ? job->engine.title : "",
      .data_path = job->path,
  };
  const struct picture_option_files files = {&job->file_count, FILE_MAX, job->files};
  const bool here = strcmp(job->folder, ".") == 0;
  return picture_option_draw_run(job->line, &pictures, here ? "" : job->folder, job->prefix, &files, error);
}

/* ---- Report ---- */

static enum status print_json(const struct job *job, struct error *error) {
  const struct log_file *log = &job->log;
  struct json *json = json_create();
  json_put_text(json, "file", job->path);
  json_put_count(json, "rows", (long long)log->recording.row_count);
  json_put_count(json, "rows_left_out", (long long)log->left_out_count);
  json_open_array(json, "columns");
  for (size_t i = 0; i < log->column_count; i++) {
    const struct log_file_column *column = &log->columns[i];
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
  json_open_array(json, "files");
  for (size_t i = 0; i < job->file_count; i++) json_put_text(json, NULL, job->files[i]);
  json_close(json);
  const enum status status = json_print(json, stdout, error);
  json_destroy(json);
  return status;
}

static enum status print_columns(const struct log_file *log, struct error *error) {
  static const char *const headings[] = {"column", "unit", "read as"};
  struct text_table table;
  text_table_init(&table, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < log->column_count; i++) {
    const struct log_file_column *column = &log->columns[i];
    if (column->channel < 0) continue;
    text_table_add(&table, "%s", column->name);
    text_table_add(&table, "%s%s", column->unit, column->assumed ? " (assumed)" : "");
    text_table_add(&table, "%s", channel_rows[column->channel].name);
  }
  const int failed = text_table_print(&table, stdout, 2);
  if (log_file_column_of(log, CHANNEL_tp_pct) && log_file_column_of(log, CHANNEL_blade_pct))
    printf("tp_pct of about 10 at the closed stop and blade_pct of 0 are the same place.\n");
  text_table_destroy(&table);
  return failed ? error_set(error, STATUS_NO_MEMORY, "out of memory for the list of columns") : STATUS_OK;
}

static enum status print_text(const struct job *job, struct error *error) {
  const struct log_file *log = &job->log;
  const struct recording *recording = &log->recording;
  printf("%s: %zu rows, %.2f to %.2f s, %zu left out\n", job->path, recording->row_count,
         recording_value(recording, 0, CHANNEL_time_s), recording_value(recording, recording->row_count - 1, CHANNEL_time_s),
         log->left_out_count);
  enum status status = STATUS_OK;
  if (log->own)
    printf("a run's own data: %zu channels, %zu events\n", log->column_count, recording->event_count);
  else
    status = print_columns(log, error);
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
  log_file_destroy(&job->log);
  free(job);
  return status;
}

const struct command command_plot = {
    .name = "plot",
    .text = "draws a run again, or a logged file of a real car",
    .operands = "CSV",
    .operand_least = 1,
    .operand_most = 1,
    .options = plot_options,
    .option_count = ARRAY_COUNT(plot_options),
    .run = run,
    .details = "Of run.csv the picture is run.png; of any other log.csv it is log-run.png. If events.csv "
               "stands beside a run's "
               "own data, its notes, codes and stalls are drawn too.\n\n"
               "Columns are known by the data names of SAE J1979 / ISO 15031-5, by plain ones, and by our "
               "own (bladegap list "
               "channels), whatever the letter case: Time; Engine RPM; Target Idle Speed; Absolute Throttle "
               "Position, TPS; "
               "Relative Throttle Position; Intake Manifold Absolute Pressure, MAP; Air Flow Rate from Mass "
               "Air Flow Sensor, "
               "MAF; Calculated LOAD Value; Engine Coolant Temperature, ECT; Intake Air Temperature, IAT; "
               "Ignition Timing "
               "Advance for #1 Cylinder; Relative Accelerator Pedal Position; A/C Request. Time and one more "
               "are enough.\n\n"
               "The unit stands in brackets, after a comma, or as the last word: s, ms, min, h; rpm, rad/s; "
               "kPa, Pa, hPa, "
               "mbar, bar, psi, inHg, mmHg; g/s, kg/h, kg/s, lb/min; C, F, K; %; deg. Where there is none, "
               "the first of these "
               "is taken and that is told on stderr. Rows that cannot be used are left out, counted and told "
               "with their "
               "line.\n\n"
               "  bladegap plot out/film-droop/run.csv --engine models/four-16.cfg\n"
               "  bladegap plot before.csv --out pictures --title 'before cleaning'",
};
