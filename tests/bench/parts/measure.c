#include "parts/measure.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SETTLING_S 120.0 // sim/simulation.c: six rounds of 20 s

static double clock_s(clockid_t clock) {
  struct timespec time;
  clock_gettime(clock, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

double measure_cpu_s(void) { return clock_s(CLOCK_PROCESS_CPUTIME_ID); }
double measure_wall_s(void) { return clock_s(CLOCK_MONOTONIC); }

static int by_value(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

double measure_median_s(double (*now_s)(void), measure_work work, void *user) {
  double taken[MEASURE_REPEATS];
  for (int i = 0; i < MEASURE_REPEATS; i++) {
    const double start = now_s();
    if (!work(user)) return NAN;
    taken[i] = now_s() - start;
  }
  qsort(taken, MEASURE_REPEATS, sizeof taken[0], by_value);
  return taken[MEASURE_REPEATS / 2];
}

void measure_heading(const char *text) { printf("| **%s** | |\n", text); }

void measure_row(const char *what, const char *value_format, ...) {
  va_list values;
  va_start(values, value_format);
  printf("| %s | ", what);
  vprintf(value_format, values);
  printf(" |\n");
  fflush(stdout);
  va_end(values);
}

static bool said(enum status status, const struct error *error) {
  if (status != STATUS_OK) fprintf(stderr, "%s\n", error->text);
  return status == STATUS_OK;
}

static bool read_engine(struct measure_run *run) {
  struct error error;
  error_clear(&error);
  run->options = solver_options_default();
  run->solver = &solver_fast;
  recording_init(&run->recording);
  return said(engine_file_read(run->scenario.engine_path, &run->engine, &error), &error);
}

bool measure_run_read(struct measure_run *run, const char *scenario_path) {
  struct error error;
  error_clear(&error);
  memset(run, 0, sizeof *run);
  return said(scenario_file_read(scenario_path, &run->scenario, &error), &error) && read_engine(run);
}

bool measure_run_idle(struct measure_run *run, const char *engine_name, double duration_s) {
  memset(run, 0, sizeof *run);
  scenario_init(&run->scenario);
  snprintf(run->scenario.name, sizeof run->scenario.name, "idle");
  snprintf(run->scenario.engine_path, sizeof run->scenario.engine_path, "models/%s.cfg", engine_name);
  run->scenario.duration_s = duration_s;
  run->scenario.record_s = 1.0;
  run->scenario.running = true;
  return read_engine(run);
}

void measure_run_end(struct measure_run *run) {
  recording_destroy(&run->recording);
  scenario_destroy(&run->scenario);
}

bool measure_run_once(void *user) {
  struct measure_run *run = user;
  struct error error;
  error_clear(&error);
  recording_destroy(&run->recording);
  recording_init(&run->recording);
  struct simulation *sim = NULL;
  enum status status = simulation_create(&run->engine, &run->scenario, run->solver, &run->options, &sim, &error);
  if (status == STATUS_OK) status = simulation_run(sim, &run->recording, NULL, NULL, &error);
  simulation_destroy(sim);
  return said(status, &error);
}

double measure_simulated_s(const struct measure_run *run) {
  return run->scenario.duration_s + (run->scenario.running ? SETTLING_S : 0.0);
}
