/* plant/blade: where a blade comes to rest, one that is let go, its stops and steps. Truth by hand: a spring against a motor that gives so much
 * torque per volt; a mass on a spring without friction swings as a cosine. */
#include "support/idle_point.h"

#include "base/units.h"
#include "plant/blade.h"
#include "support/check.h"

/* 10 K = 0.2 over 2 ohm: 0.1 N m a volt; springs of 0.5 N m/rad round 0.1 rad of opening. */
static struct idle_point point;
static double closed;

static int set_up(void **state) {
  (void)state;
  idle_point_init(&point, "four-16");
  struct drive_params *drive = &point.engine.plant.drive;
  *drive = (struct drive_params){.gear_ratio = 10.0,
                                 .motor_constant_nm_a = 0.02,
                                 .resistance_ohm = 2.0,
                                 .inertia_kg_m2 = 1e-3,
                                 .spring_nm_rad = 0.5,
                                 .rest_opening_rad = 0.1,
                                 .integral_1_s = 20.0};
  closed = point.engine.plant.throttle.bore.closed_angle_rad;
  point.inputs.mode.blade = BLADE_HELD;
  point.inputs.drive_powered = true;
  point.inputs.motor_supply_v = 12.0;
  point.inputs.position_error_rad = point.inputs.holding_v = point.inputs.hand_nm = 0.0;
  point.inputs.slide_nm = point.inputs.stick_nm = 0.0;
  point.state.blade_rad = closed + 0.1;
  point.state.blade_rate_rad_s = 7.0;
  return 0;
}

static void rest_at(double command_opening_rad) {
  point.inputs.blade_command_rad = closed + command_opening_rad;
  blade_rest(&point.engine.plant, &point.inputs, &point.state);
}

static double motor_v(void) { return blade_motor_v(&point.engine.plant, &point.inputs, &point.state); }

/* 0.3 rad from where the springs leave it: 0.15 N m or 1.5 V. The loop's sum gives just that, and nothing moves. */
static void within_reach(void **state) {
  (void)state;
  rest_at(0.4);
  check_close(point.state.blade_rad, closed + 0.4, 1e-12);
  check_close(point.state.blade_rate_rad_s, 0.0, 0.0);
  check_close(motor_v(), 1.5, 1e-9);
  point.inputs.position_error_rad = 0.01; // the sensor shows it further open than it is
  rest_at(0.4);
  check_close(point.state.blade_rad, closed + 0.39, 1e-12);
  check_close(motor_v(), 1.45, 1e-9);
  point.inputs.hand_nm = -0.1; // a hand that closes wants a volt more
  rest_at(0.4);
  check_close(motor_v(), 2.45, 1e-9);
  point.inputs.faults.motor_resistance_ratio = 2.0;
  rest_at(0.4);
  check_close(motor_v(), 4.9, 1e-9);
}

/* A hand that pulls with 1 N m asks for 10 V; with 12 V the springs may take 0.2 N m more: 0.4 rad either side of 0.1. */
static void weak_supply(void **state) {
  (void)state;
  point.inputs.hand_nm = -1.0;
  rest_at(0.9);
  check_close(point.state.blade_rad, closed + 0.5, 1e-7);
  check_close(motor_v(), 12.0, 1e-6);
  rest_at(0.45);
  check_close(point.state.blade_rad, closed + 0.45, 1e-12);
  point.inputs.hand_nm = 1.22; // 12.2 V too much: it stands 0.04 rad above 0.1
  rest_at(0.05);
  check_close(point.state.blade_rad, closed + 0.14, 1e-7);
  check_close(motor_v(), -12.0, 1e-6);
  point.inputs.hand_nm = -5.0; // not held anywhere: to the stop
  rest_at(0.9);
  check_close(point.state.blade_rad, closed, 0.0);
  point.inputs.hand_nm = 5.0;
  rest_at(0.05);
  check_close(point.state.blade_rad, 0.5 * UNITS_PI, 0.0);
}

static void beyond_the_stops(void **state) {
  (void)state;
  rest_at(0.0); // at the stop, but asked for: 0.05 N m of spring are held
  check_close(motor_v(), -0.5, 1e-9);
  rest_at(-0.05);
  check_close(point.state.blade_rad, closed, 0.0);
  check_close(point.state.drive_integral_v, 0.0, 0.0);
  rest_at(2.0);
  check_close(point.state.blade_rad, 0.5 * UNITS_PI, 0.0);
  check_close(point.state.drive_integral_v, 0.0, 0.0);
}

/* An open winding: it stands, and the loop has wound up to the supply; without power not even that. */
static void not_driven(void **state) {
  (void)state;
  assert_true(blade_is_driven(&point.inputs));
  point.inputs.faults.motor_open = 0.5; // a switch: open from half on
  assert_false(blade_is_driven(&point.inputs));
  point.inputs.faults.motor_open = 1.0;
  rest_at(0.4);
  check_close(point.state.blade_rad, closed + 0.1, 0.0);
  check_close(point.state.blade_rate_rad_s, 0.0, 0.0);
  check_close(motor_v(), 12.0, 1e-9);
  rest_at(0.05);
  check_close(motor_v(), -12.0, 1e-9);
  point.inputs.drive_powered = false;
  assert_false(blade_is_driven(&point.inputs));
  rest_at(0.4);
  check_close(point.state.drive_integral_v, 0.0, 0.0);
  check_close(point.state.blade_rad, closed + 0.1, 0.0);
  point.inputs.faults.motor_open = 0.0;
  assert_false(blade_is_driven(&point.inputs));
}

/* Without a drive the blade is where the command is. */
static void ideal_loop(void **state) {
  (void)state;
  point.engine.plant.drive.gear_ratio = 0.0;
  point.inputs.position_error_rad = 0.01;
  rest_at(0.4);
  check_close(point.state.blade_rad, closed + 0.4, 1e-12);
  check_close(point.state.blade_rate_rad_s, 0.0, 0.0);
  rest_at(-0.1);
  check_close(point.state.blade_rad, closed, 0.0);
  rest_at(2.0);
  check_close(point.state.blade_rad, 0.5 * UNITS_PI, 0.0);
}

/* w = sqrt(0.5/1e-3): x = 0.1 + 0.2 cos wt - 1e-4/w sin wt, as it breaks loose with 1e-4 rad/s; a quarter of a swing takes 70 ms. */
static void swings(void **state) {
  (void)state;
  const double w = sqrt(500.0);
  for (int ms = 5; ms <= 60; ms += 5) {
    set_up(NULL);
    point.inputs.drive_powered = false;
    point.state.blade_rad = closed + 0.3;
    point.state.blade_rate_rad_s = 0.0;
    const double t = ms * 1e-3;
    blade_let_go(&point.engine.plant, t, &point.inputs, &point.state);
    assert_int_equal(point.inputs.mode.blade, BLADE_CLOSING);
    check_close_at(ms, point.state.blade_rad - closed, 0.1 + 0.2 * cos(w * t) - 1e-4 / w * sin(w * t), 2e-10);
    check_close_at(ms, point.state.blade_rate_rad_s, -0.2 * w * sin(w * t) - 1e-4 * cos(w * t), 5e-9);
  }
}

/* With friction it stands in the end, within what sticking allows of the springs' place; against a stop it stops. */
static void comes_to_rest(void **state) {
  (void)state;
  point.inputs.drive_powered = false;
  point.inputs.slide_nm = 0.01;
  point.inputs.stick_nm = 0.02;
  point.state.blade_rad = closed + 0.9;
  point.state.blade_rate_rad_s = 0.0;
  blade_let_go(&point.engine.plant, 20.0, &point.inputs, &point.state);
  assert_int_equal(point.inputs.mode.blade, BLADE_HELD);
  check_close(point.state.blade_rad - closed, 0.1, 0.02 / 0.5);
  check_close(point.state.blade_rate_rad_s, 0.0, 0.0);
  point.inputs.hand_nm = -1.0;
  blade_let_go(&point.engine.plant, 5.0, &point.inputs, &point.state);
  check_close(point.state.blade_rad, closed, 0.0);
  point.inputs.hand_nm = 2.0;
  blade_let_go(&point.engine.plant, 5.0, &point.inputs, &point.state);
  check_close(point.state.blade_rad, 0.5 * UNITS_PI, 0.0);
  assert_int_equal(point.inputs.mode.blade, BLADE_HELD);
}

/* A blade that lies at a stop is no event; one beyond it by a thousandth of a milliradian is. */
static void stops(void **state) {
  (void)state;
  double values[PLANT_EVENT_COUNT];
  point.inputs.mode.blade = BLADE_CLOSING;
  point.state.blade_rad = closed;
  blade_event_values(&point.engine.plant, &point.inputs, &point.state, values);
  check_above(values[PLANT_EVENT_closed_stop], 0.0);
  point.state.blade_rad = closed - 1e-6;
  blade_event_values(&point.engine.plant, &point.inputs, &point.state, values);
  check_below(values[PLANT_EVENT_closed_stop], 0.0);
  check_close(values[PLANT_EVENT_open_stop], 1.0, 0.0); // not on its way there
  point.inputs.mode.blade = BLADE_OPENING;
  point.state.blade_rad = 0.5 * UNITS_PI;
  blade_event_values(&point.engine.plant, &point.inputs, &point.state, values);
  check_above(values[PLANT_EVENT_open_stop], 0.0);
  point.state.blade_rad = 0.5 * UNITS_PI + 1e-6;
  blade_event_values(&point.engine.plant, &point.inputs, &point.state, values);
  check_below(values[PLANT_EVENT_open_stop], 0.0);
  check_close(values[PLANT_EVENT_closed_stop], 1.0, 0.0);
}

/* What turns the shaft, less what sticks: positive once it breaks loose, to either side. */
static void breaking_loose(void **state) {
  (void)state;
  double values[PLANT_EVENT_COUNT];
  point.inputs.drive_powered = false;
  point.inputs.stick_nm = 0.03;
  for (int sign = -1; sign <= 1; sign += 2) {
    point.state.blade_rad = closed + 0.1 - sign * 0.08; // 0.04 N m pull it back
    point.state.blade_rate_rad_s = 0.0;
    blade_event_values(&point.engine.plant, &point.inputs, &point.state, values);
    check_close_at(sign, values[sign > 0 ? PLANT_EVENT_blade_opens : PLANT_EVENT_blade_closes], -0.01, 1e-12);
    check_close_at(sign, values[sign > 0 ? PLANT_EVENT_blade_closes : PLANT_EVENT_blade_opens], 0.07, 1e-12);
  }
  point.state.blade_rad = closed; // it cannot close further
  point.inputs.hand_nm = -1.0;
  blade_event_values(&point.engine.plant, &point.inputs, &point.state, values);
  check_close(values[PLANT_EVENT_blade_closes], 1.0, 0.0);
}

static void steps(void **state) {
  (void)state;
  const struct plant_params *plant = &point.engine.plant;
  const double moving_s = 0.2 / plant->throttle.natural_frequency_rad_s;
  check_close(blade_step_s(plant, &point.inputs, &point.state), 0.01, 0.0); // held
  point.inputs.mode.blade = BLADE_OPENING;
  check_relative(blade_step_s(plant, &point.inputs, &point.state), moving_s, 1e-12);
  point.inputs.mode.blade = BLADE_FREE;
  point.inputs.blade_command_rad = point.state.blade_rad;
  check_relative(blade_step_s(plant, &point.inputs, &point.state), moving_s, 1e-12);
  point.state.blade_rate_rad_s = 0.0;
  check_close(blade_step_s(plant, &point.inputs, &point.state), 0.01, 0.0);
  point.inputs.blade_command_rad = point.state.blade_rad + 1e-6;
  check_relative(blade_step_s(plant, &point.inputs, &point.state), moving_s, 1e-12);
}

/* Half a volt below the supply's limit, which it fades over one volt before, the integral part grows with half its speed: 20 1/s times the
 * proportional part, J w^2 over 0.1 N m/V, of 0.01 rad. Inside the dead band, and without power, not at all. */
static void fades_at_the_limit(void **state) {
  (void)state;
  const double w = point.engine.plant.throttle.natural_frequency_rad_s, kp = 1e-3 * w * w / 0.1;
  struct plant_state rates;
  point.state.blade_rate_rad_s = 0.0;
  point.inputs.blade_command_rad = point.state.blade_rad + 0.01;
  for (int sign = -1; sign <= 1; sign += 2) {
    point.inputs.blade_command_rad = point.state.blade_rad + sign * 0.01;
    point.state.drive_integral_v = sign * (11.5 - 0.01 * kp);
    blade_rates(&point.engine.plant, &point.inputs, &point.state, &rates);
    check_relative(rates.drive_integral_v, sign * 20.0 * kp * 0.01 * 0.5, 1e-6);
    point.state.drive_integral_v = sign * (8.0 - 0.01 * kp);
    blade_rates(&point.engine.plant, &point.inputs, &point.state, &rates);
    check_relative(rates.drive_integral_v, sign * 20.0 * kp * 0.01, 1e-6);
    point.state.drive_integral_v = sign * 13.0;
    blade_rates(&point.engine.plant, &point.inputs, &point.state, &rates);
    check_close(rates.drive_integral_v, 0.0, 0.0);
  }
  point.state.drive_integral_v = 0.0;
  point.engine.plant.drive.dead_band_rad = 0.004;
  blade_rates(&point.engine.plant, &point.inputs, &point.state, &rates);
  check_relative(rates.drive_integral_v, 20.0 * kp * 0.006, 1e-6);
  point.inputs.drive_powered = false;
  blade_rates(&point.engine.plant, &point.inputs, &point.state, &rates);
  check_close(rates.drive_integral_v, 0.0, 0.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup(fades_at_the_limit, set_up),
      cmocka_unit_test_setup(within_reach, set_up),
      cmocka_unit_test_setup(weak_supply, set_up),
      cmocka_unit_test_setup(beyond_the_stops, set_up),
      cmocka_unit_test_setup(not_driven, set_up),
      cmocka_unit_test_setup(ideal_loop, set_up),
      cmocka_unit_test_setup(swings, set_up),
      cmocka_unit_test_setup(comes_to_rest, set_up),
      cmocka_unit_test_setup(stops, set_up),
      cmocka_unit_test_setup(breaking_loose, set_up),
      cmocka_unit_test_setup(steps, set_up),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
