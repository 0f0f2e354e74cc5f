/* The rev limiter of control/supervise.c. Truth: its own limit and hysteresis (supervision.rev_limit_rpm, 6500 where an engine file does
 * not say; 200 rpm, control/supervise.h). How far a run goes beyond them, by hand: an unloaded engine at full pedal gains some 5000 rpm in
 * a second, 50 rpm a tick; what is under way in manifold and ports drives it on for the burning lag of an engine cycle, 20 ms. Falling, it
 * loses some 1500 rpm in a second and waits as long. */
#include "support/check.h"
#include "support/scene.h"

#define OVER_RPM  250.0
#define UNDER_RPM 250.0

static void full_pedal(double intake_c, double limit_rpm) {
  struct scene scene;
  scene_init(&scene, "four-16", 20.0);
  check_close(scene.engine.computer.supervision.rev_limit_rad_s / UNITS_RAD_S_PER_RPM, 6500.0, 1e-9);
  scene.engine.computer.supervision.rev_limit_rad_s = limit_rpm * UNITS_RAD_S_PER_RPM;
  scene_initial(&scene, "intake_c", intake_c);
  scene_set(&scene, 1.0, "pedal_pct", 100);
  scene_run(&scene);
  check_above(scene_most(&scene, 0.0, 20.0, CHANNEL_speed_rpm), limit_rpm);
  check_below(scene_most(&scene, 0.0, 20.0, CHANNEL_speed_rpm), limit_rpm + OVER_RPM);
  check_below(scene_least(&scene, 10.0, 20.0, CHANNEL_speed_rpm), limit_rpm - 200.0);
  check_above(scene_least(&scene, 10.0, 20.0, CHANNEL_speed_rpm), limit_rpm - 200.0 - UNDER_RPM);
  const struct monitor_state *misfire = &scene.sim->vehicle.computer.memory.monitors.code[MONITOR_P0300];
  assert_int_equal(misfire->code, CODE_NONE); // cutting is rough on purpose
  scene_end(&scene);
}

static void holds_full_pedal_down(void **state) {
  (void)state;
  full_pedal(20.0, 6500.0);
  full_pedal(20.0, 4000.0);
}

/* Cold air is dense: without a limiter this one left the range of speeds that a state may have. */
static void in_the_cold(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, "four-16", 5.0);
  scene_initial(&scene, "pedal_pct", 100);
  scene_initial(&scene, "intake_c", -40);
  scene_run(&scene);
  check_below(scene_most(&scene, 0.0, 5.0, CHANNEL_speed_rpm), 6500.0 + OVER_RPM);
  scene_end(&scene);
}

/* Below the limit it does nothing: an engine held at 6000 rpm gets its fuel. */
static void leaves_the_rest_alone(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, "four-16", 60.0);
  scene_set(&scene, 1.0, "hold_rpm", 6000);
  scene_run(&scene);
  check_close(scene_mean(&scene, 40.0, 60.0, CHANNEL_speed_rpm), 6000.0, 20.0);
  check_below(scene_most(&scene, 40.0, 60.0, CHANNEL_lambda), 1.2);
  scene_end(&scene);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(holds_full_pedal_down),
      cmocka_unit_test(in_the_cold),
      cmocka_unit_test(leaves_the_rest_alone),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
