#include "io/picture/picture_sweep.h"

#include "io/picture/picture_range.h"
#include "io/picture/picture_sweepmap.h"

#include <math.h>
#include <string.h>

enum { PANEL_MAX = 3, SERIES_MAX = 6, STATE_MAX = 40, JOINED_LEAST = 4 };

/* ---- What can be drawn ---- */

/* A panel of the chart; columns that are empty throughout are left out, and so is a panel without any. */
struct panel {
  const char *name; // of its slide
  const char *title;
  const char *columns[SERIES_MAX];
};

static const struct panel settled_panels[PANEL_MAX] = {
    {"speed", "engine speed, rpm", {"speed_rpm", "target_rpm"}},
    {"opening", "opening: blade, degrees above its stop", {"blade_deg"}},
    {"added", "idle air added, % of a new engine’s", {"learned_pct", "effort_pct"}},
};
static const struct panel run_panels[PANEL_MAX] = {
    {"speed", "engine speed, rpm", {"end_speed_rpm", "end_target_rpm", "lowest_rpm"}},
    {"times", "seconds after the last change", {"settling_s", "relearn_s"}},
    {"codes", "seconds until a code is stored", {"P0505_s", "P0506_s", "P0507_s", "P0171_s", "P0172_s", "P0300_s"}},
};

/* One state of the engine, or a code: a row of bars over the input. */
struct state {
  char name[32];
  size_t column;
  double value; // the column's value that says so; NaN: any number says so
};

/* The chart's input, and the other one whose values are its lines. */
struct chart {
  const struct picture_sweep *picture;
  size_t x_axis, line_axis; // line_axis is axis_count if there is none
  size_t point_count, line_count;
  struct state states[STATE_MAX];
  size_t state_count;
};

enum picture picture_sweep_kind(const struct sweep *sweep) {
  const size_t first = sweep->axes[0].count, second = sweep->axis_count > 1 ? sweep->axes[1].count : 1;
  if (first < 2 && second < 2) return PICTURE_COUNT;
  return first <= PICTURE_SWEEP_LINE_MAX || second <= PICTURE_SWEEP_LINE_MAX ? PICTURE_OF_sweep : PICTURE_OF_sweepmap;
}

static int find_column(const struct sweep *sweep, const char *name) {
  for (size_t i = 0; i < sweep->column_count; i++)
    if (strcmp(sweep->columns[i].name, name) == 0) return (int)i;
  return -1;
}

/* The row of a point of a line. */
static size_t row_of(const struct chart *chart, size_t line, size_t point) {
  const struct sweep *sweep = chart->picture->sweep;
  if (sweep->axis_count < 2) return point;
  return chart->x_axis == 0 ? point * sweep->axes[1].count + line : line * sweep->axes[1].count + point;
}

static double cell(const struct chart *chart, size_t line, size_t point, size_t column) {
  const struct sweep_table *table = chart->picture->table;
  return table->values[row_of(chart, line, point) * table->column_count + column];
}

static bool in_state(const struct chart *chart, const struct state *state, size_t line, size_t point) {
  const double value = cell(chart, line, point, state->column);
  return isnan(state->value) ? !isnan(value) : fabs(value - state->value) < 0.5;
}

static bool column_has_numbers(const struct chart *chart, size_t column) {
  for (size_t line = 0; line < chart->line_count; line++)
    for (size_t point = 0; point < chart->point_count; point++)
      if (isfinite(cell(chart, line, point, column))) return true;
  return false;
}

/* ---- States ---- */

static void add_state(struct chart *chart, const char *name, int column, double value) {
  if (column < 0 || chart->state_count >= STATE_MAX) return;
  struct state *state = &chart->states[chart->state_count];
  *state = (struct state){.column = (size_t)column, .value = value};
  snprintf(state->name, sizeof state->name, "%s", name);
  for (size_t line = 0; line < chart->line_count; line++)
    for (size_t point = 0; point < chart->point_count; point++)
      if (in_state(chart, state, line, point)) {
        chart->state_count++;
        return;
      }
}

static void find_states(struct chart *chart) {
  const struct sweep *sweep = chart->picture->sweep;
  const int outcome = find_column(sweep, "outcome");
  for (int i = 0; i < SETTLE_OUTCOME_COUNT; i++) add_state(chart, settle_outcome_names[i], outcome, i);
  add_state(chart, "does not start idling", find_column(sweep, "ran"), 0.0);
  add_state(chart, "stalls", find_column(sweep, "stalled"), 1.0);
  for (size_t i = 0; i < sweep->column_count; i++) {
    const struct sweep_column *column = &sweep->columns[i];
    if (column->source == SWEEP_CODE) add_state(chart, column->name, (int)i, 1.0);
    if (column->source == SWEEP_METRIC && column->index >= SWEEP_METRIC_COUNT)
      add_state(chart, monitor_rows[column->index - SWEEP_METRIC_COUNT].code, (int)i, NAN);
  }
}

/* Half-way to the neighbour, or the end of the axis. */
static double border(const struct chart *chart, size_t point, bool upper) {
  const double *x = chart->picture->sweep->axes[chart->x_axis].values;
  if (upper) return point + 1 < chart->point_count ? 0.5 * (x[point] + x[point + 1]) : x[point];
  return point > 0 ? 0.5 * (x[point] + x[point - 1]) : x[point];
}

/* Stretches of each state and line: state, line, from, to, first value. */
static void send_bars(struct picture_script *script, const struct chart *chart) {
  const double *x = chart->picture->sweep->axes[chart->x_axis].values;
  int count = 0;
  picture_block_begin(script, "bars");
  for (size_t i = 0; i < chart->state_count; i++)
    for (size_t line = 0; line < chart->line_count; line++)
      for (size_t point = 0; point < chart->point_count; point++) {
        if (!in_state(chart, &chart->states[i], line, point)) continue;
        const size_t first = point;
        while (point + 1 < chart->point_count && in_state(chart, &chart->states[i], line, point + 1)) point++;
        fprintf(script->stream, "%zu %zu %.7g %.7g %.4g %d\n", i + 1, line + 1, border(chart, first, false),
                border(chart, point, true), x[first], first > 0);
        count++;
      }
  picture_block_end(script);
  fprintf(script->stream, "bar_count = %d\nstate_count = %zu\narray state_name[%d]\n", count, chart->state_count, STATE_MAX);
  for (size_t i = 0; i < chart->state_count; i++) {
    fprintf(script->stream, "state_name[%zu] = ", i + 1);
    picture_quote(script, chart->states[i].name);
    fputc('\n', script->stream);
  }
}

/* ---- Panels ---- */

/* The bypass valve is the opening that idle is governed with, where there is one. */
static struct panel panel_of(const struct chart *chart, int index) {
  const struct sweep *sweep = chart->picture->sweep;
  if (sweep->scenario) return run_panels[index];
  const int steps = find_column(sweep, "bypass_steps");
  if (index == 1 && steps >= 0 && column_has_numbers(chart, (size_t)steps))
    return (struct panel){"opening", "opening: idle bypass valve, steps", {"bypass_steps"}};
  return settled_panels[index];
}

/* The columns of a panel that have numbers; returns how many. */
static size_t find_columns(const struct chart *chart, const struct panel *panel, size_t columns[SERIES_MAX]) {
  size_t count = 0;
  for (int k = 0; k < SERIES_MAX && panel->columns[k]; k++) {
    const int column = find_column(chart->picture->sweep, panel->columns[k]);
    if (column >= 0 && column_has_numbers(chart, (size_t)column)) columns[count++] = (size_t)column;
  }
  return count;
}

/* Panels that have something to show; returns how many. */
static int find_panels(const struct chart *chart, struct panel panels[PANEL_MAX]) {
  int count = 0;
  size_t columns[SERIES_MAX];
  for (int i = 0; i < PANEL_MAX; i++) {
    const struct panel panel = panel_of(chart, i);
    if (find_columns(chart, &panel, columns) > 0) panels[count++] = panel;
  }
  return count;
}

/* A line that does not move is a picture too: the range is never left to gnuplot. With several lines a panel shows its first column. */
static void send_range(struct picture_script *script, const struct chart *chart, int panel, const size_t *columns, size_t count) {
  struct picture_range range = picture_range_empty();
  double span = 0.0;
  for (size_t i = 0; i < (chart->line_count > 1 ? 1 : count); i++) {
    span = fmax(span, picture_range_least_span(chart->picture->sweep->columns[columns[i]].name));
    for (size_t line = 0; line < chart->line_count; line++)
      for (size_t point = 0; point < chart->point_count; point++) picture_range_add(&range, cell(chart, line, point, columns[i]));
  }
  const struct picture_range axis = picture_range_axis(range, span, false);
  fprintf(script->stream, "panel_low[%d] = %.9g\npanel_high[%d] = %.9g\n", panel, axis.low, panel, axis.high);
}

/* Fewer than four points of some line: how it goes between them is not known. */
static bool has_few(const struct chart *chart, size_t column) {
  for (size_t line = 0; line < chart->line_count; line++) {
    size_t count = 0;
    for (size_t point = 0; point < chart->point_count; point++) count += isfinite(cell(chart, line, point, column)) ? 1 : 0;
    if (count > 0 && count < JOINED_LEAST) return true;
  }
  return false;
}

static void send_panels(struct picture_script *script, const struct chart *chart) {
  const struct sweep *sweep = chart->picture->sweep;
  struct panel panels[PANEL_MAX];
  size_t columns[PANEL_MAX * SERIES_MAX];
  size_t column_count = 0;
  const int count = find_panels(chart, panels);
  fprintf(script->stream,
          "array panel_title[3]\narray panel_first[3]\narray panel_series[3]\narray panel_low[3]\narray panel_high[3]\n"
          "array series_name[%d]\narray series_few[%d]\npanel_count = %d\n",
          PANEL_MAX * SERIES_MAX, PANEL_MAX * SERIES_MAX, count);
  for (int p = 1; p <= count; p++) {
    size_t *mine = &columns[column_count];
    const size_t series = find_columns(chart, &panels[p - 1], mine);
    for (size_t i = 0; i < series; i++)
      fprintf(script->stream, "series_name[%zu] = '%s'\nseries_few[%zu] = %d\n", column_count + i + 1,
              sweep->columns[mine[i]].name, column_count + i + 1, has_few(chart, mine[i]));
    fprintf(script->stream, "panel_title[%d] = '%s'\npanel_first[%d] = %zu\npanel_series[%d] = %zu\n", p, panels[p - 1].title, p,
            column_count + 1, p, series);
    send_range(script, chart, p, mine, series);
    column_count += series;
  }
  for (size_t line = 0; line < chart->line_count; line++) {
    char name[32];
    snprintf(name, sizeof name, "line_%zu", line + 1);
    picture_block_begin(script, name);
    for (size_t point = 0; point < chart->point_count; point++) {
      picture_value(script, sweep->axes[chart->x_axis].values[point]);
      for (size_t i = 0; i < column_count; i++) picture_value(script, cell(chart, line, point, columns[i]));
      fputc('\n', script->stream);
    }
    picture_block_end(script);
  }
}

static void send_lines(struct picture_script *script, const struct chart *chart) {
  const struct sweep *sweep = chart->picture->sweep;
  fprintf(script->stream, "line_count = %zu\narray line_title[%d]\n", chart->line_count, PICTURE_SWEEP_LINE_MAX);
  for (size_t line = 0; line < chart->line_count; line++) {
    char text[SETTING_NAME_SIZE + 32] = "";
    if (chart->line_axis < sweep->axis_count)
      snprintf(text, sizeof text, "%s = %.6g", sweep->axes[chart->line_axis].name, sweep->axes[chart->line_axis].values[line]);
    fprintf(script->stream, "line_title[%zu] = ", line + 1);
    picture_quote(script, text);
    fputc('\n', script->stream);
  }
}

static struct chart chart_of(const struct picture_sweep *picture) {
  const struct sweep *sweep = picture->sweep;
  struct chart chart = {.picture = picture, .line_axis = sweep->axis_count};
  if (sweep->axis_count > 1) {
    // the input with more values lies along the chart
    chart.x_axis = sweep->axes[1].count > sweep->axes[0].count ? 1 : 0;
    chart.line_axis = 1 - chart.x_axis;
  }
  chart.point_count = sweep->axes[chart.x_axis].count;
  chart.line_count = chart.line_axis < sweep->axis_count ? sweep->axes[chart.line_axis].count : 1;
  return chart;
}

/* Part as the picture counts them: 1 is that of the bars, left out where there are none. */
static size_t part_of(struct chart *chart) {
  find_states(chart);
  const size_t part = chart->picture->part;
  return part > 0 && chart->state_count == 0 ? part + 1 : part;
}

size_t picture_sweep_part_count(const struct picture_sweep *picture) {
  if (picture_sweep_kind(picture->sweep) != PICTURE_OF_sweep) return 0;
  struct chart chart = chart_of(picture);
  struct panel panels[PANEL_MAX];
  find_states(&chart);
  return (chart.state_count > 0) + (size_t)find_panels(&chart, panels);
}

const char *picture_sweep_part_name(const struct picture_sweep *picture) {
  if (picture->part == 0) return "";
  struct chart chart = chart_of(picture);
  const size_t part = part_of(&chart);
  if (part == 1) return "outcome";
  struct panel panels[PANEL_MAX];
  const int count = find_panels(&chart, panels);
  // find_panels() fills as many as it counts. NOLINTNEXTLINE(clang-analyzer-core.uninitialized.UndefReturn)
  return (int)part - 2 < count ? panels[part - 2].name : "";
}

enum status picture_sweep_draw(const struct picture_sweep *picture, const struct picture_target *target, struct error *error) {
  if (picture_sweep_kind(picture->sweep) == PICTURE_OF_sweepmap) return picture_sweepmap_draw(picture, target, error);
  struct chart chart = chart_of(picture);
  const struct sweep_axis *axis = &picture->sweep->axes[chart.x_axis];
  const size_t part = part_of(&chart);
  struct picture_script script;
  const int bars = (int)(chart.state_count * chart.line_count);
  const enum status status = picture_begin(&script, PICTURE_OF_sweep, target, bars > 6 ? 16 * (bars - 6) : 0, error);
  if (status != STATUS_OK) return status;
  picture_text(&script, "title_text", picture->title);
  picture_text(&script, "engine_text", picture->engine_title);
  picture_number(&script, "part", (double)part);
  picture_text(&script, "x_text", axis->name);
  picture_number(&script, "x_low", axis->values[0]);
  picture_number(&script, "x_high", axis->values[chart.point_count - 1]);
  picture_number(&script, "x_log", axis->geometric);
  send_lines(&script, &chart);
  send_bars(&script, &chart);
  send_panels(&script, &chart);
  return picture_finish(&script, error);
}
