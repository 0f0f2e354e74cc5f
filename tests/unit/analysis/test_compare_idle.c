/* Where a log idles. Truth: logs made up here, whose idle is known; air asked for by a compressor (some 15 to 50 % more), common practice,
 * no source. */
#include "analysis/compare/compare_log.h"
#include "support/check.h"

#include <math.h>

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

/* So many seconds at that speed, swinging by +-swing within 2 s, and that air. */
static void add(struct log *log, double seconds, double speed_rpm, double swing_rpm, double air_gps) {
  struct error error;
  error_clear(&error);
  for (int i = 0; i < (int)(seconds * RATE); i++) {
    double values[CHANNEL_COUNT];
    for (int k = 0; k < CHANNEL_COUNT; k++) values[k] = NAN;
    values[CHANNEL_time_s] = log->time_s;
    if (!log->polled || i % 2 == 0) values[CHANNEL_speed_rpm] = speed_rpm + swing_rpm * sin(3.0 * log->time_s);
    if (!log->polled || i % 2 == 1) values[CHANNEL_maf_gps] = air_gps;
    assert_int_equal(recording_append(&log->recording, values, &error), STATUS_OK);
    log->time_s += 1.0 / RATE;
  }
}

static struct compare_window find(struct log *log) {
  struct compare_window window = {ESTIMATE_CONDITION_idle, NAN, NAN};
  assert_true(compare_log_find_idle(&log->recording, &window));
  recording_destroy(&log->recording);
  return window;
}

static void test_compressor(void **state) {
  (void)state;
  for (int polled = 0; polled < 2; polled++) {
    struct log log;
    begin(&log, polled);
    add(&log, 25.0, 850.0, 5.0, 2.2);
    add(&log, 40.0, 850.0, 5.0, 2.9); // longer, and no column tells of it
    add(&log, 15.0, 850.0, 5.0, 2.2);
    const struct compare_window window = find(&log);
    assert_true(window.from_s < 12.0);
    assert_true(window.to_s > 20.0 && window.to_s < 28.1); // a block of 3 s may straddle the step
  }
}

static void test_held_speed(void **state) {
  (void)state;
  for (int polled = 0; polled < 2; polled++) {
    struct log log;
    begin(&log, polled);
    add(&log, 15.0, 850.0, 5.0, 2.2);
    add(&log, 30.0, 2500.0, 5.0, 6.0);
    add(&log, 30.0, 850.0, 5.0, 2.2);
    const struct compare_window window = find(&log);
    assert_true(window.from_s >= 45.0 && window.from_s < 52.0 && window.to_s > 74.0);
  }
}

static void test_rough(void **state) {
  (void)state;
  struct log log;
  begin(&log, false);
  add(&log, 40.0, 530.0, 90.0, 1.6); // out of +-15 % for half a second at a time
  const struct compare_window window = find(&log);
  assert_true(window.from_s < 8.0 && window.to_s > 38.0);
}

static void test_none(void **state) {
  (void)state;
  struct log log;
  struct compare_window window;
  begin(&log, false);
  add(&log, 8.0, 850.0, 5.0, 2.2);
  assert_false(compare_log_find_idle(&log.recording, &window));
  recording_destroy(&log.recording);
  begin(&log, false);
  add(&log, 60.0, 0.0, 0.0, 0.0); // the engine does not run
  assert_false(compare_log_find_idle(&log.recording, &window));
  recording_destroy(&log.recording);
  begin(&log, false);
  for (int i = 0; i < 12; i++) add(&log, 5.0, 850.0, 5.0, i % 2 ? 2.2 : 3.0); // nothing lasts: better all of it than nothing
  window = find(&log);
  assert_true(window.to_s - window.from_s > 50.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(test_compressor), cmocka_unit_test(test_held_speed),
                                     cmocka_unit_test(test_rough), cmocka_unit_test(test_none)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
