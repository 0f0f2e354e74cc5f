/* What a comparison takes of a log. Truth: logs made up here, whose phases and values are known; air asked for by a compressor (some 15 to
 * 50 % more), common practice, no source. */
#include "analysis/compare/compare_log.h"
#include "support/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { RATE = 5 }; // rows a second

struct log {
  struct recording recording;
  double time_s;
  bool polled; // one value a row
};

static void begin(struct log *log, bool polled) {
  recording_init(&log->recording);
  log->time_s = 0.0;
  log->polled = polled;
}

/* So many seconds at that speed, swinging by +-swing within 2 s, that air and that coolant. */
static void add(struct log *log, double seconds, double speed_rpm, double swing_rpm, double air_gps, double coolant_c) {
  struct error error;
  error_clear(&error);
  for (int i = 0; i < (int)(seconds * RATE); i++) {
    double values[CHANNEL_COUNT];
    for (int k = 0; k < CHANNEL_COUNT; k++) values[k] = NAN;
    values[CHANNEL_time_s] = log->time_s;
    values[CHANNEL_coolant_c] = coolant_c;
    if (!log->polled || i % 2 == 0) values[CHANNEL_speed_rpm] = speed_rpm + swing_rpm * sin(3.0 * log->time_s);
    if (!log->polled || i % 2 == 1) values[CHANNEL_maf_gps] = air_gps;
    assert_int_equal(recording_append(&log->recording, values, &error), STATUS_OK);
    log->time_s += 1.0 / RATE;
  }
}

/* False if it idles nowhere. The log is done with. */
static bool take(struct log *log, struct compare_side *side, struct estimate_log_window *idle) {
  struct log_phases *phases = calloc(1, sizeof *phases);
  struct error error;
  error_clear(&error);
  memset(side, 0, sizeof *side);
  assert_int_equal(log_phases_find(&log->recording, NULL, phases, &error), STATUS_OK);
  const bool idles = compare_log_add(&log->recording, phases, side, idle);
  recording_destroy(&log->recording);
  free(phases);
  return idles;
}

static double value_of(const struct compare_side *side, enum estimate_condition condition, enum estimate_quantity quantity) {
  const struct estimate_reading *reading = estimate_readings_find(&side->readings, quantity, condition);
  return reading ? reading->value : NAN;
}

static void test_compressor(void **state) {
  (void)state;
  for (int polled = 0; polled < 2; polled++) {
    struct log log;
    struct compare_side side;
    struct estimate_log_window idle;
    begin(&log, polled);
    add(&log, 25.0, 850.0, 5.0, 2.2, 90.0);
    add(&log, 40.0, 850.0, 5.0, 2.9, 90.0); // longer, and no column tells of it
    add(&log, 15.0, 850.0, 5.0, 2.2, 90.0);
    assert_true(take(&log, &side, &idle));
    assert_true(idle.from_s < 12.0);
    assert_true(idle.to_s > 20.0 && idle.to_s < 28.1); // a block may straddle the step
    check_relative(value_of(&side, ESTIMATE_CONDITION_idle, ESTIMATE_QUANTITY_maf_gps), 2.2, 0.02);
  }
}

static void test_held_speed(void **state) {
  (void)state;
  for (int polled = 0; polled < 2; polled++) {
    struct log log;
    struct compare_side side;
    struct estimate_log_window idle;
    begin(&log, polled);
    add(&log, 15.0, 850.0, 5.0, 2.2, 90.0);
    add(&log, 30.0, 2480.0, 5.0, 6.0, 90.0);
    add(&log, 40.0, 850.0, 5.0, 2.2, 90.0);
    assert_true(take(&log, &side, &idle));
    assert_true(idle.from_s >= 45.0 && idle.from_s < 61.0 && idle.to_s > 84.0);
    check_relative(side.held_rpm, 2480.0, 0.001);
    check_relative(value_of(&side, ESTIMATE_CONDITION_hold_2500, ESTIMATE_QUANTITY_maf_gps), 6.0, 1e-6);
  }
}

static void test_rough(void **state) {
  (void)state;
  struct log log;
  struct compare_side side;
  struct estimate_log_window idle;
  begin(&log, false);
  add(&log, 40.0, 530.0, 90.0, 1.6, 90.0); // out of +-15 % for half a second at a time
  assert_true(take(&log, &side, &idle));
  assert_true(idle.from_s < 8.0 && idle.to_s > 38.0);
}

static void test_cold(void **state) {
  (void)state;
  struct log log;
  struct compare_side side;
  struct estimate_log_window idle;
  begin(&log, false);
  add(&log, 40.0, 1100.0, 5.0, 3.6, 41.0); // taken all the same, for the verdict to say that it was cold
  assert_true(take(&log, &side, &idle));
  check_relative(value_of(&side, ESTIMATE_CONDITION_idle, ESTIMATE_QUANTITY_coolant_c), 41.0, 1e-9);
}

static void test_none(void **state) {
  (void)state;
  struct log log;
  struct compare_side side;
  struct estimate_log_window idle;
  begin(&log, false);
  add(&log, 8.0, 850.0, 5.0, 2.2, 90.0);
  assert_false(take(&log, &side, &idle));
  begin(&log, false);
  add(&log, 60.0, 0.0, 0.0, 0.0, 90.0); // the engine does not run
  assert_false(take(&log, &side, &idle));
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(test_compressor), cmocka_unit_test(test_held_speed),
                                     cmocka_unit_test(test_rough), cmocka_unit_test(test_cold), cmocka_unit_test(test_none)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
