/* control/idle by parts. Truth: the equations of docs/physics.md section 8, worked by hand with round numbers that no engine file has. */
#include "support/idle_point.h"

#include "base/units.h"
#include "control/actuate.h"
#include "control/idle.h"
#include "physics/orifice.h"
#include "support/check.h"

#define TICK_S 0.01

static struct idle_point point;

static struct curve line(double x0, double y0, double x1, double y1) {
  struct curve curve = {.count = 2, .x = {x0, x1}, .y = {y0, y1}};
  assert_true(curve_init(&curve));
  return curve;
}

/* Target 120 rad/s at 250 K, 80 from 350 K on; a cold engine needs up to twice the air. */
static int set_up(void **state) {
  (void)state;
  idle_point_init(&point, "four-16");
  struct computer_params *params = &point.engine.computer;
  params->target.by_coolant = line(250.0, 120.0, 350.0, 80.0);
  params->target.drive_rad_s = 70.0;
  params->target.compressor_rad_s = 95.0;
  params->air = (struct idle_air_params){
      .base_kg_s = 2e-3,
      .cold_ratio = line(250.0, 2.0, 350.0, 1.0),
      .compressor_kg_s = 3e-4,
      .drive_kg_s = 2e-4,
      .steering_kg_s = 1e-4,
      .electrical_kg_j = 1e-6,
      .start_ratio = 0.3,
      .start_decay_s = 4.0,
      .proportional_s_rad = 0.002,
      .integral_1_rad = 0.004,
      .integral_window_rad_s = 20.0,
      .effort_least_ratio = -0.10,
      .effort_most_ratio = 0.15,
      .learned_least_ratio = -0.20,
      .learned_most_ratio = 0.25,
      .learn_time_s = 50.0,
      .learn_delay_s = 5.0,
  };
  params->spark = (struct idle_spark_params){.base_rad = 0.20,
                                             .gain_s = 0.01,
                                             .advance_limit_rad = 0.08,
                                             .retard_limit_rad = 0.12,
                                             .running_rad = line(80.0, 0.30, 300.0, 0.30),
                                             .slew_rad_s = 2.0};
  params->catalyst = (struct catalyst_heating_params){0};
  params->supervision.warm_k = 340.0;
  point.engine.plant.combustion.best_spark_rad = line(50.0, 0.50, 500.0, 0.50);
  point.sensors.coolant_k = 350.0;
  point.sensors.alternator_w = 0.0;
  point.computer.coolant_at_start_k = 350.0;
  point.computer.pedal_seen_ratio = 0.0;
  point.computer.settled_s = 0.0;
  point.computer.start_extra_ratio = 0.0;
  point.computer.effort_ratio = point.computer.integral_ratio = point.computer.memory.learned_ratio = 0.0;
  point.computer.spark_rad = 0.20;
  return 0;
}

static void tick(double error_rad_s) {
  point.sensors.speed_rad_s = idle_target_rad_s(&point.design, &point.sensors) - error_rad_s;
  idle_tick(&point.design, &point.sensors, &point.computer);
}

static void target(void **state) {
  (void)state;
  point.sensors.coolant_k = 300.0;
  check_close(idle_target_rad_s(&point.design, &point.sensors), 100.0, 1e-12);
  point.sensors.drive_selected = true; // warm, gear takes 10
  check_close(idle_target_rad_s(&point.design, &point.sensors), 90.0, 1e-12);
  point.sensors.compressor_request = true; // at least 95
  check_close(idle_target_rad_s(&point.design, &point.sensors), 95.0, 0.0);
  point.sensors.drive_selected = false;
  check_close(idle_target_rad_s(&point.design, &point.sensors), 100.0, 1e-12);
}

/* 2 g/s (1.5 * 100/80 + 0.1) = 3.95 g/s; then what is switched on. */
static void air(void **state) {
  (void)state;
  point.sensors.coolant_k = 300.0;
  const double plain = idle_air_kg_s(&point.design, &point.sensors, 100.0, 0.1);
  check_relative(plain, 3.95e-3, 1e-12);
  point.sensors.alternator_w = 250.0;
  check_relative(idle_air_kg_s(&point.design, &point.sensors, 100.0, 0.1), 4.20e-3, 1e-12);
  point.sensors.compressor_request = true;
  check_relative(idle_air_kg_s(&point.design, &point.sensors, 100.0, 0.1), 4.50e-3, 1e-12);
  point.sensors.drive_selected = true;
  check_relative(idle_air_kg_s(&point.design, &point.sensors, 100.0, 0.1), 4.70e-3, 1e-12);
  point.sensors.steering = true;
  check_relative(idle_air_kg_s(&point.design, &point.sensors, 100.0, 0.1), 4.80e-3, 1e-12);
}

/* 5 rad/s low: P = 0.01, I grows by 0.004 * 5 * 0.01 = 2e-4 a tick. */
static void effort(void **state) {
  (void)state;
  for (int i = 1; i <= 50; i++) {
    tick(5.0);
    check_close_at(i, point.computer.integral_ratio, 2e-4 * i, 1e-12);
    check_close_at(i, point.computer.effort_ratio, 0.01 + 2e-4 * i, 1e-12);
  }
  tick(20.0); // the edge of the window still counts: 8e-4
  check_close(point.computer.integral_ratio, 0.0108, 1e-12);
  tick(20.5);
  check_close(point.computer.integral_ratio, 0.0108, 1e-12);
  check_close(point.computer.effort_ratio, 0.041 + 0.0108, 1e-12);
}

/* P + I at or beyond a limit: I stays where it would push on, and moves where it leads away. */
static void effort_at_limits(void **state) {
  (void)state;
  point.computer.integral_ratio = 0.145;
  tick(5.0); // 0.155 is wanted
  check_close(point.computer.integral_ratio, 0.145, 0.0);
  check_close(point.computer.effort_ratio, 0.15, 0.0);
  tick(2.0); // 0.149 is wanted: 8e-5 more
  check_close(point.computer.integral_ratio, 0.14508, 1e-12);
  tick(-5.0); // away from it, though it is near
  check_close(point.computer.integral_ratio, 0.14488, 1e-12);
  point.computer.integral_ratio = -0.095;
  tick(-5.0);
  check_close(point.computer.integral_ratio, -0.095, 0.0);
  check_close(point.computer.effort_ratio, -0.10, 0.0);
  tick(5.0);
  check_close(point.computer.integral_ratio, -0.0948, 1e-12);
  point.computer.integral_ratio = 0.2; // beyond, the step leads back: into the limits at once
  tick(-5.0);
  check_close(point.computer.integral_ratio, 0.15, 0.0);
}

/* Exactly at a limit nothing pushes on: P = 0 and I = the limit cannot be told from beyond it. */
static void effort_on_the_limit(void **state) {
  (void)state;
  point.engine.computer.air.proportional_s_rad = 0.0;
  point.computer.integral_ratio = 0.15;
  tick(1.0);
  check_close(point.computer.effort_ratio, 0.15, 0.0);
  tick(-1.0);
  check_close(point.computer.effort_ratio, 0.15 - 4e-5, 1e-12);
}

/* At the target with an effort of 0.1: 0.1 * 0.01 / 50 = 2e-5 a tick move over, and the sum stays. */
static void learning(void **state) {
  (void)state;
  point.computer.integral_ratio = 0.1;
  point.computer.settled_s = 4.999;
  tick(0.0);
  check_close(point.computer.memory.learned_ratio, 0.0, 0.0);
  point.computer.settled_s = 5.0;
  tick(0.0);
  check_close(point.computer.memory.learned_ratio, 2e-5, 1e-15);
  check_close(point.computer.integral_ratio, 0.1 - 2e-5, 1e-15);
  point.sensors.coolant_k = 340.0; // warm from here on
  tick(0.0);
  check_close(point.computer.memory.learned_ratio, 2e-5 + (0.1 - 2e-5) * TICK_S / 50.0, 1e-15);
  const double kept = point.computer.memory.learned_ratio;
  point.sensors.coolant_k = 339.9;
  tick(0.0);
  check_close(point.computer.memory.learned_ratio, kept, 0.0);
  point.sensors.coolant_k = 350.0;
  point.sensors.learned_frozen = true;
  tick(0.0);
  check_close(point.computer.memory.learned_ratio, kept, 0.0);
}

static void learning_ends(void **state) {
  (void)state;
  point.computer.settled_s = 100.0;
  point.computer.memory.learned_ratio = 0.25 - 1e-5;
  point.computer.integral_ratio = 0.1;
  tick(0.0);
  check_close(point.computer.memory.learned_ratio, 0.25, 0.0);
  check_close(point.computer.integral_ratio, 0.1 - 1e-5, 1e-12); // what did move, not what would have
  point.computer.memory.learned_ratio = -0.20 + 1e-5;
  point.computer.integral_ratio = -0.1;
  tick(0.0);
  check_close(point.computer.memory.learned_ratio, -0.20, 0.0);
}

/* With the pedal pressed, or no drive to work with, effort and learned offset stay. */
static void not_idling(void **state) {
  (void)state;
  point.computer.settled_s = 100.0;
  point.computer.integral_ratio = point.computer.effort_ratio = 0.1;
  for (int why = 0; why < 2; why++) {
    point.computer.pedal_seen_ratio = why == 0 ? point.engine.computer.pedal.closed_ratio + 1e-6 : 0.0;
    point.computer.limp = why == 1 ? COMPUTER_LIMP_REST : COMPUTER_LIMP_NONE;
    tick(5.0);
    assert_false(point.computer.idling);
    check_close_at(why, point.computer.integral_ratio, 0.1, 0.0);
    check_close_at(why, point.computer.effort_ratio, 0.1, 0.0);
    check_close_at(why, point.computer.memory.learned_ratio, 0.0, 0.0);
  }
  point.computer.limp = COMPUTER_LIMP_REDUCED;
  point.computer.pedal_seen_ratio = point.engine.computer.pedal.closed_ratio; // still released
  tick(5.0);
  assert_true(point.computer.idling);
}

/* What the blade of a clean bore passes choked, with ventilation and purge, is the air asked for. */
static void blade(void **state) {
  (void)state;
  point.computer.memory.learned_ratio = 0.12;
  point.computer.start_extra_ratio = 0.05;
  point.computer.purge_ratio = 0.5;
  point.computer.integral_ratio = 0.03;
  point.sensors.alternator_w = 200.0;
  tick(0.0); // base (1 + 0.05 + 0.03 + 0.12) + 0.2 g/s
  const double cda_m2 = actuate_clean_cda_m2(&point.design, point.computer.idle_blade_rad, 100e3, 298.15) +
                        point.engine.plant.intake.ventilation_cda_m2 + 0.5 * point.engine.plant.intake.purge_cda_m2;
  check_relative(cda_m2 / orifice_choked_cda_m2(1.0, 100e3, 298.15), 2.6e-3, 1e-9);
}

static void spark_goal(void **state) {
  (void)state;
  const struct computer_design *d = &point.design;
  check_close(idle_spark_goal_rad(d, 80.0, 5.0, true), 0.25, 1e-12);
  check_close(idle_spark_goal_rad(d, 80.0, -5.0, true), 0.15, 1e-12);
  check_close(idle_spark_goal_rad(d, 80.0, 9.0, true), 0.28, 1e-12);
  check_close(idle_spark_goal_rad(d, 80.0, -13.0, true), 0.08, 1e-12);
  // off idle: from 0.20 at 80 rad/s to the curve's 0.30 over 600 rpm
  const double span = 600.0 * UNITS_PI / 30.0;
  check_close(idle_spark_goal_rad(d, 80.0 + 0.25 * span, 5.0, false), 0.225, 1e-12);
  check_close(idle_spark_goal_rad(d, 80.0 + 2.0 * span, 5.0, false), 0.30, 1e-12);
  check_close(idle_spark_goal_rad(d, 70.0, 5.0, false), 0.20, 1e-12);
  point.engine.plant.combustion.best_spark_rad = line(50.0, 0.22, 500.0, 0.22); // never beyond best spark
  check_close(idle_spark_goal_rad(d, 80.0, 5.0, true), 0.22, 0.0);
  check_close(idle_spark_goal_rad(d, 80.0 + 2.0 * span, 5.0, false), 0.22, 0.0);
}

/* At most 2 rad/s * 0.01 s = 0.02 a tick. */
static void spark_slew(void **state) {
  (void)state;
  tick(5.0);
  check_close(point.computer.spark_rad, 0.22, 1e-12);
  tick(5.0);
  tick(5.0);
  check_close(point.computer.spark_rad, 0.25, 1e-12);
  tick(-5.0);
  check_close(point.computer.spark_rad, 0.23, 1e-12);
  point.sensors.spark_frozen = true;
  tick(-5.0);
  check_close(point.computer.spark_rad, 0.23, 0.0);
}

/* h = clamp((t - 3)/5) clamp((time - t)/5): spark 0.10 h later, air 0.5 h of the unloaded need more. */
static void catalyst(void **state) {
  (void)state;
  static const struct {
    double t_s, h;
  } rows[] = {{2.0, 0.0}, {5.5, 0.5}, {8.0, 1.0}, {20.0, 1.0}, {26.0, 0.8}, {29.0, 0.2}, {31.0, 0.0}};
  point.engine.computer.catalyst =
      (struct catalyst_heating_params){.retard_rad = 0.10, .air_ratio = 0.5, .time_s = 30.0, .below_k = 310.0};
  point.engine.computer.spark.slew_rad_s = 1e3;
  point.engine.computer.air.proportional_s_rad = 0.0;
  point.computer.coolant_at_start_k = 300.0;
  point.sensors.coolant_k = 300.0; // target 100, need 1.875 of base
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    point.computer.running_s = rows[i].t_s;
    tick(0.0);
    check_close_at(rows[i].t_s, point.computer.spark_rad, 0.20 - 0.10 * rows[i].h, 1e-12);
    const double cda_m2 = actuate_clean_cda_m2(&point.design, point.computer.idle_blade_rad, 100e3, 298.15) +
                          point.engine.plant.intake.ventilation_cda_m2;
    check_relative_at(rows[i].t_s, cda_m2 / orifice_choked_cda_m2(1.0, 100e3, 298.15), 2e-3 * 1.875 * (1.0 + 0.5 * rows[i].h),
                      1e-9);
  }
  point.computer.running_s = 10.0;
  point.computer.pedal_seen_ratio = 0.5; // off idle spark is not held late
  tick(0.0);
  const double above = (100.0 - 80.0) / (600.0 * UNITS_PI / 30.0);
  check_close(point.computer.spark_rad, 0.20 + 0.10 * above, 1e-12);
  point.computer.pedal_seen_ratio = 0.0;
  point.computer.coolant_at_start_k = 310.0; // not cold enough
  tick(0.0);
  check_close(point.computer.spark_rad, 0.20, 1e-12);
}

static void limits(void **state) {
  (void)state;
  double low, high;
  idle_limits(&point.engine.computer, (double)NAN, &low, &high);
  check_close(low, -0.30, 1e-15);
  check_close(high, 0.40, 1e-15);
  idle_limits(&point.engine.computer, 0.05, &low, &high);
  check_close(low, -0.05, 1e-15);
  check_close(high, 0.20, 1e-15);
  idle_learned_rest(&point.engine.computer, 0.3, (double)NAN, &point.computer);
  check_close(point.computer.memory.learned_ratio, 0.25, 0.0);
  check_close(point.computer.effort_ratio, 0.05, 1e-15);
  check_close(point.computer.integral_ratio, 0.05, 1e-15);
  idle_learned_rest(&point.engine.computer, -0.25, (double)NAN, &point.computer);
  check_close(point.computer.memory.learned_ratio, -0.20, 0.0);
  idle_learned_rest(&point.engine.computer, 0.1, 0.02, &point.computer);
  check_close(point.computer.memory.learned_ratio, 0.02, 0.0);
  check_close(point.computer.effort_ratio, 0.08, 1e-15);
}

/* Both at a limit, and at the same one. */
static void at_limit(void **state) {
  (void)state;
  static const struct {
    double effort, learned;
    bool at;
  } rows[] = {{0.15, 0.25, true},    {0.15, 0.24, false},   {0.14, 0.25, false},  {-0.10, -0.20, true},
              {-0.10, -0.19, false}, {-0.09, -0.20, false}, {0.15, -0.20, false}, {-0.10, 0.25, false}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    point.computer.effort_ratio = rows[i].effort;
    point.computer.memory.learned_ratio = rows[i].learned;
    assert_int_equal(idle_at_limit(&point.design, &point.computer), rows[i].at);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup(target, set_up),
      cmocka_unit_test_setup(air, set_up),
      cmocka_unit_test_setup(effort, set_up),
      cmocka_unit_test_setup(effort_at_limits, set_up),
      cmocka_unit_test_setup(effort_on_the_limit, set_up),
      cmocka_unit_test_setup(learning, set_up),
      cmocka_unit_test_setup(learning_ends, set_up),
      cmocka_unit_test_setup(not_idling, set_up),
      cmocka_unit_test_setup(blade, set_up),
      cmocka_unit_test_setup(spark_goal, set_up),
      cmocka_unit_test_setup(spark_slew, set_up),
      cmocka_unit_test_setup(catalyst, set_up),
      cmocka_unit_test_setup(limits, set_up),
      cmocka_unit_test_setup(at_limit, set_up),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
