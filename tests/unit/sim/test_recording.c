/* sim/recording: what goes in comes out, however much of it. Truth: invariants. */
#include "sim/recording.h"

#include "support/check.h"

#include <stdio.h>

static double cell(size_t row, int channel) { return (double)row * 100.0 + channel; }

/* Ten thousand rows: through several enlargements. */
static void rows_are_kept(void **state) {
  (void)state;
  const size_t count = 10000;
  struct recording recording;
  struct error error;
  recording_init(&recording);
  for (size_t row = 0; row < count; row++) {
    double values[CHANNEL_COUNT];
    for (int i = 0; i < CHANNEL_COUNT; i++) values[i] = cell(row, i);
    assert_int_equal(recording_append(&recording, values, &error), STATUS_OK);
    values[0] = -1.0; // the recording has its own copy
    assert_int_equal(recording.row_count, row + 1);
  }
  for (size_t row = 0; row < count; row++)
    for (int i = 0; i < CHANNEL_COUNT; i++)
      check_close_at((double)row, recording_value(&recording, row, (enum channel)i), cell(row, i), 0.0);
  recording_destroy(&recording);
}

static void events_are_kept_in_order(void **state) {
  (void)state;
  const size_t count = 1000;
  struct recording recording;
  struct error error;
  recording_init(&recording);
  for (size_t i = 0; i < count; i++) {
    struct recording_event event = {.time_s = 0.5 * (double)i, .kind = RECORDING_CODE, .code = (int)(i % 3), .value = (int)i};
    snprintf(event.text, sizeof event.text, "event %zu", i);
    assert_int_equal(recording_add_event(&recording, &event, &error), STATUS_OK);
  }
  assert_int_equal(recording.event_count, count);
  for (size_t i = 0; i < count; i++) {
    char text[RECORDING_TEXT_SIZE];
    snprintf(text, sizeof text, "event %zu", i);
    check_close(recording.events[i].time_s, 0.5 * (double)i, 0.0);
    assert_int_equal(recording.events[i].code, i % 3);
    assert_int_equal(recording.events[i].value, i);
    assert_string_equal(recording.events[i].text, text);
  }
  assert_int_equal(recording.row_count, 0); // events make no rows
  recording_destroy(&recording);
}

/* An ended recording is empty and can be used again; ending nothing is legal. */
static void destroyed_is_empty(void **state) {
  (void)state;
  struct recording recording;
  struct error error;
  const double values[CHANNEL_COUNT] = {1.0};
  recording_init(&recording);
  assert_int_equal(recording_append(&recording, values, &error), STATUS_OK);
  recording_destroy(&recording);
  assert_int_equal(recording.row_count, 0);
  assert_null(recording.values);
  assert_int_equal(recording_append(&recording, values, &error), STATUS_OK);
  assert_int_equal(recording.row_count, 1);
  recording_destroy(&recording);
  recording_destroy(NULL);
}

static enum status count_rows(const double values[CHANNEL_COUNT], void *user, struct error *error) {
  (void)error;
  *(double *)user += values[CHANNEL_time_s];
  return STATUS_OK;
}

/* With a sink every row goes there and none is kept, however many. */
static void rows_to_a_sink(void **state) {
  (void)state;
  struct recording recording;
  recording_init(&recording);
  double sum = 0.0, values[CHANNEL_COUNT] = {0};
  recording.sink = count_rows;
  recording.sink_user = &sum;
  struct error error = {0};
  for (int i = 0; i < 5000; i++) {
    values[CHANNEL_time_s] = i;
    assert_int_equal(recording_append(&recording, values, &error), STATUS_OK);
  }
  assert_int_equal(recording.row_count, 5000);
  assert_null(recording.values);
  check_close(sum, 5000.0 * 4999.0 / 2.0, 0.0);
  recording_destroy(&recording);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(rows_are_kept),
      cmocka_unit_test(events_are_kept_in_order),
      cmocka_unit_test(destroyed_is_empty),
      cmocka_unit_test(rows_to_a_sink),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
