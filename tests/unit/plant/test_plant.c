/* plant/plant: lags, warmth at rest, steps, events of the crank, positions. Truth: docs/physics.md sections 5 and 6 worked by hand; a step goes
 * with the shortest time that something takes, so that twice the time is twice the step. */
#include "support/idle_point.h"

#include "base/units.h"
#include "physics/loads.h"
#include "plant/plant.h"
#include "support/check.h"

static struct idle_point point;

static int set_up(void **state) {
  (void)state;
  idle_point_init(&point, "four-16");
  return 0;
}

static double step_s(void) { return plant_step_s(&point.engine.plant, &point.inputs, &point.state); }

static void positions(void **state) {
  (void)state;
  struct throttle_params *throttle = &point.engine.plant.throttle;
  throttle->bore.closed_angle_rad = 7.0 * UNITS_PI / 180.0;
  throttle->closed_position_ratio = 0.1;
  throttle->open_position_ratio = 0.9;
  check_close(plant_travel_rad(throttle), 83.0 * UNITS_PI / 180.0, 1e-12);
  check_close(plant_track_share(throttle, 0.1), 0.0, 1e-12);
  check_close(plant_track_share(throttle, 0.3), 0.25, 1e-12);
  check_close(plant_track_share(throttle, 0.9), 1.0, 1e-12);
  throttle->rest_opening_rad = 0.02;
  point.engine.plant.drive.rest_opening_rad = 0.1;
  check_close(plant_rest_angle_rad(&point.engine.plant), throttle->bore.closed_angle_rad + 0.1, 1e-12);
  point.engine.plant.drive.gear_ratio = 0.0; // no drive: the ideal loop closes it
  check_close(plant_rest_angle_rad(&point.engine.plant), throttle->bore.closed_angle_rad, 0.0);
  throttle->kind = THROTTLE_CABLE;
  check_close(plant_rest_angle_rad(&point.engine.plant), throttle->bore.closed_angle_rad + 0.02, 1e-12);
}

/* First-order lags towards what is metered, the clutch, the gear. */
static void lags(void **state) {
  (void)state;
  struct plant_params *plant = &point.engine.plant;
  plant->air_sensor.lag_s = 0.04;
  plant->air_sensor.gain_ratio = 0.05;
  plant->loads.compressor_lag_s = 0.2;
  plant->loads.converter_lag_s = 0.4;
  point.inputs.faults.air_sensor_lag_ratio = 3.0;
  point.inputs.compressor_clutch = true;
  point.inputs.drive_engaged = 1.0;
  point.state.compressor_engagement_ratio = 0.25;
  point.state.drive_engagement_ratio = 0.5;
  const struct plant_signals s = idle_point_signals(&point);
  struct plant_state rates;
  plant_rates(plant, &point.inputs, &point.state, &rates);
  check_relative(rates.air_sensor_kg_s, (1.05 * s.metered_kg_s - point.state.air_sensor_kg_s) / 0.12, 1e-12);
  check_relative(rates.compressor_engagement_ratio, 0.75 / 0.2, 1e-12);
  check_relative(rates.drive_engagement_ratio, 0.5 / 0.4, 1e-12);
  struct plant_state at = point.state;
  at.oil_k = 320.0;
  plant_lags_rest(plant, &point.inputs, &s, &at);
  check_relative(at.air_sensor_kg_s, 1.05 * s.metered_kg_s, 1e-14);
  check_close(at.compressor_engagement_ratio, 1.0, 0.0);
  check_close(at.drive_engagement_ratio, 1.0, 0.0);
  point.inputs.compressor_clutch = false;
  point.inputs.warmth_held = true;
  at.oil_k = 320.0;
  plant_lags_rest(plant, &point.inputs, &s, &at);
  check_close(at.compressor_engagement_ratio, 0.0, 0.0);
  check_close(at.oil_k, 320.0, 0.0);
  plant_rates(plant, &point.inputs, &point.state, &rates);
  check_close(rates.coolant_k, 0.0, 0.0);
  check_close(rates.oil_k, 0.0, 0.0);
}

/* At the oil temperature of rest oil gains from friction and coolant what it loses to the air: its rate is zero there, by the friction of the
 * oil that was. */
static void oil_at_rest(void **state) {
  (void)state;
  struct plant_signals s = idle_point_signals(&point);
  struct plant_state at = point.state, rates;
  for (int i = 0; i < 60; i++) plant_lags_rest(&point.engine.plant, &point.inputs, &s, &at); // friction follows the oil
  plant_rates(&point.engine.plant, &point.inputs, &at, &rates);
  check_close(rates.oil_k, 0.0, 1e-9);
  assert_true(at.oil_k > 300.0 && at.oil_k < 400.0);
}

static void steps_of_lags(void **state) {
  (void)state;
  struct plant_params *plant = &point.engine.plant;
  plant->air_sensor.lag_s = plant->loads.compressor_lag_s = plant->combustion.torque_lag_cycle_ratio = 1e3;
  check_close(step_s(), 0.01, 0.0); // nothing is quick: the tick
  plant->air_sensor.lag_s = 0.004;
  check_relative(step_s(), 0.002, 1e-12);
  point.inputs.faults.air_sensor_lag_ratio = 2.0;
  check_relative(step_s(), 0.004, 1e-12);
  plant->air_sensor.lag_s = 1e3;
  plant->loads.compressor_lag_s = 0.003;
  check_relative(step_s(), 0.0015, 1e-12);
  plant->loads.compressor_lag_s = 1e3;
  plant->combustion.torque_lag_cycle_ratio = 0.5;
  point.state.crank_speed_rad_s = 400.0 * UNITS_PI;
  check_relative(step_s(), 0.0025, 1e-12); // half of 0.5 cycle, which takes 5 ms
  plant->combustion.torque_lag_cycle_ratio = 1e-3;
  point.state.crank_speed_rad_s = 1.0;
  const double slow_s = step_s();
  point.state.crank_speed_rad_s = 0.0; // a standing engine is as one that hardly turns
  check_relative(step_s(), slow_s, 1e-12);
  check_relative(slow_s, 0.5e-3 * 4.0 * UNITS_PI, 1e-12);
}

/* Above 0.6 of ambient a manifold of twice the volume takes twice as long. The law's slope: 0.6/sqrt(1 - r) at most 33. */
static void steps_of_manifold(void **state) {
  (void)state;
  struct plant_params *plant = &point.engine.plant;
  plant->air_sensor.lag_s = plant->loads.compressor_lag_s = plant->combustion.torque_lag_cycle_ratio = 1e3;
  point.state.blade_rad = 0.5 * UNITS_PI; // wide open, so that it is quick
  point.state.manifold_pressure_pa = 59.9e3;
  check_close(step_s(), 0.01, 0.0);
  point.state.manifold_pressure_pa = 90e3;
  const double open_s = step_s();
  check_below(open_s, 0.005);
  plant->intake.manifold_volume_m3 *= 2.0;
  check_relative(step_s(), 2.0 * open_s, 1e-12);
  plant->intake.manifold_volume_m3 *= 0.5;
  point.state.manifold_temperature_k *= 4.0; // sqrt(R T)
  check_relative(step_s(), 0.5 * open_s, 1e-12);
  point.state.manifold_temperature_k *= 0.25;
  point.state.manifold_pressure_pa = 97.5e3; // r = 0.975: sqrt(0.1/0.025) = 2
  check_relative(step_s(), 0.5 * open_s, 1e-12);
  point.state.manifold_pressure_pa = 100e3;
  check_relative(step_s(), open_s * 0.6 / sqrt(0.1) / 33.0, 1e-12);
  point.state.manifold_pressure_pa = 101e3;
  check_relative(step_s(), open_s * 0.6 / sqrt(0.1) / 33.0, 1e-12);
}

/* Each opening counts with its whole area, so that the step errs to the short side: by hand, r = 0.9. */
static void step_of_openings(void **state) {
  (void)state;
  struct plant_params *plant = &point.engine.plant;
  plant->air_sensor.lag_s = plant->loads.compressor_lag_s = plant->combustion.torque_lag_cycle_ratio = 1e3;
  point.state.blade_rad = 0.5 * UNITS_PI;
  point.state.manifold_pressure_pa = 90e3;
  point.inputs.faults.leak_area_m2 = 1e-4;
  plant->intake.ventilation_cda_m2 = 3e-4;
  const double discharge = curve_value(&plant->throttle.discharge, 0.5 * UNITS_PI - plant->throttle.bore.closed_angle_rad);
  const double open_m2 = bore_table_at(point.inputs.bore, 0.5 * UNITS_PI).area_m2 * discharge + 3e-4 + 1e-4 + 2e-5;
  const double rate_1_s =
      1.4 * sqrt(287.05287 * point.state.manifold_temperature_k) * open_m2 * 0.6 / sqrt(0.1) / plant->intake.manifold_volume_m3;
  check_relative(step_s(), 1.0 / rate_1_s, 1e-6);
}

static void crank_events(void **state) {
  (void)state;
  const struct plant_params *plant = &point.engine.plant;
  double values[PLANT_EVENT_COUNT];
  point.state.crank_speed_rad_s = plant->crank.stall_speed_rad_s + 2.0;
  plant_event_values(plant, &point.inputs, &point.state, values);
  check_close(values[PLANT_EVENT_stall], 2.0, 1e-9);
  check_close(values[PLANT_EVENT_standstill], plant->crank.stall_speed_rad_s + 1.0, 1e-9); // 10 rpm, about 1 rad/s
  point.inputs.starter = true;                                                             // while it is cranked nothing stalls
  plant_event_values(plant, &point.inputs, &point.state, values);
  check_close(values[PLANT_EVENT_stall], 1.0, 0.0);
  point.inputs.starter = false;
  point.inputs.firing = false;
  plant_event_values(plant, &point.inputs, &point.state, values);
  check_close(values[PLANT_EVENT_stall], 1.0, 0.0);
  point.inputs.mode.crank_held = true;
  plant_event_values(plant, &point.inputs, &point.state, values);
  check_close(values[PLANT_EVENT_standstill], 1.0, 0.0);
  struct plant_mode mode = {.blade = BLADE_HELD};
  plant_event_apply(plant, &point.inputs, PLANT_EVENT_stall, &mode, &point.state); // the computer acts on it
  assert_false(mode.crank_held);
  check_above(point.state.crank_speed_rad_s, 1.0);
  plant_event_apply(plant, &point.inputs, PLANT_EVENT_standstill, &mode, &point.state);
  assert_true(mode.crank_held);
  check_close(point.state.crank_speed_rad_s, 0.0, 0.0);
}

/* A crank that hardly turns stands once the starter lets go; one that stands turns if the starter is stronger than what it has to turn. */
static void release(void **state) {
  (void)state;
  const struct plant_params *plant = &point.engine.plant;
  struct plant_mode mode = {.blade = BLADE_HELD};
  point.inputs.firing = false;
  point.state.crank_speed_rad_s = 1.01;
  plant_release(plant, &point.inputs, &mode, &point.state);
  assert_false(mode.crank_held);
  point.state.crank_speed_rad_s = 0.99;
  plant_release(plant, &point.inputs, &mode, &point.state);
  assert_true(mode.crank_held);
  check_close(point.state.crank_speed_rad_s, 0.0, 0.0);
  plant_release(plant, &point.inputs, &mode, &point.state);
  assert_true(mode.crank_held);
  point.inputs.mode.crank_held = true;
  point.inputs.starter = true;
  point.inputs.starter_ratio = 1e-6;
  plant_release(plant, &point.inputs, &mode, &point.state);
  assert_true(mode.crank_held);
  point.inputs.starter_ratio = 1.0;
  plant_release(plant, &point.inputs, &mode, &point.state);
  assert_false(mode.crank_held);
}

static void rests(void **state) {
  (void)state;
  struct plant_state at;
  plant_state_at_rest(99e3, 301.0, 302.0, 303.0, 0.2, &at);
  check_close(at.manifold_pressure_pa, 99e3, 0.0);
  check_close(at.manifold_temperature_k, 301.0, 0.0);
  check_close(at.coolant_k, 302.0, 0.0);
  check_close(at.oil_k, 303.0, 0.0);
  check_close(at.blade_rad, 0.2, 0.0);
  check_close(at.crank_speed_rad_s, 0.0, 0.0);
  struct {
    struct plant_state bends;
    double behind;
  } kept = {.behind = 7.0};
  plant_step_bends(&point.engine.plant, &kept.bends);
  const struct plant_state bends = kept.bends;
  check_close(kept.behind, 7.0, 0.0);
  // a state bends by so much of its everyday size: a tenth of a degree for the coolant's 360 K
  check_close(bends.coolant_k, 0.1, 0.05);
  check_relative(bends.blade_rate_rad_s, point.engine.plant.throttle.natural_frequency_rad_s * bends.blade_rad, 1e-12);
  check_close(bends.crank_speed_rad_s, 0.01 * UNITS_PI / 30.0, 1e-4); // 0.01 rpm
  check_close(bends.manifold_pressure_pa, 1.0, 0.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup(positions, set_up),
      cmocka_unit_test_setup(lags, set_up),
      cmocka_unit_test_setup(oil_at_rest, set_up),
      cmocka_unit_test_setup(steps_of_lags, set_up),
      cmocka_unit_test_setup(steps_of_manifold, set_up),
      cmocka_unit_test_setup(step_of_openings, set_up),
      cmocka_unit_test_setup(crank_events, set_up),
      cmocka_unit_test_setup(release, set_up),
      cmocka_unit_test_setup(rests, set_up),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
