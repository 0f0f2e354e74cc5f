#include "io/picture/picture_run.h"

#include "io/picture/picture_marks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Vertical axes. */
enum axis {
  AXIS_SPEED,
  AXIS_OPENING,
  AXIS_ADDED,
  AXIS_STEPS,
  AXIS_AIR,
  AXIS_MANIFOLD,
  AXIS_AREA,
  AXIS_TRIM,
  AXIS_LAMBDA,
  AXIS_SPARK,
  AXIS_WARMTH,
  AXIS_FILM,
  AXIS_LEAK,
  AXIS_COUNT
};
static const struct picture_series_axis axis_rows[AXIS_COUNT] = {
    {"speed", 400.0, false, false}, {"opening", 2.0, true, false},  {"added", 5.0, true, false},
    {"steps", 10.0, true, false},   {"air", 1.0, true, false},      {"manifold", 30.0, false, false},
    {"area", 5.0, true, false},     {"trim", 10.0, true, false},    {"lambda_axis", 0.2, false, false},
    {"spark", 5.0, true, false},    {"warmth", 20.0, false, false}, {"film", 10.0, true, false},
    {"leak", 5.0, true, false},
};

/* Panels from the top down, with their share of the height. A panel without a line to show is left out. */
enum panel {
  PANEL_SPEED,
  PANEL_OPENING,
  PANEL_STEPS,
  PANEL_AIR,
  PANEL_AREA,
  PANEL_MIXTURE,
  PANEL_SPARK,
  PANEL_WARMTH,
  PANEL_FILM,
  PANEL_COUNT
};
static const struct {
  const char *name;
  double share;
} panel_rows[PANEL_COUNT] = {
    {"speed", 1.5},   {"opening", 1.2}, {"steps", 0.85},  {"air", 1.1},   {"area", 1.2},
    {"mixture", 1.1}, {"spark", 0.85},  {"warmth", 0.85}, {"film", 0.75},
};
#define USUAL_SHARES 6.6 // of a run with a film: the height in PICTURE_LIST is for these
#define SHARE_PX     188.0
#define LEAST_SHARES 2.7 // fewer panels are drawn larger

/* Lines: each becomes a data block of the channel's name, thinned by itself. least: the line is drawn only if it moves by so
 * much while the engine runs; 0: always. instead_of: drawn only where that channel has no data, or is further away than `least`
 * on average; CHANNEL_COUNT for none. */
static const struct line_row {
  enum channel channel;
  enum panel panel;
  enum axis axis;
  double least;
  enum channel instead_of;
} line_rows[] = {
    {CHANNEL_speed_rpm, PANEL_SPEED, AXIS_SPEED, 0.0, CHANNEL_COUNT},
    {CHANNEL_target_rpm, PANEL_SPEED, AXIS_SPEED, 0.0, CHANNEL_COUNT},
    {CHANNEL_blade_pct, PANEL_OPENING, AXIS_OPENING, 0.0, CHANNEL_COUNT},
    {CHANNEL_tp_pct, PANEL_OPENING, AXIS_OPENING, INFINITY, CHANNEL_blade_pct},
    {CHANNEL_effort_pct, PANEL_OPENING, AXIS_ADDED, 0.0, CHANNEL_COUNT},
    {CHANNEL_learned_pct, PANEL_OPENING, AXIS_ADDED, 0.0, CHANNEL_COUNT},
    {CHANNEL_bypass_steps, PANEL_STEPS, AXIS_STEPS, 0.0, CHANNEL_COUNT},
    {CHANNEL_airflow_gps, PANEL_AIR, AXIS_AIR, 0.0, CHANNEL_COUNT},
    {CHANNEL_maf_gps, PANEL_AIR, AXIS_AIR, 0.05, CHANNEL_airflow_gps},
    {CHANNEL_manifold_kpa, PANEL_AIR, AXIS_MANIFOLD, 0.0, CHANNEL_COUNT},
    {CHANNEL_map_kpa, PANEL_AIR, AXIS_MANIFOLD, 0.5, CHANNEL_manifold_kpa},
    {CHANNEL_area_mm2, PANEL_AREA, AXIS_AREA, 0.0, CHANNEL_COUNT},
    {CHANNEL_clean_area_mm2, PANEL_AREA, AXIS_AREA, 0.0, CHANNEL_COUNT},
    {CHANNEL_stft_pct, PANEL_MIXTURE, AXIS_TRIM, 2.0, CHANNEL_COUNT},
    {CHANNEL_ltft_pct, PANEL_MIXTURE, AXIS_TRIM, 2.0, CHANNEL_COUNT},
    {CHANNEL_ltft2_pct, PANEL_MIXTURE, AXIS_TRIM, 2.0, CHANNEL_COUNT},
    {CHANNEL_lambda, PANEL_MIXTURE, AXIS_LAMBDA, 0.06, CHANNEL_COUNT},
    {CHANNEL_spark_reserve_pct, PANEL_SPARK, AXIS_SPARK, 0.0, CHANNEL_COUNT},
    {CHANNEL_spark_deg, PANEL_SPARK, AXIS_SPARK, INFINITY, CHANNEL_spark_reserve_pct},
    {CHANNEL_coolant_c, PANEL_WARMTH, AXIS_WARMTH, 3.0, CHANNEL_COUNT},
    {CHANNEL_oil_c, PANEL_WARMTH, AXIS_WARMTH, 3.0, CHANNEL_COUNT},
    {CHANNEL_film_um, PANEL_FILM, AXIS_FILM, 0.5, CHANNEL_COUNT},
    {CHANNEL_leak_mm2, PANEL_FILM, AXIS_LEAK, 0.05, CHANNEL_COUNT},
};
enum { LINE_COUNT = sizeof line_rows / sizeof line_rows[0] };

#define TRIM_RATIO     0.004 // of the rows at either end: the switching of a load is no movement worth a panel
#define ENRICHED_RATIO 0.03  // of lambda: nor is what a start is given
#define RUNNING_RATIO  0.6

static int compare_doubles(const void *a, const void *b) {
  const double left = *(const double *)a, right = *(const double *)b;
  return (left > right) - (left < right);
}

/* How far a channel goes while the engine runs (without target: always), single peaks left out. */
static enum status movement(const struct recording *r, enum channel channel, double *moved, struct error *error) {
  double *values = calloc(r->row_count + 1, sizeof *values);
  if (!values) return error_set(error, STATUS_NO_MEMORY, "out of memory for the picture of the run");
  size_t count = 0;
  for (size_t row = 0; row < r->row_count; row++) {
    const double value = recording_value(r, row, channel);
    const bool stands = recording_value(r, row, CHANNEL_speed_rpm) < RUNNING_RATIO * recording_value(r, row, CHANNEL_target_rpm);
    if (isfinite(value) && !stands) values[count++] = value;
  }
  qsort(values, count, sizeof *values, compare_doubles);
  const size_t trim = (size_t)((channel == CHANNEL_lambda ? ENRICHED_RATIO : TRIM_RATIO) * (double)count);
  *moved = count ? values[count - 1 - trim] - values[trim] : 0.0;
  // what is there all the time without moving is worth a panel too: a film, a leak
  if (count && (channel == CHANNEL_film_um || channel == CHANNEL_leak_mm2)) *moved = fmax(*moved, values[count - 1]);
  free(values);
  return STATUS_OK;
}

/* Mean distance between two channels. */
static double distance(const struct recording *r, enum channel one, enum channel other) {
  double sum = 0.0;
  size_t count = 0;
  for (size_t row = 0; row < r->row_count; row++) {
    const double apart = fabs(recording_value(r, row, one) - recording_value(r, row, other));
    if (isfinite(apart)) sum += apart;
    if (isfinite(apart)) count++;
  }
  return count ? sum / (double)count : 0.0;
}

static enum status choose_lines(const struct recording *r, bool shown[LINE_COUNT], struct error *error) {
  for (size_t i = 0; i < LINE_COUNT; i++) {
    const struct line_row *line = &line_rows[i];
    shown[i] = picture_series_has(r, line->channel);
    if (!shown[i]) continue;
    if (line->instead_of != CHANNEL_COUNT) {
      shown[i] = !picture_series_has(r, line->instead_of) || distance(r, line->channel, line->instead_of) > line->least;
    } else if (line->least > 0.0) {
      double moved = 0.0;
      const enum status status = movement(r, line->channel, &moved, error);
      if (status != STATUS_OK) return status;
      shown[i] = moved >= line->least;
    }
  }
  return STATUS_OK;
}

/* Sends SHARE of every panel, 0 for one without lines, and the last panel's name; returns the sum of shares. */
static double send_panels(FILE *stream, const bool shown[LINE_COUNT]) {
  bool has[PANEL_COUNT] = {false};
  double sum = 0.0;
  const char *last = panel_rows[0].name;
  for (size_t i = 0; i < LINE_COUNT; i++) has[line_rows[i].panel] |= shown[i];
  for (int i = 0; i < PANEL_COUNT; i++) {
    const double share = has[i] ? panel_rows[i].share : 0.0;
    sum += share;
    if (has[i]) last = panel_rows[i].name;
    if (stream) fprintf(stream, "%s_share = %.7g\n", panel_rows[i].name, share);
  }
  if (stream) fprintf(stream, "last_panel = '%s'\nshare_sum = %.7g\n", last, sum);
  return sum;
}

static enum status send_lines(struct picture_script *script, const struct recording *recording,
                              const struct picture_series_time *time, const bool shown[LINE_COUNT], struct error *error) {
  // Nobody counts pixels in an SVG, but everybody pays for its size.
  const int columns = script->target->format == PICTURE_svg ? script->width / 2 : script->width;
  for (size_t i = 0; i < LINE_COUNT; i++) {
    const char *name = channel_rows[line_rows[i].channel].name;
    fprintf(script->stream, "has_%s = %d\n", name, shown[i]);
    if (!shown[i]) {
      picture_series_send_nothing(script, name);
      continue;
    }
    const enum status status =
        picture_series_send_line(script, recording, time, name, line_rows[i].channel, CHANNEL_clean_area_mm2, columns, error);
    if (status != STATUS_OK) return status;
  }
  for (int axis = 0; axis < AXIS_COUNT; axis++) {
    enum channel channels[LINE_COUNT];
    size_t count = 0;
    for (size_t i = 0; i < LINE_COUNT; i++)
      if (line_rows[i].axis == (enum axis)axis && shown[i]) channels[count++] = line_rows[i].channel;
    const enum status status = picture_series_send_axis(script, &axis_rows[axis], &recording, 1, channels, count, error);
    if (status != STATUS_OK) return status;
  }
  return STATUS_OK;
}

enum status picture_run_draw(const struct picture_run *run, const struct picture_target *target, struct error *error) {
  const struct recording *recording = run->recording;
  bool shown[LINE_COUNT];
  enum status status = picture_series_check(recording, error);
  if (status == STATUS_OK) status = choose_lines(recording, shown, error);
  if (status != STATUS_OK) return status;
  const struct picture_series_time time = picture_series_time_of(recording);
  const double shares = fmax(send_panels(NULL, shown), LEAST_SHARES);
  const int more_height = (int)((shares - USUAL_SHARES) * SHARE_PX) + picture_marks_lanes(recording) * PICTURE_MARKS_LANE_HEIGHT +
                          picture_marks_note_lines(recording) * PICTURE_MARKS_NOTE_HEIGHT;
  struct picture_script script;
  status = picture_begin(&script, PICTURE_OF_run, target, more_height, error);
  if (status != STATUS_OK) return status;
  picture_text(&script, "title_text", run->title);
  picture_text(&script, "engine_text", run->engine_title);
  picture_text(&script, "time_unit", time.unit);
  picture_number(&script, "time_low", time.start_s / time.unit_s);
  picture_number(&script, "time_high", time.end_s / time.unit_s);
  picture_number(&script, "below_rpm", monitor_rows[MONITOR_P0506].threshold / UNITS_RAD_S_PER_RPM);
  picture_number(&script, "above_rpm", monitor_rows[MONITOR_P0507].threshold / UNITS_RAD_S_PER_RPM);
  send_panels(script.stream, shown);
  picture_marks_send(&script, recording, &time);
  status = send_lines(&script, recording, &time, shown, error);
  if (status == STATUS_OK) return picture_finish(&script, error);
  picture_abandon(&script);
  return status;
}
