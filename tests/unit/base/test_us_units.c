/* base/us_units. Truth: fixed points of the scales (water freezes at 32 F, boils at 212 F; -40 is the same), the standard atmosphere of
 * 29.92 inHg, the mile and the foot by definition. */
#include "support/check.h"

#include "base/us_units.h"

static double us(const char *name, double own, bool difference) {
  const struct us_unit *unit = us_unit_of_own(name);
  assert_non_null(unit);
  const double value = us_unit_from_own(unit, own, difference);
  check_close(us_unit_to_own(unit, value, difference), own, 1e-9);
  return value;
}

static void fixed_points(void **state) {
  (void)state;
  check_close(us("coolant_c", 0.0, false), 32.0, 1e-12);
  check_close(us("coolant_c", 100.0, false), 212.0, 1e-12);
  check_close(us("coolant_c", -40.0, false), -40.0, 1e-12);
  check_close(us("coolant_bias_c", 10.0, true), 18.0, 1e-12);
  check_close(us("ambient_kpa", 101.325, false), 29.92, 0.005);
  check_close(us("speed_kmh", 1.609344, false), 1.0, 1e-12);
  check_close(us("altitude_m", 1524.0, false), 5000.0, 1e-9);
}

static void names(void **state) {
  (void)state;
  char name[16];
  const struct us_unit *unit = us_unit_of_us("coolant_f");
  assert_non_null(unit);
  assert_true(us_unit_own_name(unit, "coolant_f", sizeof name, name));
  assert_string_equal(name, "coolant_c");
  assert_true(us_unit_us_name(unit, "intake_c", sizeof name, name));
  assert_string_equal(name, "intake_f");
  assert_false(us_unit_us_name(us_unit_of_own("a_much_too_long_name_kpa"), "a_much_too_long_name_kpa", sizeof name, name));
  assert_null(us_unit_of_own("film_um"));
  assert_null(us_unit_of_own("speed_rpm"));
  assert_null(us_unit_of_own("_c"));
  assert_null(us_unit_of_us("coolant_c"));
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(fixed_points), cmocka_unit_test(names)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
