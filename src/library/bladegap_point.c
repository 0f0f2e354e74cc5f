/* Settled points. */
#include "library/bladegap_engine.h"
#include "library/bladegap_table.h"

#include "base/units.h"

#include <stdlib.h>

struct bladegap_point {
  struct settle_point point;
};

static bladegap_point *solve(const bladegap_engine *engine, struct edge edge) {
  bladegap_point *point = calloc(1, sizeof *point);
  struct settle *settle = NULL;
  struct error what;
  error_clear(&what);
  if (!point || settle_create(&engine->engine, &settle, &what) != STATUS_OK) {
    edge_fail(edge, STATUS_NO_MEMORY, "out of memory for a settled point");
    free(point);
    return NULL;
  }
  settle_solve(settle, &engine->query, &point->point);
  settle_destroy(settle);
  return point;
}

bladegap_point *bladegap_settle(const bladegap_engine *engine, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  return bladegap_engine_ready(engine, edge) == BLADEGAP_OK ? solve(engine, edge) : NULL;
}

void bladegap_point_destroy(bladegap_point *point) { free(point); }

const char *bladegap_point_outcome(const bladegap_point *point) {
  return point ? settle_outcome_names[point->point.outcome] : NULL;
}

int bladegap_point_value(const bladegap_point *point, const char *channel, double *value, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!point) return edge_fail(edge, STATUS_USAGE, "the point is NULL");
  if (!channel) return edge_fail(edge, STATUS_USAGE, "the name of the channel is NULL");
  if (!value) return edge_fail(edge, STATUS_USAGE, "there is nowhere to put the value: NULL");
  const char *names[CHANNEL_COUNT];
  for (int i = 0; i < CHANNEL_COUNT; i++) names[i] = channel_rows[i].name;
  const int found = edge_find(channel, names, CHANNEL_COUNT);
  if (found < 0) return edge_unknown(edge, "channel", channel, names, CHANNEL_COUNT);
  *value = point->point.values[found];
  return BLADEGAP_OK;
}

/* ---- What belongs to it ---- */

static void fill_channels(const struct settle_point *point, struct grid *grid) {
  static const char *const columns[] = {"name", "value"};
  grid_columns(grid, columns, 2);
  for (int i = 1; i < CHANNEL_COUNT; i++) { // time says nothing here
    grid_text(grid, channel_rows[i].name);
    grid_number(grid, point->values[i]);
  }
}

static void fill_codes(const struct settle_point *point, struct grid *grid) {
  static const char *const columns[] = {"code", "definition"};
  grid_columns(grid, columns, 2);
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    if (!(point->codes & monitors_bit((enum monitor_code)i))) continue;
    grid_text(grid, monitor_rows[i].code);
    grid_text(grid, monitor_rows[i].text);
  }
}

static void fill_speeds(const struct settle_point *point, struct grid *grid) {
  grid_column(grid, "speed_rpm");
  for (size_t i = 0; i < point->branch_count; i++) grid_number(grid, point->branch_rad_s[i] / UNITS_RAD_S_PER_RPM);
}

static const char *const kind_names[] = {"channels", "codes", "speeds"};
static void (*const kind_fills[])(const struct settle_point *point, struct grid *grid) = {fill_channels, fill_codes, fill_speeds};

bladegap_table *bladegap_point_table(const bladegap_point *point, const char *kind, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int found = point && kind ? edge_find(kind, kind_names, 3) : -1;
  bladegap_table *table = NULL;
  if (!point)
    edge_fail(edge, STATUS_USAGE, "the point is NULL");
  else if (!kind)
    edge_fail(edge, STATUS_USAGE, "a table of what? The kind is NULL");
  else if (found < 0)
    edge_unknown(edge, "table of a point", kind, kind_names, 3);
  else
    table = bladegap_table_create(edge);
  if (!table) return NULL;
  kind_fills[found](&point->point, &table->grid);
  return bladegap_table_finish(table, edge);
}
