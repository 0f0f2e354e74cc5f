/* `bladegap run SCENARIO ...`: simulate, write, draw, explain; several beside each other. */
#include "analysis/settle/launch.h"
#include "car/engine_check.h"
#include "commands/command.h"
#include "commands/engine_options.h"
#include "commands/out_folder.h"
#include "commands/picture_option.h"
#include "commands/progress.h"
#include "commands/run_log.h"
#include "commands/run_record.h"
#include "commands/run_text.h"
#include "commands/scenario_any.h"
#include "commands/solver_list.h"
#include "commands/units_option.h"
#include "commands/what_if.h"
#include "io/config/engine_file.h"
#include "io/format/csv_write.h"
#include "io/format/json.h"
#include "io/format/output_file.h"
#include "io/picture/picture_beside.h"
#include "io/picture/run_pictures.h"
#include "io/report/events_file.h"
#include "io/report/run_report.h"
#include "io/scantool/capture.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PATH_SIZE = OUTPUT_FILE_PATH_SIZE, STREAM_MAX = 16 };

static const struct option_row run_options[] = {
    OPTION_ROW_TEXT("out", "DIR",
                    "folder for run.csv, summary.txt and pictures; out/NAME by default (~/bladegap/NAME if that is not "
                    "writable). Several scenarios get a folder each in it"),
    PICTURE_OPTION_ROW,
    PICTURE_OPTION_FOR_ROW,
    OPTION_ROW_CHOICE("solver", "SOLVER", solver_list_names,
                      "cvode (default), fast: Runge-Kutta with steps as long as the equations allow, or fixed: steps of 1 ms; "
                      "for a record that names one, that is the default"),
    WHAT_IF_SET_ROW,
    ENGINE_OPTIONS_SCALE_ROW,
    WHAT_IF_FREEZE_ROW,
    OPTION_ROW_COUNT("seed", "N", 0, 2147483647, "seed of the cycle scatter, instead of the scenario's"),
    OPTION_ROW_FLAG("all",
                    "the whole summary: every sentence, readings, events, scan tool; without it only the most important part"),
    {"stream-at", OPTION_REAL, "T", 0, 604800, NULL, true,
     "also show what a scan tool reads T seconds into the run; may be given up to 16 times"},
    OPTION_ROW_FLAG("rows-only", "write run.csv and events.csv during the run, and no pictures or summary, to save memory"),
    UNITS_OPTION_ROW,
    PROGRESS_OPTION_ROW,
    RUN_LOG_OPTION_ROWS,
    OPTION_ROW_FLAG("capture", "write what passes over the diagnostic bus at every --stream-at to capture.pcap"),
    OPTION_ROW_FLAG("record", "also write what was done, and when, to record.txt, which can be run like a scenario and gives the "
                              "same bytes. If values of the engine were changed, engine.cfg beside it says which"),
};

/* Everything a run owns. */
struct job {
  const struct command_line *line;
  const char *path;
  struct engine of_file, engine; // as its file has it, and with what was changed
  struct scenario scenario;
  struct what_if what_if;
  struct simulation *sim;
  struct recording recording;
  struct story story;
  struct explanation explanation;
  struct scan streams[STREAM_MAX + 1]; // --stream-at, and behind them the start, for --as-log
  size_t stream_count, file_count;
  struct scan last;          // at the end
  struct output_file output; // one file is open at a time
  int lock;                  // on the folder; 0 before it is there
  char folder[PATH_SIZE], csv_path[PATH_SIZE], found_path[SCENARIO_PATH_SIZE];
  char files[RUN_REPORT_FILE_MAX][PATH_SIZE];
};

static enum status name_file(struct job *job, const char *stem, const char *ending, char path[PATH_SIZE], struct error *error) {
  const int length = snprintf(path, PATH_SIZE, "%s/%s%s", job->folder, stem, ending);
  if (length < 0 || length >= PATH_SIZE)
    return error_set(error, STATUS_CANNOT_CREATE, "%s: the path is longer than %d characters", job->folder, PATH_SIZE);
  return STATUS_OK;
}

static void list_file(struct job *job, const char *path) {
  if (job->file_count < RUN_REPORT_FILE_MAX) snprintf(job->files[job->file_count++], PATH_SIZE, "%s", path);
}

/* --out itself for a single scenario; else, and for what was changed, a folder in it: out/film-droop-film_um=60. */
static void choose_folder(struct job *job) {
  out_folder_choose(job->line, sizeof job->folder, job->folder);
  if (job->line->operand_count == 1 && options_given(job->line, "out")) return;
  const size_t used = strlen(job->folder);
  snprintf(job->folder + used, sizeof job->folder - used, "/%s%s", job->scenario.name, job->what_if.suffix);
}

/* The moments of --stream-at, checked against the scenario. */
static enum status choose_streams(struct job *job, struct error *error) {
  const size_t count = options_given(job->line, "stream-at");
  if (count > STREAM_MAX)
    return error_set(error, STATUS_USAGE, "--stream-at is given %zu times; allowed: up to %d", count, STREAM_MAX);
  if (count == 0 && options_given(job->line, "capture"))
    return error_set(error, STATUS_USAGE, "--capture needs at least one --stream-at T: it writes those moments");
  for (size_t i = 0; i < count; i++) {
    double *wanted_s = &job->streams[i].wanted_s;
    const char *word = options_text_at(job->line, "stream-at", i);
    if (!options_read_real(word, wanted_s) || *wanted_s > job->scenario.duration_s)
      return error_set(error, STATUS_USAGE, "--stream-at: %s s is beyond the end of %s at %g s", word, job->path,
                       job->scenario.duration_s);
  }
  job->stream_count = count;
  return STATUS_OK;
}

static enum status load(struct job *job, struct error *error) {
  enum status status = scenario_any_read(job->path, job->found_path, &job->scenario, error);
  if (status != STATUS_OK) return status;
  job->path = job->found_path;
  status = engine_file_read(job->scenario.engine_path, &job->engine, error);
  job->of_file = job->engine;
  if (status == STATUS_OK) status = what_if_apply(job->line, job->path, &job->engine, &job->scenario, &job->what_if, error);
  if (status == STATUS_OK && job->what_if.engine_changed) status = engine_check(&job->engine, error);
  if (status != STATUS_OK) return status;
  if (options_given(job->line, "seed")) job->scenario.seed = (uint64_t)options_count(job->line, "seed", 1);
  choose_folder(job);
  status = run_log_check(job->line, &job->scenario, error);
  return status == STATUS_OK ? choose_streams(job, error) : status;
}

static enum status make_folder(struct job *job, struct error *error) {
  const enum status status = output_file_take_folder(job->folder, &job->lock, error);
  return status == STATUS_OK ? name_file(job, "run", ".csv", job->csv_path, error) : status;
}

/* The one asked for, or the record's. */
static const struct solver_vtable *choose_solver(const struct job *job) {
  int choice = 0;
  for (int i = 0; i < SOLVER_LIST_COUNT; i++)
    if (strcmp(job->scenario.solver, solver_list_names[i]) == 0) choice = i;
  return solver_list_rows[options_choice(job->line, "solver", choice)];
}

static enum status simulate(struct job *job, struct error *error) {
  const struct solver_options options = solver_options_default();
  const struct solver_vtable *solver = choose_solver(job);
  struct progress progress;
  enum status status = launch_scenario(&job->engine, &job->scenario, solver, &options, &job->sim, error);
  if (status != STATUS_OK) return status;
  simulation_ask_scans(job->sim, job->streams, job->stream_count + 1);
  progress_begin(&progress, job->line, "simulating");
  status = simulation_run(job->sim, &job->recording, progress.on ? progress_simulation : NULL, &progress, error);
  progress_end(&progress);
  return status;
}

/* What only the end of the run shows, and the capture. */
static enum status finish_scans(struct job *job, struct error *error) {
  char path[PATH_SIZE];
  simulation_scan(job->sim, &job->last);
  for (size_t i = 0; i < job->stream_count; i++) // the very last moment comes after the last tick
    if (!job->streams[i].taken) simulation_scan(job->sim, &job->streams[i]);
  if (!options_given(job->line, "capture")) return STATUS_OK;
  enum status status = name_file(job, "capture", ".pcap", path, error);
  if (status == STATUS_OK) status = capture_write(path, &job->engine, job->streams, job->stream_count, error);
  if (status == STATUS_OK) list_file(job, path);
  return status;
}

/* Notes, codes and stalls, so that `plot` can draw them again. */
static enum status save_events(struct job *job, struct error *error) {
  char path[PATH_SIZE];
  enum status status = name_file(job, "events", ".csv", path, error);
  if (status == STATUS_OK) status = events_file_write(path, &job->recording, error);
  if (status == STATUS_OK) list_file(job, path);
  return status;
}

/* What was done, with the solver it was done with. */
static enum status save_record(struct job *job, struct error *error) {
  char files[RUN_RECORD_FILE_MAX][PATH_SIZE];
  size_t count;
  if (!options_given(job->line, "record")) return STATUS_OK;
  snprintf(job->scenario.solver, sizeof job->scenario.solver, "%s", choose_solver(job)->name);
  const struct run_record record = {job->folder, &job->scenario, &job->of_file, &job->engine};
  const enum status status = run_record_write(&record, files, &count, error);
  for (size_t i = 0; i < count; i++) list_file(job, files[i]);
  return status;
}

static enum status save_logs(struct job *job, struct error *error) {
  const struct scan *start = &job->streams[job->stream_count];
  for (size_t i = 0; i < options_given(job->line, "as-log"); i++) list_file(job, options_text_at(job->line, "as-log", i));
  if (options_given(job->line, "as-capture")) list_file(job, options_text(job->line, "as-capture", NULL));
  return run_log_write(job->line, &job->engine, &job->scenario, &job->recording, start, &job->last, error);
}

/* A row straight to the file; a full disk ends the run. */
static enum status stream_row(const double values[CHANNEL_COUNT], void *user, struct error *error) {
  struct job *job = user;
  csv_write_channel_row(job->output.stream, values);
  return ferror(job->output.stream) ? error_set(error, STATUS_IO, "%s cannot be written", job->csv_path) : STATUS_OK;
}

static void stream_rows(struct job *job) {
  csv_write_channel_header(job->output.stream);
  job->recording.sink = stream_row;
  job->recording.sink_user = job;
}

/* The CSV is opened before the simulation: a folder that cannot be written to is told at once. */
static enum status simulate_to_csv(struct job *job, struct error *error) {
  enum status status = output_file_open(&job->output, job->csv_path, error);
  if (status != STATUS_OK) return status;
  const bool streaming = options_given(job->line, "rows-only") > 0;
  if (streaming) stream_rows(job);
  status = simulate(job, error);
  if (job->recording.row_count == 0) {
    output_file_discard(&job->output);
    return status;
  }
  if (!streaming) csv_write_recording(job->output.stream, &job->recording); // what there is, also when the run broke off
  struct error writing;
  error_clear(&writing);
  const enum status written = output_file_commit(&job->output, &writing);
  if (written == STATUS_OK) list_file(job, job->csv_path);
  if (written == STATUS_OK && status == STATUS_OK) status = save_events(job, error);
  if (written == STATUS_OK && status == STATUS_OK) status = finish_scans(job, error);
  if (written == STATUS_OK && status == STATUS_OK) status = save_record(job, error);
  if (written == STATUS_OK && status == STATUS_OK) status = save_logs(job, error);
  if (status == STATUS_OK && written != STATUS_OK) {
    *error = writing;
    return written;
  }
  return status;
}

static void draw_one(struct job *job, const struct run_pictures *pictures, const struct run_pictures_item *item,
                     enum picture_format format, struct picture_option_drawing *drawing) {
  char path[PATH_SIZE];
  struct error one;
  error_clear(&one);
  const bool letters = format == PICTURE_dumb;
  enum status status = letters ? STATUS_OK : name_file(job, item->stem, picture_format_rows[format].ending, path, &one);
  if (status == STATUS_OK) {
    const struct picture_target target = picture_option_target(drawing, format, letters ? NULL : path, job->csv_path);
    status = run_pictures_draw(pictures, item, &target, &one);
  }
  if (picture_option_end(drawing, status, &one) && !letters) list_file(job, path);
}

static enum status draw(struct job *job, struct error *error) {
  bool formats[PICTURE_FORMAT_COUNT];
  struct run_pictures_item items[RUN_PICTURES_MAX];
  struct picture_option_drawing drawing;
  picture_option_formats(job->line, formats);
  picture_option_begin(&drawing, job->line);
  const struct run_pictures pictures = {.engine = &job->engine,
                                        .recording = &job->recording,
                                        .story = &job->story,
                                        .scenario = &job->scenario,
                                        .title = job->scenario.title,
                                        .engine_title = job->engine.title};
  for (int format = 0; format < PICTURE_FORMAT_COUNT; format++) {
    if (!formats[format]) continue;
    const size_t count = run_pictures_list(&pictures, picture_option_form(job->line, (enum picture_format)format), items);
    for (size_t i = 0; i < count; i++) draw_one(job, &pictures, &items[i], (enum picture_format)format, &drawing);
  }
  return picture_option_result(&drawing, error);
}

static enum status save_summary(struct job *job, const struct run_report *report, struct error *error) {
  char path[PATH_SIZE];
  enum status status = name_file(job, "summary", ".txt", path, error);
  if (status == STATUS_OK) status = output_file_open(&job->output, path, error);
  if (status != STATUS_OK) return status;
  status = run_text_print(&job->what_if, report, job->output.stream, error);
  if (status == STATUS_OK) return output_file_commit(&job->output, error);
  output_file_discard(&job->output);
  return status;
}

static struct run_report report_of(const struct job *job) {
  struct run_report report = {.scenario = &job->scenario,
                              .engine = &job->engine,
                              .recording = &job->recording,
                              .story = &job->story,
                              .explanation = &job->explanation,
                              .all = options_given(job->line, "all") > 0,
                              .last = job->last.taken ? &job->last : NULL,
                              .streams = job->streams,
                              .stream_count = job->stream_count,
                              .us = units_option_us(job->line)};
  for (size_t i = 0; i < job->file_count; i++) report.files[report.file_count++] = job->files[i];
  return report;
}

/* Explains, draws, saves the words. A picture that cannot be drawn does not keep the words back. */
static enum status tell(struct job *job, struct error *error) {
  story_find(&job->recording, &job->story);
  job->story.load_count = load_steps_find(&job->recording, &job->scenario, job->story.loads, STORY_LOAD_MAX);
  explain_run(job->sim, &job->recording, &job->story, &job->explanation);
  const enum status drawn = draw(job, error);
  const struct run_report report = report_of(job);
  struct error second;
  error_clear(&second);
  enum status status = save_summary(job, &report, &second);
  if (status == STATUS_OK && !job->line->json && !job->line->quiet)
    status = run_text_print(&job->what_if, &report, stdout, &second);
  if (status == STATUS_OK) out_folder_tell(job->line, job->folder);
  if (drawn != STATUS_OK) return drawn;
  if (status != STATUS_OK) *error = second;
  return status;
}

/* ---- Several scenarios ---- */

struct batch {
  const struct command_line *line;
  size_t count;
  struct job *jobs; // owned
  size_t told;      // the first so many have been simulated and explained
  size_t file_count;
  char files[PICTURE_FORMAT_COUNT * PICTURE_BESIDE_PARTS][PATH_SIZE];
};

/* Two scenarios of one name would write over each other. */
static enum status check_names(const struct batch *batch, struct error *error) {
  for (size_t i = 0; i < batch->count; i++)
    for (size_t k = 0; k < i; k++)
      if (strcmp(batch->jobs[i].folder, batch->jobs[k].folder) == 0)
        return error_set(error, STATUS_USAGE, "run: %s and %s would both write to %s; rename one or run them one by one",
                         batch->jobs[k].path, batch->jobs[i].path, batch->jobs[i].folder);
  return STATUS_OK;
}

/* beside.png, or beside-speed.png for a slide's part. */
static enum status name_beside(struct batch *batch, enum picture_format format, int part, char path[PATH_SIZE],
                               struct error *error) {
  out_folder_choose(batch->line, PATH_SIZE, path);
  const size_t used = strlen(path);
  const int length = snprintf(path + used, PATH_SIZE - used, "/beside%s%s%s", part ? "-" : "",
                              part ? picture_beside_parts[part - 1] : "", picture_format_rows[format].ending);
  if (length < 0 || (size_t)length >= PATH_SIZE - used)
    return error_set(error, STATUS_CANNOT_CREATE, "--out: the path is longer than %d characters", PATH_SIZE);
  return STATUS_OK;
}

static void draw_beside_one(struct batch *batch, const struct picture_beside *beside, enum picture_format format,
                            struct picture_option_drawing *drawing) {
  char *path = format == PICTURE_dumb ? NULL : batch->files[batch->file_count];
  struct error one;
  error_clear(&one);
  enum status status = path ? name_beside(batch, format, beside->part, path, &one) : STATUS_OK;
  if (status == STATUS_OK) {
    const struct picture_target target = picture_option_target(drawing, format, path, batch->jobs[0].csv_path);
    status = picture_beside_draw(beside, &target, &one);
  }
  if (picture_option_end(drawing, status, &one) && path) batch->file_count++;
}

static enum status draw_beside(struct batch *batch, struct error *error) {
  struct picture_beside_run runs[PICTURE_BESIDE_MAX];
  for (size_t i = 0; i < batch->count; i++)
    runs[i] = (struct picture_beside_run){&batch->jobs[i].recording, batch->jobs[i].scenario.title, batch->jobs[i].engine.title};
  struct picture_beside beside = {runs, batch->count, 0};
  bool formats[PICTURE_FORMAT_COUNT];
  struct picture_option_drawing drawing;
  picture_option_formats(batch->line, formats);
  picture_option_begin(&drawing, batch->line);
  for (int format = 0; format < PICTURE_FORMAT_COUNT; format++) {
    if (!formats[format]) continue;
    const bool slides = picture_option_form(batch->line, (enum picture_format)format) == PICTURE_FORM_slide;
    for (beside.part = slides; beside.part <= (slides ? PICTURE_BESIDE_PARTS : 0); beside.part++)
      if (!slides || picture_beside_has(&beside, beside.part))
        draw_beside_one(batch, &beside, (enum picture_format)format, &drawing);
  }
  return picture_option_result(&drawing, error);
}

static enum status print_json(const struct batch *batch, struct error *error) {
  struct json *json = json_create();
  if (batch->count == 1) {
    const struct run_report report = report_of(&batch->jobs[0]);
    what_if_put_json(&batch->jobs[0].what_if, json);
    run_report_put_json(&report, json);
  } else {
    json_open_array(json, "runs");
    for (size_t i = 0; i < batch->told; i++) {
      const struct run_report report = report_of(&batch->jobs[i]);
      json_open_object(json, NULL);
      what_if_put_json(&batch->jobs[i].what_if, json);
      run_report_put_json(&report, json);
      json_close(json);
    }
    json_close(json);
    json_open_array(json, "files");
    for (size_t i = 0; i < batch->file_count; i++) json_put_text(json, NULL, batch->files[i]);
    json_close(json);
  }
  const enum status status = json_print(json, stdout, error);
  json_destroy(json);
  return status;
}

/* What all have been simulated for. *drawn: the first picture that could not be drawn. */
static enum status run_all(struct batch *batch, enum status *drawn, struct error *drawing, struct error *error) {
  enum status status = STATUS_OK;
  for (size_t i = 0; status == STATUS_OK && i < batch->count; i++) status = load(&batch->jobs[i], error);
  if (status == STATUS_OK) status = check_names(batch, error);
  for (size_t i = 0; status == STATUS_OK && i < batch->count; i++) {
    struct job *job = &batch->jobs[i];
    status = make_folder(job, error);
    if (status == STATUS_OK) status = simulate_to_csv(job, error);
    if (status != STATUS_OK) return status;
    if (options_given(batch->line, "rows-only")) {
      if (!batch->line->quiet) what_if_print(&job->what_if, stdout);
      continue;
    }
    if (i > 0 && !batch->line->json && !batch->line->quiet) printf("\n");
    struct error one;
    error_clear(&one);
    const enum status told = tell(job, &one);
    if (told != STATUS_OK && *drawn == STATUS_OK) {
      *drawn = told;
      *drawing = one;
    }
    batch->told = i + 1;
  }
  return status;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct batch batch = {.line = line, .count = line->operand_count};
  enum status status = STATUS_OK, drawn = STATUS_OK;
  struct error drawing;
  error_clear(&drawing);
  if (options_given(line, "rows-only") && (line->json || options_given(line, "format")))
    return error_set(error, STATUS_USAGE, "--rows-only keeps no rows to draw or explain: leave out --json and --format");
  batch.jobs = calloc(batch.count, sizeof *batch.jobs);
  if (!batch.jobs) return error_set(error, STATUS_NO_MEMORY, "out of memory for %zu runs", batch.count);
  for (size_t i = 0; i < batch.count; i++) {
    batch.jobs[i].line = line;
    batch.jobs[i].path = line->operands[i]; // load() puts the path it stands for in its place
    scenario_init(&batch.jobs[i].scenario);
    recording_init(&batch.jobs[i].recording);
  }
  status = run_all(&batch, &drawn, &drawing, error);
  if (status != STATUS_OK) goto cleanup;
  if (batch.count > 1 && !options_given(line, "rows-only")) {
    struct error one;
    error_clear(&one);
    const enum status beside = draw_beside(&batch, &one);
    if (drawn == STATUS_OK && beside != STATUS_OK) {
      drawn = beside;
      drawing = one;
    }
  }
  if (line->json)
    status = print_json(&batch, error);
  else if (batch.file_count && !line->quiet)
    for (size_t i = 0; i < batch.file_count; i++) printf("\nside by side: %s\n", batch.files[i]);
  if (status == STATUS_OK && drawn != STATUS_OK) {
    *error = drawing;
    status = drawn;
  }
cleanup:
  for (size_t i = 0; i < batch.count; i++) {
    output_file_give_back_folder(batch.jobs[i].lock);
    simulation_destroy(batch.jobs[i].sim);
    recording_destroy(&batch.jobs[i].recording);
    scenario_destroy(&batch.jobs[i].scenario);
  }
  free(batch.jobs);
  return status;
}

const struct command command_run = {
    .name = "run",
    .text = "simulates a scenario, writes its data and pictures, and explains what happened",
    .operands = "SCENARIO ...",
    .operand_least = 1,
    .operand_most = PICTURE_BESIDE_MAX,
    .options = run_options,
    .option_count = ARRAY_COUNT(run_options),
    .run = run,
    .details =
        "Writes run.csv (all channels, one row every record_s of the scenario), events.csv, summary.txt, and pictures: the run "
        "over time, gap area against blade opening, the gap to scale, and, where loads cut in at several films, the lowest speed "
        "after each. The summary on stdout explains, with the numbers of this run, why the idle went as it did.\n\nA record "
        "(docs/records.md) can be run like a scenario. Several scenarios get a folder each; beside.png shows all of them on the "
        "same scales.\n\nWhat if? --set and --freeze change what is run, not the file: the summary begins with what was changed "
        "and which steps that replaces, and the files go into a folder of that name (out/film-droop-film_um=60). A condition "
        "keeps its value for the whole run; NAME@T=VALUE adds a step, which ends a ramp of that condition. Shipped scenarios can "
        "be given by name from any folder.\n\n  bladegap run scenarios/film-droop.cfg --out /tmp/droop\n  bladegap run "
        "air-conditioning --set film_um=60\n  bladegap run film-droop --freeze learned --set film_um@300=0\n  bladegap run "
        "scenarios/leak-air-flow.cfg scenarios/film-air-flow.cfg\n  bladegap run slow-opening --set film_um=45 --as-log "
        "/tmp/drive.csv --log-shape polled\n  bladegap run scenarios/film-droop.cfg --json --quiet",
};
