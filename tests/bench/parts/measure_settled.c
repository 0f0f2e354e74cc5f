/* Settled points one by one and in maps, with one thread and with two. */
#include "parts/measure.h"

#include "analysis/sweep/sweep.h"
#include "base/attributes.h"
#include "commands/threads.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void one_by_one(const struct engine *engine) {
  static const struct {
    const char *name;
    double film_m, step_m;
  } rows[] = {{"clean, warm", 0.0, 0.0},
              {"a new film each time, its gap table with it", 20e-6, 1.37e-8},
              {"droop, 70 um, warm", 70e-6, 0.0}};
  enum { COUNT = 2000 };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct settle *settle;
    struct error error;
    struct settle_query query;
    struct settle_point point;
    settle_query_init(&query);
    query.conditions.film_m = rows[i].film_m;
    const double before_s = measure_cpu_s();
    if (settle_create(engine, &settle, &error) != STATUS_OK) return;
    settle_solve(settle, &query, &point);
    const double first_s = measure_cpu_s();
    for (int k = 0; k < COUNT; k++) {
      query.conditions.film_m += rows[i].step_m;
      settle_solve(settle, &query, &point);
    }
    const double all_s = measure_cpu_s();
    settle_destroy(settle);
    measure_row(rows[i].name, "%.1f us CPU a point; the first, cold, engine's tables included, %.0f us",
                1e6 * (all_s - first_s) / COUNT, 1e6 * (first_s - before_s));
  }
}

struct map {
  struct sweep sweep;
  struct for_each for_each;
};

static bool compute(void *user) {
  struct map *map = user;
  struct error error;
  error_clear(&error);
  const size_t count = sweep_point_count(&map->sweep);
  double *values = malloc(count * map->sweep.column_count * sizeof *values);
  struct sweep_workers *workers = NULL;
  enum status status =
      values ? sweep_workers_create(&map->sweep, map->for_each.worker_count, &workers, &error) : STATUS_NO_MEMORY;
  if (status == STATUS_OK) status = sweep_points(workers, &map->for_each, 0, count, values, &error);
  sweep_workers_destroy(workers);
  free(values);
  if (status != STATUS_OK) fprintf(stderr, "%s\n", error.text);
  return status == STATUS_OK;
}

/* scenario: NULL for settled points. */
static void map_rows(const char *name, const struct engine *engine, const struct scenario *scenario, const char *slow,
                     const char *quick) {
  static struct map map;
  struct error error;
  memset(&map, 0, sizeof map);
  map.sweep.engine = *engine;
  map.sweep.scenario = scenario;
  settle_query_init(&map.sweep.query);
  if (scenario) map.sweep.query.conditions = scenario->initial;
  map.sweep.axis_count = quick ? 2 : 1;
  if (sweep_axis_read(slow, &map.sweep.axes[0], &error) != STATUS_OK) return;
  if (quick && sweep_axis_read(quick, &map.sweep.axes[1], &error) != STATUS_OK) return;
  sweep_columns_make(&map.sweep);
  const double count = (double)sweep_point_count(&map.sweep);
  double taken_s[2];
  for (size_t threads = 1; threads <= 2; threads++) {
    map.for_each = threads_for_each(threads);
    taken_s[threads - 1] = measure_median_s(measure_wall_s, compute, &map);
  }
  measure_row(name, "one thread %.3f s wall, %.0f a second; two %.3f s, %.0f a second: %.2f times as fast", taken_s[0],
              count / taken_s[0], taken_s[1], count / taken_s[1], taken_s[0] / taken_s[1]);
  for (size_t i = 0; i < map.sweep.axis_count; i++) sweep_axis_destroy(&map.sweep.axes[i]);
}

void measure_settled(void) {
  static struct measure_run run;
  if (!measure_run_read(&run, "scenarios/leak-air-flow.cfg")) return;
  measure_heading("settled points");
  one_by_one(&run.engine);
  measure_heading("sweeps");
  map_rows("10 000 settled points, film slow, leak quick", &run.engine, NULL, "film_um=0:79.2:0.8", "drag_nm=0:9.9:0.1");
  map_rows("10 000 settled points, film quick: a gap table each", &run.engine, NULL, "drag_nm=0:9.9:0.1", "film_um=0:79.2:0.8");
  run.scenario.duration_s = 60.0;
  map_rows("8 runs of 60 s and settling in, CVODE", &run.engine, &run.scenario, "drag_nm=0:7:1", NULL);
  measure_run_end(&run);
}
