/* sim/driver: the foot on the pedal. Truth: invariants, and the whole engine for what a foot is for. */
#include "sim/driver.h"

#include "support/check.h"
#include "support/scene.h"

#define RPM      UNITS_RAD_S_PER_RPM
#define PERIOD_S 0.01

/* Nobody holds a speed: the pedal is where the scenario puts it, and what was held before is forgotten. */
static void lets_go(void **state) {
  (void)state;
  struct driver driver = {0.3};
  check_close(driver_pedal_ratio(&driver, 0.0, 800 * RPM, 0.42, PERIOD_S), 0.42, 0.0);
  check_close(driver.integral_ratio, 0.0, 0.0);
}

/* Below the speed wanted the foot presses on, more with time; above it the foot comes up; it never pushes the
 * pedal through the floor nor pulls it off, and holding against a stop does not wind it up. */
static void presses_and_lifts(void **state) {
  (void)state;
  struct driver driver = {0.0};
  double before = 0.0;
  for (int i = 0; i < 100; i++) {
    const double pedal = driver_pedal_ratio(&driver, 2500 * RPM, 2000 * RPM, 0.0, PERIOD_S);
    check_above_at(i, pedal, before);
    before = pedal;
  }
  for (int i = 0; i < 100000; i++) {
    const double pedal = driver_pedal_ratio(&driver, 2500 * RPM, 0.0, 0.0, PERIOD_S);
    check_below_at(i, pedal, 1.0);
  }
  check_below(driver.integral_ratio, 1.0); // a quarter of an hour against the floor
  for (int i = 0; i < 100000; i++) {
    const double pedal = driver_pedal_ratio(&driver, 1000 * RPM, 6000 * RPM, 0.0, PERIOD_S);
    check_above_at(i, pedal, -1e-15);
  }
  check_close(driver_pedal_ratio(&driver, 1000 * RPM, 6000 * RPM, 0.0, PERIOD_S), 0.0, 0.0);
  check_above(driver.integral_ratio, -1.0);
}

/* 2500 and 1500 rpm on the whole engine: there within ten seconds, and then within 10 rpm in the mean (common
 * practice, no source: a technician's foot does as well). */
static void holds_an_engine(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, "four-16", 65.0);
  scene_set(&scene, 2.0, "hold_rpm", 2500.0);
  scene_set(&scene, 30.0, "hold_rpm", 1500.0);
  scene_set(&scene, 50.0, "hold_rpm", 0.0);
  scene_run(&scene);
  check_close(scene_mean(&scene, 12.0, 29.0, CHANNEL_speed_rpm), 2500.0, 10.0);
  check_below(scene_most(&scene, 2.0, 29.0, CHANNEL_speed_rpm), 3000.0);
  check_close(scene_mean(&scene, 40.0, 49.0, CHANNEL_speed_rpm), 1500.0, 10.0);
  check_close(scene_last(&scene, CHANNEL_pedal_pct), 0.0, 0.0); // let go: back to idle
  check_close(scene_mean(&scene, 58.0, 65.0, CHANNEL_speed_rpm), 850.0, 25.0);
  scene_end(&scene);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(lets_go),
      cmocka_unit_test(presses_and_lifts),
      cmocka_unit_test(holds_an_engine),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
