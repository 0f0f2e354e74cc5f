/* Calculated load, service 01 identifier 04.
 *
 * Truth: SAE J1979's definition (wording from memory): air flow now over the most at this speed with the throttle wide open at 25 C and
 * standard pressure, that most taken times barometer/29.92 inHg and times sqrt(298 K/air temperature). The two corrections are tested by
 * themselves, as ratios in which the most drops out; the most is what the charge law draws from 101.325 kPa with as much in the
 * exhaust. Some cars give manifold over barometer pressure instead (read off the logs of one: docs/validation.md, "A real car"). */
#include "support/plant_probe.h"

#include "base/attributes.h"
#include "base/units.h"
#include "support/check.h"

#include <math.h>
#include <stdio.h>

#define STANDARD_PA 101325.0
#define STANDARD_K  298.15

static const char *const models[] = {"models/four-16.cfg", "models/four-18-cable.cfg", "models/three-10.cfg", "models/six-30.cfg",
                                     "models/four-15-turbo.cfg"};

/* Load over air per cycle, which leaves the definition's denominator. */
static double load_1_kg(const struct plant_probe *probe) {
  return plant_probe_value(probe, CHANNEL_load_pct) / 100.0 / plant_probe_signals(probe).intake_air_kg;
}

static void at(struct plant_probe *probe, double ambient_kpa, double intake_c) {
  plant_probe_set(probe, "ambient_kpa", ambient_kpa);
  plant_probe_set(probe, "intake_c", intake_c);
  plant_probe_settle(probe);
  assert_int_equal(probe->point.outcome, SETTLE_IDLES);
}

static void barometer_and_temperature(void **state) {
  (void)state;
  static const double points[][2] = {{101.325, -10.0}, {101.325, 45.0}, {90.0, 25.0}, {70.108, 25.0}, {79.5, 5.0}};
  for (size_t m = 0; m < ARRAY_COUNT(models); m++) {
    struct plant_probe *probe = plant_probe_create(models[m]);
    at(probe, 101.325, 25.0);
    const double standard = load_1_kg(probe);
    for (size_t i = 0; i < ARRAY_COUNT(points); i++) {
      at(probe, points[i][0], points[i][1]);
      const double expected = 101.325 / points[i][0] * sqrt((points[i][1] + 273.15) / STANDARD_K);
      check_relative_at((double)i, load_1_kg(probe) / standard, expected, 1e-9);
    }
    plant_probe_destroy(probe);
  }
}

/* 100 % is the charge at standard pressure: at the temperature to which the walls warm so much air. */
static void wide_open_is_100_percent(void **state) {
  (void)state;
  for (size_t m = 0; m < ARRAY_COUNT(models); m++) {
    struct plant_probe *probe = plant_probe_create(models[m]);
    at(probe, 101.325, 25.0);
    const struct charge_params *charge = &probe->engine.plant.charge;
    const double most_kg = 1.0 / load_1_kg(probe), speed = probe->vehicle.state.crank_speed_rad_s;
    const double coolest = charge_air_per_cycle_kg(charge, STANDARD_PA, STANDARD_PA, STANDARD_K + 30.0, speed);
    const double warmest = charge_air_per_cycle_kg(charge, STANDARD_PA, STANDARD_PA, STANDARD_K, speed);
    print_message("%s: %.4f g a cycle are 100 %%; with a charge of 25 C %.4f, of 55 C %.4f\n", models[m], 1e3 * most_kg,
                  1e3 * warmest, 1e3 * coolest);
    check_above_at((double)m, most_kg, coolest);
    check_below_at((double)m, most_kg, warmest);
    plant_probe_destroy(probe);
  }
}

/* The other definition. */
static void pressure_ratio(void **state) {
  (void)state;
  struct plant_probe *probe = plant_probe_create(models[0]);
  probe->engine.computer.scan.load_definition = COMPUTER_LOAD_PRESSURE_RATIO;
  at(probe, 90.0, 25.0);
  check_relative(plant_probe_value(probe, CHANNEL_load_pct), 100.0 * plant_probe_value(probe, CHANNEL_manifold_kpa) / 90.0, 1e-9);
  plant_probe_destroy(probe);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(barometer_and_temperature),
      cmocka_unit_test(wide_open_is_100_percent),
      cmocka_unit_test(pressure_ratio),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
