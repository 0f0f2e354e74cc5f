/* A case through bladegap.h from the first look to the mark. Truth: what was done and said here, minutes and points added by hand, and that a
 * case kept as text is the same case. */
#include "library/bladegap.h"

#include "support/check.h"

#include <string.h>

static char error[BLADEGAP_ERROR_SIZE];
#define TEXT error, sizeof error
#define GOOD(call) \
  do { \
    if ((call) != BLADEGAP_OK) fail_msg("%s", error); \
  } while (0)

static bladegap_practice *practice;

static int set_up(void **state) {
  (void)state;
  bladegap_engine *engine = bladegap_engine_shipped("four-16", TEXT);
  assert_non_null(engine);
  practice = bladegap_practice_open(engine, 1, 3, TEXT);
  bladegap_engine_destroy(engine); // it keeps its own
  return practice ? 0 : -1;
}

static int tear_down(void **state) {
  (void)state;
  bladegap_practice_destroy(practice);
  return 0;
}

static bladegap_table *table(const char *kind) {
  bladegap_table *found = bladegap_practice_table(practice, kind, TEXT);
  if (!found) fail_msg("%s: %s", kind, error);
  return found;
}

static const char *text_at(const bladegap_table *from, size_t row, const char *column) {
  const char *text = NULL;
  GOOD(bladegap_table_text(from, row, column, &text, TEXT));
  return text;
}

static double number_at(const bladegap_table *from, size_t row, const char *column) {
  double number = 0.0;
  GOOD(bladegap_table_number(from, row, column, &number, TEXT));
  return number;
}

/* The row of a name; the table has it. */
static size_t row_of(const bladegap_table *from, const char *column, const char *name) {
  for (size_t i = 0; i < bladegap_table_row_count(from); i++)
    if (strcmp(text_at(from, i, column), name) == 0) return i;
  fail_msg("no %s", name);
  return 0;
}

static void before_anything(void **state) {
  (void)state;
  bladegap_table *told = table("case"), *tests = table("tests"), *work = table("work");
  assert_true(bladegap_table_row_count(told) > 0);
  assert_true(strlen(text_at(told, 0, "text")) > 10);
  const size_t smoke = row_of(tests, "name", "smoke_test");
  check_close(number_at(tests, smoke, "minutes"), 20.0, 0.0); // docs/practice.md: as `practice measure` counts it
  assert_non_null(strstr(text_at(tests, smoke, "cautions"), "flame"));
  (void)row_of(work, "name", "clean_bore");
  assert_true(strlen(text_at(work, 0, "text")) > 5);
  bladegap_table_destroy(told);
  bladegap_table_destroy(tests);
  bladegap_table_destroy(work);
  static const char *const later[] = {"readings", "points", "steps", "why"};
  for (size_t i = 0; i < sizeof later / sizeof later[0]; i++) {
    bladegap_table *none = table(later[i]);
    assert_int_equal(bladegap_table_row_count(none), 0);
    bladegap_table_destroy(none);
  }
}

/* What is read by a test stands there with its minutes. */
static void measured(void **state) {
  (void)state;
  GOOD(bladegap_practice_measure(practice, "data_stream@idle", 1, TEXT));
  GOOD(bladegap_practice_measure(practice, "smoke_test", 1, TEXT));
  bladegap_table *readings = table("readings");
  const size_t speed = row_of(readings, "name", "speed_rpm");
  assert_string_equal(text_at(readings, speed, "test"), "data_stream@idle");
  check_close(number_at(readings, speed, "minutes"), 3.0, 0.0);
  assert_true(number_at(readings, speed, "value") > 300.0 && number_at(readings, speed, "value") < 1500.0);
  const size_t smoke = row_of(readings, "test", "smoke_test");
  assert_string_equal(text_at(readings, smoke, "name"), ""); // yes or no has no name
  assert_true(strstr(text_at(readings, smoke, "text"), "yes") || strstr(text_at(readings, smoke, "text"), "no"));
  bladegap_table_destroy(readings);
}

/* Written and read again: the same text, the same readings. */
static void kept_as_text(void **state) {
  (void)state;
  char text[4096], again[4096];
  size_t needed = 0;
  GOOD(bladegap_practice_measure(practice, "data_stream@idle", 1, TEXT));
  GOOD(bladegap_practice_text(practice, text, sizeof text, &needed, TEXT));
  assert_int_equal(needed, strlen(text) + 1);
  bladegap_table *before = table("readings");
  bladegap_practice *other = bladegap_practice_resume("kept", text, needed - 1, TEXT);
  if (!other) fail_msg("%s", error);
  GOOD(bladegap_practice_text(other, again, sizeof again, NULL, TEXT));
  assert_string_equal(again, text);
  bladegap_practice_destroy(practice);
  practice = other;
  bladegap_table *after = table("readings");
  assert_int_equal(bladegap_table_row_count(after), bladegap_table_row_count(before));
  for (size_t i = 0; i < bladegap_table_row_count(after); i++) {
    assert_string_equal(text_at(after, i, "name"), text_at(before, i, "name"));
    check_close(number_at(after, i, "value"), number_at(before, i, "value"), 0.0);
  }
  bladegap_table_destroy(before);
  bladegap_table_destroy(after);
  char *line = strstr(text, "data_stream"); // by hand
  assert_non_null(line);
  *line = 'x';
  assert_null(bladegap_practice_resume("edited", text, needed - 1, TEXT));
}

static void marked(void **state) {
  (void)state;
  double total = -1.0, sum = 0.0, most = 0.0;
  GOOD(bladegap_practice_measure(practice, "data_stream@idle", 1, TEXT));
  GOOD(bladegap_practice_answer(practice, "film", "60", "clean_bore", 1, TEXT));
  assert_int_not_equal(bladegap_practice_measure(practice, "smoke_test", 1, TEXT), BLADEGAP_OK); // it is answered
  assert_int_not_equal(bladegap_practice_answer(practice, "film", "60", "clean_bore", 1, TEXT), BLADEGAP_OK);
  GOOD(bladegap_practice_mark(practice, &total, TEXT));
  bladegap_table *points = table("points");
  for (size_t i = 0; i < bladegap_table_row_count(points); i++) {
    sum += number_at(points, i, "points");
    most += number_at(points, i, "most");
    assert_true(number_at(points, i, "points") <= number_at(points, i, "most"));
  }
  check_close(total, sum, 1e-9);
  check_close(most, 100.0, 1e-9);
  bladegap_table *steps = table("steps"), *why = table("why");
  assert_string_equal(text_at(steps, 0, "plan"), "yours");
  assert_string_equal(text_at(steps, 0, "test"), "data_stream@idle");
  check_close(number_at(steps, 0, "minutes"), 3.0, 0.0);
  assert_true(number_at(steps, 0, "gain_bits") >= 0.0 && number_at(steps, 0, "after") <= 1.0);
  (void)row_of(steps, "plan", "best");
  assert_true(bladegap_table_row_count(why) >= 3);
  bladegap_table_destroy(points);
  bladegap_table_destroy(steps);
  bladegap_table_destroy(why);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(before_anything, set_up, tear_down),
      cmocka_unit_test_setup_teardown(measured, set_up, tear_down),
      cmocka_unit_test_setup_teardown(kept_as_text, set_up, tear_down),
      cmocka_unit_test_setup_teardown(marked, set_up, tear_down),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
