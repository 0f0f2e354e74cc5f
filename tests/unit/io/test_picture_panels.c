/* What a picture of a run shows, and over which ranges. Truth: the rules as they stand in picture_panels.h and picture_range.h, tried on
 * recordings of our own making. */
#include "io/picture/picture_panels.h"
#include "io/picture/picture_range.h"
#include "support/check.h"

#include <math.h>
#include <string.h>

static void make(struct recording *recording, size_t rows, const enum channel *channels, const double *values, size_t count) {
  struct error error;
  recording_init(recording);
  for (size_t row = 0; row < rows; row++) {
    double row_values[CHANNEL_COUNT];
    for (int c = 0; c < CHANNEL_COUNT; c++) row_values[c] = NAN;
    row_values[CHANNEL_time_s] = (double)row;
    for (size_t i = 0; i < count; i++) row_values[channels[i]] = values[i];
    assert_int_equal(recording_append(recording, row_values, &error), STATUS_OK);
  }
}

static bool has_panel(const struct picture_panels *panels, const char *name) {
  for (size_t i = 0; i < panels->panel_count; i++)
    if (strcmp(panels->panels[i].name, name) == 0) return true;
  return false;
}

static bool has_curve(const struct picture_panels *panels, enum channel channel) {
  for (size_t i = 0; i < panels->curve_count; i++)
    if (panels->curves[i].channel == channel) return true;
  return false;
}

/* Every axis is one that gnuplot can draw, and holds its values. */
static void ranges_have_a_least_span(void **state) {
  (void)state;
  static const struct {
    double low, high, least;
    bool from_zero;
  } rows[] = {
      {850.0, 850.0, 200.0, false}, {849.8, 850.0, 200.0, false}, {0.0, 0.0, 200.0, false},          {0.0, 0.0, 5.0, true},
      {-3.0, -3.0, 5.0, true},      {1e-9, 2e-9, 0.1, false},     {1e12, 1e12, 1.0, false},          {-5.0, 40.0, 5.0, true},
      {12.5, 12.5, 10.0, true},     {1e30, 1e30, 1.0, true},      {INFINITY, -INFINITY, 1.0, false},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct picture_range range = picture_range_empty();
    if (rows[i].low <= rows[i].high) {
      picture_range_add(&range, rows[i].low);
      picture_range_add(&range, rows[i].high);
    }
    const struct picture_range axis = picture_range_axis(range, rows[i].least, rows[i].from_zero);
    assert_true(isfinite(axis.low) && isfinite(axis.high));
    assert_true(axis.high - axis.low >= 0.999 * rows[i].least);
    if (range.low <= range.high) assert_true(axis.low <= range.low && range.high <= axis.high);
    if (range.low >= 0.0) assert_true(axis.low >= 0.0); // no speed below zero
    if (rows[i].from_zero) assert_true(axis.low <= 0.0 && axis.high >= 0.0);
  }
}

static void what_cannot_be_drawn_is_passed_over(void **state) {
  (void)state;
  struct picture_range range = picture_range_empty();
  picture_range_add(&range, NAN);
  picture_range_add(&range, INFINITY);
  picture_range_add(&range, -1e308);
  assert_true(range.low > range.high);
  picture_range_add(&range, 3.0);
  check_close(range.low, 3.0, 0.0);
  check_close(range.high, 3.0, 0.0);
}

static void every_channel_of_a_log_is_drawn(void **state) {
  (void)state;
  struct picture_panels panels;
  for (int c = 1; c < CHANNEL_COUNT; c++) {
    struct recording recording;
    make(&recording, 4, (enum channel[]){(enum channel)c}, (double[]){3.0}, 1);
    picture_panels_choose(&recording, true, &panels);
    assert_true(has_curve(&panels, (enum channel)c));
    assert_true(panels.panel_count == 1 && panels.share_sum > 0.0);
    assert_true(panels.panels[0].left.text != NULL && panels.panels[0].right.text[0] == '\0');
    recording_destroy(&recording);
  }
  struct recording all;
  enum channel channels[CHANNEL_COUNT];
  double values[CHANNEL_COUNT];
  for (int c = 0; c < CHANNEL_COUNT; c++) {
    channels[c] = (enum channel)c;
    values[c] = 1.0;
  }
  make(&all, 4, channels + 1, values, CHANNEL_COUNT - 1);
  picture_panels_choose(&all, true, &panels);
  for (size_t i = 0; i < panels.panel_count; i++) assert_true(panels.panels[i].count > 0);
  recording_destroy(&all);
}

static const enum channel idle_channels[] = {
    CHANNEL_speed_rpm, CHANNEL_target_rpm, CHANNEL_blade_pct, CHANNEL_blade_deg, CHANNEL_command_deg,   CHANNEL_stft_pct,
    CHANNEL_ltft_pct,  CHANNEL_film_um,    CHANNEL_leak_mm2,  CHANNEL_tps1_v,    CHANNEL_unmetered_gps, CHANNEL_motor_supply_v};
static const double idle_values[] = {850.0, 850.0, 3.2, 2.7, 2.7, 0.1, 0.2, 0.0, 0.0, 0.6, 0.0, 14.0};

static void a_run_shows_what_happened(void **state) {
  (void)state;
  struct recording r;
  struct picture_panels panels;
  make(&r, 40, idle_channels, idle_values, ARRAY_COUNT(idle_values));
  picture_panels_choose(&r, false, &panels);
  assert_true(has_panel(&panels, "speed") && has_panel(&panels, "opening")); // flat lines are drawn
  assert_false(has_panel(&panels, "command") || has_panel(&panels, "mixture") || has_panel(&panels, "film"));
  assert_false(has_panel(&panels, "volts"));
  double *values = r.values;
  for (size_t row = 0; row < r.row_count; row++) {
    double *v = values + row * CHANNEL_COUNT;
    v[CHANNEL_command_deg] = 3.2; // it sticks
    v[CHANNEL_ltft_pct] = 12.5;   // steady, off zero
    v[CHANNEL_leak_mm2] = 3.0;
    v[CHANNEL_unmetered_gps] = 0.4;
  }
  picture_panels_choose(&r, false, &panels);
  assert_true(has_panel(&panels, "command") && has_panel(&panels, "mixture") && has_panel(&panels, "film"));
  assert_true(has_curve(&panels, CHANNEL_command_deg) && has_curve(&panels, CHANNEL_unmetered_gps));
  recording_destroy(&r);
}

static void a_standing_engine_and_a_cable(void **state) {
  (void)state;
  struct recording r;
  struct picture_panels panels;
  make(&r, 40, idle_channels, idle_values, ARRAY_COUNT(idle_values));
  for (size_t row = 0; row < r.row_count; row++) {
    double *v = r.values + row * CHANNEL_COUNT;
    v[CHANNEL_speed_rpm] = 0.0;
    v[CHANNEL_tps1_v] = 0.5 + 0.1 * (double)row; // the blade is swept
  }
  picture_panels_choose(&r, false, &panels);
  assert_true(has_panel(&panels, "volts"));
  assert_false(has_panel(&panels, "speed"));
  recording_destroy(&r);
  make(&r, 40, idle_channels, idle_values, ARRAY_COUNT(idle_values));
  for (size_t row = 0; row < r.row_count; row++) r.values[row * CHANNEL_COUNT + CHANNEL_bypass_steps] = 70.0;
  picture_panels_choose(&r, false, &panels);
  assert_true(has_panel(&panels, "steps"));
  assert_false(has_curve(&panels, CHANNEL_blade_pct)); // it rests
  recording_destroy(&r);
}

static void two_runs_share_panels(void **state) {
  (void)state;
  struct recording one, other;
  struct picture_panels panels;
  make(&one, 40, idle_channels, idle_values, ARRAY_COUNT(idle_values));
  make(&other, 40, idle_channels, idle_values, ARRAY_COUNT(idle_values));
  for (size_t row = 0; row < other.row_count; row++) other.values[row * CHANNEL_COUNT + CHANNEL_ltft_pct] = 12.5;
  picture_panels_choose_over(&one, &other, &panels);
  assert_true(has_panel(&panels, "speed_rpm") && has_panel(&panels, "ltft_pct"));
  assert_false(has_panel(&panels, "stft_pct")); // neither moves nor differs
  for (size_t i = 0; i < panels.panel_count; i++) assert_int_equal(panels.panels[i].count, 2);
  recording_destroy(&one);
  recording_destroy(&other);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(ranges_have_a_least_span),        cmocka_unit_test(what_cannot_be_drawn_is_passed_over),
      cmocka_unit_test(every_channel_of_a_log_is_drawn), cmocka_unit_test(a_run_shows_what_happened),
      cmocka_unit_test(a_standing_engine_and_a_cable),   cmocka_unit_test(two_runs_share_panels),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
