#include "io/picture/picture_panels.h"

#include "base/attributes.h"
#include "io/picture/picture_range.h"
#include "io/picture/picture_series.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Panels from the top down. */
enum panel {
  PANEL_SPEED,
  PANEL_OPENING,
  PANEL_COMMAND,
  PANEL_STEPS,
  PANEL_AIR,
  PANEL_AREA,
  PANEL_MIXTURE,
  PANEL_SPARK,
  PANEL_FOOT,
  PANEL_WARMTH,
  PANEL_VOLTS,
  PANEL_BATTERY,
  PANEL_FILM,
  PANEL_VALVE,
  PANEL_COUNT
};
static const struct {
  const char *name;
  double share;
  struct picture_panels_axis left, right;
} panel_rows[PANEL_COUNT] = {
    {"speed", 1.5, {"rpm", 400.0, false}, {"", 1.0, false}},
    {"opening", 1.2, {"opening, %", 2.0, true}, {"air added, %", 5.0, true}},
    {"command", 1.0, {"opening, °", 1.0, false}, {"", 1.0, false}},
    {"steps", 0.85, {"steps", 10.0, true}, {"", 1.0, false}},
    {"air", 1.1, {"g/s", 1.0, true}, {"kPa", 30.0, false}},
    {"area", 1.2, {"mm²", 5.0, true}, {"", 1.0, false}},
    {"mixture", 1.1, {"trim, %", 10.0, true}, {"lambda", 0.2, false}},
    {"spark", 0.85, {"reserve, %", 5.0, true}, {"spark, °", 5.0, false}},
    {"foot", 0.85, {"%", 10.0, true}, {"", 1.0, false}},
    {"warmth", 0.85, {"°C", 20.0, false}, {"", 1.0, false}},
    {"volts", 1.1, {"V", 1.0, true}, {"A", 0.5, true}},
    {"battery", 0.75, {"V", 2.0, false}, {"", 1.0, false}},
    {"film", 0.75, {"µm", 10.0, true}, {"mm²", 2.0, true}},
    {"valve", 0.75, {"µm", 10.0, true}, {"", 1.0, false}},
};
#define REST_SHARE 0.7 // of a panel for channels that have no row below

/* When a curve is drawn; `least` is in the channel's unit. */
enum when {
  WHEN_RUNS,   // the engine turns, or the channel moves
  WHEN_IDLES,  // the same, but where a bypass valve governs the idle, only if it moves: the blade then rests
  WHEN_FILMED, // there is a film, and the gap (`other`) is drawn by the rule above
  WHEN_MOVES,  // it moves while the engine runs
  WHEN_OFF,    // it moves, or stands off zero
  WHEN_THERE,  // it is ever above `least`
  WHEN_APART,  // further from `other` than `least` in the mean, or `other` has no numbers
  WHEN_STICKS, // further from `other` than `least` in the mean, and is drawn beside it
  WHEN_WORKED, // it moves while the engine stands with the key on
  WHEN_BESIDE, // `other` is drawn
  WHEN_LOGGED, // never: in a log only
};

static const struct line_row {
  enum channel channel;
  enum panel panel;
  bool right;
  enum picture_panels_style style;
  enum when when;
  double least;
  enum channel other;
  const char *text; // NULL: the channel's name
} line_rows[] = {
    // clang-format off
    {CHANNEL_target_rpm, PANEL_SPEED, false, PICTURE_PANELS_BAND, WHEN_RUNS, INFINITY, CHANNEL_COUNT, NULL},
    {CHANNEL_speed_rpm, PANEL_SPEED, false, PICTURE_PANELS_BLUE, WHEN_RUNS, 5.0, CHANNEL_COUNT, "speed"},
    {CHANNEL_target_rpm, PANEL_SPEED, false, PICTURE_PANELS_WANTED, WHEN_RUNS, INFINITY, CHANNEL_COUNT, "idle target"},
    {CHANNEL_blade_pct, PANEL_OPENING, false, PICTURE_PANELS_BLUE, WHEN_IDLES, 0.5, CHANNEL_COUNT, NULL},
    {CHANNEL_tp_pct, PANEL_OPENING, false, PICTURE_PANELS_BLUE, WHEN_APART, INFINITY, CHANNEL_blade_pct, "tp_pct (about 10 when closed)"},
    {CHANNEL_effort_pct, PANEL_OPENING, true, PICTURE_PANELS_RED, WHEN_RUNS, 0.5, CHANNEL_COUNT, NULL},
    {CHANNEL_learned_pct, PANEL_OPENING, true, PICTURE_PANELS_GREEN, WHEN_RUNS, 0.5, CHANNEL_COUNT, NULL},
    {CHANNEL_blade_deg, PANEL_COMMAND, false, PICTURE_PANELS_BLUE, WHEN_STICKS, 0.12, CHANNEL_command_deg, "blade_deg: where it is"},
    {CHANNEL_command_deg, PANEL_COMMAND, false, PICTURE_PANELS_WANTED, WHEN_BESIDE, 0.0, CHANNEL_blade_deg, "command_deg: asked for"},
    {CHANNEL_bypass_steps, PANEL_STEPS, false, PICTURE_PANELS_BLUE, WHEN_RUNS, 1.0, CHANNEL_COUNT, "bypass_steps: idle valve, from its seat"},
    {CHANNEL_airflow_gps, PANEL_AIR, false, PICTURE_PANELS_BLUE, WHEN_RUNS, 1.0, CHANNEL_COUNT, NULL},
    {CHANNEL_maf_gps, PANEL_AIR, false, PICTURE_PANELS_WANTED, WHEN_APART, 0.05, CHANNEL_airflow_gps, "maf_gps: the sensor"},
    {CHANNEL_unmetered_gps, PANEL_AIR, false, PICTURE_PANELS_GREEN, WHEN_THERE, 0.05, CHANNEL_COUNT, "unmetered_gps: past it"},
    {CHANNEL_manifold_kpa, PANEL_AIR, true, PICTURE_PANELS_RED, WHEN_RUNS, 2.0, CHANNEL_COUNT, NULL},
    {CHANNEL_map_kpa, PANEL_AIR, true, PICTURE_PANELS_PURPLE, WHEN_APART, 0.5, CHANNEL_manifold_kpa, "map_kpa: the sensor"},
    {CHANNEL_area_mm2, PANEL_AREA, false, PICTURE_PANELS_LOST, WHEN_FILMED, 2.0, CHANNEL_area_mm2, "lost to the film"},
    {CHANNEL_clean_area_mm2, PANEL_AREA, false, PICTURE_PANELS_WANTED, WHEN_FILMED, 2.0, CHANNEL_area_mm2, "gap at this angle, clean"},
    {CHANNEL_area_mm2, PANEL_AREA, false, PICTURE_PANELS_BLUE, WHEN_IDLES, 2.0, CHANNEL_COUNT, "gap as it is"},
    {CHANNEL_stft_pct, PANEL_MIXTURE, false, PICTURE_PANELS_SKY, WHEN_OFF, 2.0, CHANNEL_COUNT, NULL},
    {CHANNEL_ltft_pct, PANEL_MIXTURE, false, PICTURE_PANELS_RED, WHEN_OFF, 2.0, CHANNEL_COUNT, NULL},
    {CHANNEL_ltft2_pct, PANEL_MIXTURE, false, PICTURE_PANELS_GREEN, WHEN_OFF, 2.0, CHANNEL_COUNT, NULL},
    {CHANNEL_lambda, PANEL_MIXTURE, true, PICTURE_PANELS_RED_DASHES, WHEN_MOVES, 0.06, CHANNEL_COUNT, NULL},
    {CHANNEL_spark_reserve_pct, PANEL_SPARK, false, PICTURE_PANELS_PURPLE, WHEN_RUNS, INFINITY, CHANNEL_COUNT, "torque that earlier spark could still add"},
    {CHANNEL_spark_deg, PANEL_SPARK, true, PICTURE_PANELS_BLUE, WHEN_APART, INFINITY, CHANNEL_spark_reserve_pct, "spark_deg, before top dead centre"},
    {CHANNEL_pedal_pct, PANEL_FOOT, false, PICTURE_PANELS_BLUE, WHEN_THERE, 1.0, CHANNEL_COUNT, NULL},
    {CHANNEL_load_pct, PANEL_FOOT, false, PICTURE_PANELS_RED, WHEN_LOGGED, 0.0, CHANNEL_COUNT, NULL},
    {CHANNEL_coolant_c, PANEL_WARMTH, false, PICTURE_PANELS_BLUE, WHEN_MOVES, 3.0, CHANNEL_COUNT, NULL},
    {CHANNEL_oil_c, PANEL_WARMTH, false, PICTURE_PANELS_RED_DASHES, WHEN_MOVES, 3.0, CHANNEL_COUNT, NULL},
    {CHANNEL_intake_c, PANEL_WARMTH, false, PICTURE_PANELS_GREEN, WHEN_MOVES, 3.0, CHANNEL_COUNT, NULL},
    {CHANNEL_tps1_v, PANEL_VOLTS, false, PICTURE_PANELS_BLUE, WHEN_WORKED, 0.5, CHANNEL_COUNT, "tps1_v: track 1"},
    {CHANNEL_tps2_v, PANEL_VOLTS, false, PICTURE_PANELS_WANTED, WHEN_WORKED, 0.5, CHANNEL_COUNT, "tps2_v: track 2"},
    {CHANNEL_motor_a, PANEL_VOLTS, true, PICTURE_PANELS_RED, WHEN_BESIDE, 0.0, CHANNEL_tps1_v, NULL},
    {CHANNEL_battery_v, PANEL_BATTERY, false, PICTURE_PANELS_BLUE, WHEN_MOVES, 1.0, CHANNEL_COUNT, NULL},
    {CHANNEL_film_um, PANEL_FILM, false, PICTURE_PANELS_THICK, WHEN_THERE, 0.5, CHANNEL_COUNT, "film on the wall"},
    {CHANNEL_leak_mm2, PANEL_FILM, true, PICTURE_PANELS_RED_DASHES, WHEN_THERE, 0.05, CHANNEL_COUNT, "vacuum leak"},
    {CHANNEL_bypass_film_um, PANEL_VALVE, false, PICTURE_PANELS_THICK, WHEN_THERE, 0.5, CHANNEL_COUNT, "film in the idle valve"},
    // clang-format on
};
enum { LINE_COUNT = sizeof line_rows / sizeof line_rows[0] };

/* ---- What happened ---- */

static bool turns(const struct recording *r) {
  if (!picture_series_has(r, CHANNEL_speed_rpm)) return true; // nobody says that it stands
  for (size_t row = 0; row < r->row_count; row++)
    if (recording_value(r, row, CHANNEL_speed_rpm) > 1.0) return true;
  return false;
}

/* With the key on, where that is known; the drive sleeps with it off. */
static bool awake(const struct recording *r, size_t row) { return !(recording_value(r, row, CHANNEL_motor_supply_v) < 1.0); }

/* Mean distance between two channels with the key on. */
static double distance(const struct recording *r, enum channel one, enum channel other) {
  double sum = 0.0;
  size_t count = 0;
  for (size_t row = 0; row < r->row_count; row++) {
    const double apart = fabs(recording_value(r, row, one) - recording_value(r, row, other));
    if (!isfinite(apart) || !awake(r, row)) continue;
    sum += apart;
    count++;
  }
  return count ? sum / (double)count : 0.0;
}

/* How far it goes while the engine stands with the key on. */
static double worked(const struct recording *r, enum channel channel) {
  struct picture_range range = picture_range_empty();
  for (size_t row = 0; row < r->row_count; row++)
    if (recording_value(r, row, CHANNEL_speed_rpm) <= 1.0 && awake(r, row))
      picture_range_add(&range, recording_value(r, row, channel));
  return fmax(range.high - range.low, 0.0);
}

static double span(struct picture_range range) { return fmax(range.high - range.low, 0.0); }

/* The engine turns, or the channel moves; the blade and its gap of an engine with a bypass valve only if they move. */
static bool idles(const struct recording *r, enum channel channel, double least) {
  if (picture_series_has(r, CHANNEL_bypass_steps)) return span(picture_series_reach(r, channel, true)) >= least;
  return turns(r) || span(picture_series_reach(r, channel, false)) >= least;
}

/* Of a run: a log shows all it has. other_shown: `other` is drawn by a row before. */
static bool holds(const struct recording *r, const struct line_row *line, bool other_shown) {
  const struct picture_range moved = picture_series_reach(r, line->channel, true);
  switch (line->when) {
  case WHEN_RUNS:
    return turns(r) || span(picture_series_reach(r, line->channel, false)) >= line->least;
  case WHEN_IDLES:
    return idles(r, line->channel, line->least);
  case WHEN_FILMED:
    return picture_series_has(r, CHANNEL_clean_area_mm2) && picture_series_reach(r, CHANNEL_film_um, false).high > 0.0 &&
           idles(r, line->other, line->least);
  case WHEN_MOVES:
    return span(moved) >= line->least;
  case WHEN_OFF:
    return moved.low <= moved.high && fmax(fabs(moved.low), fabs(moved.high)) >= line->least;
  case WHEN_THERE:
    return picture_series_reach(r, line->channel, false).high >= line->least;
  case WHEN_STICKS:
    return distance(r, line->channel, line->other) > line->least;
  case WHEN_WORKED:
    return worked(r, line->channel) >= line->least;
  case WHEN_BESIDE:
    return other_shown;
  default:
    return false;
  }
}

static void choose_lines(const struct recording *r, bool is_log, bool shown[LINE_COUNT]) {
  for (size_t i = 0; i < LINE_COUNT; i++) {
    const struct line_row *line = &line_rows[i];
    bool other_shown = false;
    for (size_t k = 0; k < i; k++) other_shown |= shown[k] && line_rows[k].channel == line->other;
    shown[i] = picture_series_has(r, line->channel);
    if (!shown[i]) continue;
    if (line->when == WHEN_APART)
      shown[i] = !picture_series_has(r, line->other) || distance(r, line->channel, line->other) > line->least;
    else if (!is_log)
      shown[i] = holds(r, line, other_shown);
  }
}

/* ---- Panels ---- */

static struct picture_panels_panel *begin_panel(struct picture_panels *panels, const char *name, double share) {
  assert(panels->panel_count < PICTURE_PANELS_MAX);
  struct picture_panels_panel *panel = &panels->panels[panels->panel_count++];
  *panel = (struct picture_panels_panel){.name = name, .share = share, .first = panels->curve_count};
  panels->share_sum += share;
  return panel;
}

static void add_curve(struct picture_panels *panels, const struct picture_panels_curve *curve, const char *text) {
  assert(panels->curve_count < PICTURE_PANELS_CURVE_MAX && panels->panel_count > 0);
  struct picture_panels_curve *added = &panels->curves[panels->curve_count++];
  *added = *curve;
  snprintf(added->title, sizeof added->title, "%s", text);
  panels->panels[panels->panel_count - 1].count++;
}

/* An axis for which nothing is drawn goes; a right one alone becomes the left one. */
static void end_panel(struct picture_panels *panels, const struct picture_panels_axis *left,
                      const struct picture_panels_axis *right) {
  static const struct picture_panels_axis unused = {"", 1.0, false};
  struct picture_panels_panel *panel = &panels->panels[panels->panel_count - 1];
  bool on[2] = {false, false};
  for (size_t i = 0; i < panel->count; i++) on[panels->curves[panel->first + i].right] = true;
  panel->left = on[false] ? *left : *right;
  panel->right = on[false] && on[true] ? *right : unused;
  for (size_t i = 0; i < panel->count; i++) {
    struct picture_panels_curve *curve = &panels->curves[panel->first + i];
    if (!on[false]) curve->right = false;
    const size_t used = strlen(curve->title);
    if (curve->right) snprintf(curve->title + used, sizeof curve->title - used, " (right)");
  }
}

static void line_text(const struct line_row *line, char text[PICTURE_PANELS_TEXT_SIZE]) {
  if (line->style == PICTURE_PANELS_BAND)
    snprintf(text, PICTURE_PANELS_TEXT_SIZE, "no code from −%.0f to +%.0f rpm",
             monitor_rows[MONITOR_P0506].threshold / UNITS_RAD_S_PER_RPM,
             monitor_rows[MONITOR_P0507].threshold / UNITS_RAD_S_PER_RPM);
  else
    snprintf(text, PICTURE_PANELS_TEXT_SIZE, "%s", line->text ? line->text : channel_rows[line->channel].name);
}

static void add_panels(const struct recording *r, const bool shown[LINE_COUNT], struct picture_panels *panels) {
  for (int p = 0; p < PANEL_COUNT; p++) {
    bool begun = false;
    for (size_t i = 0; i < LINE_COUNT; i++) {
      const struct line_row *line = &line_rows[i];
      if (line->panel != (enum panel)p || !shown[i]) continue;
      if (line->style == PICTURE_PANELS_LOST && !picture_series_has(r, CHANNEL_clean_area_mm2)) continue;
      if (!begun) begin_panel(panels, panel_rows[p].name, panel_rows[p].share);
      begun = true;
      const struct picture_panels_curve curve = {.channel = line->channel, .right = line->right, .style = line->style};
      char text[PICTURE_PANELS_TEXT_SIZE];
      line_text(line, text);
      add_curve(panels, &curve, text);
    }
    if (begun) end_panel(panels, &panel_rows[p].left, &panel_rows[p].right);
  }
}

static bool has_row(enum channel channel) {
  for (size_t i = 0; i < LINE_COUNT; i++)
    if (line_rows[i].channel == channel) return true;
  return channel == CHANNEL_time_s;
}

/* Channels without a row, those of one unit in a panel. */
static void add_rest(const struct recording *r, struct picture_panels *panels) {
  static const enum picture_panels_style styles[] = {PICTURE_PANELS_BLUE, PICTURE_PANELS_WANTED, PICTURE_PANELS_RED,
                                                     PICTURE_PANELS_GREEN, PICTURE_PANELS_PURPLE};
  bool done[CHANNEL_COUNT] = {false};
  for (int c = 0; c < CHANNEL_COUNT && panels->panel_count < PICTURE_PANELS_MAX; c++) {
    if (done[c] || has_row((enum channel)c) || !picture_series_has(r, (enum channel)c)) continue;
    const char *unit = picture_range_unit(channel_rows[c].name);
    size_t count = 0;
    begin_panel(panels, channel_rows[c].name, REST_SHARE);
    for (int k = c; k < CHANNEL_COUNT && count < ARRAY_COUNT(styles); k++) {
      if (done[k] || has_row((enum channel)k) || !picture_series_has(r, (enum channel)k)) continue;
      if (strcmp(picture_range_unit(channel_rows[k].name), unit) != 0) continue;
      done[k] = true;
      add_curve(panels, &(struct picture_panels_curve){.channel = (enum channel)k, .style = styles[count++]},
                channel_rows[k].name);
    }
    const struct picture_panels_axis axis = {unit, picture_range_least_span(channel_rows[c].name), false};
    end_panel(panels, &axis, &axis);
  }
}

void picture_panels_choose(const struct recording *recording, bool is_log, struct picture_panels *panels) {
  bool shown[LINE_COUNT];
  *panels = (struct picture_panels){0};
  choose_lines(recording, is_log, shown);
  add_panels(recording, shown, panels);
  if (is_log) add_rest(recording, panels);
  if (panels->panel_count > 0 || is_log) return;
  picture_panels_choose(recording, true, panels); // a run in which nothing happened is a picture too
}

/* ---- Two runs ---- */

/* Channels worth laying over each other, in this order. */
static const enum channel over_rows[] = {
    CHANNEL_speed_rpm,         CHANNEL_blade_pct, CHANNEL_tp_pct,      CHANNEL_bypass_steps, CHANNEL_learned_pct,
    CHANNEL_effort_pct,        CHANNEL_maf_gps,   CHANNEL_airflow_gps, CHANNEL_map_kpa,      CHANNEL_manifold_kpa,
    CHANNEL_stft_pct,          CHANNEL_ltft_pct,  CHANNEL_lambda,      CHANNEL_spark_deg,    CHANNEL_load_pct,
    CHANNEL_spark_reserve_pct, CHANNEL_coolant_c, CHANNEL_film_um,     CHANNEL_leak_mm2,     CHANNEL_unmetered_gps,
    CHANNEL_battery_v,
};
enum { OVER_PANELS = 7 }; // more are too flat to compare
#define OVER_SHARE 0.95

/* Whether the runs differ in it, or it moves in one of them, by more than half of what a picture shows as movement. */
static bool tells(const struct recording *one, const struct recording *other, enum channel channel) {
  if (!picture_series_has(one, channel) || !picture_series_has(other, channel)) return false;
  struct picture_range both = picture_series_reach(one, channel, true);
  const struct picture_range second = picture_series_reach(other, channel, true);
  picture_range_add(&both, second.low);
  picture_range_add(&both, second.high);
  return both.high - both.low > 0.5 * picture_range_least_span(channel_rows[channel].name);
}

/* What another one shows already. */
static bool repeats(const struct recording *one, const struct recording *other, enum channel channel) {
  static const enum channel pairs[][2] = {{CHANNEL_tp_pct, CHANNEL_blade_pct},
                                          {CHANNEL_airflow_gps, CHANNEL_maf_gps},
                                          {CHANNEL_manifold_kpa, CHANNEL_map_kpa},
                                          {CHANNEL_spark_reserve_pct, CHANNEL_spark_deg},
                                          {CHANNEL_blade_pct, CHANNEL_bypass_steps}};
  for (size_t i = 0; i < ARRAY_COUNT(pairs); i++)
    if (pairs[i][0] == channel && picture_series_has(one, pairs[i][1]) && picture_series_has(other, pairs[i][1])) return true;
  return false;
}

static void add_over(struct picture_panels *panels, enum channel channel, double share) {
  const char *name = channel_rows[channel].name, *unit = picture_range_unit(name);
  begin_panel(panels, name, share);
  for (size_t run = 0; run < PICTURE_PANELS_RUN_MAX; run++) {
    const struct picture_panels_curve curve = {
        .channel = channel, .run = run, .style = run ? PICTURE_PANELS_RED : PICTURE_PANELS_BLUE};
    char text[PICTURE_PANELS_TEXT_SIZE];
    snprintf(text, sizeof text, "%s, %c", name, run ? 'B' : 'A');
    add_curve(panels, &curve, text);
  }
  const struct picture_panels_axis axis = {unit, picture_range_least_span(name), false};
  end_panel(panels, &axis, &axis);
}

void picture_panels_choose_over(const struct recording *one, const struct recording *other, struct picture_panels *panels) {
  *panels = (struct picture_panels){0};
  for (size_t i = 0; i < ARRAY_COUNT(over_rows) && panels->panel_count < OVER_PANELS; i++) {
    const bool speed =
        over_rows[i] == CHANNEL_speed_rpm && picture_series_has(one, over_rows[i]) && picture_series_has(other, over_rows[i]);
    if (speed || (tells(one, other, over_rows[i]) && !repeats(one, other, over_rows[i])))
      add_over(panels, over_rows[i], speed ? 1.5 : OVER_SHARE);
  }
  for (int c = 1; c < CHANNEL_COUNT && panels->panel_count == 0; c++) // anything that both have
    if (picture_series_has(one, (enum channel)c) && picture_series_has(other, (enum channel)c))
      add_over(panels, (enum channel)c, 1.5);
}
