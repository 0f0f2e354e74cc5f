/* Settled points over one input or two. */
#include "analysis/sweep/sweep.h"
#include "library/bladegap_engine.h"
#include "library/bladegap_table.h"

#include <stdlib.h>
#include <string.h>

/* What is wanted of an engine; large, so on the heap. NULL and a text if there is none. */
static struct sweep *begin(const bladegap_engine *engine, struct edge edge) {
  if (bladegap_engine_ready(engine, edge) != BLADEGAP_OK) return NULL;
  struct sweep *sweep = calloc(1, sizeof *sweep);
  if (!sweep) {
    edge_fail(edge, STATUS_NO_MEMORY, "out of memory for a sweep");
    return NULL;
  }
  sweep->engine = engine->engine;
  sweep->query = engine->query;
  sweep->query.all_balances = false; // a row has the first one only
  sweep->learned_given = engine->query.learning == SETTLE_STALE;
  return sweep;
}

static void forget(struct sweep *sweep) {
  if (!sweep) return;
  for (size_t i = 0; i < sweep->axis_count; i++) sweep_axis_destroy(&sweep->axes[i]);
  free(sweep);
}

/* What each input may be and the two may not be together. */
static enum status check(const struct sweep *sweep, struct error *error) {
  if (sweep->axis_count == 2 && strcmp(sweep->axes[0].name, sweep->axes[1].name) == 0)
    return error_set(error, STATUS_USAGE, "%s is given twice: one list of its values is enough", sweep->axes[0].name);
  for (size_t i = 0; i < sweep->axis_count; i++)
    if (sweep->query.engine_off && strcmp(sweep->axes[i].name, "hold_rpm") == 0)
      return error_set(error, STATUS_USAGE, "engine_off and hold_rpm contradict each other: leave one out");
  const size_t count = sweep_point_count(sweep);
  if (count > BLADEGAP_SWEEP_POINTS_MAX)
    return error_set(error, STATUS_USAGE, "that is %zu points, %d at most in one call", count, BLADEGAP_SWEEP_POINTS_MAX);
  return sweep_check(sweep, error);
}

static void fill(const struct sweep *sweep, size_t count, const double *values, struct grid *grid) {
  for (size_t i = 0; i < sweep->column_count; i++) grid_column(grid, sweep->columns[i].name);
  for (size_t i = 0; i < count * sweep->column_count; i++)
    if (sweep->columns[i % sweep->column_count].source == SWEEP_OUTCOME)
      grid_text(grid, settle_outcome_names[(int)values[i]]);
    else
      grid_number(grid, values[i]);
}

static enum status compute(struct sweep *sweep, struct grid *grid, struct error *error) {
  enum status status = check(sweep, error);
  if (status != STATUS_OK) return status;
  sweep_columns_make(sweep);
  const size_t count = sweep_point_count(sweep);
  double *values = calloc(count * sweep->column_count, sizeof *values);
  if (!values) return error_set(error, STATUS_NO_MEMORY, "out of memory for a sweep");
  struct sweep_workers *workers = NULL;
  status = sweep_workers_create(sweep, 1, &workers, error);
  if (status == STATUS_OK) status = sweep_points(workers, &for_each_serial, 0, count, values, error);
  if (status == STATUS_OK) fill(sweep, count, values, grid);
  sweep_workers_destroy(workers);
  free(values);
  return status;
}

/* Computes what the axes say; status: of reading them. */
static bladegap_table *finish(struct sweep *sweep, enum status status, struct error *what, struct edge edge) {
  bladegap_table *table = NULL;
  if (status == STATUS_OK) {
    table = bladegap_table_create(edge);
    if (table) status = compute(sweep, &table->grid, what);
  }
  forget(sweep);
  if (status == STATUS_OK) return table ? bladegap_table_finish(table, edge) : NULL;
  edge_tell(edge, what);
  bladegap_table_destroy(table);
  return NULL;
}

bladegap_table *bladegap_sweep(const bladegap_engine *engine, const char *name, const double *values, size_t count,
                               const char *other_name, const double *other_values, size_t other_count, char *error,
                               size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!name || !values || (other_name && !other_values)) {
    edge_fail(edge, STATUS_USAGE, "the name of an input or its values are NULL");
    return NULL;
  }
  if (count > BLADEGAP_SWEEP_POINTS_MAX || other_count > BLADEGAP_SWEEP_POINTS_MAX) {
    edge_fail(edge, STATUS_USAGE, "that is more than %d points", BLADEGAP_SWEEP_POINTS_MAX);
    return NULL;
  }
  struct sweep *sweep = begin(engine, edge);
  if (!sweep) return NULL;
  struct error what;
  error_clear(&what);
  enum status status = sweep_axis_list(name, values, count, &sweep->axes[sweep->axis_count++], &what);
  if (status == STATUS_OK && other_name)
    status = sweep_axis_list(other_name, other_values, other_count, &sweep->axes[sweep->axis_count++], &what);
  return finish(sweep, status, &what, edge);
}

bladegap_table *bladegap_sweep_text(const bladegap_engine *engine, const char *input, const char *other, char *error,
                                    size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!input) {
    edge_fail(edge, STATUS_USAGE, "the input is NULL");
    return NULL;
  }
  struct sweep *sweep = begin(engine, edge);
  if (!sweep) return NULL;
  struct error what;
  error_clear(&what);
  enum status status = sweep_axis_read(input, &sweep->axes[sweep->axis_count++], &what);
  if (status == STATUS_OK && other) status = sweep_axis_read(other, &sweep->axes[sweep->axis_count++], &what);
  return finish(sweep, status, &what, edge);
}
