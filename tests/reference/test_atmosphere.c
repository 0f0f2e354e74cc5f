/* The standard atmosphere against ISO 2533 / US Standard Atmosphere 1976.
 *
 * Constants read (crnslab.org, citing ICAO Doc 7488 and US Std Atm 1976); the values derived from them. The
 * column over *geometric* altitude was also produced, digit for digit, by python3-fluids' ATMOSPHERE_1976
 * (read, run). */
#include "support/check.h"

#include "base/attributes.h"
#include "physics/atmosphere.h"
#include "physics/gas.h"

#define EARTH_RADIUS_M 6356766.0 // US Std Atm 1976, read

/* Tolerance 0.08 Pa: half the last printed digit, and 0.02 Pa for R = 287.05307 there against our
 * 287.05287. */
static const struct {
  double altitude_m, temperature_k, pressure_pa, density_kg_m3, geometric_pa, geometric_kg_m3;
} rows[] = {
    {0, 288.150, 101325.0, 1.22500, 101325.0, 1.225000},   {500, 284.900, 95460.8, 1.16727, 95461.3, 1.167273},
    {1000, 281.650, 89874.6, 1.11164, 89876.3, 1.111659},  {1500, 278.400, 84556.0, 1.05807, 84559.7, 1.058104},
    {2000, 275.150, 79495.2, 1.00649, 79501.4, 1.006553},  {2500, 271.900, 74682.5, 0.956858, 74691.8, 0.956954},
    {3000, 268.650, 70108.5, 0.909121, 70121.2, 0.909254},
};

static void geopotential(void **state) {
  (void)state;
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    const double h = rows[i].altitude_m;
    check_close_at(h, atmosphere_temperature_k(h), rows[i].temperature_k, 1e-9);
    check_close_at(h, atmosphere_pressure_pa(h), rows[i].pressure_pa, 0.08);
    check_close_at(h, atmosphere_density_kg_m3(h), rows[i].density_kg_m3, 6e-6);
  }
}

static void geometric(void **state) {
  (void)state;
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    const double z = rows[i].altitude_m, h = EARTH_RADIUS_M * z / (EARTH_RADIUS_M + z);
    check_close_at(z, atmosphere_pressure_pa(h), rows[i].geometric_pa, 0.08);
    check_close_at(z, atmosphere_density_kg_m3(h), rows[i].geometric_kg_m3, 2e-6);
  }
}

/* Top of our range: 216.65 K, 22632.06 Pa, from memory; second check: hydrostatic balance below. */
static void tropopause(void **state) {
  (void)state;
  check_close(atmosphere_temperature_k(11000.0), 216.65, 1e-9);
  check_close(atmosphere_pressure_pa(11000.0), 22632.06, 0.1);
}

/* dp/dH = -rho g0, the equation that the pressure formula is the solution of (g0 = 9.80665, read). Central
 * difference over 2 m: its own error is of order 1e-9. */
static void hydrostatic_balance(void **state) {
  (void)state;
  for (int h = -2000; h <= 11000; h += 250) {
    const double slope = 0.5 * (atmosphere_pressure_pa(h + 1.0) - atmosphere_pressure_pa(h - 1.0));
    check_relative_at(h, slope, -9.80665 * atmosphere_density_kg_m3(h), 1e-7);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(geopotential),
      cmocka_unit_test(geometric),
      cmocka_unit_test(tropopause),
      cmocka_unit_test(hydrostatic_balance),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
