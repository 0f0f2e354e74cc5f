/* `bladegap run SCENARIO`: simulate, write, draw, explain. */
#include "commands/command.h"
#include "io/csv_write.h"
#include "io/engine_file.h"
#include "io/events_file.h"
#include "io/output_file.h"
#include "io/run_pictures.h"
#include "io/run_report.h"
#include "io/scenario_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum { PATH_SIZE = OUTPUT_FILE_PATH_SIZE };

static const char *const format_names[] = {"png", "svg", "both", "dumb", "none", NULL};
enum run_format { RUN_PNG, RUN_SVG, RUN_BOTH, RUN_DUMB, RUN_NONE };

static const struct solver_vtable *const solvers[] = {&solver_cvode, &solver_fixed};
static const char *const solver_names[] = {"cvode", "fixed", NULL};

static const struct option_row run_options[] = {
    OPTION_ROW_TEXT("out", "DIR", "folder for run.csv, summary.txt and the pictures; out/NAME of the scenario by default"),
    OPTION_ROW_CHOICE("format", "FORMAT", format_names,
                      "pictures as png (default), svg, both, as letters on this terminal (dumb), or none"),
    OPTION_ROW_CHOICE("solver", "SOLVER", solver_names, "cvode (default), or fixed: Runge-Kutta with steps of 1 ms"),
    OPTION_ROW_COUNT("seed", "N", 0, 2147483647, "seed of the cycle scatter, instead of the scenario's"),
};

/* Everything a run owns. */
struct job {
  const struct command_line *line;
  struct engine engine;
  struct scenario scenario;
  struct simulation *sim;
  struct recording recording;
  struct story story;
  struct explanation explanation;
  struct output_file output; // one file is open at a time
  char folder[PATH_SIZE];
  char csv_path[PATH_SIZE];
  size_t file_count;
  char files[RUN_REPORT_FILE_MAX][PATH_SIZE];
};

static bool show_progress(double share, void *user) {
  (void)user;
  fprintf(stderr, "\rsimulating: %3.0f %%", 100.0 * share);
  if (share > 0.97) fprintf(stderr, "\r                  \r");
  fflush(stderr);
  return true;
}

static enum status name_file(struct job *job, const char *stem, const char *ending, char path[PATH_SIZE],
                             struct error *error) {
  const int length = snprintf(path, PATH_SIZE, "%s/%s%s", job->folder, stem, ending);
  if (length < 0 || length >= PATH_SIZE)
    return error_set(error, STATUS_CANNOT_CREATE, "%s: the path is longer than %d characters", job->folder, PATH_SIZE);
  return STATUS_OK;
}

static void list_file(struct job *job, const char *path) {
  if (job->file_count < RUN_REPORT_FILE_MAX)
    snprintf(job->files[job->file_count++], PATH_SIZE, "%s", path);
}

static enum status load(struct job *job, struct error *error) {
  const char *path = job->line->operands[0];
  enum status status = scenario_file_read(path, &job->scenario, error);
  if (status != STATUS_OK) return status;
  status = engine_file_read(job->scenario.engine_path, &job->engine, error);
  if (status != STATUS_OK) return status;
  if (options_given(job->line, "seed")) job->scenario.seed = (uint64_t)options_count(job->line, "seed", 1);
  char standard[PATH_SIZE];
  snprintf(standard, sizeof standard, "out/%s", job->scenario.name);
  snprintf(job->folder, sizeof job->folder, "%s", options_text(job->line, "out", standard));
  status = output_file_make_folder(job->folder, error);
  return status == STATUS_OK ? name_file(job, "run", ".csv", job->csv_path, error) : status;
}

static enum status simulate(struct job *job, struct error *error) {
  const struct solver_options options = solver_options_default();
  const struct solver_vtable *solver = solvers[options_choice(job->line, "solver", 0)];
  const bool progress = !job->line->quiet && isatty(STDERR_FILENO);
  enum status status = simulation_create(&job->engine, &job->scenario, solver, &options, &job->sim, error);
  if (status != STATUS_OK) return status;
  return simulation_run(job->sim, &job->recording, progress ? show_progress : NULL, NULL, error);
}

/* Notes, codes and stalls, so that `plot` can draw them again. */
static enum status save_events(struct job *job, struct error *error) {
  char path[PATH_SIZE];
  enum status status = name_file(job, "events", ".csv", path, error);
  if (status == STATUS_OK) status = events_file_write(path, &job->recording, error);
  if (status == STATUS_OK) list_file(job, path);
  return status;
}

/* The CSV is opened before the simulation: a folder that cannot be written to is told at once. */
static enum status simulate_to_csv(struct job *job, struct error *error) {
  enum status status = output_file_open(&job->output, job->csv_path, error);
  if (status != STATUS_OK) return status;
  status = simulate(job, error);
  if (job->recording.row_count == 0) {
    output_file_discard(&job->output);
    return status;
  }
  csv_write_recording(job->output.stream, &job->recording); // what there is, also when the run broke off
  struct error writing;
  error_clear(&writing);
  const enum status written = output_file_commit(&job->output, &writing);
  if (written == STATUS_OK) list_file(job, job->csv_path);
  if (written == STATUS_OK && status == STATUS_OK) status = save_events(job, error);
  if (status == STATUS_OK && written != STATUS_OK) {
    *error = writing;
    return written;
  }
  return status;
}

static enum status draw_one(struct job *job, const struct run_pictures *pictures, enum picture picture,
                            enum picture_format format, struct error *error) {
  if (format == PICTURE_dumb) return run_pictures_draw(pictures, picture, format, NULL, error);
  char path[PATH_SIZE];
  enum status status = name_file(job, picture_rows[picture].name, picture_format_rows[format].ending, path, error);
  if (status == STATUS_OK) status = run_pictures_draw(pictures, picture, format, path, error);
  if (status == STATUS_OK) list_file(job, path);
  return status;
}

static enum status draw(struct job *job, struct error *error) {
  const enum run_format wanted = (enum run_format)options_choice(job->line, "format", RUN_PNG);
  const bool formats[PICTURE_FORMAT_COUNT] = {
      [PICTURE_png] = wanted == RUN_PNG || wanted == RUN_BOTH,
      [PICTURE_svg] = wanted == RUN_SVG || wanted == RUN_BOTH,
      [PICTURE_dumb] = wanted == RUN_DUMB && !job->line->json, // JSON has stdout for itself
  };
  const struct run_pictures pictures = {&job->engine,         &job->recording,    &job->story,
                                        job->scenario.title, job->engine.title, job->csv_path};
  for (int format = 0; format < PICTURE_FORMAT_COUNT; format++)
    for (int picture = 0; formats[format] && picture < PICTURE_COUNT; picture++) {
      const enum status status = draw_one(job, &pictures, (enum picture)picture, (enum picture_format)format, error);
      if (status != STATUS_OK) return status;
    }
  return STATUS_OK;
}

static enum status save_summary(struct job *job, struct run_report *report, struct error *error) {
  char path[PATH_SIZE];
  enum status status = name_file(job, "summary", ".txt", path, error);
  if (status == STATUS_OK) status = output_file_open(&job->output, path, error);
  if (status != STATUS_OK) return status;
  status = run_report_print(report, job->output.stream, error);
  if (status == STATUS_OK) return output_file_commit(&job->output, error);
  output_file_discard(&job->output);
  return status;
}

/* Explains, draws, reports. A picture that cannot be drawn does not keep the words back. */
static enum status tell(struct job *job, struct error *error) {
  story_find(&job->recording, &job->story);
  explain_run(job->sim, &job->recording, &job->story, &job->explanation);
  const enum status drawn = draw(job, error);
  struct run_report report = {.scenario = &job->scenario,
                              .engine = &job->engine,
                              .recording = &job->recording,
                              .story = &job->story,
                              .explanation = &job->explanation};
  for (size_t i = 0; i < job->file_count; i++) report.files[report.file_count++] = job->files[i];
  struct error second;
  error_clear(&second);
  enum status status = save_summary(job, &report, &second);
  if (status == STATUS_OK && job->line->json) status = run_report_print_json(&report, stdout, &second);
  else if (status == STATUS_OK && !job->line->quiet) status = run_report_print(&report, stdout, &second);
  if (drawn != STATUS_OK) return drawn;
  if (status != STATUS_OK) *error = second;
  return status;
}

static enum status run(const struct command_line *line, struct error *error) {
  struct job *job = calloc(1, sizeof *job);
  if (!job) return error_set(error, STATUS_NO_MEMORY, "out of memory for a run");
  job->line = line;
  scenario_init(&job->scenario);
  recording_init(&job->recording);
  enum status status = load(job, error);
  if (status == STATUS_OK) status = simulate_to_csv(job, error);
  if (status == STATUS_OK) status = tell(job, error);
  simulation_destroy(job->sim);
  recording_destroy(&job->recording);
  scenario_destroy(&job->scenario);
  free(job);
  return status;
}

const struct command command_run = {
    .name = "run",
    .text = "simulate a scenario; write its data and pictures and explain what happened",
    .operands = "SCENARIO",
    .operand_least = 1,
    .operand_most = 1,
    .options = run_options,
    .option_count = sizeof run_options / sizeof run_options[0],
    .run = run,
    .details = "Writes run.csv (all channels, one row every record_s of the scenario), events.csv, summary.txt, and three pictures: the "
               "run over time, gap area against blade opening, and the gap to scale. The summary on stdout says, in numbers "
               "of this very run, why the idle went as it did.\n\n"
               "  bladegap run scenarios/film-droop.cfg\n"
               "  bladegap run scenarios/film-droop.cfg --out /tmp/droop --format both\n"
               "  bladegap run scenarios/film-droop.cfg --json --quiet",
};
