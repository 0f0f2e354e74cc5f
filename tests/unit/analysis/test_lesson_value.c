/* Expressions of lessons. Truth: arithmetic by hand, on results that are made here. */
#include "analysis/lesson/lesson_value.h"
#include "support/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Two settled points and a run of five rows, a second apart, whose speed is 800 + 10 t. */
static void make(struct lesson_results *results) {
  *results = (struct lesson_results){0};
  const char *names[] = {"one", "two-b"};
  for (int i = 0; i < 2; i++) {
    struct lesson_result *point = lesson_result_add(results, names[i], LESSON_RESULT_POINT);
    assert_non_null(point);
    point->count = 1;
    point->points = calloc(1, sizeof *point->points);
    assert_non_null(point->points);
    point->points[0].values[CHANNEL_speed_rpm] = 800.0 + 50.0 * i;
    point->points[0].values[CHANNEL_map_kpa] = NAN;
    point->points[0].codes = i ? monitors_bit(MONITOR_P0506) : 0;
    point->points[0].outcome = i ? SETTLE_STALLS : SETTLE_IDLES;
  }
  struct lesson_result *run = lesson_result_add(results, "run", LESSON_RESULT_RUN);
  struct error error;
  assert_non_null(run);
  for (int t = 0; t < 5; t++) {
    double values[CHANNEL_COUNT] = {[CHANNEL_time_s] = t, [CHANNEL_speed_rpm] = 800.0 + 10.0 * t};
    assert_int_equal(recording_append(&run->recording, values, &error), STATUS_OK);
  }
  const struct recording_event pending = {.time_s = 2.5, .kind = RECORDING_CODE, .code = MONITOR_P0505, .value = CODE_PENDING};
  assert_int_equal(recording_add_event(&run->recording, &pending, &error), STATUS_OK);
}

static const struct {
  const char *text;
  double value;
} good_rows[] = {
    {"1 + 2 * 3", 7.0},
    {"(1 + 2) * 3", 9.0},
    {"8 / 4 / 2", 1.0},
    {"10 - 4 - 3", 3.0},
    {"-2 * -3", 6.0},
    {"abs(2 - 5)", 3.0},
    {"two-b.speed_rpm - one.speed_rpm", 50.0},
    {"100 * one.speed_rpm / two-b.speed_rpm", 100.0 * 800.0 / 850.0},
    {"run.speed_rpm", 840.0},
    {"run.speed_rpm@2", 820.0},
    {"run.speed_rpm@2.9", 820.0},
    {"mean(run.speed_rpm@1..3)", 820.0},
    {"mean(run.speed_rpm)", 820.0},
    {"min(run.speed_rpm@2..4)", 820.0},
    {"max(run.speed_rpm@0..3)", 830.0},
    {"when(run.speed_rpm > 815)", 2.0},
    {"when(run.speed_rpm > 805, 3)", 3.0},
    {"when(run.speed_rpm < 801)", 0.0},
    {"run.P0505", 2.5},
    {"set(run.P0505) and not confirmed(run.P0505)", 1.0},
    {"set(two-b.P0506) - set(one.P0506)", 1.0},
    {"stalls(two-b) and not stalls(one) and not stalls(run)", 1.0},
    {"1 < 2 and 2 <= 2 and 3 > 2 and 2 >= 2", 1.0},
    {"2 < 1 or 1 < 2", 1.0},
    {"true and not false", 1.0},
    {"1 < 2 or 1 < 2 and 2 < 1", 1.0},
};

static void test_expressions_are_as_by_hand(void **state) {
  struct lesson_results results;
  struct lesson_value value;
  struct error error;
  make(&results);
  for (size_t i = 0; i < ARRAY_COUNT(good_rows); i++) {
    error_clear(&error);
    const enum status status = lesson_value_find(&results, good_rows[i].text, &value, &error);
    if (status != STATUS_OK || fabs(value.number - good_rows[i].value) > 1e-9)
      fail_msg("%s: %g, not %g; %s", good_rows[i].text, value.number, good_rows[i].value, error.text);
  }
  lesson_result_destroy_all(&results);
  (void)state;
}

static const struct {
  const char *text, *message;
} bad_rows[] = {
    {"", "is expected"},
    {"1 +", "is expected"},
    {"1 2", "the end is expected"},
    {"(1", "')' is missing"},
    {"oen.speed_rpm", "did you mean 'one'"},
    {"one.sped_rpm", "did you mean 'speed_rpm'"},
    {"one.map_kpa", "does not have it"},
    {"one.speed_rpm@3", "has no time"},
    {"mean(one.speed_rpm)", "no range"},
    {"run.speed_rpm@7", "goes from 0 to 4"},
    {"run.speed_rpm@1..2", "mean()"},
    {"run.P0506", "never set"},
    {"set(run.P9999)", "not a fault code"},
    {"confirmed(one.P0506)", "driving cycles"},
    {"when(run.speed_rpm < 100)", "never below 100"},
    {"1 / 0", "divided by zero"},
    {"one.codes + 1", "words"},
    {"stalls(oen)", "did you mean 'one'"},
};

static void test_what_is_not_there_is_said(void **state) {
  struct lesson_results results;
  struct lesson_value value;
  struct error error;
  bool holds;
  make(&results);
  for (size_t i = 0; i < ARRAY_COUNT(bad_rows); i++) {
    error_clear(&error);
    if (lesson_value_find(&results, bad_rows[i].text, &value, &error) != STATUS_BAD_CONFIG ||
        !strstr(error.text, bad_rows[i].message))
      fail_msg("%s: %s", bad_rows[i].text, error.text);
  }
  assert_int_equal(lesson_value_holds(&results, "one.speed_rpm", &holds, &error), STATUS_BAD_CONFIG);
  lesson_result_destroy_all(&results);
  (void)state;
}

static void test_words_and_numbers_tried(void **state) {
  struct lesson_results results;
  struct lesson_value value;
  struct error error;
  char numbers[200];
  make(&results);
  assert_int_equal(lesson_value_find(&results, "two-b.codes", &value, &error), STATUS_OK);
  assert_string_equal(value.words, "P0506");
  assert_int_equal(lesson_value_find(&results, "one.outcome", &value, &error), STATUS_OK);
  assert_string_equal(value.words, settle_outcome_names[SETTLE_IDLES]);
  lesson_value_numbers(&results, "abs(one.speed_rpm - mean(run.speed_rpm@1..3)) < 30", sizeof numbers, numbers);
  assert_string_equal(numbers, "one.speed_rpm = 800, mean(run.speed_rpm@1..3) = 820");
  lesson_result_destroy_all(&results);
  (void)state;
}

/* Whatever is put together of its pieces, it answers or refuses. */
static void test_any_text_is_answered_or_refused(void **state) {
  static const char *const pieces[] = {"one.speed_rpm", "run", ".", "@",  "..",    "1",     "(",    ")",
                                       "and",           "not", "<", ">=", "mean(", "when(", "abs(", "set(",
                                       "stalls(",       ",",   " ", "-",  "/",     "P0506", "true", "9e9"};
  struct lesson_results results;
  make(&results);
  uint64_t draw = 16;
  for (int i = 0; i < 4000; i++) {
    char text[200] = "", numbers[64];
    struct lesson_value value;
    struct error error;
    error_clear(&error);
    for (int k = 0; k < 8; k++) {
      draw = draw * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
      strcat(text, pieces[(draw >> 33) % ARRAY_COUNT(pieces)]);
    }
    const enum status status = lesson_value_find(&results, text, &value, &error);
    assert_true(status == STATUS_OK || (status == STATUS_BAD_CONFIG && error.text[0]));
    lesson_value_numbers(&results, text, sizeof numbers, numbers);
  }
  lesson_result_destroy_all(&results);
  (void)state;
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_expressions_are_as_by_hand),
      cmocka_unit_test(test_what_is_not_there_is_said),
      cmocka_unit_test(test_words_and_numbers_tried),
      cmocka_unit_test(test_any_text_is_answered_or_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
