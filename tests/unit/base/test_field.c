/* base/field: factors on values. Truth: the products by hand, as a user would write them. */
#include "base/field.h"

#include "base/units.h"
#include "support/check.h"

#include <string.h>

struct values {
  double length_m, temperature_k, on;
  int count, kind;
  struct curve curve;
};

static const char *const kinds[] = {"a", "b", NULL};
// clang-format off
static const struct field rows[] = {
    FIELD_ROW_REAL(struct values, length_m, "length_mm", UNITS_M_PER_MM, 0, 10, ""),
    FIELD_ROW_CELSIUS(struct values, temperature_k, "temperature_c", 0, 100, ""),
    FIELD_ROW_SWITCH(struct values, on, "on", ""),
    FIELD_ROW_COUNT(struct values, count, "count", 0, 10, ""),
    FIELD_ROW_CHOICE(struct values, kind, "kind", kinds, ""),
    FIELD_ROW_CURVE(struct values, curve, "curve", 1.0, UNITS_M_PER_MM, 0, 5, ""),
};
// clang-format on
enum { LENGTH, TEMPERATURE, ON, COUNT, KIND, CURVE };

static struct values values;
static struct error error;

static int begin(void **state) {
  (void)state;
  values = (struct values){.length_m = 3e-3, .temperature_k = 300.0, .on = 1.0, .count = 3, .kind = 1};
  values.curve = (struct curve){.count = 2, .x = {1.0, 2.0}, .y = {1e-3, 3e-3}};
  return curve_init(&values.curve) ? 0 : -1;
}

static void refuses(int row, double factor, const char *words) {
  const struct values before = values;
  error_clear(&error);
  assert_int_equal(field_scale(&rows[row], &values, factor, &error), STATUS_USAGE);
  if (!strstr(error.text, words)) fail_msg("'%s' does not say '%s'", error.text, words);
  assert_memory_equal(&before, &values, sizeof values);
}

static void numbers_and_curves(void **state) {
  (void)state;
  assert_int_equal(field_scale(&rows[LENGTH], &values, 1.3, &error), STATUS_OK);
  check_close(values.length_m, field_to_si(&rows[LENGTH], 3.9), 0.0); // and not 3.9000000000000004
  assert_int_equal(field_scale(&rows[CURVE], &values, 1.5, &error), STATUS_OK);
  check_relative(values.curve.y[0], 1.5e-3, 1e-14);
  check_relative(values.curve.y[1], 4.5e-3, 1e-14);
  check_relative(curve_value(&values.curve, 1.5), 3e-3, 1e-12); // slopes have followed
}

static void what_cannot_be_scaled(void **state) {
  (void)state;
  refuses(LENGTH, 4.0, "times 4 is 12; allowed: 0 to 10");
  refuses(LENGTH, -1.0, "times -1 is -3; allowed: 0 to 10");
  refuses(CURVE, 2.0, "times 2 is 6 at point 2; allowed: 0 to 5");
  refuses(TEMPERATURE, 1.1, "is a temperature");
  refuses(ON, 1.1, "is a switch");
  refuses(COUNT, 2.0, "is a count");
  refuses(KIND, 2.0, "is a word");
  values.length_m = 0.0;
  refuses(LENGTH, 2.0, "is 0, so a factor does not change it");
  values.curve.count = 0;
  refuses(CURVE, 2.0, "is 0 or missing");
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test_setup(numbers_and_curves, begin),
                                     cmocka_unit_test_setup(what_cannot_be_scaled, begin)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
