/* control/fuel at rest, and the canister purge. Truth: what fuel_tick() itself comes to when nothing changes for a minute; the trims and the
 * purge by docs/physics.md section 9, worked by hand. */
#include "support/idle_point.h"

#include "control/fuel.h"
#include "support/check.h"

static struct idle_point flow, pressure;

static int set_up(void **state) {
  (void)state;
  idle_point_init(&flow, "four-16");
  idle_point_init(&pressure, "three-10");
  return 0;
}

static void ticks(struct idle_point *point, int count) {
  point->computer.idling = true;
  for (int i = 0; i < count; i++) fuel_tick(&point->design, &point->sensors, &point->computer);
}

/* The same from far away in one go. */
static void rest(struct idle_point *point) {
  point->computer.manifold_pa = 60e3;
  point->computer.wall_fuel_kg[0] = point->computer.fuel_per_cycle_kg[0] = 0.0;
  if (point->engine.computer.fuel.metering == METERING_AIR_FLOW) {
    // the charge is what the sensor says, whatever the observer holds
    const double base = fuel_base_rest_kg(&point->design, &point->sensors, &point->computer);
    fuel_asked_rest(base, 0.0, &point->computer, 0);
    fuel_rest(&point->design, &point->sensors, &point->computer);
  } else {
    fuel_rest(&point->design, &point->sensors, &point->computer);
    const double base = fuel_base_rest_kg(&point->design, &point->sensors, &point->computer);
    fuel_asked_rest(base, 0.0, &point->computer, 0);
    fuel_rest(&point->design, &point->sensors, &point->computer);
  }
}

static void comes_to(struct idle_point *point, double at) {
  ticks(point, 6000);
  struct idle_point other = *point;
  rest(&other);
  check_relative_at(at, other.computer.manifold_pa, point->computer.manifold_pa, 1e-6);
  check_relative_at(at, other.computer.fuel_per_cycle_kg[0], point->computer.fuel_per_cycle_kg[0], 1e-6);
  check_relative_at(at, other.computer.wall_fuel_kg[0], point->computer.wall_fuel_kg[0], 1e-6);
}

static void as_after_a_minute(void **state) {
  (void)state;
  static const double airs_kg_s[] = {1.5e-3, 2.345e-3, 6e-3};
  for (int i = 0; i < 3; i++) {
    struct idle_point point = flow;
    point.sensors.air_flow_kg_s = airs_kg_s[i];
    comes_to(&point, airs_kg_s[i]);
    point = pressure;
    point.sensors.manifold_pa = 25e3 + 20e3 * i;
    comes_to(&point, point.sensors.manifold_pa);
    assert_true(point.computer.manifold_pa > 20e3);
  }
}

/* An air-flow sensor that reads more than the engine can draw, or next to nothing: the observer stands at the barometer, or at 5 kPa. */
static void observer_has_limits(void **state) {
  (void)state;
  struct idle_point point = flow;
  point.sensors.air_flow_kg_s = 0.1;
  comes_to(&point, 0.1);
  check_close(point.computer.manifold_pa, 100e3, 1e-6);
  point.sensors.barometer_pa = 60e3; // at sea level the cylinders draw nothing well above 5 kPa
  point.sensors.air_flow_kg_s = 1e-6;
  comes_to(&point, 1e-6);
  check_close(point.computer.manifold_pa, 5e3, 1e-6);
}

static void no_spark_no_fuel(void **state) {
  (void)state;
  struct idle_point point = flow;
  fuel_asked_rest(20e-6, 0.1, &point.computer, 0);
  check_relative(point.computer.fuel_per_cycle_kg[0], 22e-6, 1e-12);
  point.computer.firing = false;
  fuel_asked_rest(20e-6, 0.1, &point.computer, 0);
  check_close(point.computer.fuel_per_cycle_kg[0], 0.0, 0.0);
}

/* Long takes what it may, short the rest of it; cold keeps the long trim; open loop has no short one. */
static void trims(void **state) {
  (void)state;
  struct idle_point point = flow;
  struct computer_params *params = &point.engine.computer;
  params->fuel.long_limit_ratio = 0.20;
  params->fuel.short_limit_ratio = 0.15;
  params->supervision.warm_k = 340.0;
  static const struct {
    double wanted, coolant_k;
    bool closed;
    double is_long, is_short;
  } rows[] = {{0.10, 340.0, true, 0.10, 0.0},     {0.30, 340.0, true, 0.20, 0.10}, {0.50, 340.0, true, 0.20, 0.15},
              {-0.50, 340.0, true, -0.20, -0.15}, {0.10, 339.9, true, 0.03, 0.07}, {0.10, 340.0, false, 0.03, 0.0}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    point.sensors.coolant_k = rows[i].coolant_k;
    point.computer.closed_loop = rows[i].closed;
    const double sum = fuel_trim_rest(params, &point.sensors, rows[i].wanted, 0.03, &point.computer, 0);
    check_close_at((double)i, point.computer.memory.long_trim[0][point.computer.cell], rows[i].is_long, 1e-12);
    check_close_at((double)i, point.computer.short_trim[0], rows[i].is_short, 1e-12);
    check_close_at((double)i, point.computer.short_integral[0], rows[i].is_short, 1e-12);
    check_close_at((double)i, sum, rows[i].is_long + rows[i].is_short, 1e-12);
  }
}

/* From 30 s after the start it opens by a thousandth a tick; cold, in a fuel cut or open loop it shuts at once; frozen it stays. */
static void purge(void **state) {
  (void)state;
  struct idle_point point = flow;
  point.engine.computer.fuel.closed_loop_delay_s = 5.0;
  point.computer.running_s = 30.0;
  ticks(&point, 1);
  check_close(point.computer.purge_ratio, 0.0, 0.0);
  point.computer.running_s = 30.01;
  for (int i = 1; i <= 1100; i++) {
    ticks(&point, 1);
    check_close_at(i, point.computer.purge_ratio, fmin(1e-3 * i, 1.0), 1e-12);
  }
  point.sensors.coolant_k = point.engine.computer.supervision.warm_k; // warm from there on
  ticks(&point, 1);
  check_close(point.computer.purge_ratio, 1.0, 0.0);
  for (int why = 0; why < 4; why++) {
    struct idle_point other = point;
    if (why == 0) other.sensors.coolant_k = point.engine.computer.supervision.warm_k - 0.01;
    if (why == 1) other.computer.fuel_cut = true;
    if (why == 2) other.computer.running_s = 4.0;
    if (why == 3) other.sensors.frozen = other.computer.fuel_cut = true;
    ticks(&other, 1);
    check_close_at(why, other.computer.purge_ratio, why == 3 ? 1.0 : 0.0, 0.0);
    other.computer.purge_ratio = 0.5;
    fuel_loop_rest(&other.design, &other.sensors, &other.computer);
    check_close_at(why, other.computer.purge_ratio, 0.0, 0.0);
  }
  point.computer.purge_ratio = 0.5;
  fuel_loop_rest(&point.design, &point.sensors, &point.computer);
  check_close(point.computer.purge_ratio, 1.0, 0.0);
}

/* l(T), with the extra of a start and of cranking as the page has it; cranking never leaner than one. */
static void wanted_lambda(void **state) {
  (void)state;
  struct fuel_params fuel = flow.engine.computer.fuel;
  fuel.lambda = (struct curve){.count = 1, .y = {1.05}};
  assert_true(curve_init(&fuel.lambda));
  fuel.crank_ratio = 0.25;
  struct computer_state *at = &flow.computer;
  at->closed_loop = false;
  at->mode = COMPUTER_RUNNING;
  at->start_fuel_ratio = 0.0;
  check_relative(fuel_wanted_lambda(&fuel, 300.0, at), 1.05, 1e-12);
  at->start_fuel_ratio = 0.05;
  check_relative(fuel_wanted_lambda(&fuel, 300.0, at), 1.0, 1e-12);
  at->start_fuel_ratio = 0.0;
  at->mode = COMPUTER_CRANKING;
  check_relative(fuel_wanted_lambda(&fuel, 300.0, at), 0.8, 1e-12);
  at->mode = COMPUTER_RUNNING;
  at->closed_loop = true;
  check_relative(fuel_wanted_lambda(&fuel, 300.0, at), 1.0, 0.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup(wanted_lambda, set_up),
      cmocka_unit_test_setup(as_after_a_minute, set_up),
      cmocka_unit_test_setup(observer_has_limits, set_up),
      cmocka_unit_test_setup(no_spark_no_fuel, set_up),
      cmocka_unit_test_setup(trims, set_up),
      cmocka_unit_test_setup(purge, set_up),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
