/* Orifice, atmosphere and clean bore against libraries of others, over a grid.
 *
 * fluids_oracle.py, run with Debian's own interpreter, prints what python3-fluids and python3-scipy answer;
 * see its head for the rows. Where these packages are missing every test here is reported as skipped, with
 * the reason: a skipped test says nothing about the code. Any other failure of the script is a failure of the
 * test. */
#include "support/check.h"
#include "support/oracle.h"

#include "base/units.h"
#include "physics/atmosphere.h"
#include "physics/bore.h"
#include "physics/orifice.h"

#include <stdbool.h>

#define COMMAND "/usr/bin/python3 tests/reference/fluids_oracle.py" // ctest runs in the source folder

static int read_oracle(void **state) { return oracle_read(state, COMMAND, "python3-fluids python3-scipy"); }

/* API Std 520 Part 1, examples 1 and 2: 0.00369905 and 0.00424836 m2 (read in fluids' docstring): the oracle
 * is sound. */
static void check_example(const struct oracle_row *row) {
  check_close_at(row->a, row->value, row->a < 1.5 ? 0.00369905 : 0.00424836, 1e-8);
}

/* Both sides are closed forms in double precision: only rounding is allowed. */
static void check_flow(const struct oracle_row *row) {
  const double there = orifice_mass_flow_kg_s(row->d, row->a, row->b, row->c, 310.0);
  const double back = orifice_mass_flow_kg_s(row->d, row->c, 310.0, row->a, row->b);
  check_relative_at(row->c / row->a, there, row->value, 1e-11);
  check_relative_at(row->c / row->a, back, -row->value, 1e-11);
}

/* The standard's formulas carry rounded unit constants: 3e-5 choked, 0.06 % subcritical (seen in its own
 * examples). */
static void check_api(const struct oracle_row *row) {
  const bool choked = row->c <= orifice_critical_ratio() * row->a;
  const double flow = orifice_mass_flow_kg_s(row->value, row->a, row->b, row->c, 310.0);
  check_relative_at(row->c / row->a, flow, row->d, choked ? 1e-4 : 1e-3);
  if (choked) check_relative_at(row->a, orifice_choked_cda_m2(row->d, row->a, row->b), row->value, 1e-4);
}

static void check_critical(const struct oracle_row *row) {
  check_relative_at(row->a, orifice_critical_ratio() * row->a, row->value, 1e-14);
}

/* The US standard's molar mass of air is 28.9644, ISO 2533's 28.964420: gas constants 8e-7 apart. That is the
 * whole difference in density at sea level, and up to 1.5 times as much in pressure at 11 km (ln(p0/p) =
 * 1.5). */
static void check_atmosphere(const struct oracle_row *row) {
  check_relative_at(row->a, atmosphere_temperature_k(row->a), row->b, 1e-9);
  check_relative_at(row->a, atmosphere_pressure_pa(row->a), row->d, 1.3e-6);
  check_relative_at(row->a, atmosphere_density_kg_m3(row->a), row->value, 1.3e-6);
}

static void check_area(const struct oracle_row *row) {
  static const struct bore_film_shape shape = {2e-3, 0.0, 0.0, 0.0, 0.0};
  static const struct bore_film none = {0.0, 0.0};
  const struct bore_geometry bore = {0.5e-3 * row->a, row->c * UNITS_RAD_PER_DEG, 1e-3 * row->b, 0.0, 0.0, 0.0, 0.0};
  const double area = bore_area_m2(&bore, &shape, &none, row->d * UNITS_RAD_PER_DEG);
  check_relative_at(row->d, area / UNITS_M2_PER_MM2, row->value, 1e-6); // what bore.h promises
}

static void examples(void **state) { oracle_for_each(oracle_or_skip(state), "example", 2, check_example); }
static void nozzle_flow(void **state) { oracle_for_each(oracle_or_skip(state), "flow", 4 * 4 * 14 * 3, check_flow); }
static void safety_valve(void **state) { oracle_for_each(oracle_or_skip(state), "api", 4 * 4 * 14, check_api); }
static void critical_pressure(void **state) { oracle_for_each(oracle_or_skip(state), "critical", 4, check_critical); }
static void atmosphere(void **state) { oracle_for_each(oracle_or_skip(state), "atmosphere", 25, check_atmosphere); }
static void throttle_area(void **state) { oracle_for_each(oracle_or_skip(state), "area", 5 * 29, check_area); }

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(examples),          cmocka_unit_test(nozzle_flow), cmocka_unit_test(safety_valve),
      cmocka_unit_test(critical_pressure), cmocka_unit_test(atmosphere),  cmocka_unit_test(throttle_area),
  };
  return cmocka_run_group_tests(tests, read_oracle, oracle_free);
}
