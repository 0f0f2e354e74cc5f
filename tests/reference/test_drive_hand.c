/* What a mechanic finds on the throttle of four-16, by whole runs. Truth: springs, friction, motor and
 * battery by hand from the engine file: 0.15 N m/rad beside a preload of 0.25 N m, friction 0.020 sliding and
 * 0.030 sticking, 1.9 ohm; battery 12.6 V at rest. */
#include "support/check.h"
#include "support/scene.h"

#include "base/units.h"

#define DEG UNITS_RAD_PER_DEG

static void asleep_after_key_off(void **state) {
  (void)state;
  struct scene scene;
  scene_init_standing(&scene, "four-16", 30.0);
  scene_key(&scene, 6.0, KEY_OFF);
  scene_run(&scene);
  const struct drive_params *drive = &scene.engine.plant.drive;
  const double rest_deg = drive->rest_opening_rad / DEG, sleeps_s = 6.0 + drive->awake_s;
  check_close(scene_at(&scene, 1.2, CHANNEL_blade_deg), rest_deg, 1e-9); // the springs are looked at first
  check_close(scene_at(&scene, 1.8, CHANNEL_blade_deg), 0.0, 1e-9);      // then it is closed and learned
  check_close(scene_at(&scene, sleeps_s - 0.1, CHANNEL_blade_deg), 0.0, 1e-9);
  check_above(scene_at(&scene, sleeps_s - 0.1, CHANNEL_motor_supply_v), 12.0);
  check_close(scene_at(&scene, sleeps_s + 0.1, CHANNEL_motor_supply_v), 0.0, 0.0);
  check_close(scene_at(&scene, sleeps_s + 0.1, CHANNEL_motor_a), 0.0, 0.0);
  // back where the springs leave it: 0.030 N m of sticking is a band of 0.03 * 0.004 / 0.25 rad
  check_close(scene_last(&scene, CHANNEL_blade_deg), rest_deg, 1.02 * 0.030 * 0.004 / 0.25 / DEG);
  scene_end(&scene);
}

/* Drive asleep and a hand that presses with 0.35 N m: the spring gives way until 0.25 + 0.15 x is as much, 38
 * degrees above rest, give or take what friction holds. */
static void a_hand_with_the_key_off(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, "four-16", 20.0);
  scene.solver = &solver_fast;
  scene.scenario.running = false;
  scene_ramp(&scene, 2.0, 8.0, "hand_nm", 0.35);
  scene_run(&scene);
  const struct drive_params *drive = &scene.engine.plant.drive;
  const double expected = drive->rest_opening_rad + (0.35 - drive->spring_preload_nm) / drive->spring_nm_rad;
  check_close(scene_last(&scene, CHANNEL_blade_deg), expected / DEG, drive->stick_nm / drive->spring_nm_rad / DEG);
  check_below(scene_last(&scene, CHANNEL_blade_deg),
              expected / DEG + 0.01); // pressed on slowly, friction is against the hand
  scene_end(&scene);
}

/* With the key on the motor fights the hand: the blade gives way at first, both tracks show it, and the motor
 * brings it back. */
static void a_hand_with_the_key_on(void **state) {
  (void)state;
  struct scene scene;
  scene_init_standing(&scene, "four-16", 8.0);
  scene_set(&scene, 4.0, "hand_nm", 0.8);
  scene_run(&scene);
  const double before_v = scene_at(&scene, 3.9, CHANNEL_tps1_v), before_a = scene_at(&scene, 3.9, CHANNEL_motor_a);
  check_above(scene_most(&scene, 4.0, 4.5, CHANNEL_blade_deg), 0.5);
  check_above(scene_most(&scene, 4.0, 4.5, CHANNEL_tps1_v), before_v + 0.02);
  check_below(scene_least(&scene, 4.0, 4.5, CHANNEL_tps2_v), 4.5 - 0.02);
  for (double t = 4.0; t < 4.5; t += 0.01)
    check_close_at(t, scene_at(&scene, t, CHANNEL_tps1_v) + scene_at(&scene, t, CHANNEL_tps2_v), 5.0, 1e-9);
  check_close(scene_last(&scene, CHANNEL_blade_deg), 0.0, 0.3);
  // n K = 0.44 N m/A: what the hand asks, give or take friction both times
  check_close(before_a - scene_last(&scene, CHANNEL_motor_a), 0.8 / 0.44, 2.0 * 0.030 / 0.44 + 0.6);
  scene_end(&scene);
}

/* The pedal floored on a jammed blade: all the battery on a stalled motor, U / R, until the computer gives
 * up. */
static void stall_current(void **state) {
  (void)state;
  struct scene scene;
  scene_init_standing(&scene, "four-16", 8.0);
  scene_set(&scene, 3.0, "blade_jammed", 1);
  scene_set(&scene, 3.1, "pedal_pct", 100);
  scene_run(&scene);
  check_relative(scene_most(&scene, 3.1, 4.0, CHANNEL_motor_a), 12.6 / scene.engine.plant.drive.resistance_ohm, 1e-6);
  check_close(scene_last(&scene, CHANNEL_motor_a), 0.0, 0.0);
  assert_int_equal(scene.sim->vehicle.computer.limp, COMPUTER_LIMP_REST);
  scene_end(&scene);
}

/* A film makes the blade stick while its edge lies in it: 0.4 thousandths of N m per micrometre of what it
 * faces. */
static void film_makes_it_stick(void **state) {
  (void)state;
  double before = 0.0;
  const double films[] = {0.0, 30.0, 60.0};
  for (int i = 0; i < 3; i++) {
    struct scene scene;
    scene_init(&scene, "four-16", 30.0);
    scene.solver = &solver_fast;
    scene_initial(&scene, "film_um", films[i]);
    scene_run(&scene);
    const double added = scene.sim->vehicle.inputs.stick_nm - scene.engine.plant.drive.stick_nm;
    if (i == 0) check_close(added, 0.0, 1e-15);
    if (i > 0) check_above_at(films[i], added, before + 0.001);
    check_below_at(films[i], added, 0.0004 * films[i] * 1.31 + 1e-12); // bias_ratio 0.3: no place is thicker
    before = added;
    scene_end(&scene);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(asleep_after_key_off), cmocka_unit_test(a_hand_with_the_key_off), cmocka_unit_test(a_hand_with_the_key_on),
      cmocka_unit_test(stall_current),        cmocka_unit_test(film_makes_it_stick),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
