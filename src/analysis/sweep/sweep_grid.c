#include "analysis/sweep/sweep_grid.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

const enum monitor_code sweep_settled_codes[] = {MONITOR_P0171, MONITOR_P0172, MONITOR_P0174,
                                                 MONITOR_P0505, MONITOR_P0506, MONITOR_P0507};
const size_t sweep_settled_code_count = ARRAY_COUNT(sweep_settled_codes);

size_t sweep_point_count(const struct sweep *sweep) {
  size_t count = 1;
  for (size_t i = 0; i < sweep->axis_count; i++) {
    if (sweep->axes[i].count > 0 && count > SIZE_MAX / sweep->axes[i].count) return SIZE_MAX;
    count *= sweep->axes[i].count;
  }
  return count;
}

double sweep_axis_value(const struct sweep *sweep, size_t axis, size_t point) {
  for (size_t i = sweep->axis_count; i-- > axis + 1;) point /= sweep->axes[i].count;
  return sweep->axes[axis].values[point % sweep->axes[axis].count];
}

static void add_column(struct sweep *sweep, const char *name, int decimals, enum sweep_source source, int index) {
  struct sweep_column *column = &sweep->columns[sweep->column_count++];
  *column = (struct sweep_column){.decimals = decimals, .source = source, .index = index};
  snprintf(column->name, sizeof column->name, "%s", name);
}

static bool is_axis(const struct sweep *sweep, const char *name) {
  for (size_t i = 0; i < sweep->axis_count; i++)
    if (strcmp(sweep->axes[i].name, name) == 0) return true;
  return false;
}

static void add_settled_columns(struct sweep *sweep) {
  add_column(sweep, "outcome", 0, SWEEP_OUTCOME, 0);
  for (int i = 1; i < CHANNEL_COUNT; i++) // time says nothing here; two more decimals, as there is no scatter
    if (!is_axis(sweep, channel_rows[i].name))
      add_column(sweep, channel_rows[i].name, channel_rows[i].decimals + 2, SWEEP_CHANNEL, i);
  for (size_t i = 0; i < sweep_settled_code_count; i++)
    add_column(sweep, monitor_rows[sweep_settled_codes[i]].code, 0, SWEEP_CODE, (int)sweep_settled_codes[i]);
}

static void add_run_columns(struct sweep *sweep) {
  for (int i = 0; i < SWEEP_METRIC_COUNT; i++)
    add_column(sweep, sweep_metric_rows[i].name, sweep_metric_rows[i].decimals, SWEEP_METRIC, i);
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    char name[SETTING_NAME_SIZE];
    snprintf(name, sizeof name, "%s_s", monitor_rows[i].code);
    add_column(sweep, name, 2, SWEEP_METRIC, SWEEP_METRIC_COUNT + i);
  }
}

void sweep_columns_make(struct sweep *sweep) {
  sweep->column_count = 0;
  for (size_t i = 0; i < sweep->axis_count; i++)
    add_column(sweep, sweep->axes[i].name, sweep->axes[i].decimals, SWEEP_AXIS, (int)i);
  if (sweep->scenario)
    add_run_columns(sweep);
  else
    add_settled_columns(sweep);
}

void sweep_place(const struct sweep *sweep, size_t point, struct engine *engine, struct settle_query *query) {
  *query = sweep->query;
  for (size_t i = 0; i < sweep->axis_count; i++) {
    const double value = sweep_axis_value(sweep, i, point);
    if (sweep->axes[i].learned) {
      query->learning = SETTLE_STALE;
      query->learned_ratio = value * UNITS_RATIO_PER_PCT;
    } else {
      setting_apply(&sweep->axes[i].setting, value, engine, &query->conditions);
    }
  }
}
