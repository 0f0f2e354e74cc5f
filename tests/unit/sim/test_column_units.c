/* Units of logged files. Truth: NIST SP 811 (2008), appendix B.8 and B.9: to convert from, to, multiply by. */
#include "sim/column_units.h"

#include "base/attributes.h"
#include "support/check.h"

#include <string.h>

/* The factors as the tables print them, seven digits where they are not exact; ours must agree to their last digit. */
static void factors_are_those_of_the_tables(void **state) {
  (void)state;
  static const struct {
    enum column_units_quantity quantity;
    const char *unit;
    double factor, within; // to our own names' unit
  } rows[] = {
      {COLUMN_UNITS_PRESSURE, "psi", 6.894757e3 / 1e3, 0.5e-6},  // pound-force per square inch: Pa 6.894 757 E+03
      {COLUMN_UNITS_PRESSURE, "inHg", 3.38638e3 / 1e3, 0.5e-5},  // inch of mercury (32 F): Pa 3.386 38 E+03
      {COLUMN_UNITS_PRESSURE, "mmHg", 1.333224e2 / 1e3, 0.5e-7}, // millimetre of mercury, conventional: Pa 1.333 224 E+02
      {COLUMN_UNITS_PRESSURE, "bar", 1.0e5 / 1e3, 0.0},          // exact
      {COLUMN_UNITS_PRESSURE, "mbar", 1.0e2 / 1e3, 1e-16},       // exact
      {COLUMN_UNITS_FLOW, "lb/min", 7.559873e-3 * 1e3, 0.5e-6},  // pound per minute: kg/s 7.559 873 E-03
      {COLUMN_UNITS_FLOW, "lb/h", 1.259979e-4 * 1e3, 0.5e-7},    // pound per hour: kg/s 1.259 979 E-04
      {COLUMN_UNITS_FLOW, "kg/h", 1e3 / 3600.0, 1e-15},          // by definition of the hour
      {COLUMN_UNITS_ROAD, "mph", 1.609344, 0.0},                 // mile per hour: km/h, exact
      {COLUMN_UNITS_SPEED, "rad/s", 1.0 / 1.047198e-1, 0.5e-5},  // revolution per minute: rad/s 1.047 198 E-01
      {COLUMN_UNITS_TIME, "min", 60.0, 0.0},                     // exact
      {COLUMN_UNITS_TIME, "h", 3600.0, 0.0},                     // exact
      {COLUMN_UNITS_TIME, "ms", 1e-3, 0.0},
      {COLUMN_UNITS_VOLTAGE, "mV", 1e-3, 0.0},
      {COLUMN_UNITS_SHARE, "%", 1.0, 0.0},
      {COLUMN_UNITS_ANGLE, "deg", 1.0, 0.0},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    double factor = 0.0, offset = 1.0;
    print_message("%s\n", rows[i].unit);
    assert_true(column_units_find(rows[i].quantity, rows[i].unit, strlen(rows[i].unit), &factor, &offset));
    check_close(factor, rows[i].factor, rows[i].within);
    check_close(offset, 0.0, 0.0);
  }
}

/* t/C = (t/F - 32)/1.8; t/C = T/K - 273.15: SP 811 B.8. */
static void temperatures_have_an_offset(void **state) {
  (void)state;
  static const struct {
    const char *unit;
    double told, celsius;
  } rows[] = {{"F", 32.0, 0.0},
              {"\xC2\xB0"
               "F",
               212.0, 100.0},
              {"degF", -40.0, -40.0},
              {"K", 273.15, 0.0},
              {"C", 21.5, 21.5}};
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    double factor, offset;
    assert_true(column_units_find(COLUMN_UNITS_TEMPERATURE, rows[i].unit, strlen(rows[i].unit), &factor, &offset));
    check_close(factor * rows[i].told + offset, rows[i].celsius, 1e-12);
  }
}

static void units_of_other_quantities_are_none(void **state) {
  (void)state;
  double factor, offset;
  assert_false(column_units_find(COLUMN_UNITS_FLOW, "kPa", 3, &factor, &offset));
  assert_false(column_units_find(COLUMN_UNITS_PRESSURE, "", 0, &factor, &offset));
  assert_false(column_units_find(COLUMN_UNITS_PRESSURE, "kPa of a very long kind of unit that is none", 44, &factor, &offset));
  assert_int_equal(column_units_of("maf_gps"), COLUMN_UNITS_FLOW);
  assert_int_equal(column_units_of("time_s"), COLUMN_UNITS_TIME);
  assert_int_equal(column_units_of("lambda"), COLUMN_UNITS_OWN);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(factors_are_those_of_the_tables),
      cmocka_unit_test(temperatures_have_an_offset),
      cmocka_unit_test(units_of_other_quantities_are_none),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
