#include "analysis/sweep/sweep.h"

#include "analysis/settle/launch.h"
#include "analysis/sweep/sweep_order.h"
#include "car/engine_check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A failure, with the values of the point it happened at. */
static enum status tell_at(const struct sweep *sweep, size_t point, const struct error *what, struct error *error) {
  char at[SWEEP_AXIS_MAX * (SETTING_NAME_SIZE + 32)] = "";
  for (size_t i = 0; i < sweep->axis_count; i++) {
    const size_t used = strlen(at);
    snprintf(at + used, sizeof at - used, "%s%s=%.10g", i ? " " : "", sweep->axes[i].name, sweep_axis_value(sweep, i, point));
  }
  return error_set(error, what->status, "at %s: %.7000s", at, what->text);
}

/* Whether a point is the first of its engine: conditions, which do not change that, are all at their first values. */
static bool is_first_of_engine(const struct sweep *sweep, size_t point) {
  for (size_t i = sweep->axis_count; i-- > 0; point /= sweep->axes[i].count)
    if (!sweep->axes[i].setting.of_engine && point % sweep->axes[i].count != 0) return false;
  return true;
}

enum status sweep_check(const struct sweep *sweep, struct error *error) {
  bool varies = false;
  for (size_t i = 0; i < sweep->axis_count; i++) varies |= sweep->axes[i].setting.of_engine;
  if (!varies) return engine_check(&sweep->engine, error);
  const size_t count = sweep_point_count(sweep);
  struct engine *engine = malloc(sizeof *engine); // it and an error are much for a small stack
  if (!engine) return error_set(error, STATUS_NO_MEMORY, "out of memory for a sweep");
  *engine = sweep->engine;
  struct settle_query unused;
  struct error what;
  enum status status = STATUS_OK;
  for (size_t point = 0; status == STATUS_OK && point < count; point++) {
    if (!is_first_of_engine(sweep, point)) continue;
    sweep_place(sweep, point, engine, &unused);
    if (engine_check(engine, &what) != STATUS_OK) status = tell_at(sweep, point, &what, error);
  }
  free(engine);
  return status;
}

/* ---- Workers ---- */

struct worker {
  struct engine engine; // with the axes' parameters of now
  struct settle *settle;
  double of_values[SWEEP_AXIS_MAX]; // axes' values that `settle` was made for
  size_t failed_point;
  struct error error;
};

struct sweep_workers {
  const struct sweep *sweep;
  size_t count;
  struct worker *each;
  // of the call to sweep_points
  size_t first;
  struct sweep_order order;
  double *values;
};

enum status sweep_workers_create(const struct sweep *sweep, size_t count, struct sweep_workers **result, struct error *error) {
  struct sweep_workers *workers = calloc(1, sizeof *workers);
  if (workers) workers->each = calloc(count, sizeof *workers->each);
  if (!workers || !workers->each) {
    free(workers);
    return error_set(error, STATUS_NO_MEMORY, "out of memory for %zu workers", count);
  }
  workers->sweep = sweep;
  workers->count = count;
  *result = workers;
  return STATUS_OK;
}

void sweep_workers_destroy(struct sweep_workers *workers) {
  if (!workers) return;
  for (size_t i = 0; i < workers->count; i++) settle_destroy(workers->each[i].settle);
  free(workers->each);
  free(workers);
}

/* Whether another engine is wanted than the last point's. */
static bool engine_changes(const struct sweep *sweep, const struct worker *worker, size_t point) {
  if (!worker->settle) return true;
  for (size_t i = 0; i < sweep->axis_count; i++) {
    const double value = sweep_axis_value(sweep, i, point);
    if (sweep->axes[i].setting.of_engine && (value < worker->of_values[i] || value > worker->of_values[i])) return true;
  }
  return false;
}

static enum status renew(const struct sweep *sweep, struct worker *worker, size_t point, struct error *error) {
  worker->engine = sweep->engine;
  struct settle_query query;
  sweep_place(sweep, point, &worker->engine, &query);
  for (size_t i = 0; i < sweep->axis_count; i++) worker->of_values[i] = sweep_axis_value(sweep, i, point);
  if (!worker->settle) return settle_create(&worker->engine, &worker->settle, error);
  settle_change_engine(worker->settle, &worker->engine);
  return STATUS_OK;
}

/* ---- One point ---- */

static void put_axes(const struct sweep *sweep, size_t point, double *row) {
  for (size_t i = 0; i < sweep->axis_count; i++) row[i] = sweep_axis_value(sweep, i, point);
}

static enum status settled_point(const struct sweep *sweep, struct worker *worker, size_t point, double *row,
                                 struct error *error) {
  if (engine_changes(sweep, worker, point)) {
    const enum status status = renew(sweep, worker, point, error);
    if (status != STATUS_OK) return status;
  }
  struct settle_query query;
  struct settle_point answer;
  sweep_place(sweep, point, &worker->engine, &query); // the engine has these values already
  settle_solve(worker->settle, &query, &answer);
  put_axes(sweep, point, row);
  for (size_t i = sweep->axis_count; i < sweep->column_count; i++) {
    const struct sweep_column *column = &sweep->columns[i];
    if (column->source == SWEEP_OUTCOME)
      row[i] = (double)answer.outcome;
    else if (column->source == SWEEP_CODE)
      row[i] = answer.codes & monitors_bit((enum monitor_code)column->index) ? 1.0 : 0.0;
    else
      row[i] = answer.values[column->index];
  }
  return STATUS_OK;
}

static enum status run_once(const struct sweep *sweep, const struct engine *engine, const struct scenario *scenario,
                            const struct settle_query *query, double values[SWEEP_METRICS_ALL], struct error *error) {
  const struct solver_options options = solver_options_default();
  struct simulation *sim = NULL;
  struct recording recording;
  recording_init(&recording);
  enum status status = launch_scenario(engine, scenario, &solver_fast, &options, &sim, error);
  if (status == STATUS_OK) {
    if (sweep->learned_given || query->learning == SETTLE_STALE)
      sim->vehicle.computer.memory.learned_ratio = query->learned_ratio;
    status = simulation_run(sim, &recording, NULL, NULL, error);
  }
  if (status == STATUS_OK) sweep_metrics_find(&recording, scenario, values);
  if (status == STATUS_BAD_CONFIG) { // does not idle at the start
    sweep_metrics_none(values);
    error_clear(error);
    status = STATUS_OK;
  }
  recording_destroy(&recording);
  simulation_destroy(sim);
  return status;
}

static enum status run_point(const struct sweep *sweep, struct worker *worker, size_t point, double *row, struct error *error) {
  struct settle_query query;
  worker->engine = sweep->engine;
  sweep_place(sweep, point, &worker->engine, &query);
  struct scenario scenario = *sweep->scenario; // shares the steps
  scenario.initial = query.conditions;
  double values[SWEEP_METRICS_ALL];
  const enum status status = run_once(sweep, &worker->engine, &scenario, &query, values, error);
  if (status != STATUS_OK) return status;
  put_axes(sweep, point, row);
  for (size_t i = sweep->axis_count; i < sweep->column_count; i++) row[i] = values[sweep->columns[i].index];
  return STATUS_OK;
}

/* ---- All points ---- */

static void do_block(size_t index, size_t place, void *user) {
  struct sweep_workers *workers = user;
  const struct sweep *sweep = workers->sweep;
  struct worker *worker = &workers->each[place];
  for (size_t i = workers->order.begins[index]; i < workers->order.begins[index + 1]; i++) {
    const size_t point = workers->order.points[i];
    double *row = workers->values + (point - workers->first) * sweep->column_count;
    struct error error;
    error_clear(&error);
    const enum status status =
        sweep->scenario ? run_point(sweep, worker, point, row, &error) : settled_point(sweep, worker, point, row, &error);
    if (status == STATUS_OK || point >= worker->failed_point) continue;
    worker->failed_point = point;
    worker->error = error;
  }
}

/* The failure of the lowest point, with the values it was at. */
static enum status tell_failure(const struct sweep_workers *workers, struct error *error) {
  const struct worker *worst = NULL;
  for (size_t i = 0; i < workers->count; i++)
    if (workers->each[i].failed_point < SIZE_MAX && (!worst || workers->each[i].failed_point < worst->failed_point))
      worst = &workers->each[i];
  if (!worst) return STATUS_OK;
  return tell_at(workers->sweep, worst->failed_point, &worst->error, error);
}

enum status sweep_points(struct sweep_workers *workers, const struct for_each *for_each, size_t first, size_t count,
                         double *values, struct error *error) {
  for (size_t i = 0; i < workers->count; i++) workers->each[i].failed_point = SIZE_MAX;
  workers->first = first;
  workers->values = values;
  enum status status = sweep_order_make(workers->sweep, first, count, for_each->worker_count, &workers->order, error);
  if (status == STATUS_OK) {
    for_each->run(for_each, workers->order.block_count, do_block, workers);
    status = tell_failure(workers, error);
  }
  sweep_order_forget(&workers->order);
  return status;
}
