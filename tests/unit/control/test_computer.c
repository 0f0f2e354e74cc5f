/* control/computer: modes, key, settling, pedal in limp-home, power of the drive. Truth: docs/physics.md sections 8 and 10, worked by hand;
 * the warm-up cycle of 13 CCR 1968.2 (from memory). */
#include "support/idle_point.h"

#include "base/units.h"
#include "control/actuate.h"
#include "control/features.h"
#include "control/position.h"
#include "control/supervise.h"
#include "physics/orifice.h"
#include "support/check.h"

static struct idle_point point;

static int set_up(void **state) {
  (void)state;
  idle_point_init(&point, "four-16");
  return 0;
}

static void ticks(int count) {
  for (int i = 0; i < count; i++) computer_tick(&point.design, &point.sensors, &point.computer);
}

/* Pedal by both of its tracks. */
static void press(double travel) {
  const struct throttle_params *throttle = &point.engine.plant.throttle;
  for (int i = 0; i < 2; i++)
    point.sensors.pedal_v[i] = 5.0 * (throttle->released_pedal_ratio[i] +
                                      (throttle->floored_pedal_ratio[i] - throttle->released_pedal_ratio[i]) * travel);
}

static void stall(void **state) {
  (void)state;
  const double stall_rad_s = point.engine.plant.crank.stall_speed_rad_s;
  point.sensors.compressor_request = true;
  point.sensors.speed_rad_s = stall_rad_s;
  ticks(1);
  assert_int_equal(point.computer.mode, COMPUTER_RUNNING);
  assert_true(point.computer.firing && point.computer.compressor_clutch && point.computer.idling);
  point.sensors.speed_rad_s = stall_rad_s - 0.01;
  ticks(1);
  assert_int_equal(point.computer.mode, COMPUTER_KEY_ON);
  assert_false(point.computer.firing || point.computer.compressor_clutch || point.computer.idling || point.computer.starter);
  point.sensors.speed_rad_s = 90.0; // coasting on starts nothing
  ticks(1);
  assert_int_equal(point.computer.mode, COMPUTER_KEY_ON);
}

/* Fuel begins when the starter has turned the crank far enough; the start is done above running speed. */
static void cranking(void **state) {
  (void)state;
  computer_init(&point.computer, &point.design);
  struct supervision_params *supervision = &point.engine.computer.supervision;
  supervision->sync_rad = 1.05;
  supervision->running_rad_s = 40.0;
  point.engine.computer.air.start_ratio = 0.3;
  point.sensors.key = KEY_START;
  point.sensors.speed_rad_s = 20.0; // 0.2 rad a tick: beyond 1.05 rad with the sixth
  point.computer.memory.learned_ratio = 0.1;
  for (int i = 1; i <= 8; i++) {
    ticks(1);
    assert_int_equal(point.computer.mode, COMPUTER_CRANKING);
    assert_true(point.computer.starter);
    check_close_at(i, point.computer.cranked_rad, 0.2 * i, 1e-12);
    assert_int_equal(point.computer.firing, i >= 6);
    check_close_at(i, point.computer.spark_rad, 10.0 * UNITS_PI / 180.0, 1e-12);
  }
  // a warm engine: base (1.6 + learned)
  const double cda_m2 = actuate_clean_cda_m2(&point.design, point.computer.idle_blade_rad, 100e3, 298.15) +
                        point.engine.plant.intake.ventilation_cda_m2;
  check_relative(cda_m2 / orifice_choked_cda_m2(1.0, 100e3, 298.15), 1.7 * point.engine.computer.air.base_kg_s, 1e-9);
  point.sensors.speed_rad_s = 40.0; // not above it
  ticks(1);
  assert_int_equal(point.computer.mode, COMPUTER_CRANKING);
  point.sensors.speed_rad_s = 40.1;
  ticks(1);
  assert_int_equal(point.computer.mode, COMPUTER_RUNNING);
  assert_true(point.computer.firing && !point.computer.starter && point.computer.ran_this_cycle);
  check_close(point.computer.cranked_rad, 0.0, 0.0);
  check_close(point.computer.running_s, 0.01, 1e-12); // it runs from this tick on
  const double keep = exp(-0.01 / point.engine.computer.air.start_decay_s);
  check_relative(point.computer.start_extra_ratio, 0.3 * keep, 1e-12);
  point.sensors.key = KEY_ON;
  ticks(10);
  check_relative(point.computer.start_extra_ratio, 0.3 * pow(keep, 11.0), 1e-12);
  check_close(point.computer.running_s, 0.11, 1e-12);
}

/* A stopped engine cranked from a speed above running: the first tick only cranks. */
static void start_needs_cranking(void **state) {
  (void)state;
  computer_init(&point.computer, &point.design);
  point.sensors.key = KEY_START;
  point.sensors.speed_rad_s = 90.0;
  ticks(1);
  assert_int_equal(point.computer.mode, COMPUTER_CRANKING);
  point.sensors.key = KEY_ON;
  ticks(1);
  assert_int_equal(point.computer.mode, COMPUTER_KEY_ON);
  check_close(point.computer.cranked_rad, 0.0, 0.0);
}

/* Each change begins the settling anew; a load counts when it is more than 60 W off its own mean. */
static void settling(void **state) {
  (void)state;
  point.sensors.field_w = point.computer.usual_load_w = 300.0;
  ticks(1);
  for (int why = 0; why < 6; why++) {
    point.computer.settled_s = 20.0;
    point.computer.usual_load_w = 300.0;
    point.sensors.field_w = why == 4 ? 361.0 : why == 5 ? 239.0 : 300.0;
    if (why == 0) point.sensors.compressor_request = true;
    if (why == 1) point.sensors.drive_selected = true;
    if (why == 2) point.sensors.steering = true;
    press(why == 3 ? 0.3 : 0.0);
    ticks(1);
    check_close_at(why, point.computer.settled_s, 0.0, 0.0);
    if (why == 3) press(0.0);
    point.computer.usual_load_w = point.sensors.field_w;
    ticks(1);
    check_close_at(why, point.computer.settled_s, 0.01, 1e-12);
  }
  for (int sign = -1; sign <= 1; sign += 2) {
    point.computer.usual_load_w = 300.0;
    point.sensors.field_w = 300.0 + 59.0 * sign;
    point.computer.settled_s = 20.0;
    ticks(1);
    check_close(point.computer.settled_s, 20.01, 1e-12);
    check_close(point.computer.usual_load_w, 300.0 + 0.059 * sign, 1e-9); // 59 W * 0.01 s/10 s
  }
}

/* The pedal adds its curve to the idle angle; limp-home leaves a fifth of it. */
static void pedal(void **state) {
  (void)state;
  const struct curve *opening = &point.engine.computer.pedal.opening_rad;
  press(0.5);
  ticks(1);
  check_close(point.computer.blade_command_rad, point.computer.idle_blade_rad + curve_value(opening, 0.5), 1e-9);
  point.computer.limp = COMPUTER_LIMP_REDUCED;
  ticks(1);
  check_close(point.computer.blade_command_rad, point.computer.idle_blade_rad + curve_value(opening, 0.2), 1e-9);
  press(0.1);
  ticks(1);
  check_close(point.computer.blade_command_rad, point.computer.idle_blade_rad + curve_value(opening, 0.1), 1e-9);
  point.computer.limp = COMPUTER_LIMP_NONE;
  press(1.0);
  ticks(1);
  assert_true(point.computer.blade_command_rad <= 0.5 * UNITS_PI);
}

static void frozen(void **state) {
  (void)state;
  ticks(1);
  const struct computer_state before = point.computer;
  point.sensors.frozen = true;
  point.sensors.speed_rad_s = 60.0;
  ticks(1);
  check_close(point.computer.spark_rad, before.spark_rad, 0.0);
  check_close(point.computer.effort_ratio, before.effort_ratio, 0.0);
  check_close(point.computer.idle_blade_rad, before.idle_blade_rad, 0.0);
  check_close(point.computer.running_s, before.running_s + 0.01, 1e-9);
}

/* With the key on the drive sleeps for 0.3 s, pushes half a degree beyond the stop until 0.9 s, then follows the pedal; after key-off it is awake for
 * a while and closes. */
static void power(void **state) {
  (void)state;
  const double closed = point.engine.plant.throttle.bore.closed_angle_rad, awake_s = point.engine.plant.drive.awake_s;
  computer_init(&point.computer, &point.design);
  point.sensors.speed_rad_s = 0.0;
  point.sensors.key = KEY_ON;
  for (int i = 1; i <= 100; i++) {
    ticks(1);
    if (i <= 29) assert_false(point.computer.drive_powered);
    if (i >= 32) assert_true(point.computer.drive_powered);
    if (i >= 32 && i <= 88) check_close_at(i, point.computer.blade_command_rad, closed - 0.5 * UNITS_PI / 180.0, 1e-12);
    if (i <= 28 || i >= 92) check_close_at(i, point.computer.blade_command_rad, closed, 1e-12);
    check_close_at(i, point.computer.manifold_pa, 100e3, 0.0);
  }
  point.computer.limp = COMPUTER_LIMP_REST;
  ticks(1);
  assert_false(point.computer.drive_powered);
  point.sensors.key = KEY_OFF;
  for (int i = 1; i <= (int)(100.0 * awake_s) + 5; i++) {
    ticks(1);
    assert_int_equal(point.computer.mode, COMPUTER_OFF);
    assert_int_equal(point.computer.limp, COMPUTER_LIMP_NONE); // forgotten with the key
    check_close_at(i, point.computer.asleep_in_s, fmax(awake_s - 0.01 * i, 0.0), 1e-9);
    if (fabs(0.01 * i - awake_s) > 0.015) assert_int_equal(point.computer.drive_powered, 0.01 * i < awake_s);
    check_close_at(i, point.computer.blade_command_rad, closed, 0.0);
    check_close_at(i, point.computer.key_on_s, 0.0, 0.0);
  }
}

/* 40 degrees F of rise and 160 degrees F reached: both just so, then each missed. Effort goes with the key, what is learned stays. */
static void warm_up_cycle(void **state) {
  (void)state;
  static const struct {
    double start_k, highest_k;
    int counted;
  } rows[] = {{322.0, 344.0, 1}, {322.1, 344.0, 0}, {300.0, 343.9, 0}, {300.0, 370.0, 1}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    set_up(NULL);
    struct monitor_state *code = &point.computer.memory.monitors.code[MONITOR_P0506];
    code->code = CODE_CONFIRMED; // lamp out: warm-up cycles are counted
    ticks(1);
    point.computer.coolant_at_start_k = rows[i].start_k;
    point.computer.coolant_highest_k = rows[i].highest_k;
    point.computer.memory.learned_ratio = 0.07;
    point.computer.effort_ratio = point.computer.integral_ratio = 0.02;
    point.sensors.key = KEY_OFF;
    ticks(1);
    assert_int_equal(code->warm_ups, rows[i].counted);
    check_close(point.computer.effort_ratio, 0.0, 0.0);
    check_close(point.computer.integral_ratio, 0.0, 0.0);
    check_close(point.computer.memory.learned_ratio, 0.07, 0.0);
    assert_false(point.computer.ran_this_cycle);
    ticks(5);
    assert_int_equal(code->warm_ups, rows[i].counted);
  }
}

static void coolant_highest(void **state) {
  (void)state;
  point.sensors.coolant_k = 370.0;
  ticks(1);
  point.sensors.coolant_k = 360.0;
  ticks(1);
  check_close(point.computer.coolant_highest_k, 370.0, 0.0);
}

/* A signal of 0.3 to 4.9 V is believed; without it the air is what a clean engine passes with this command. */
static void air_signal(void **state) {
  (void)state;
  static const struct {
    double v;
    bool good;
  } rows[] = {{0.3, false}, {0.31, true}, {4.89, true}, {4.9, false}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    point.sensors.air_flow_v = rows[i].v;
    ticks(1);
    assert_int_equal(point.computer.air_flow_good, rows[i].good);
    const double cda_m2 = point.engine.plant.intake.ventilation_cda_m2 +
                          actuate_clean_cda_m2(&point.design, point.computer.blade_command_rad, 100e3, 298.15);
    check_relative(point.computer.asked_air_kg_s, cda_m2 / orifice_choked_cda_m2(1.0, 100e3, 298.15), 1e-12);
    computer_rest(&point.design, &point.sensors, &point.computer);
    check_relative(point.computer.asked_air_kg_s, rows[i].good ? 0.0 : cda_m2 / orifice_choked_cda_m2(1.0, 100e3, 298.15), 1e-12);
  }
}

/* What has long been so: long after the start, settled unless the pedal is pressed. */
static void at_rest(void **state) {
  (void)state;
  point.sensors.compressor_request = point.sensors.steering = point.sensors.drive_selected = true;
  point.sensors.field_w = 432.0;
  point.computer.start_extra_ratio = point.computer.start_fuel_ratio = 0.1;
  computer_rest(&point.design, &point.sensors, &point.computer);
  assert_true(point.computer.idling && point.computer.firing && point.computer.drive_powered);
  assert_true(point.computer.compressor_clutch && point.computer.steering && point.computer.drive_selected);
  check_close(point.computer.start_extra_ratio, 0.0, 0.0);
  check_close(point.computer.start_fuel_ratio, 0.0, 0.0);
  check_close(point.computer.usual_load_w, 432.0, 0.0);
  check_above(point.computer.settled_s, 600.0);
  check_above(point.computer.running_s, 600.0);
  check_close(point.computer.blade_command_rad, point.computer.idle_blade_rad, 1e-12);
  press(0.5);
  computer_rest(&point.design, &point.sensors, &point.computer);
  check_close(point.computer.settled_s, 0.0, 0.0);
  assert_false(point.computer.idling);
  press(0.0);
  point.computer.mode = COMPUTER_KEY_ON;
  computer_rest(&point.design, &point.sensors, &point.computer);
  assert_false(point.computer.idling || point.computer.firing || point.computer.compressor_clutch);
  check_close(point.computer.running_s, 0.0, 0.0);
  check_close(point.computer.settled_s, 0.0, 0.0);
  check_close(point.computer.blade_command_rad, point.engine.plant.throttle.bore.closed_angle_rad, 1e-12);
}

/* Nothing to learn without a drive, nor with the drive switched off; the clock of key-on then stands. */
static void nothing_to_learn(void **state) {
  (void)state;
  for (int why = 0; why < 2; why++) {
    set_up(NULL);
    if (why == 0) point.engine.plant.drive.gear_ratio = 0.0;
    if (why == 1) point.computer.limp = COMPUTER_LIMP_REST;
    point.computer.key_on_s = 0.5;
    assert_false(position_learn_tick(&point.design, &point.sensors, &point.computer));
    check_close_at(why, point.computer.key_on_s, 0.5, 0.0);
  }
  set_up(NULL);
  point.engine.plant.drive.gear_ratio = 1.0; // a motor on the shaft itself is a drive
  point.computer.key_on_s = 0.5;
  assert_true(position_learn_tick(&point.design, &point.sensors, &point.computer));
  assert_true(features_of(&point.engine.plant, &point.engine.computer) & FEATURE_drive);
}

static void forgetting(void **state) {
  (void)state;
  point.computer.memory.learned_ratio = 0.1;
  point.computer.memory.long_trim[0][0] = point.computer.memory.long_trim[0][1] = 0.05;
  computer_reset_learned(&point.computer);
  check_close(point.computer.memory.learned_ratio, 0.0, 0.0);
  check_close(point.computer.memory.long_trim[0][0], 0.0, 0.0);
  check_close(point.computer.memory.long_trim[0][1], 0.0, 0.0);
  point.computer.memory.closed_ratio[0] = 0.2;
  computer_lose_closed(&point.design, &point.computer);
  assert_false(point.computer.memory.closed_learned);
  check_close(point.computer.memory.closed_ratio[0], point.engine.plant.throttle.closed_position_ratio, 0.0);
  check_close(point.computer.memory.closed_ratio[1], point.engine.plant.throttle.closed2_position_ratio, 0.0);
}

/* A quarter of the way from closed to open on track 1, a third on track 2: shares of the blade's travel. */
static void tracks(void **state) {
  (void)state;
  const struct throttle_params *throttle = &point.engine.plant.throttle;
  const double travel_rad = 0.5 * UNITS_PI - throttle->bore.closed_angle_rad;
  point.sensors.track_v[0] =
      5.0 * (throttle->closed_position_ratio + 0.25 * (throttle->open_position_ratio - throttle->closed_position_ratio));
  point.sensors.track_v[1] =
      5.0 * (throttle->closed2_position_ratio + (throttle->open2_position_ratio - throttle->closed2_position_ratio) / 3.0);
  position_read(&point.design, &point.sensors, &point.computer);
  check_close(point.computer.track_opening_rad[0], 0.25 * travel_rad, 1e-9);
  check_close(point.computer.track_opening_rad[1], travel_rad / 3.0, 1e-9);
  check_close(point.computer.blade_seen_rad, throttle->bore.closed_angle_rad + 0.25 * travel_rad, 1e-9);
  check_close(point.computer.track_difference_ratio, 1.0 / 3.0 - 0.25, 1e-9);
}

/* Pedal tracks are believed from 0.2 to 4.85 V; one above is a pair that does not agree. */
static void pedal_range(void **state) {
  (void)state;
  static const struct {
    double v;
    bool good;
  } rows[] = {{0.2, true}, {0.199, false}, {4.85, true}, {4.851, false}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    press(0.0);
    point.sensors.pedal_v[0] = rows[i].v;
    position_read(&point.design, &point.sensors, &point.computer);
    assert_int_equal(point.computer.pedal_good[0], rows[i].good);
    assert_true(point.computer.pedal_good[1]);
    if (rows[i].v > 4.85) check_close(point.computer.pedal_difference_ratio, 1.0, 0.0);
    if (rows[i].v < 0.2) check_close(point.computer.pedal_difference_ratio, 0.0, 0.0);
  }
}

/* With a cable, opening above rest over the last opening of the pedal's curve, at most 1; a single track has no second. */
static void cable_pedal(void **state) {
  (void)state;
  idle_point_init(&point, "four-18-cable");
  const struct throttle_params *throttle = &point.engine.plant.throttle;
  const struct curve *opening = &point.engine.computer.pedal.opening_rad;
  const double travel_rad = 0.5 * UNITS_PI - throttle->bore.closed_angle_rad, last_rad = opening->y[opening->count - 1];
  for (int i = 0; i <= 10; i++) {
    const double opening_rad = 0.1 * i * travel_rad;
    point.sensors.track_v[0] =
        5.0 * (throttle->closed_position_ratio + 0.1 * i * (throttle->open_position_ratio - throttle->closed_position_ratio));
    position_read(&point.design, &point.sensors, &point.computer);
    check_close_at(i, point.computer.pedal_seen_ratio, fmin(fmax(opening_rad - throttle->rest_opening_rad, 0.0) / last_rad, 1.0),
                   1e-9);
    assert_false(point.computer.track_good[1]);
    check_close_at(i, point.computer.track_difference_ratio, 0.0, 0.0);
  }
}

/* What an engine has nothing of is no feature of it. */
static void no_compressor(void **state) {
  (void)state;
  point.engine.plant.loads.compressor_torque_nm = 1e-3;
  assert_true(features_of(&point.engine.plant, &point.engine.computer) & FEATURE_compressor);
  point.engine.plant.loads.compressor_torque_nm = 0.0;
  assert_false(features_of(&point.engine.plant, &point.engine.computer) & FEATURE_compressor);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup(pedal_range, set_up),
      cmocka_unit_test_setup(cable_pedal, set_up),
      cmocka_unit_test_setup(no_compressor, set_up),
      cmocka_unit_test_setup(tracks, set_up),
      cmocka_unit_test_setup(stall, set_up),
      cmocka_unit_test_setup(cranking, set_up),
      cmocka_unit_test_setup(start_needs_cranking, set_up),
      cmocka_unit_test_setup(settling, set_up),
      cmocka_unit_test_setup(pedal, set_up),
      cmocka_unit_test_setup(frozen, set_up),
      cmocka_unit_test_setup(power, set_up),
      cmocka_unit_test_setup(warm_up_cycle, set_up),
      cmocka_unit_test_setup(coolant_highest, set_up),
      cmocka_unit_test_setup(air_signal, set_up),
      cmocka_unit_test_setup(at_rest, set_up),
      cmocka_unit_test_setup(nothing_to_learn, set_up),
      cmocka_unit_test_setup(forgetting, set_up),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
