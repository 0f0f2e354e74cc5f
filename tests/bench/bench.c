/* How fast it all is, in one table of Markdown on stdout. It measures and never fails on a time.
 *
 *   bench_bench [PROGRAM]        from the top of the source tree; PROGRAM: the built bladegap, for the wall
 * time of a whole run
 *
 * scenarios/film-droop.cfg with CVODE and with the fixed-step solver (a hand-written Runge-Kutta of fourth
 * order, 1 ms, on the same plant: what CVODE's comfort costs), writing the CSV, drawing the pictures, memory.
 * Each figure is the median of five; all ratios come from this one run on this one machine. */
#include "analysis/story.h"
#include "analysis/settle.h"
#include "base/attributes.h"
#include "io/csv_write.h"
#include "io/engine_file.h"
#include "io/run_pictures.h"
#include "io/scenario_file.h"
#include "sim/simulation.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define SCENARIO "scenarios/film-droop.cfg"
enum { REPEATS = 5, TEXT_SIZE = 1024 };

struct bench {
  struct engine engine;
  struct scenario scenario;
  struct recording recording; // of the last simulation
  struct story story;
  char folder[TEXT_SIZE];
};

/* A thing that is timed: CPU seconds for what we compute, wall seconds for what waits for others. */
struct work {
  const char *name;
  clockid_t clock;
  enum status (*run)(struct bench *bench, const struct work *work, struct error *error);
  const struct solver_vtable *solver;
  double tolerance, step_s;
  enum picture picture;
  const char *program;
};

static double now_s(clockid_t clock) {
  struct timespec time;
  clock_gettime(clock, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static int by_value(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static enum status simulate(struct bench *bench, const struct work *work, struct error *error) {
  struct solver_options options = solver_options_default();
  if (work->tolerance > 0.0) options.relative_tolerance = work->tolerance;
  if (work->step_s > 0.0) options.step_s = work->step_s;
  recording_destroy(&bench->recording);
  struct simulation *sim = NULL;
  enum status status =
      simulation_create(&bench->engine, &bench->scenario, work->solver, &options, &sim, error);
  if (status == STATUS_OK) status = simulation_run(sim, &bench->recording, NULL, NULL, error);
  simulation_destroy(sim);
  return status;
}

static enum status write_csv(struct bench *bench, const struct work *work, struct error *error) {
  (void)work;
  char path[TEXT_SIZE + 16];
  snprintf(path, sizeof path, "%s/run.csv", bench->folder);
  FILE *stream = fopen(path, "w");
  if (!stream) return error_set(error, STATUS_CANNOT_CREATE, "%s cannot be created", path);
  csv_write_recording(stream, &bench->recording);
  return fclose(stream) == 0 ? STATUS_OK : error_set(error, STATUS_IO, "%s: writing failed", path);
}

static enum status draw(struct bench *bench, const struct work *work, struct error *error) {
  char path[TEXT_SIZE + 32];
  snprintf(path, sizeof path, "%s/%s.png", bench->folder, picture_rows[work->picture].name);
  const struct run_pictures pictures = {&bench->engine,        &bench->recording,   &bench->story,
                                        bench->scenario.title, bench->engine.title, "run.csv"};
  return run_pictures_draw(&pictures, work->picture, PICTURE_png, path, error);
}

static enum status whole_program(struct bench *bench, const struct work *work, struct error *error) {
  const pid_t child = fork();
  if (child == 0) {
    execl(work->program, work->program, "run", SCENARIO, "--quiet", "--out", bench->folder, (char *)NULL);
    _exit(127);
  }
  int state = 0;
  if (child < 0 || waitpid(child, &state, 0) < 0 || !WIFEXITED(state) || WEXITSTATUS(state) != 0)
    return error_set(error, STATUS_INTERNAL, "%s did not run " SCENARIO, work->program);
  return STATUS_OK;
}

/* Median of REPEATS; negative after a failure, which is printed. */
static double median_s(struct bench *bench, const struct work *work) {
  double taken[REPEATS];
  struct error error;
  error_clear(&error);
  for (int i = 0; i < REPEATS; i++) {
    const double start = now_s(work->clock);
    if (work->run(bench, work, &error) != STATUS_OK) {
      printf("| %s | failed: %s | |\n", work->name, error.text);
      return -1.0;
    }
    taken[i] = now_s(work->clock) - start;
  }
  qsort(taken, REPEATS, sizeof taken[0], by_value);
  return taken[REPEATS / 2];
}

static void print_machine(void) {
  char line[TEXT_SIZE], model[TEXT_SIZE] = "unknown processor";
  int count = 0;
  FILE *stream = fopen("/proc/cpuinfo", "r");
  while (stream && fgets(line, sizeof line, stream)) {
    const char *colon = strchr(line, ':');
    if (strncmp(line, "model name", 10) != 0 || !colon) continue;
    snprintf(model, sizeof model, "%s", colon + 2);
    model[strcspn(model, "\n")] = '\0';
    count++;
  }
  if (stream) fclose(stream);
  printf("Machine: %s, %d processors; compiler: gcc or clang %s.\n", model, count, __VERSION__);
}

static void print_memory(void) {
  struct rusage own;
  getrusage(RUSAGE_SELF, &own);
  printf("| peak memory of this program (one recording at a time) | %.1f MB | |\n",
         (double)own.ru_maxrss / 1024.0);
}

static enum status load(struct bench *bench, struct error *error) {
  memset(bench, 0, sizeof *bench);
  recording_init(&bench->recording);
  enum status status = scenario_file_read(SCENARIO, &bench->scenario, error);
  if (status == STATUS_OK) status = engine_file_read(bench->scenario.engine_path, &bench->engine, error);
  snprintf(bench->folder, sizeof bench->folder, "/tmp/bladegap-bench-XXXXXX");
  if (status == STATUS_OK && !mkdtemp(bench->folder))
    status = error_set(error, STATUS_CANNOT_CREATE, "%s cannot be created", bench->folder);
  return status;
}

static void measure_solvers(struct bench *bench) {
  static const struct work rows[] = {
      {.name = "CVODE, tolerance 1e-6 (default)", .solver = &solver_cvode, .tolerance = 1e-6},
      {.name = "CVODE, tolerance 1e-5", .solver = &solver_cvode, .tolerance = 1e-5},
      {.name = "CVODE, tolerance 1e-7", .solver = &solver_cvode, .tolerance = 1e-7},
      {.name = "Runge-Kutta 4, fixed 1 ms", .solver = &solver_fixed, .step_s = 1e-3},
      {.name = "Runge-Kutta 4, steps as the equations allow (fast)", .solver = &solver_fast},
      {.name = "Runge-Kutta 4, fixed 5 ms", .solver = &solver_fixed, .step_s = 5e-3},
  };
  double first = 0.0;
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct work work = rows[i];
    work.clock = CLOCK_PROCESS_CPUTIME_ID;
    work.run = simulate;
    const double taken = median_s(bench, &work);
    if (taken <= 0.0) continue;
    if (i == 0) first = taken;
    printf("| %s | %.3f s CPU | %.0f times real time; %.2f times the first line's speed |\n", work.name,
           taken, bench->scenario.duration_s / taken, first / taken);
  }
}

static void measure_output(struct bench *bench) {
  struct work csv = {.name = "run.csv", .clock = CLOCK_MONOTONIC, .run = write_csv};
  const double taken = median_s(bench, &csv);
  const double numbers = (double)bench->recording.row_count * CHANNEL_COUNT;
  if (taken > 0.0)
    printf("| run.csv, %zu rows of %d | %.4f s wall | %.0f ns a number |\n", bench->recording.row_count,
           (int)CHANNEL_COUNT, taken, 1e9 * taken / numbers);
  story_find(&bench->recording, &bench->story);
  static const enum picture drawn_by_run[] = {PICTURE_OF_run, PICTURE_OF_area, PICTURE_OF_gap, PICTURE_OF_loads};
  for (size_t k = 0; k < ARRAY_COUNT(drawn_by_run); k++) {
    const int i = (int)drawn_by_run[k];
    char name[TEXT_SIZE];
    snprintf(name, sizeof name, "picture %s.png", picture_rows[i].name);
    struct work picture = {.name = name, .clock = CLOCK_MONOTONIC, .run = draw, .picture = (enum picture)i};
    const double drawn = median_s(bench, &picture);
    if (drawn > 0.0) printf("| %s | %.3f s wall | gnuplot included |\n", name, drawn);
  }
}

/* Settled points: cold is the first of a new engine, gap tables included; warm one of many neighbours. */
static void measure_settle(const struct bench *bench) {
  static const struct {
    const char *name;
    double film_m, step_m;
  } rows[] = {{"settled idle, clean, warm", 0.0, 0.0},
              {"settled idle, a new film each time (its gap table integrated)", 20e-6, 1.37e-8},
              {"settled droop (70 um), warm", 70e-6, 0.0}};
  enum { COUNT = 2000 };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct settle *settle;
    struct error error;
    struct settle_query query;
    struct settle_point point;
    settle_query_init(&query);
    query.conditions.film_m = rows[i].film_m;
    const double before_s = now_s(CLOCK_PROCESS_CPUTIME_ID);
    if (settle_create(&bench->engine, &settle, &error) != STATUS_OK) return;
    settle_solve(settle, &query, &point);
    const double first_s = now_s(CLOCK_PROCESS_CPUTIME_ID);
    for (int k = 0; k < COUNT; k++) {
      query.conditions.film_m += rows[i].step_m;
      settle_solve(settle, &query, &point);
    }
    const double all_s = now_s(CLOCK_PROCESS_CPUTIME_ID);
    settle_destroy(settle);
    printf("| %s | %.1f us CPU | the first, engine's tables included, %.0f us |\n", rows[i].name,
           1e6 * (all_s - first_s) / COUNT, 1e6 * (first_s - before_s));
  }
}

/* The folder and the few files that the work above leaves in it. */
static void remove_folder(const char *folder) {
  static const char *const others[] = {"run.csv", "events.csv", "summary.txt"};
  char path[TEXT_SIZE + 32];
  for (size_t i = 0; i < ARRAY_COUNT(others); i++) {
    snprintf(path, sizeof path, "%s/%s", folder, others[i]);
    (void)remove(path);
  }
  for (int i = 0; i < PICTURE_COUNT; i++) {
    snprintf(path, sizeof path, "%s/%s.png", folder, picture_rows[i].name);
    (void)remove(path);
  }
  if (rmdir(folder) != 0) fprintf(stderr, "%s is not empty and stays\n", folder);
}

int main(int argument_count, char **arguments) {
  static struct bench bench;
  struct error error;
  error_clear(&error);
  if (load(&bench, &error) != STATUS_OK) {
    fprintf(stderr, "%s\n", error.text);
    return status_exit_code(error.status);
  }
  print_machine();
  printf("\n`" SCENARIO "`: %g s simulated, row every %g s. Medians of %d.\n\n", bench.scenario.duration_s,
         bench.scenario.record_s, REPEATS);
  printf("| what | time | |\n|---|---|---|\n");
  measure_solvers(&bench);
  print_memory();
  measure_output(&bench);
  measure_settle(&bench);
  if (argument_count > 1) {
    struct work whole = {.name = "bladegap run, CSV, summary and pictures",
                         .clock = CLOCK_MONOTONIC,
                         .run = whole_program,
                         .program = arguments[1]};
    const double taken = median_s(&bench, &whole);
    if (taken > 0.0)
      printf("| `bladegap run " SCENARIO "` | %.3f s wall | CSV, summary, pictures |\n", taken);
  }
  recording_destroy(&bench.recording);
  scenario_destroy(&bench.scenario);
  remove_folder(bench.folder);
  return 0;
}
