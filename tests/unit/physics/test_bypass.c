/* physics/bypass. Truth: hand values from the equations in its header, and invariants. */
#include "support/check.h"

#include "base/units.h"
#include "physics/bypass.h"

/* Seat 10 mm, cone 30 degrees, 20 um a step: a hundred steps lift 2 mm and leave a gap of 1 mm. */
static const struct bypass_params valve = {.seat_diameter_m = 10e-3,
                                           .cone_angle_rad = 30.0 * UNITS_RAD_PER_DEG,
                                           .pitch_m = 20e-6,
                                           .step_count = 200,
                                           .discharge_ratio = 0.7,
                                           .steps_per_s = 150.0};

static double area_mm2(double steps, double film_um) {
  return bypass_area_m2(&valve, steps, film_um * UNITS_M_PER_UM) / UNITS_M2_PER_MM2;
}

/* pi 10 1 = 31.415927 and the port 78.539816 in a row: 31.415927/sqrt(1 + 0.4^2) = 29.168956. Film of 400 um:
 * 18.849556/sqrt(1 + 0.24^2) = 18.329069. Two hundred steps: 62.831853/sqrt(1 + 0.8^2) = 49.063434. */
static void area(void **state) {
  (void)state;
  check_relative(area_mm2(100, 0), 29.168956, 3e-8);
  check_relative(area_mm2(100, 400), 18.329069, 3e-8);
  check_relative(area_mm2(200, 0), 49.063434, 3e-8);
  check_close(area_mm2(0, 0), 0.0, 0.0);
  check_close(area_mm2(100, 1000), 0.0, 1e-9); // the film fills the gap
  check_close(area_mm2(100, 2000), 0.0, 0.0);
}

/* More steps more air, more film less; never more than the port. */
static void trends(void **state) {
  (void)state;
  for (int steps = 1; steps <= 2000; steps++) {
    check_above_at(steps, area_mm2(steps, 0), area_mm2(steps - 1, 0));
    check_below_at(steps, area_mm2(steps, 0), 78.539817);
    check_below_at(steps, area_mm2(steps, 5), area_mm2(steps, 0));
  }
}

/* What the computer asks of a clean valve comes out of it. */
static void inverse(void **state) {
  (void)state;
  for (int steps = 0; steps <= 200; steps++)
    check_close_at(steps, bypass_clean_steps(&valve, bypass_area_m2(&valve, steps, 0.0)), steps, 1e-9);
  check_close(bypass_clean_steps(&valve, -1e-6), 0.0, 0.0);
  check_close(bypass_clean_steps(&valve, 60e-6), 200.0, 0.0); // more than its travel gives
  check_close(bypass_clean_steps(&valve, 1.0), 200.0, 0.0);   // more than the port
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(area), cmocka_unit_test(trends), cmocka_unit_test(inverse)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
