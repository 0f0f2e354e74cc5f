#include "io/picture/strip_chart.h"

#include "base/attributes.h"
#include "io/picture/plots_embedded.h"
#include "io/picture/thin.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  POINTS_A_COLUMN = 4,
  PIXEL_COLUMNS = 240,
  PANEL_COUNT = 4,
  WINDOW_WIDTH = 900,
  WINDOW_HEIGHT = 700,
  PANEL_PX = 90,
  FOOT_PX = 30
};

/* A panel: its traces and their names (the second COUNT: none), and the least that its axis spans. */
static const struct {
  const char *first_name, *second_name;
  enum live_bench_trace first, second;
  double least;
} panels[PANEL_COUNT] = {
    {"speed, rpm", "target", LIVE_BENCH_speed_rpm, LIVE_BENCH_target_rpm, 200.0},
    {"blade, degrees open", "", LIVE_BENCH_blade_deg, LIVE_BENCH_TRACE_COUNT, 1.0},
    {"air, g/s", "", LIVE_BENCH_airflow_gps, LIVE_BENCH_TRACE_COUNT, 1.0},
    {"film, um", "learned air, %", LIVE_BENCH_film_um, LIVE_BENCH_learned_pct, 10.0},
};

/* ---- beginning and end ---- */

static void end_with(struct strip_chart *chart, const char *why) {
  snprintf(chart->said, sizeof chart->said, "There is no chart: %s. The bench goes on.", why);
  gnuplot_live_end(&chart->gnuplot);
  chart->kind = STRIP_CHART_none;
}

/* Which of the windows that we know this gnuplot can open. */
static const char *find_window(struct gnuplot_live *gnuplot) {
  static const char *const windows[] = {"qt", "wxt", "x11"}, ask[] = "print GPVAL_TERMINALS\n";
  if (!getenv("DISPLAY") && !getenv("WAYLAND_DISPLAY")) return NULL;
  gnuplot_live_ask(gnuplot, ask, sizeof ask - 1);
  if (!gnuplot_live_poll(gnuplot, GNUPLOT_LIVE_TIMEOUT_S)) return NULL;
  for (size_t i = 0; i < ARRAY_COUNT(windows); i++) {
    char word[16];
    snprintf(word, sizeof word, " %s ", windows[i]);
    if (strstr(gnuplot->answer, word)) return windows[i];
  }
  return NULL;
}

void strip_chart_begin(struct strip_chart *chart, enum strip_chart_kind kind) {
  static const struct gnuplot_live none = {.gnuplot = {0, -1, -1, -1}};
  *chart = (struct strip_chart){.kind = kind, .gnuplot = none, .size = {80, 12, 800, 400}, .size_is_new = true};
  if (kind == STRIP_CHART_none) return;
  if (!gnuplot_live_start(&chart->gnuplot) || !gnuplot_live_poll(&chart->gnuplot, GNUPLOT_LIVE_TIMEOUT_S)) {
    end_with(chart, chart->gnuplot.said);
    return;
  }
  if (kind == STRIP_CHART_window && !(chart->window = find_window(&chart->gnuplot)))
    end_with(chart, "no display, or this gnuplot opens no windows (--terminal dumb draws in letters)");
}

bool strip_chart_has_window(void) {
  if (!getenv("DISPLAY") && !getenv("WAYLAND_DISPLAY")) return false;
  struct strip_chart chart;
  strip_chart_begin(&chart, STRIP_CHART_window);
  const bool has = chart.kind == STRIP_CHART_window;
  strip_chart_end(&chart);
  return has;
}

void strip_chart_end(struct strip_chart *chart) {
  gnuplot_live_end(&chart->gnuplot);
  chart->kind = STRIP_CHART_none;
}

void strip_chart_resize(struct strip_chart *chart, const struct strip_chart_size *size) {
  if (memcmp(&chart->size, size, sizeof *size) == 0) return;
  chart->size = *size;
  chart->size_is_new = true;
}

/* ---- a frame ---- */

static void put_terminal(const struct strip_chart *chart, FILE *script) {
  const struct strip_chart_size *size = &chart->size;
  if (chart->kind == STRIP_CHART_dumb)
    fprintf(script, "set terminal dumb noenhanced mono size %d,%d\n", size->columns, size->rows);
  else if (chart->kind == STRIP_CHART_sixel)
    fprintf(script, "set terminal sixelgd noenhanced font 'DejaVu Sans,9' size %d,%d\n", size->width_px, size->height_px);
  else
    fprintf(script, "set terminal %s noenhanced noraise size %d,%d title 'bladegap live'\n", chart->window, WINDOW_WIDTH,
            WINDOW_HEIGHT);
}

/* The rows of the last span_s seconds: from which on. */
static size_t first_row(const struct live_bench *bench, double low_s) {
  size_t low = 0, high = bench->history.count;
  while (low < high) {
    const size_t middle = (low + high) / 2;
    if (live_bench_history_row(bench, middle)[LIVE_BENCH_time_s] < low_s)
      low = middle + 1;
    else
      high = middle;
  }
  return low;
}

struct span {
  double low_s, high_s, *time, *value;
  size_t count, columns, *kept;
};

static void put_trace(const struct live_bench *bench, struct span *span, enum live_bench_trace trace, double range[2],
                      FILE *script) {
  const size_t first = bench->history.count - span->count;
  for (size_t i = 0; i < span->count; i++) {
    const double *row = live_bench_history_row(bench, first + i);
    span->time[i] = row[LIVE_BENCH_time_s];
    span->value[i] = row[trace];
    range[0] = fmin(range[0], row[trace]);
    range[1] = fmax(range[1], row[trace]);
  }
  const struct thin_series series = {span->time, span->value, 1, span->count};
  const size_t kept = thin_points(&series, span->low_s, span->high_s, span->columns, span->kept);
  fprintf(script, "$trace_%d << END_OF_BLOCK\n", (int)trace);
  for (size_t i = 0; i < kept; i++) fprintf(script, "%.7g %.6g\n", span->time[span->kept[i]], span->value[span->kept[i]]);
  if (kept == 0) fprintf(script, "%.7g NaN\n", span->high_s);
  fputs("END_OF_BLOCK\n", script);
}

/* At least so wide, whole numbers of that width's tenth. */
static void widen(double range[2], double least) {
  if (!(range[0] <= range[1])) range[0] = range[1] = 0.0;
  const double lacking = least - (range[1] - range[0]), tenth = 0.1 * least;
  if (lacking > 0.0) {
    range[0] -= 0.5 * lacking;
    range[1] += 0.5 * lacking;
  }
  range[0] = tenth * floor(range[0] / tenth);
  range[1] = tenth * ceil(range[1] / tenth);
}

static void put_panels(const struct live_bench *bench, struct span *span, int shown, FILE *script) {
  for (int p = 0; p < shown; p++) {
    double range[2] = {INFINITY, -INFINITY};
    put_trace(bench, span, panels[p].first, range, script);
    if (panels[p].second < LIVE_BENCH_TRACE_COUNT) put_trace(bench, span, panels[p].second, range, script);
    widen(range, panels[p].least);
    fprintf(script, "first_name_%d = '%s'; second_name_%d = '%s'; low_%d = %.6g; high_%d = %.6g\n", p, panels[p].first_name, p,
            panels[p].second_name, p, range[0], p, range[1]);
    fprintf(script, "first_%d = '$trace_%d'; second_%d = '", p, (int)panels[p].first, p);
    if (panels[p].second < LIVE_BENCH_TRACE_COUNT) fprintf(script, "$trace_%d", (int)panels[p].second);
    fputs("'\n", script);
  }
}

static void put_layout(FILE *script) {
  for (size_t i = 0; i < plots_embedded_count; i++)
    if (strcmp(plots_embedded[i].name, "strip") == 0) fwrite(plots_embedded[i].bytes, 1, plots_embedded[i].size, script);
}

/* As many as can be read. */
static int panels_in(bool letters, int rows, int height_px) {
  const int most = letters ? (rows >= 21 ? 2 : 1) : (height_px - FOOT_PX) / PANEL_PX;
  return most < 1 ? 1 : most > PANEL_COUNT ? PANEL_COUNT : most;
}

static bool put_frame(const struct strip_chart *chart, const struct live_bench *bench, double span_s, FILE *script) {
  const bool letters = chart->kind == STRIP_CHART_dumb;
  const int height_px = chart->kind == STRIP_CHART_window ? WINDOW_HEIGHT : chart->size.height_px;
  const int shown = panels_in(letters, chart->size.rows, height_px);
  const double high_s = fmax(bench->row[CHANNEL_time_s], span_s);
  struct span span = {
      .low_s = high_s - span_s, .high_s = high_s, .columns = letters ? (size_t)chart->size.columns : PIXEL_COLUMNS};
  span.count = bench->history.count - first_row(bench, span.low_s);
  span.time = malloc((span.count + 1) * sizeof *span.time);
  span.value = malloc((span.count + 1) * sizeof *span.value);
  span.kept = malloc((span.count + 1) * sizeof *span.kept);
  const bool good = span.time && span.value && span.kept;
  if (good) {
    put_terminal(chart, script);
    fprintf(script, "letters = %d; panel_count = %d; foot = %.4g; time_low = %.7g; time_high = %.7g\n", letters, shown,
            (double)FOOT_PX / height_px, span.low_s, span.high_s);
    put_panels(bench, &span, shown, script);
    put_layout(script);
  }
  free(span.time);
  free(span.value);
  free(span.kept);
  return good;
}

void strip_chart_draw(struct strip_chart *chart, const struct live_bench *bench, double span_s) {
  if (chart->kind == STRIP_CHART_none || chart->gnuplot.asked) return;
  char *text = NULL;
  size_t size = 0;
  FILE *script = open_memstream(&text, &size);
  if (!script) return; // no memory now: a frame is left out
  const bool good = put_frame(chart, bench, span_s, script);
  if (fclose(script) == 0 && good) gnuplot_live_ask(&chart->gnuplot, text, size);
  free(text);
}

bool strip_chart_poll(struct strip_chart *chart, double wait_s, const char **frame, size_t *size) {
  if (chart->kind == STRIP_CHART_none) return false;
  const bool whole = gnuplot_live_poll(&chart->gnuplot, wait_s);
  if (!chart->gnuplot.alive) {
    end_with(chart, chart->gnuplot.said);
    return false;
  }
  *frame = chart->gnuplot.answer;
  *size = chart->gnuplot.answer_size;
  return whole;
}
