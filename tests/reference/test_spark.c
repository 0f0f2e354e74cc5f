/* Spark efficiency against two published forms.
 *
 *   1 - (retard / 45)^2            read: coursework calibration given with Guzzella and Onder
 *   0.7 + 0.024 d - 0.00048 d^2    from memory (medium): Hendricks et al., SAE 910258; d = lead after the
 *                                  shift by MBT; its maximum 1 stands at d = 25, so d = 25 - retard
 * The two are independent and agree within 0.006 up to 20 degrees; only so far is the remembered one used. */
#include "support/check.h"

#include "base/attributes.h"
#include "base/units.h"
#include "physics/combustion.h"

static double efficiency_at(double retard_deg) { return combustion_spark_efficiency(retard_deg * UNITS_RAD_PER_DEG); }

static void read_form(void **state) {
  (void)state;
  static const struct {
    double retard_deg, efficiency;
  } rows[] = {{0, 1.0}, {5, 0.987654}, {10, 0.950617}, {15, 0.888889}, {20, 0.802469}, {30, 0.555556}};
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++)
    check_close_at(rows[i].retard_deg, efficiency_at(rows[i].retard_deg), rows[i].efficiency, 6e-7);
}

static void remembered_form(void **state) {
  (void)state;
  for (int retard = 0; retard <= 20; retard++) {
    const double d = 25.0 - retard;
    check_close_at(retard, efficiency_at(retard), 0.7 + 0.024 * d - 0.00048 * d * d, 0.006);
  }
}

/* The figure both agree on, as the reference data recommends it: ten degrees late cost five per cent. */
static void ten_degrees(void **state) {
  (void)state;
  check_close(efficiency_at(10.0), 0.95, 0.01);
}

/* Invariants of the docstring: a maximum of 1 at best spark, falling on both sides alike, never below
 * 0.05. */
static void shape(void **state) {
  (void)state;
  for (int retard = 1; retard <= 90; retard++) {
    check_relative_at(retard, efficiency_at(-retard), efficiency_at(retard), 1e-15);
    if (retard <= 43) check_below_at(retard, efficiency_at(retard), efficiency_at(retard - 1));
    check_above_at(retard, efficiency_at(retard), 0.05 - 1e-12);
  }
  check_close(efficiency_at(45.0), 0.05, 1e-12);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(read_form),
      cmocka_unit_test(remembered_form),
      cmocka_unit_test(ten_degrees),
      cmocka_unit_test(shape),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
