/* What a live run costs: starting, a tick while the film is turned about, saving and going back. */
#include "parts/measure.h"

#include "analysis/settle/launch.h"
#include "base/attributes.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { TICKS = 20000, SAVES = 2000, STARTS = 20 };

static int by_size(const void *a, const void *b) {
  const double left = *(const double *)a, right = *(const double *)b;
  return (left > right) - (left < right);
}

/* Film on wall and edge to a new place every second tick, as fast as anybody can drag. took_s: the least that each tick took in
 * several runs, which are all the same; without the two calls of the clock. */
static enum status drag(const struct measure_run *run, const struct scenario *scenario, double clock_s, double took_s[TICKS],
                        struct error *error) {
  struct simulation *sim = NULL;
  enum status status = launch_scenario(&run->engine, scenario, &solver_fast, &run->options, &sim, error);
  for (int tick = 0; tick < TICKS && status == STATUS_OK; tick++) {
    const double begin_s = measure_cpu_s();
    if (tick % 2 == 0) {
      status = simulation_set(sim, "film_um", 20.0 + 15.0 * sin(0.0137 * tick), 0.0, error);
      if (status == STATUS_OK) status = simulation_set(sim, "edge_film_um", 4.0 + 3.0 * sin(0.0071 * tick), 0.0, error);
    }
    if (status == STATUS_OK) status = simulation_tick(sim, error);
    took_s[tick] = fmin(took_s[tick], measure_cpu_s() - begin_s - clock_s);
  }
  simulation_destroy(sim);
  return status;
}

static void dragged(const struct measure_run *run, const char *engine_name, bool on_demand) {
  static double took_s[TICKS];
  struct scenario scenario = run->scenario;
  struct error error;
  error_clear(&error);
  scenario_set_start(&scenario, on_demand ? SCENARIO_START_SETTLED : SCENARIO_START_IDLING);
  const double clock_before_s = measure_cpu_s();
  for (int i = 0; i < TICKS; i++) (void)measure_cpu_s();
  const double clock_s = (measure_cpu_s() - clock_before_s) / TICKS;
  for (int i = 0; i < TICKS; i++) took_s[i] = INFINITY;
  for (int i = 0; i < MEASURE_REPEATS; i++)
    if (drag(run, &scenario, clock_s, took_s, &error) != STATUS_OK) {
      fprintf(stderr, "%s\n", error.text);
      return;
    }
  double sum_s = 0.0;
  for (int i = 0; i < TICKS; i++) sum_s += took_s[i];
  qsort(took_s, TICKS, sizeof *took_s, by_size);
  char name[MEASURE_TEXT];
  snprintf(name, sizeof name, "%s, film to a new place every second tick, %s", engine_name,
           on_demand ? "table on demand" : "tables blended");
  measure_row(name, "%.1f us CPU a tick; one in a hundred %.0f, one in a thousand %.0f, the worst of %d %.0f us",
              1e6 * sum_s / TICKS, 1e6 * took_s[TICKS - TICKS / 100], 1e6 * took_s[TICKS - TICKS / 1000], TICKS,
              1e6 * took_s[TICKS - 1]);
}

static void starts(const struct measure_run *run, const char *engine_name) {
  double taken_s[2];
  for (int settled = 0; settled < 2; settled++) {
    struct scenario scenario = run->scenario;
    struct error error;
    error_clear(&error);
    scenario_set_start(&scenario, settled ? SCENARIO_START_SETTLED : SCENARIO_START_IDLING);
    scenario.initial.film_m = 20e-6;
    const double begin_s = measure_cpu_s();
    for (int i = 0; i < STARTS; i++) {
      struct simulation *sim = NULL;
      if (launch_scenario(&run->engine, &scenario, &solver_fast, &run->options, &sim, &error) != STATUS_OK) return;
      simulation_destroy(sim);
    }
    taken_s[settled] = (measure_cpu_s() - begin_s) / STARTS;
  }
  char name[MEASURE_TEXT];
  snprintf(name, sizeof name, "%s, starting with 20 um", engine_name);
  measure_row(name, "from the settled point %.2f ms CPU, by waiting %.1f ms", 1e3 * taken_s[1], 1e3 * taken_s[0]);
}

static void saves(const struct measure_run *run) {
  struct simulation *sim = NULL;
  struct error error;
  error_clear(&error);
  if (launch_scenario(&run->engine, &run->scenario, &solver_fast, &run->options, &sim, &error) != STATUS_OK) return;
  const size_t size = simulation_save_size(sim);
  char *memory = malloc(size);
  enum status status = memory ? STATUS_OK : STATUS_NO_MEMORY;
  const double begin_s = measure_cpu_s();
  for (int i = 0; i < SAVES && status == STATUS_OK; i++) status = simulation_save(sim, memory, size, &error);
  const double saved_s = measure_cpu_s();
  for (int i = 0; i < SAVES && status == STATUS_OK; i++) status = simulation_restore(sim, memory, size, &error);
  const double restored_s = measure_cpu_s();
  if (status == STATUS_OK)
    measure_row("saving and restoring", "%.1f kB; %.1f us and %.1f us CPU", 1e-3 * (double)size,
                1e6 * (saved_s - begin_s) / SAVES, 1e6 * (restored_s - saved_s) / SAVES);
  free(memory);
  simulation_destroy(sim);
}

void measure_live(void) {
  static const char *const engines[] = {"four-16", "four-18-cable", "six-30", "three-10"};
  static struct measure_run run;
  measure_heading("a live run");
  for (size_t i = 0; i < ARRAY_COUNT(engines); i++) {
    if (!measure_run_idle(&run, engines[i], 60.0)) return;
    dragged(&run, engines[i], true);
    dragged(&run, engines[i], false);
    starts(&run, engines[i]);
    if (i == 0) saves(&run);
    measure_run_end(&run);
  }
}
