#include "io/picture/picture_sweepmap.h"

#include "io/picture/picture_range.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_MAX = 10 };

#define RPM_SCALE          0.005 // fields are about one where they are far from their line: 200 rpm,
#define PCT_SCALE          0.02  // or half of the idle air; any such pair draws the line within its cell
#define LABEL_MARGIN_SHARE 0.04  // of the width: half a name

/* A line on the map: where this field passes through zero. */
struct line {
  char name[32];
  double *field; // positive where the name holds; a value for each point; owned
};

struct map {
  const struct picture_sweep *picture;
  size_t x_count, y_count;
  size_t shade; // column that is shown in shades
  size_t line_count;
  struct line lines[LINE_MAX];
};

static int find_column(const struct sweep *sweep, const char *name) {
  for (size_t i = 0; i < sweep->column_count; i++)
    if (strcmp(sweep->columns[i].name, name) == 0) return (int)i;
  return -1;
}

static double value_at(const struct map *map, size_t point, size_t column) {
  return map->picture->table->values[point * map->picture->table->column_count + column];
}

/* A column that is all NaN or all the same says nothing. */
static bool varies(const struct map *map, size_t column) {
  double least = INFINITY, most = -INFINITY;
  for (size_t i = 0; i < map->x_count * map->y_count; i++) {
    least = fmin(least, value_at(map, i, column));
    most = fmax(most, value_at(map, i, column));
  }
  return most - least > 1e-9 * fabs(most);
}

static size_t choose_shade(const struct map *map) {
  static const char *const of_runs[] = {"lowest_rpm", "relearn_s", "settling_s", "end_speed_rpm"};
  const struct sweep *sweep = map->picture->sweep;
  if (!sweep->scenario) return (size_t)find_column(sweep, "speed_rpm");
  for (size_t i = 0; i < ARRAY_COUNT(of_runs); i++)
    if (varies(map, (size_t)find_column(sweep, of_runs[i]))) return (size_t)find_column(sweep, of_runs[i]);
  return (size_t)find_column(sweep, "end_speed_rpm");
}

/* ---- Lines ---- */

typedef bool holds_at(const struct map *map, size_t point, size_t column, double wanted); // a name for a line

static bool equals(const struct map *map, size_t point, size_t column, double wanted) {
  return fabs(value_at(map, point, column) - wanted) < 0.5;
}
static bool has_number(const struct map *map, size_t point, size_t column, double wanted) {
  (void)wanted;
  return !isnan(value_at(map, point, column));
}
/* Drooping or worse: the line between what the controller hides and what it cannot. */
static bool droops_or_stalls(const struct map *map, size_t point, size_t column, double wanted) {
  return equals(map, point, column, wanted) || equals(map, point, column, SETTLE_STALLS);
}

static enum status add_line(struct map *map, const char *name, holds_at *holds, int column, double wanted, struct error *error) {
  const size_t count = map->x_count * map->y_count;
  if (column < 0 || map->line_count >= LINE_MAX) return STATUS_OK;
  struct line *line = &map->lines[map->line_count];
  line->field = calloc(count, sizeof *line->field);
  if (!line->field) return error_set(error, STATUS_NO_MEMORY, "out of memory for the map");
  size_t inside = 0;
  for (size_t i = 0; i < count; i++) {
    const bool is = holds(map, i, (size_t)column, wanted);
    line->field[i] = is ? 1.0 : -1.0;
    inside += is;
  }
  if (inside == 0 || inside == count) { // no line
    free(line->field);
    line->field = NULL;
    return STATUS_OK;
  }
  snprintf(line->name, sizeof line->name, "%s", name);
  map->line_count++;
  return STATUS_OK;
}

/* How much more air the controller could add at a point (sign 1), or take away (sign -1); % of base air. */
static double left_pct(const struct map *map, size_t point, double sign, struct engine *engine) {
  const struct sweep *sweep = map->picture->sweep;
  const int learned = find_column(sweep, "learned_pct"), effort = find_column(sweep, "effort_pct");
  struct settle_query query;
  double low, high;
  sweep_place(sweep, point, engine, &query);
  const double coolant_k = value_at(map, point, (size_t)find_column(sweep, "coolant_c")) + UNITS_KELVIN_AT_ZERO_C;
  settle_limits(engine, &query, coolant_k, &low, &high);
  const double limit_pct = (sign > 0.0 ? high : low) / UNITS_RATIO_PER_PCT;
  return sign * (limit_pct - value_at(map, point, (size_t)learned) - value_at(map, point, (size_t)effort));
}

/* Between points a line of idle speed lies where the speed passes its threshold, not half-way; where the speed is still on
 * target, the air that the controller has left tells how far off the line is. Only points whose own answer agrees are moved. */
static void refine(struct map *map, struct line *line, double threshold_rpm, double sign) {
  const struct sweep *sweep = map->picture->sweep;
  const int speed = find_column(sweep, "speed_rpm"), target = find_column(sweep, "target_rpm");
  struct engine engine = sweep->engine;
  for (size_t i = 0; i < map->x_count * map->y_count; i++) {
    const double off_rpm = sign * (value_at(map, i, (size_t)target) - value_at(map, i, (size_t)speed));
    const double beyond =
        (off_rpm - threshold_rpm) * RPM_SCALE - (off_rpm > 0.5 ? 0.0 : left_pct(map, i, sign, &engine) * PCT_SCALE);
    if (isnan(beyond)) continue; // no settled point there
    if ((beyond > 0.0) == (line->field[i] > 0.0)) line->field[i] = fmax(fmin(beyond, 1.0), -1.0);
  }
}

/* An engine that stalls sets no code of its idle speed any more, but it lies beyond that line too. */
static void count_stalls_in(struct map *map, struct line *line, int outcome) {
  for (size_t i = 0; i < map->x_count * map->y_count; i++)
    if (equals(map, i, (size_t)outcome, SETTLE_STALLS)) line->field[i] = 1.0;
}

static enum status find_lines(struct map *map, struct error *error) {
  const struct sweep *sweep = map->picture->sweep;
  const int outcome = find_column(sweep, "outcome");
  enum status status = add_line(map, "droops", droops_or_stalls, outcome, SETTLE_DROOPS, error);
  if (map->line_count == 1) refine(map, &map->lines[0], 0.0, 1.0);
  if (status == STATUS_OK) status = add_line(map, "races", equals, outcome, SETTLE_RACES, error);
  if (status == STATUS_OK) status = add_line(map, "stalls", equals, outcome, SETTLE_STALLS, error);
  if (status == STATUS_OK) status = add_line(map, "stalls", equals, find_column(sweep, "stalled"), 1.0, error);
  for (size_t i = 0; status == STATUS_OK && i < sweep->column_count; i++) {
    const struct sweep_column *column = &sweep->columns[i];
    const size_t before = map->line_count;
    if (column->source == SWEEP_CODE) {
      status = add_line(map, column->name, equals, (int)i, 1.0, error);
      if (map->line_count == before) continue;
      if (column->index == MONITOR_P0505 || column->index == MONITOR_P0506) count_stalls_in(map, &map->lines[before], outcome);
      if (column->index >= MONITOR_P0505 && column->index <= MONITOR_P0507)
        refine(map, &map->lines[before], monitor_rows[column->index].threshold / UNITS_RAD_S_PER_RPM,
               column->index == MONITOR_P0507 ? -1.0 : 1.0);
    } else if (column->source == SWEEP_METRIC && column->index >= SWEEP_METRIC_COUNT) {
      status = add_line(map, monitor_rows[column->index - SWEEP_METRIC_COUNT].code, has_number, (int)i, 0.0, error);
    }
  }
  return status;
}

/* ---- Labels ---- */

static double field_at(const struct map *map, const struct line *line, size_t x, size_t y) {
  return line->field[x * map->y_count + y];
}

/* Where the line crosses one row of points; false if it does not. */
static bool crosses(const struct map *map, const struct line *line, size_t y, double *at_x) {
  const double *x = map->picture->sweep->axes[0].values;
  for (size_t i = 1; i < map->x_count; i++) {
    const double a = field_at(map, line, i - 1, y), b = field_at(map, line, i, y);
    if ((a > 0.0) == (b > 0.0)) continue;
    *at_x = x[i - 1] + (x[i] - x[i - 1]) * a / (a - b);
    return true;
  }
  return false;
}

/* The row nearest to the one wished for that the line crosses, not so near the sides that a name would stick out; y_count for none. */
static size_t row_for_label(const struct map *map, const struct line *line, size_t wish, double margin_share, double *at_x) {
  const struct sweep_axis *axis = &map->picture->sweep->axes[0];
  const double first = axis->values[0], last = axis->values[axis->count - 1], margin = margin_share * (last - first);
  for (size_t away = 0; away < map->y_count; away++) {
    const size_t rows[2] = {wish + away, wish - away};
    for (int i = 0; i < 2; i++)
      if (rows[i] < map->y_count && crosses(map, line, rows[i], at_x) && *at_x >= first + margin && *at_x <= last - margin)
        return rows[i];
  }
  return map->y_count;
}

/* Each line's name stands at its own height, so that names of neighbours do not cover each other. */
static void send_label(struct picture_script *script, const struct map *map, size_t index) {
  const struct line *line = &map->lines[index];
  const size_t wish = map->y_count * (index + 1) / (map->line_count + 1);
  double at_x = 0.0;
  size_t y = row_for_label(map, line, wish, LABEL_MARGIN_SHARE, &at_x);
  if (y == map->y_count) y = row_for_label(map, line, wish, 0.0, &at_x);
  const bool found = y < map->y_count; // else it runs along the rows: the key names it
  fprintf(script->stream, "map_name[%zu] = '%s'\nmap_x[%zu] = %.7g\nmap_y[%zu] = %.7g\nmap_found[%zu] = %d\n", index + 1,
          line->name, index + 1, at_x, index + 1, found ? map->picture->sweep->axes[1].values[y] : 0.0, index + 1, found);
}

/* ---- Data ---- */

/* Where nothing turns there is no shade. */
static double shade_at(const struct map *map, size_t point) {
  const int outcome = find_column(map->picture->sweep, "outcome");
  const bool none = outcome >= 0 && (equals(map, point, (size_t)outcome, SETTLE_STALLS) ||
                                     equals(map, point, (size_t)outcome, SETTLE_CANNOT_HOLD));
  return none ? NAN : value_at(map, point, map->shade);
}

/* x, y, shade, fields; a blank line after each x. */
static void send_grid(struct picture_script *script, const struct map *map) {
  const struct sweep *sweep = map->picture->sweep;
  picture_block_begin(script, "grid");
  for (size_t x = 0; x < map->x_count; x++) {
    for (size_t y = 0; y < map->y_count; y++) {
      const size_t point = x * map->y_count + y;
      picture_value(script, sweep->axes[0].values[x]);
      picture_value(script, sweep->axes[1].values[y]);
      picture_value(script, shade_at(map, point));
      for (size_t i = 0; i < map->line_count; i++) picture_value(script, field_at(map, &map->lines[i], x, y));
      fputc('\n', script->stream);
    }
    fputc('\n', script->stream);
  }
  picture_block_end(script);
}

static void send_range(struct picture_script *script, const struct map *map) {
  struct picture_range range = picture_range_empty();
  for (size_t i = 0; i < map->x_count * map->y_count; i++) picture_range_add(&range, shade_at(map, i));
  const struct picture_range shades =
      picture_range_axis(range, picture_range_least_span(map->picture->sweep->columns[map->shade].name), false);
  picture_number(script, "shade_low", shades.low);
  picture_number(script, "shade_high", shades.high);
}

enum status picture_sweepmap_draw(const struct picture_sweep *picture, const struct picture_target *target, struct error *error) {
  static const char *const arrays[] = {"map_name", "map_x", "map_y", "map_found"};
  const struct sweep_axis *axes = picture->sweep->axes;
  struct map map = {.picture = picture, .x_count = axes[0].count, .y_count = axes[1].count};
  map.shade = choose_shade(&map);
  struct picture_script script;
  enum status status = find_lines(&map, error);
  if (status == STATUS_OK) status = picture_begin(&script, PICTURE_OF_sweepmap, target, 0, error);
  if (status != STATUS_OK) goto cleanup;
  picture_text(&script, "title_text", picture->title);
  picture_text(&script, "engine_text", picture->engine_title);
  picture_text(&script, "x_text", axes[0].name);
  picture_text(&script, "y_text", axes[1].name);
  picture_text(&script, "shade_text", picture->sweep->columns[map.shade].name);
  picture_number(&script, "x_low", axes[0].values[0]);
  picture_number(&script, "x_high", axes[0].values[map.x_count - 1]);
  picture_number(&script, "x_log", axes[0].geometric);
  picture_number(&script, "y_low", axes[1].values[0]);
  picture_number(&script, "y_high", axes[1].values[map.y_count - 1]);
  picture_number(&script, "y_log", axes[1].geometric);
  send_range(&script, &map);
  picture_number(&script, "map_lines", (double)map.line_count);
  for (size_t i = 0; i < ARRAY_COUNT(arrays); i++) fprintf(script.stream, "array %s[%d]\n", arrays[i], LINE_MAX);
  for (size_t i = 0; i < map.line_count; i++) send_label(&script, &map, i);
  send_grid(&script, &map);
  status = picture_finish(&script, error);
cleanup:
  for (size_t i = 0; i < map.line_count; i++) free(map.lines[i].field);
  return status;
}
