/* analysis/log/log_phases: logs made by hand, so that what the car did and when is known; with noise, polled and held, with cells
 * empty and columns missing. tests/cli/test_phases.sh does the same with runs of shipped scenarios. Truth: the plan below. */
#include "analysis/log/log_phases.h"

#include "base/random.h"
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

/* The plan: a log of 200 s. Speeds and air of an engine of 1.6 l. */
struct moment {
  double speed_rpm, air_gps, coolant_c, pedal_pct, compressor, drive, position_pct;
};

static struct moment plan(double t) {
  struct moment now = {850.0, 2.2, 88.0, 0.0, 0.0, 0.0, 12.3};
  if (t < 5.0) return (struct moment){0.0, 0.0, 88.0, 0.0, 0.0, 0.0, 10.0};
  if (t < 6.0) return (struct moment){220.0, 0.5, 88.0, 0.0, 0.0, 0.0, 12.0};
  if (t >= 40.0 && t < 70.0) { // compressor
    now.air_gps = 3.1;
    now.compressor = 1.0;
    now.position_pct = 13.4;
    if (t < 41.0) now.speed_rpm = 790.0;
  }
  if (t >= 90.0 && t < 110.0) { // in gear
    now.air_gps = 2.9;
    now.drive = 1.0;
    now.speed_rpm = 750.0;
    now.position_pct = 13.2;
  }
  if (t >= 130.0 && t < 150.0) { // held
    now.speed_rpm = 2500.0;
    now.air_gps = 5.2;
    now.pedal_pct = 9.0;
    now.position_pct = 15.4;
  }
  if (t >= 170.0 && t < 195.0) { // opened slowly
    now.pedal_pct = 3.0 + 0.4 * (t - 170.0);
    now.speed_rpm = 900.0 + 60.0 * (t - 170.0);
    now.air_gps = 2.3 + 0.1 * (t - 170.0);
    now.position_pct = 12.4 + 0.15 * (t - 170.0);
  }
  return now;
}

enum { SPEED = 1, AIR = 2, COOLANT = 4, PEDAL = 8, SWITCHES = 16, POSITION = 32, ALL = 63 };

/* row_s apart; each value stands for held_s; one of `every` columns in a row, in turn, if not 1. */
static void make(struct recording *recording, unsigned columns, double row_s, double held_s, size_t every, double noise_rpm) {
  static const enum channel channels[] = {CHANNEL_speed_rpm, CHANNEL_maf_gps,          CHANNEL_coolant_c, CHANNEL_pedal_pct,
                                          CHANNEL_drive,     CHANNEL_air_conditioning, CHANNEL_tp_pct};
  static const unsigned bits[] = {SPEED, AIR, COOLANT, PEDAL, SWITCHES, SWITCHES, POSITION};
  struct error error;
  recording_init(recording);
  for (size_t i = 0; (double)i * row_s < 200.0; i++) {
    const double t = held_s > 0.0 ? held_s * floor((double)i * row_s / held_s) : (double)i * row_s;
    const struct moment now = plan(t);
    const double noise = now.speed_rpm > 0.0 ? noise_rpm * random_normal(7, 1, (uint64_t)(t * 1000.0)) : 0.0;
    const double all[] = {now.speed_rpm + noise,
                          now.air_gps * (1.0 + 0.01 * random_normal(7, 2, i)),
                          now.coolant_c,
                          now.pedal_pct,
                          now.drive,
                          now.compressor,
                          now.position_pct};
    double values[CHANNEL_COUNT];
    for (int c = 0; c < CHANNEL_COUNT; c++) values[c] = NAN;
    values[CHANNEL_time_s] = (double)i * row_s;
    for (size_t c = 0; c < 7; c++)
      if ((columns & bits[c]) && (every == 1 || i % every == c % every)) values[channels[c]] = all[c];
    assert_int_equal(recording_append(recording, values, &error), STATUS_OK);
  }
}

static struct log_phases *found;

static void find(const struct recording *recording) {
  struct error error;
  error_clear(&error);
  assert_int_equal(log_phases_find(recording, NULL, found, &error), STATUS_OK);
}

/* The phase of a kind that has this moment within; NULL if none. */
static const struct log_phase *at(enum log_phase_kind kind, double time_s) {
  for (size_t i = 0; i < found->count; i++)
    if (found->phases[i].kind == kind && found->phases[i].from_s <= time_s && found->phases[i].to_s >= time_s)
      return &found->phases[i];
  return NULL;
}

static size_t count_of(enum log_phase_kind kind) {
  size_t count = 0;
  for (size_t i = 0; i < found->count; i++) count += found->phases[i].kind == kind;
  return count;
}

static void expect(enum log_phase_kind kind, double from_s, double to_s, double within_s) {
  const struct log_phase *phase = at(kind, 0.5 * (from_s + to_s));
  if (!phase) print_message("no %s at %g s\n", log_phase_rows[kind].name, 0.5 * (from_s + to_s));
  assert_non_null(phase);
  check_close_at(from_s, phase->from_s, from_s, within_s);
  check_close_at(to_s, phase->to_s, to_s, within_s);
}

static void expect_all(double within_s) {
  expect(LOG_PHASE_idle, 6.0, 40.0, within_s);
  expect(LOG_PHASE_idle_ac, 40.0, 70.0, within_s);
  expect(LOG_PHASE_idle, 70.0, 90.0, within_s);
  expect(LOG_PHASE_drive, 90.0, 110.0, within_s);
  expect(LOG_PHASE_hold_2500, 130.0, 150.0, within_s);
  assert_int_equal(count_of(LOG_PHASE_cold_idle) + count_of(LOG_PHASE_warming_idle) + count_of(LOG_PHASE_idle_loaded), 0);
  assert_int_equal(count_of(LOG_PHASE_hold_2500), 1);
}

static void whole(void **state) {
  (void)state;
  struct recording recording;
  make(&recording, ALL, 0.1, 0.0, 1, 6.0);
  find(&recording);
  expect(LOG_PHASE_key_on, 0.0, 5.0, 0.6);
  expect(LOG_PHASE_cranking, 5.0, 6.0, 0.2);
  expect_all(1.1);
  expect(LOG_PHASE_slow_opening, 170.0, 195.0, 4.0);
  assert_int_equal(count_of(LOG_PHASE_load_step), 4);
  const struct log_phase *step = at(LOG_PHASE_load_step, 40.5);
  assert_true(step && step->cause == LOG_STEP_compressor && step->on);
  check_close(step->from_s, 40.0, 0.11);
  check_close(step->before_rpm, 850.0, 6.0);
  check_close(step->lowest_rpm, 778.0, 12.0); // the least of ten values of 790 with a spread of 6
  step = at(LOG_PHASE_load_step, 90.5);
  assert_true(step && step->cause == LOG_STEP_gear && step->on);
  assert_true(at(LOG_PHASE_idle, 30.0)->warm_told);
  recording_destroy(&recording);
}

/* One value every 1.8 s, held: phases yes, lowest speeds after a step no. */
static void polled_and_held(void **state) {
  (void)state;
  struct recording recording;
  make(&recording, ALL, 0.2, 1.8, 1, 6.0);
  find(&recording);
  expect_all(2.5);
  for (size_t i = 0; i < found->count; i++)
    if (found->phases[i].kind == LOG_PHASE_load_step) assert_true(isnan(found->phases[i].lowest_rpm));
  recording_destroy(&recording);
}

/* One column a row in turn, the others empty. */
static void cells_empty(void **state) {
  (void)state;
  struct recording recording;
  make(&recording, ALL, 0.2, 0.0, 7, 6.0);
  find(&recording);
  expect_all(3.0);
  recording_destroy(&recording);
}

/* No coolant: nothing is called warm, nor cold. No switches: the compressor is a load that nobody names, and so is the gear. */
static void what_is_not_told(void **state) {
  (void)state;
  struct recording recording;
  make(&recording, SPEED | AIR | PEDAL, 0.1, 0.0, 1, 6.0);
  find(&recording);
  expect(LOG_PHASE_idle, 6.0, 40.0, 1.5);
  expect(LOG_PHASE_idle_loaded, 40.0, 70.0, 1.5);
  expect(LOG_PHASE_idle_loaded, 90.0, 110.0, 1.5);
  assert_false(at(LOG_PHASE_idle, 30.0)->warm_told);
  assert_int_equal(count_of(LOG_PHASE_idle_ac) + count_of(LOG_PHASE_drive) + count_of(LOG_PHASE_drive_away), 0);
  for (size_t i = 0; i < found->count; i++)
    if (found->phases[i].kind == LOG_PHASE_load_step) assert_int_equal(found->phases[i].cause, LOG_STEP_unknown);
  assert_non_null(at(LOG_PHASE_load_step, 41.0));
  recording_destroy(&recording);
}

/* Speed alone: standing, idle and 2500 rpm. */
static void speed_alone(void **state) {
  (void)state;
  struct recording recording;
  make(&recording, SPEED, 0.5, 0.0, 1, 6.0);
  find(&recording);
  expect(LOG_PHASE_key_on, 0.0, 5.0, 1.0);
  expect(LOG_PHASE_hold_2500, 130.0, 150.0, 1.5);
  assert_non_null(at(LOG_PHASE_idle, 30.0));
  assert_int_equal(count_of(LOG_PHASE_idle_ac) + count_of(LOG_PHASE_drive) + count_of(LOG_PHASE_slow_opening), 0);
  recording_destroy(&recording);
}

static void by_hand(void **state) {
  (void)state;
  struct recording recording;
  struct error error;
  const struct log_phase given[] = {{.kind = LOG_PHASE_idle, .from_s = 20.0, .to_s = 35.0},
                                    {.kind = LOG_PHASE_idle, .from_s = 75.0, .to_s = INFINITY}};
  make(&recording, ALL, 0.1, 0.0, 1, 6.0);
  assert_int_equal(log_phases_find(&recording, &(struct log_phases_setting){2, given}, found, &error), STATUS_OK);
  assert_int_equal(count_of(LOG_PHASE_idle), 2);
  check_close(at(LOG_PHASE_idle, 25.0)->settled_s, 20.0, 0.0);
  assert_true(at(LOG_PHASE_idle, 25.0)->by_hand);
  check_close(at(LOG_PHASE_idle, 100.0)->to_s, 199.9, 1e-6);
  assert_non_null(at(LOG_PHASE_idle_ac, 60.0)); // the other kinds stay
  const struct log_phase beyond = {.kind = LOG_PHASE_drive, .from_s = 300.0, .to_s = 400.0};
  error_clear(&error);
  assert_int_equal(log_phases_find(&recording, &(struct log_phases_setting){1, &beyond}, found, &error), STATUS_BAD_DATA);
  recording_destroy(&recording);
}

static void bounds(void **state) {
  (void)state;
  struct recording recording;
  struct error error;
  recording_init(&recording);
  find(&recording);
  assert_int_equal(found->count, 0);
  double values[CHANNEL_COUNT];
  for (int c = 0; c < CHANNEL_COUNT; c++) values[c] = NAN;
  values[CHANNEL_time_s] = 3.0;
  assert_int_equal(recording_append(&recording, values, &error), STATUS_OK);
  find(&recording); // one row without a value
  assert_int_equal(found->count, 0);
  recording_destroy(&recording);
}

/* An hour at 20 Hz: how long it takes is printed. */
static void quick(void **state) {
  (void)state;
  struct recording recording;
  struct error error;
  recording_init(&recording);
  for (size_t i = 0; i < 72000; i++) {
    const struct moment now = plan(fmod(0.05 * (double)i, 200.0));
    double values[CHANNEL_COUNT];
    for (int c = 0; c < CHANNEL_COUNT; c++) values[c] = c < 20 ? 1.0 : NAN;
    values[CHANNEL_time_s] = 0.05 * (double)i;
    values[CHANNEL_speed_rpm] = now.speed_rpm;
    values[CHANNEL_maf_gps] = now.air_gps;
    values[CHANNEL_pedal_pct] = now.pedal_pct;
    assert_int_equal(recording_append(&recording, values, &error), STATUS_OK);
  }
  const clock_t begin = clock();
  find(&recording);
  const double took_s = (double)(clock() - begin) / CLOCKS_PER_SEC;
  print_message("72000 rows: %.3f s, %zu phases, %zu left out\n", took_s, found->count, found->left_out);
  assert_true(found->count + found->left_out > 100);
  recording_destroy(&recording);
}

int main(void) {
  found = calloc(1, sizeof *found);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(whole),       cmocka_unit_test(polled_and_held),
      cmocka_unit_test(cells_empty), cmocka_unit_test(what_is_not_told),
      cmocka_unit_test(speed_alone), cmocka_unit_test(by_hand),
      cmocka_unit_test(bounds),      cmocka_unit_test(quick),
  };
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  free(found);
  return failed;
}
