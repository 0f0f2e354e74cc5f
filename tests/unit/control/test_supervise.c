/* control/supervise: what the monitors are given, and what follows from a fault. Truth: docs/physics.md section 10 and the definitions in
 * docs/codes.md, worked by hand; first-order lags in closed form. */
#include "support/idle_point.h"

#include "base/units.h"
#include "control/actuate.h"
#include "control/position.h"
#include "control/supervise.h"
#include "physics/drive.h"
#include "physics/orifice.h"
#include "support/check.h"

#define RPM (UNITS_PI / 30.0)

static struct idle_point point;

static int set_up(void **state) {
  (void)state;
  idle_point_init(&point, "four-16");
  position_read(&point.design, &point.sensors, &point.computer);
  return 0;
}

static void ticks(int count) {
  for (int i = 0; i < count; i++) supervise_tick(&point.design, &point.sensors, &point.computer);
}

/* 90 rad/s at first, then 60: (90 - 60)(1 - dt/0.5 s)^n is left. */
static void speed(void **state) {
  (void)state;
  point.computer.target_rad_s = 85.0;
  point.computer.filtered_speed_rad_s = 90.0;
  point.sensors.speed_rad_s = 60.0;
  for (int i = 1; i <= 100; i++) {
    ticks(1);
    const double filtered = 60.0 + 30.0 * pow(0.98, i);
    check_close_at(i, point.computer.measures.low_speed_rad_s, 85.0 - filtered, 1e-9);
    check_close_at(i, point.computer.measures.high_speed_rad_s, filtered - 85.0, 1e-9);
  }
}

static void passed_on(void **state) {
  (void)state;
  point.sensors.track_v[0] = 1.1;
  point.sensors.track_v[1] = 2.2;
  point.sensors.pedal_v[0] = 0.7;
  point.sensors.pedal_v[1] = 0.4;
  point.sensors.air_flow_v = 1.7;
  point.sensors.battery_v = 13.3;
  point.sensors.motor_v = 1.5;
  point.sensors.motor_a = 0.4;
  point.sensors.manifold_pa = 37e3;
  point.sensors.bypass_low = true;
  point.computer.short_trim[0] = 0.03;
  point.computer.memory.long_trim[0][COMPUTER_CELL_OFF_IDLE] = 0.05;
  point.computer.cell = COMPUTER_CELL_OFF_IDLE;
  point.computer.track_difference_ratio = 0.01;
  point.computer.pedal_difference_ratio = 0.02;
  point.computer.limp = COMPUTER_LIMP_REDUCED;
  point.computer.memory.closed_learned = false;
  point.computer.closed_error_v = 0.03;                   // of 0.15 V: a fifth
  point.computer.rest_error_rad = 0.5 * UNITS_PI / 180.0; // of 2 degrees: a quarter
  ticks(1);
  const struct monitor_measures *m = &point.computer.measures;
  check_close(m->track_v[0], 1.1, 0.0);
  check_close(m->track_v[1], 2.2, 0.0);
  check_close(m->pedal_v[0], 0.7, 0.0);
  check_close(m->pedal_v[1], 0.4, 0.0);
  check_close(m->air_flow_v, 1.7, 0.0);
  check_close(m->battery_v, 13.3, 0.0);
  check_close(m->motor_v, 1.5, 0.0);
  check_close(m->motor_a, 0.4, 0.0);
  check_close(m->pressure_off_pa, -63e3, 1e-9);
  check_close(m->trim_ratio[0], 0.08, 1e-15);
  check_close(m->track_difference_ratio, 0.01, 0.0);
  check_close(m->pedal_difference_ratio, 0.02, 0.0);
  check_close(m->limp, 1.0, 0.0);
  check_close(m->not_learned, 1.0, 0.0);
  check_close(m->body_off_ratio, 0.25, 1e-12);
  check_close(m->motor_stall_ratio, 0.4 * point.engine.plant.drive.resistance_ohm / 13.3, 1e-12);
  check_close(m->bypass_low, 1.0, 0.0);
  check_close(m->bypass_high, 0.0, 0.0);
  check_close(m->bypass_open, 0.0, 0.0);
  point.computer.closed_error_v = 0.06;
  point.computer.limp = COMPUTER_LIMP_NONE;
  point.computer.memory.closed_learned = true;
  point.sensors.bypass_low = false;
  point.sensors.bypass_high = point.sensors.bypass_open = true;
  point.sensors.motor_a = -0.4; // either way round
  ticks(1);
  check_close(m->body_off_ratio, 0.4, 1e-12);
  check_close(m->limp, 0.0, 0.0);
  check_close(m->not_learned, 0.0, 0.0);
  check_close(m->bypass_low, 0.0, 0.0);
  check_close(m->bypass_high, 1.0, 0.0);
  check_close(m->bypass_open, 1.0, 0.0);
  check_close(m->motor_stall_ratio, 0.4 * point.engine.plant.drive.resistance_ohm / 13.3, 1e-12);
}

/* 1 degree off its command, seen with 0.05 s. */
static void position_off(void **state) {
  (void)state;
  const double off = UNITS_PI / 180.0;
  for (int sign = -1; sign <= 1; sign += 2) {
    point.computer.position_off_rad = 0.0;
    point.computer.blade_command_rad = point.computer.blade_seen_rad + sign * off;
    for (int i = 1; i <= 20; i++) {
      ticks(1);
      check_close_at(i, point.computer.measures.position_off_rad, sign * off * (1.0 - pow(0.8, i)), 1e-12);
    }
  }
}

/* Half of the current that 3 V should drive through a standing motor: the ratio falls from 1 towards 0.5 with 0.2 s. */
static void motor_current(void **state) {
  (void)state;
  const struct drive_params *drive = &point.engine.plant.drive;
  point.computer.track_good[0] = point.computer.track_good[1] = true;
  point.computer.track_difference_ratio = 0.0;
  point.computer.blade_before_rad = point.computer.blade_seen_rad;
  point.sensors.motor_v = 3.0;
  point.sensors.motor_a = 0.5 * 3.0 / drive->resistance_ohm; // Ohm's law: it stands
  assert_true(point.sensors.motor_a > 0.05);
  for (int i = 1; i <= 40; i++) {
    ticks(1);
    check_close_at(i, point.computer.measures.motor_current_ratio, 0.5 + 0.5 * pow(0.95, i), 1e-9);
  }
  // nothing is told by little voltage, no current, a track out of range, tracks apart, a blade that moves
  for (int why = 0; why < 6; why++) {
    struct idle_point other = point;
    other.computer.motor_current_ratio = 0.77;
    if (why == 0) other.sensors.motor_v = 0.99;
    if (why == 1) other.sensors.motor_a = 0.05;
    if (why == 2) other.computer.track_good[0] = false;
    if (why == 3) other.computer.track_good[1] = false;
    if (why == 4) other.computer.track_difference_ratio = 0.021;
    if (why == 5) other.computer.blade_before_rad = other.computer.blade_seen_rad - 0.0031; // in 10 ms
    supervise_tick(&other.design, &other.sensors, &other.computer);
    check_close_at(why, other.computer.motor_current_ratio, 0.77, 0.0);
  }
  struct idle_point slow = point; // 0.29 rad/s is slow enough; its back voltage counts
  slow.computer.motor_current_ratio = 0.77;
  slow.computer.blade_before_rad = slow.computer.blade_seen_rad - 0.0029;
  supervise_tick(&slow.design, &slow.sensors, &slow.computer);
  const double ratio = slow.sensors.motor_a / drive_current_a(drive, 3.0, 0.29);
  check_close(slow.computer.motor_current_ratio, 0.77 + 0.05 * (ratio - 0.77), 1e-9);
}

/* Air-flow sensor against the blade less what is learned, at the computer's own manifold pressure, choked here: 1 s. */
static void air_expected(void **state) {
  (void)state;
  const double base = point.engine.computer.air.base_kg_s;
  point.computer.memory.learned_ratio = 0.1;
  point.computer.manifold_pa = 30e3;
  const double clean_m2 = actuate_clean_cda_m2(&point.design, point.computer.blade_seen_rad, 100e3, 298.15);
  const double open_m2 =
      fmax(clean_m2 - 0.1 * orifice_choked_cda_m2(base, 100e3, 298.15), 0.0) + point.engine.plant.intake.ventilation_cda_m2;
  const double expected = open_m2 / orifice_choked_cda_m2(1.0, 100e3, 298.15);
  assert_true(expected > 0.2 * base);
  point.sensors.air_flow_kg_s = 1.4 * expected;
  point.computer.air_flow_good = true;
  point.computer.air_expected_ratio = 1.0;
  for (int i = 1; i <= 50; i++) {
    ticks(1);
    check_close_at(i, point.computer.measures.air_off_ratio, 0.4 * (1.0 - pow(0.99, i)), 1e-9);
  }
  point.computer.memory.learned_ratio = -0.1; // less than none is no film
  point.computer.air_expected_ratio = 1.0;
  ticks(1);
  const double bare = (clean_m2 + point.engine.plant.intake.ventilation_cda_m2) / orifice_choked_cda_m2(1.0, 100e3, 298.15);
  check_close(point.computer.measures.air_off_ratio, 0.01 * (1.4 * expected / bare - 1.0), 1e-9);
  point.computer.air_flow_good = false;
  ticks(1);
  check_close(point.computer.measures.air_off_ratio, 0.0, 0.0);
  point.computer.mode = COMPUTER_CRANKING;
  const double before = point.computer.air_expected_ratio;
  ticks(1);
  check_close(point.computer.air_expected_ratio, before, 0.0);
}

static bool enabled(enum monitor_enable bit) {
  ticks(1);
  return (point.computer.measures.enabled & (unsigned)bit) != 0;
}

/* What must hold before a monitor looks, at its edges. */
static void enable_conditions(void **state) {
  (void)state;
  const struct supervision_params *supervision = &point.engine.computer.supervision;
  assert_true(enabled(MONITOR_ENABLE_running) && enabled(MONITOR_ENABLE_key_on) && enabled(MONITOR_ENABLE_idling));
  assert_false(enabled(MONITOR_ENABLE_off_idle) || enabled(MONITOR_ENABLE_stopped));
  assert_true(enabled(MONITOR_ENABLE_two_tracks) && enabled(MONITOR_ENABLE_electronic) && enabled(MONITOR_ENABLE_air_flow));
  assert_false(enabled(MONITOR_ENABLE_one_track) || enabled(MONITOR_ENABLE_pressure) || enabled(MONITOR_ENABLE_bypass));
  point.computer.idling = false;
  assert_true(enabled(MONITOR_ENABLE_off_idle));
  assert_false(enabled(MONITOR_ENABLE_idling));
  point.sensors.coolant_k = supervision->warm_k;
  assert_true(enabled(MONITOR_ENABLE_warm));
  point.sensors.coolant_k -= 0.01;
  assert_false(enabled(MONITOR_ENABLE_warm));
  point.computer.settled_s = supervision->monitor_delay_s;
  assert_true(enabled(MONITOR_ENABLE_settled));
  point.computer.settled_s -= 0.01;
  assert_false(enabled(MONITOR_ENABLE_settled));
  point.sensors.battery_v = 9.1;
  assert_true(enabled(MONITOR_ENABLE_voltage));
  point.sensors.battery_v = 9.0;
  assert_false(enabled(MONITOR_ENABLE_voltage));
  point.computer.drive_powered = false;
  assert_false(enabled(MONITOR_ENABLE_drive));
  point.computer.closed_loop = true;
  assert_true(enabled(MONITOR_ENABLE_closed_loop));
  // not yet started: key on, standing, not run since
  point.computer.mode = COMPUTER_KEY_ON;
  point.sensors.speed_rad_s = 0.0;
  assert_false(enabled(MONITOR_ENABLE_stopped)); // it ran
  point.computer.ran_this_cycle = false;
  assert_true(enabled(MONITOR_ENABLE_stopped));
  assert_false(enabled(MONITOR_ENABLE_running) || enabled(MONITOR_ENABLE_off_idle));
  point.sensors.speed_rad_s = 1.0;
  assert_false(enabled(MONITOR_ENABLE_stopped));
  point.computer.mode = COMPUTER_OFF;
  assert_false(enabled(MONITOR_ENABLE_key_on));
}

/* With a cable nothing but the blade's own track tells whether the pedal is pressed. */
static void cable(void **state) {
  (void)state;
  idle_point_init(&point, "four-18-cable");
  point.sensors.air_flow_v = 1.9;
  point.computer.idling = true;
  point.computer.settled_s = 1e3;
  point.computer.track_good[0] = true;
  assert_true(enabled(MONITOR_ENABLE_idling) && enabled(MONITOR_ENABLE_settled));
  point.computer.track_good[0] = false;
  assert_false(enabled(MONITOR_ENABLE_idling) || enabled(MONITOR_ENABLE_settled));
  // 5 degrees above rest with idle air: so much of the travel; not with 1.6 times that air, nor cold, nor without the sensor
  const struct throttle_params *throttle = &point.engine.plant.throttle;
  const double off_rad = 5.0 * UNITS_PI / 180.0;
  point.computer.track_opening_rad[0] = throttle->rest_opening_rad + off_rad;
  point.computer.air_flow_good = true;
  point.sensors.air_flow_kg_s = 1.59 * point.engine.computer.air.base_kg_s;
  point.sensors.coolant_k = point.engine.computer.supervision.warm_k;
  const double span = 0.5 * UNITS_PI - throttle->bore.closed_angle_rad;
  ticks(1);
  check_close(point.computer.measures.track1_alone_ratio, off_rad / span, 1e-12);
  for (int why = 0; why < 4; why++) {
    struct idle_point other = point;
    if (why == 0) other.sensors.air_flow_kg_s = 1.61 * point.engine.computer.air.base_kg_s;
    if (why == 1) other.sensors.coolant_k -= 0.01;
    if (why == 2) other.computer.air_flow_good = false;
    if (why == 3) other.computer.mode = COMPUTER_CRANKING;
    supervise_tick(&other.design, &other.sensors, &other.computer);
    check_close_at(why, other.computer.measures.track1_alone_ratio, 0.0, 0.0);
  }
}

/* Rev limit less 200 rpm; with the blade on its springs 1800 and 1600 rpm. Between the two what was stays. */
static void fuel_cut(void **state) {
  (void)state;
  const double limit = 6500.0 * RPM;
  point.engine.computer.supervision.rev_limit_rad_s = limit;
  static const struct {
    double rest_rpm, run_rpm;
    bool cut;
  } rows[] = {{1790, 6490, false}, {1810, 6510, true}, {1700, 6400, true}, {1590, 6290, false}, {1700, 6400, false}};
  for (int rest = 0; rest < 2; rest++) {
    point.computer.limp = rest ? COMPUTER_LIMP_REST : COMPUTER_LIMP_NONE;
    point.computer.fuel_cut = false;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
      point.sensors.speed_rad_s = (rest ? rows[i].rest_rpm : rows[i].run_rpm) * RPM;
      ticks(1);
      assert_int_equal(point.computer.fuel_cut, rows[i].cut);
    }
  }
}

/* Both tracks apart for the debounce time: the drive is switched off; one out of range: reduced power, which does not lift the other. */
static void limp_home(void **state) {
  (void)state;
  point.engine.computer.supervision.debounce_s = 1.0;
  point.sensors.track_v[0] = 0.1;
  ticks(1);
  assert_int_equal(point.computer.limp, COMPUTER_LIMP_NONE);
  ticks(10); // 0.02 of the debounce time
  assert_int_equal(point.computer.limp, COMPUTER_LIMP_REDUCED);
  point.computer.limp = COMPUTER_LIMP_REST;
  ticks(10);
  assert_int_equal(point.computer.limp, COMPUTER_LIMP_REST);
  set_up(NULL);
  point.engine.computer.supervision.debounce_s = 1.0;
  point.computer.track_difference_ratio = 0.07;
  ticks(10);
  assert_int_equal(point.computer.limp, COMPUTER_LIMP_REST);
}

/* At rest there is nothing left to filter. */
static void at_rest(void **state) {
  (void)state;
  struct monitor_measures measures;
  uint64_t codes;
  const struct drive_params *drive = &point.engine.plant.drive;
  point.computer.target_rad_s = 85.0;
  point.sensors.speed_rad_s = 70.0;
  point.computer.blade_command_rad = point.computer.blade_seen_rad + 0.01;
  point.sensors.motor_v = 3.0;
  point.sensors.motor_a = 0.5 * 3.0 / drive->resistance_ohm;
  point.computer.idling = true;
  assert_int_equal(supervise_rest(&point.design, &point.sensors, &point.computer, &measures, &codes), MONITOR_EFFECT_NONE);
  check_close(measures.low_speed_rad_s, 15.0, 1e-12);
  check_close(measures.position_off_rad, 0.01, 1e-12);
  check_close(measures.motor_current_ratio, 0.5, 1e-9);
  assert_true(codes & monitors_bit(MONITOR_P0506)); // 143 rpm below its target
  assert_false(codes & monitors_bit(MONITOR_P0507));
  point.computer.track_difference_ratio = 0.07;
  assert_int_equal(supervise_rest(&point.design, &point.sensors, &point.computer, &measures, &codes), MONITOR_EFFECT_REST);
  assert_true(codes & monitors_bit(MONITOR_P2135));
  point.computer.track_difference_ratio = 0.0;
  point.sensors.motor_v = 0.0; // tells nothing: as it should be
  point.computer.mode = COMPUTER_KEY_ON;
  (void)supervise_rest(&point.design, &point.sensors, &point.computer, &measures, &codes);
  check_close(measures.motor_current_ratio, 1.0, 0.0);
  check_close(measures.air_off_ratio, 0.0, 0.0);
}

/* A cut of fuel is rough on purpose: while it lasts or is still felt nothing misfires. */
static void cut_is_no_misfire(void **state) {
  (void)state;
  point.computer.misfire.ratio = 0.05;
  ticks(1);
  check_close(point.computer.measures.misfire_ratio, 0.05, 1e-4); // it forgets slowly
  point.computer.misfire.ratio = 0.05;
  point.computer.cut_seen_s = 0.3;
  ticks(1);
  check_close(point.computer.measures.misfire_ratio, 0.0, 0.0);
  point.computer.cut_seen_s = 0.0;
  point.computer.limp = COMPUTER_LIMP_REST;
  ticks(1);
  check_close(point.computer.measures.misfire_ratio, 0.0, 0.0);
}

/* The crank turns evenly, falls by D within one tick in the middle of the last cycle, and turns evenly again at 40 rad/s:
 * lost (1 - 1/4) D J over T t_f (1 - 1/4), so that D = 0.3 T t_f/J is just a misfire (physics.md section 10). T = 10 N m from fuel and efficiency,
 * t_f = 4 pi/(4 * 40 rad/s). */
static bool misfires(double share) {
  set_up(NULL);
  struct combustion_params *combustion = &point.engine.plant.combustion;
  combustion->efficiency = combustion->best_spark_rad = (struct curve){.count = 1, .y = {0.3}};
  assert_true(curve_init(&combustion->efficiency) && curve_init(&combustion->best_spark_rad));
  point.computer.spark_rad = 0.3;
  point.computer.fuel_per_cycle_kg[0] = 10.0 * 4.0 * UNITS_PI / (0.3 * combustion->heating_value_j_kg);
  const double t_f = 4.0 * UNITS_PI / (4.0 * 40.0), fall = share * 10.0 * t_f / point.engine.plant.crank.inertia_kg_m2;
  for (int i = 0; i < 120; i++) {
    point.sensors.speed_rad_s = i < 60 ? 40.0 + fall : 40.0;
    ticks(1);
  }
  return point.computer.misfire.ratio > 0.0;
}

static void misfire_threshold(void **state) {
  (void)state;
  assert_int_equal(point.engine.plant.charge.cylinder_count, 4);
  assert_false(misfires(0.29));
  assert_true(misfires(0.31));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup(cut_is_no_misfire, set_up),
      cmocka_unit_test_setup(misfire_threshold, set_up),
      cmocka_unit_test_setup(speed, set_up),
      cmocka_unit_test_setup(passed_on, set_up),
      cmocka_unit_test_setup(position_off, set_up),
      cmocka_unit_test_setup(motor_current, set_up),
      cmocka_unit_test_setup(air_expected, set_up),
      cmocka_unit_test_setup(enable_conditions, set_up),
      cmocka_unit_test_setup(cable, set_up),
      cmocka_unit_test_setup(fuel_cut, set_up),
      cmocka_unit_test_setup(limp_home, set_up),
      cmocka_unit_test_setup(at_rest, set_up),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
