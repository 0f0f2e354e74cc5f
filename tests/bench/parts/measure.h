/* What the parts of the benchmark share: clocks, medians, and rows of one table of Markdown, | what | value | remark |. */
#ifndef BENCH_MEASURE_H
#define BENCH_MEASURE_H

#include "io/config/engine_file.h"
#include "io/config/scenario_file.h"
#include "sim/simulation.h"

#include <time.h>

enum { MEASURE_REPEATS = 5, MEASURE_TEXT = 512 };
#define MEASURE_DROOP "scenarios/film-droop.cfg"

/* Time of this thread's process, CPU or wall. */
double measure_cpu_s(void);
double measure_wall_s(void);

/* Does a thing once; false if it failed, after saying why on stderr. */
typedef bool (*measure_work)(void *user);

/* Median time of MEASURE_REPEATS; NAN if it failed. */
double measure_median_s(double (*clock_s)(void), measure_work work, void *user);

void measure_heading(const char *text);
void measure_row(const char *what, const char *value_format, ...) __attribute__((format(printf, 2, 3)));

/* One simulation from beginning to end; what it wrote is in the recording, which the next run empties. */
struct measure_run {
  struct engine engine;
  struct scenario scenario;
  const struct solver_vtable *solver;
  struct solver_options options;
  struct recording recording;
};
bool measure_run_read(struct measure_run *run, const char *scenario_path);
bool measure_run_idle(struct measure_run *run, const char *engine_name, double duration_s);
void measure_run_end(struct measure_run *run);
bool measure_run_once(void *run);

/* Seconds that a run simulates: its scenario and, if it starts idling, settling in before it. */
double measure_simulated_s(const struct measure_run *run);

/* The parts, in the order of the table. */
void measure_solvers(void);
void measure_equal_error(void);
void measure_settled(void);
void measure_live(void);
void measure_output(const char *folder);
void measure_program(const char *program, const char *folder);

#endif
