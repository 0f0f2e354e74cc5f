/* `bladegap sweep FILE --vary NAME=...`: one or two inputs over ranges, on all cores. */
#include "analysis/sweep/sweep.h"
#include "base/attributes.h"
#include "commands/command.h"
#include "commands/engine_options.h"
#include "commands/out_folder.h"
#include "commands/picture_option.h"
#include "commands/progress.h"
#include "commands/scenario_any.h"
#include "commands/threads.h"
#include "commands/what_if.h"
#include "io/config/engine_file.h"
#include "io/config/file_kind.h"
#include "io/config/find_file.h"
#include "io/format/json.h"
#include "io/picture/picture_sweep.h"
#include "io/report/sweep_file.h"
#include "io/report/sweep_report.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PATH_SIZE = OUTPUT_FILE_PATH_SIZE, UNASKED_POINT_MAX = 100000, SETTLED_CHUNK = 16384, RUNS_A_WORKER = 2, FILE_MAX = 24 };

static const struct option_row sweep_options[] = {
    OPTION_ROW_TEXTS("vary", "NAME=VALUES",
                     "an input and its values: FROM:TO:STEP, FROM:TO:xN (N values of equal ratio) or A,B,C; "
                     "once or twice"),
    OPTION_ROW_TEXTS("set", "NAME=VALUE",
                     "a condition or an engine parameter that stays the same, whatever a scenario's timeline says; for a "
                     "scenario also NAME@T=VALUE, a step at T seconds"),
    ENGINE_OPTIONS_SCALE_ROW,
    WHAT_IF_FREEZE_ROW,
    OPTION_ROW_REAL("stale-learned", "PCT", SWEEP_AXIS_LEARNED_LOW, SWEEP_AXIS_LEARNED_HIGH,
                    "keep the learned offset at this value, as after a clean (a run begins with it)"),
    OPTION_ROW_COUNT("threads", "N", 1, THREADS_MAX, "how many cores to use; all by default. The result is the same"),
    PROGRESS_OPTION_ROW,
    OPTION_ROW_TEXT("shard", "I/N", "compute only part I of N, for the tasks of a cluster; bladegap merge joins the parts"),
    OPTION_ROW_FLAG("yes", "compute more than 100 000 points"),
    OPTION_ROW_TEXT("out", "DIR",
                    "folder for sweep.csv and the picture; out/sweep-NAME of the file by default, or ~/bladegap/sweep-NAME if "
                    "the current folder is not writable"),
    PICTURE_OPTION_ROW,
    PICTURE_OPTION_FOR_ROW,
};

/* Everything a sweep owns. */
struct job {
  const struct command_line *line;
  const char *path;
  char found_path[SCENARIO_PATH_SIZE];
  struct scenario scenario;
  struct what_if what_if;
  struct sweep sweep;
  struct sweep_file_head head;
  int shard, shard_count; // 1-based; 0/0 for none
  char folder[PATH_SIZE], csv_path[PATH_SIZE];
  struct sweep_file file;
  struct sweep_workers *workers;
  struct sweep_table table;
  size_t resumed, file_count;
  char files[FILE_MAX][PATH_SIZE];
};

/* ---- What is asked ---- */

static enum status load(struct job *job, struct error *error) {
  enum file_kind kind;
  const bool is_engine = find_file_is_name(job->path) && find_file_shipped("models", job->path, job->found_path);
  enum status status = find_file(is_engine ? "models" : "scenarios", job->path, job->found_path, error);
  job->path = job->found_path;
  if (status == STATUS_OK) status = file_kind_of(job->path, &kind, error);
  if (status != STATUS_OK) return status;
  job->head.fingerprint = SWEEP_FILE_HASH_BEGIN;
  const char *engine_path = job->path;
  if (kind != FILE_KIND_ENGINE) {
    status = scenario_any_read(job->path, job->found_path, &job->scenario, error);
    if (status == STATUS_OK) status = sweep_file_hash_file(&job->head.fingerprint, job->path, error);
    if (status != STATUS_OK) return status;
    engine_path = job->scenario.engine_path;
    job->sweep.scenario = &job->scenario;
    job->sweep.query.conditions = job->scenario.initial;
  }
  status = engine_file_read(engine_path, &job->sweep.engine, error);
  if (status == STATUS_OK) status = sweep_file_hash_file(&job->head.fingerprint, engine_path, error);
  const uint64_t digest = engine_digest(&job->sweep.engine); // of a file that is like another: what that one says, too
  job->head.fingerprint = sweep_file_hash(job->head.fingerprint, &digest, sizeof digest);
  return status;
}

/* Whether an option names what is varied, by whatever name. */
static bool names_axis(const struct sweep_axis *axis, const char *text) {
  char name[SETTING_NAME_SIZE];
  struct setting setting;
  struct error ignored;
  snprintf(name, sizeof name, "%.*s", (int)strcspn(text, "=@"), text);
  if (axis->learned) return strcmp(axis->name, name) == 0;
  error_clear(&ignored);
  return setting_find(name, &setting, &ignored) == STATUS_OK && setting_is_same(&setting, &axis->setting);
}

/* What stays the same. Of a scenario it takes the place of what the timeline says. */
static enum status read_sets(struct job *job, struct error *error) {
  struct sweep *sweep = &job->sweep;
  enum status status = STATUS_OK;
  static const char *const options[] = {"set", "scale", "freeze"};
  for (size_t k = 0; k < ARRAY_COUNT(options); k++)
    for (size_t i = 0; i < options_given(job->line, options[k]); i++) {
      const char *text = options_text_at(job->line, options[k], i);
      for (size_t axis = 0; axis < sweep->axis_count; axis++)
        if (names_axis(&sweep->axes[axis], text))
          return error_set(error, STATUS_USAGE, "--%s %s and --vary %s contradict each other: leave one out", options[k], text,
                           sweep->axes[axis].name);
      job->head.fingerprint = sweep_file_hash(job->head.fingerprint, text, strlen(text) + 1);
    }
  if (sweep->scenario) {
    status = what_if_apply(job->line, job->path, &sweep->engine, &job->scenario, &job->what_if, error);
    sweep->query.conditions = job->scenario.initial;
    return status;
  }
  if (options_given(job->line, "freeze"))
    return error_set(error, STATUS_USAGE,
                     "--freeze is for runs: a settled point has no moment at which something could be frozen");
  status = engine_options_apply(job->line, &sweep->engine, &sweep->query.conditions, error);
  if (status == STATUS_OK) status = what_if_check_sets(job->line, &sweep->engine, error);
  if (status == STATUS_OK) what_if_note_idle(&job->what_if, &sweep->engine, &sweep->query.conditions);
  return status;
}

static enum status read_axis(struct job *job, const char *text, struct error *error) {
  struct sweep *sweep = &job->sweep;
  struct sweep_axis *axis = &sweep->axes[sweep->axis_count++];
  const enum status status = sweep_axis_read(text, axis, error);
  if (status != STATUS_OK) return status;
  if (sweep->axis_count == 2 && strcmp(sweep->axes[0].name, axis->name) == 0)
    return error_set(error, STATUS_USAGE, "--vary %s is given twice: one list of its values is enough", axis->name);
  if (axis->learned && options_given(job->line, "stale-learned"))
    return error_set(error, STATUS_USAGE, "--stale-learned and --vary %s contradict each other: leave one out", axis->name);
  job->head.fingerprint = sweep_file_hash(job->head.fingerprint, axis->values, axis->count * sizeof *axis->values);
  if (sweep->scenario && !axis->learned) what_if_vary(&job->what_if, &job->scenario, &axis->setting);
  return STATUS_OK;
}

static enum status read_axes(struct job *job, struct error *error) {
  const size_t given = options_given(job->line, "vary");
  if (given == 0 || given > SWEEP_AXIS_MAX)
    return error_set(error, STATUS_USAGE, "sweep: give --vary NAME=VALUES once or twice, as in --vary film_um=0:100:2");
  enum status status = STATUS_OK;
  for (size_t i = 0; status == STATUS_OK && i < given; i++) status = read_axis(job, options_text_at(job->line, "vary", i), error);
  if (status == STATUS_OK) status = read_sets(job, error);
  if (options_given(job->line, "stale-learned")) {
    job->sweep.query.learning = SETTLE_STALE;
    job->sweep.query.learned_ratio = options_real(job->line, "stale-learned", 0.0) * UNITS_RATIO_PER_PCT;
    job->sweep.learned_given = true;
    job->head.fingerprint =
        sweep_file_hash(job->head.fingerprint, &job->sweep.query.learned_ratio, sizeof job->sweep.query.learned_ratio);
  }
  return status;
}

/* Which rows are this call's. */
static enum status share(struct job *job, struct error *error) {
  const size_t total = sweep_point_count(&job->sweep);
  if (total > UNASKED_POINT_MAX && !options_given(job->line, "yes"))
    return error_set(error, STATUS_USAGE, "that is %zu points: use a coarser step, or add --yes to compute them all", total);
  job->head.total = job->head.end = total;
  const char *text = options_text(job->line, "shard", NULL);
  if (!text) return STATUS_OK;
  char rest;
  // nine digits, so that a larger number is no number, rather than another one
  if (sscanf(text, "%9d/%9d%c", &job->shard, &job->shard_count, &rest) != 2 || job->shard < 1 || job->shard > job->shard_count)
    return error_set(error, STATUS_USAGE, "--shard %s: it needs I/N, part I of N, as in 1/4 to 4/4", text);
  const size_t i = (size_t)job->shard, n = (size_t)job->shard_count, whole = total / n, rest_count = total % n;
  job->head.first = (i - 1) * whole + (i - 1 < rest_count ? i - 1 : rest_count);
  job->head.end = i * whole + (i < rest_count ? i : rest_count);
  return STATUS_OK;
}

static enum status choose_place(struct job *job, struct error *error) {
  const char *name = job->sweep.scenario ? job->scenario.name : job->sweep.engine.name;
  char usual[PATH_SIZE];
  int length;
  (void)out_folder(sizeof usual, usual);
  if (options_given(job->line, "out"))
    length = snprintf(job->folder, PATH_SIZE, "%s", options_text(job->line, "out", ""));
  else
    length = snprintf(job->folder, PATH_SIZE, "%s/sweep-%s", usual, name);
  char part[64] = "";
  if (job->shard) snprintf(part, sizeof part, "-%d-of-%d", job->shard, job->shard_count);
  if (length >= 0 && length < PATH_SIZE) length = snprintf(job->csv_path, PATH_SIZE, "%s/sweep%s.csv", job->folder, part);
  if (length < 0 || length >= PATH_SIZE)
    return error_set(error, STATUS_CANNOT_CREATE, "--out: the path is longer than %d characters", PATH_SIZE);
  return output_file_make_folder(job->folder, error);
}

/* ---- Computing ---- */

/* Rows there are from an earlier call count only if the last of them comes out the same now. */
static enum status trust(struct job *job, const struct for_each *for_each, double *values, struct error *error) {
  if (job->file.row_count == 0) return STATUS_OK;
  bool agrees = false;
  enum status status = sweep_points(job->workers, for_each, job->head.first + job->file.row_count - 1, 1, values, error);
  if (status == STATUS_OK) status = sweep_file_agrees(&job->file, values, &agrees, error);
  if (status == STATUS_OK && !agrees) status = sweep_file_restart(&job->file, error);
  job->resumed = job->file.row_count;
  return status;
}

static enum status compute(struct job *job, const struct for_each *for_each, struct error *error) {
  const size_t chunk = job->sweep.scenario ? RUNS_A_WORKER * for_each->worker_count : SETTLED_CHUNK;
  struct progress progress;
  double *values = calloc(chunk * job->sweep.column_count, sizeof *values);
  if (!values) return error_set(error, STATUS_NO_MEMORY, "out of memory for %zu points", chunk);
  enum status status = sweep_workers_create(&job->sweep, for_each->worker_count, &job->workers, error);
  if (status == STATUS_OK) status = trust(job, for_each, values, error);
  const size_t all = job->head.end - job->head.first;
  progress_begin(&progress, job->line, job->sweep.scenario ? "running" : "settling");
  while (status == STATUS_OK && job->file.row_count < all) {
    const size_t left = all - job->file.row_count, count = left < chunk ? left : chunk;
    status = sweep_points(job->workers, for_each, job->head.first + job->file.row_count, count, values, error);
    if (status == STATUS_OK) status = sweep_file_append(&job->file, for_each, values, count, error);
    if (status == STATUS_OK) progress_show(&progress, (double)job->file.row_count / (double)all);
  }
  progress_end(&progress);
  free(values);
  return status == STATUS_OK ? sweep_file_finish(&job->file, error) : status;
}

/* ---- Telling ---- */

/* sweep.png, or sweep-speed.png for a slide's part. */
static enum status name_picture(const struct job *job, const struct picture_sweep *picture, enum picture_format format,
                                char path[PATH_SIZE], struct error *error) {
  const char *part = picture_sweep_part_name(picture);
  const int length = snprintf(path, PATH_SIZE, "%s/%s%s%s%s", job->folder, picture_rows[picture_sweep_kind(picture->sweep)].name,
                              part[0] ? "-" : "", part, picture_format_rows[format].ending);
  if (length < 0 || length >= PATH_SIZE)
    return error_set(error, STATUS_CANNOT_CREATE, "--out: the path is longer than %d characters", PATH_SIZE);
  return STATUS_OK;
}

static void draw_one(struct job *job, const struct picture_sweep *picture, enum picture_format format,
                     struct picture_option_drawing *drawing) {
  struct error one;
  error_clear(&one);
  char *path = format == PICTURE_dumb ? NULL : job->files[job->file_count];
  enum status status = path ? name_picture(job, picture, format, path, &one) : STATUS_OK;
  if (status == STATUS_OK) {
    const struct picture_target target = picture_option_target(drawing, format, path, job->csv_path);
    status = picture_sweep_draw(picture, &target, &one);
  }
  if (picture_option_end(drawing, status, &one) && path) job->file_count++;
}

static enum status draw(struct job *job, struct error *error) {
  if (job->shard || picture_sweep_kind(&job->sweep) == PICTURE_COUNT) return STATUS_OK;
  bool formats[PICTURE_FORMAT_COUNT];
  struct picture_option_drawing drawing;
  picture_option_formats(job->line, formats);
  picture_option_begin(&drawing, job->line);
  struct picture_sweep picture = {.sweep = &job->sweep,
                                  .table = &job->table,
                                  .title = job->sweep.scenario ? job->scenario.title : "Settled points",
                                  .engine_title = job->sweep.engine.title};
  for (int format = 0; format < PICTURE_FORMAT_COUNT; format++) {
    if (!formats[format]) continue;
    const bool slides = picture_option_form(job->line, (enum picture_format)format) == PICTURE_FORM_slide;
    const size_t parts = slides ? picture_sweep_part_count(&picture) : 0;
    for (picture.part = parts > 0; picture.part <= parts; picture.part++)
      draw_one(job, &picture, (enum picture_format)format, &drawing);
  }
  return picture_option_result(&drawing, error);
}

static void put_rows(const struct job *job, struct json *json) {
  const struct sweep_table *table = &job->table;
  json_open_array(json, "columns");
  for (size_t i = 0; i < job->sweep.column_count; i++) json_put_text(json, NULL, job->sweep.columns[i].name);
  json_close(json);
  json_open_array(json, "rows");
  for (size_t row = 0; row < table->row_count; row++) {
    json_open_array(json, NULL);
    for (size_t i = 0; i < table->column_count; i++)
      json_put_real(json, NULL, table->values[row * table->column_count + i], job->sweep.columns[i].decimals);
    json_close(json);
  }
  json_close(json);
}

static enum status print_json(const struct job *job, struct error *error) {
  struct json *json = json_create();
  json_put_text(json, "file", job->path);
  json_put_text(json, "kind", job->sweep.scenario ? "runs" : "settled points");
  json_put_count(json, "points", (long long)job->head.total);
  json_put_count(json, "first", (long long)job->head.first);
  json_open_array(json, "vary");
  for (size_t i = 0; i < job->sweep.axis_count; i++) json_put_text(json, NULL, job->sweep.axes[i].name);
  json_close(json);
  if (!job->sweep.scenario) {
    json_open_array(json, "outcomes"); // what the numbers in the column `outcome` stand for
    for (int i = 0; i < SETTLE_OUTCOME_COUNT; i++) json_put_text(json, NULL, settle_outcome_names[i]);
    json_close(json);
  }
  what_if_put_json(&job->what_if, json);
  put_rows(job, json);
  json_open_array(json, "files");
  for (size_t i = 0; i < job->file_count; i++) json_put_text(json, NULL, job->files[i]);
  json_close(json);
  const enum status status = json_print(json, stdout, error);
  json_destroy(json);
  return status;
}

static enum status print_text(const struct job *job, struct error *error) {
  const size_t rows = job->head.end - job->head.first;
  printf("%s: %zu %s over %s%s%s", job->sweep.engine.title, rows, job->sweep.scenario ? "runs" : "settled points",
         job->sweep.axes[0].name, job->sweep.axis_count > 1 ? " and " : "",
         job->sweep.axis_count > 1 ? job->sweep.axes[1].name : "");
  if (job->shard)
    printf(", part %d of %d (rows %zu to %zu of %zu)", job->shard, job->shard_count, job->head.first, job->head.end,
           job->head.total);
  printf("\n");
  what_if_print(&job->what_if, stdout);
  if (job->resumed) printf("%zu of them were there already\n", job->resumed);
  const enum status status = job->shard ? STATUS_OK : sweep_report_print(&job->sweep, &job->table, stdout, error);
  for (size_t i = 0; i < job->file_count; i++) printf("%s%s\n", i ? "" : "\n", job->files[i]);
  return status;
}

/* A file that was edited may hold anything; what stands for no outcome is told and not drawn. */
static enum status check_outcomes(const struct job *job, struct error *error) {
  const struct sweep_table *table = &job->table;
  for (size_t row = 0; !job->sweep.scenario && row < table->row_count; row++) {
    const double outcome = table->values[row * table->column_count + job->sweep.axis_count];
    if (outcome >= 0.0 && outcome < SETTLE_OUTCOME_COUNT && outcome <= floor(outcome)) continue;
    return error_set(error, STATUS_BAD_DATA, "%s:%zu: outcome %.10g; allowed: 0 to %d. Somebody changed the file: remove it",
                     job->csv_path, row + 3, outcome, SETTLE_OUTCOME_COUNT - 1);
  }
  return STATUS_OK;
}

static enum status sweep(struct job *job, struct error *error) {
  enum status status = load(job, error);
  if (status == STATUS_OK) status = read_axes(job, error);
  if (status == STATUS_OK) status = share(job, error);
  if (status != STATUS_OK) return status;
  status = sweep_check(&job->sweep, error);
  if (status != STATUS_OK) return status;
  sweep_columns_make(&job->sweep);
  const struct for_each for_each = threads_for_each((size_t)options_count(job->line, "threads", 0));
  status = choose_place(job, error);
  if (status == STATUS_OK) status = sweep_file_open(&job->file, job->csv_path, &job->sweep, &job->head, error);
  if (status == STATUS_OK) status = compute(job, &for_each, error);
  if (status == STATUS_OK) status = sweep_file_read(job->csv_path, &for_each, &job->table, error);
  if (status != STATUS_OK) return status;
  status = check_outcomes(job, error);
  if (status != STATUS_OK) return status;
  snprintf(job->files[job->file_count++], PATH_SIZE, "%s", job->csv_path);
  struct error drawing;
  error_clear(&drawing);
  const enum status drawn = draw(job, &drawing);
  if (job->line->json)
    status = print_json(job, error);
  else if (!job->line->quiet)
    status = print_text(job, error);
  if (status == STATUS_OK && drawn != STATUS_OK) *error = drawing;
  return status == STATUS_OK ? drawn : status;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct job *job = calloc(1, sizeof *job);
  if (!job) return error_set(error, STATUS_NO_MEMORY, "out of memory for a sweep");
  job->line = line;
  job->path = line->operands[0];
  scenario_init(&job->scenario);
  settle_query_init(&job->sweep.query);
  const enum status status = sweep(job, error);
  sweep_file_close(&job->file);
  sweep_file_read_forget(&job->table);
  sweep_workers_destroy(job->workers);
  for (size_t i = 0; i < job->sweep.axis_count; i++) sweep_axis_destroy(&job->sweep.axes[i]);
  scenario_destroy(&job->scenario);
  free(job);
  return status;
}

const struct command command_sweep = {
    .name = "sweep",
    .text = "one or two inputs over ranges: settled points, or whole runs of a scenario",
    .operands = "FILE",
    .operand_least = 1,
    .operand_most = 1,
    .options = sweep_options,
    .option_count = ARRAY_COUNT(sweep_options),
    .run = run,
    .details = "For an engine file each point is its settled state; for a scenario each point is a run, in which the value "
               "replaces the scenario's own at the start. learned_pct is the learned offset that the computer starts "
               "with.\n\nsweep.csv has the inputs first, then all channels, or the results of each run. It is called "
               "sweep.csv.partial until it is complete: the same command continues where it was stopped.\n\n  bladegap sweep "
               "models/four-16.cfg --vary film_um=0:110:1\n  bladegap sweep models/four-16.cfg --vary film_um=0:110:2 --vary "
               "altitude_m=0:3000:100\n  bladegap sweep models/four-16.cfg --vary leak_mm2=0.5:50:x20 --set film_um=40 --format "
               "svg\n  bladegap sweep scenarios/stale-learned.cfg --vary learned_pct=0:40:5 --shard 1/3",
};
