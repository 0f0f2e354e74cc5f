/* control/fuel: metering both ways, enrichment, trims and their cells, wall film. Truth: docs/physics.md
 * section 9 worked by hand or in closed form, the plant's own wall film, invariants. Engines: four-16
 * meters by air flow, three-10 by pressure. */
#include "support/idle_point.h"

#include "base/units.h"
#include "control/fuel.h"
#include "physics/gas.h"
#include "support/check.h"

static struct idle_point flow, pressure;

static int set_up(void **state) {
  (void)state;
  idle_point_init(&flow, "four-16");
  idle_point_init(&pressure, "three-10");
  assert_int_equal(flow.engine.computer.fuel.metering, METERING_AIR_FLOW);
  assert_int_equal(pressure.engine.computer.fuel.metering, METERING_PRESSURE);
  return 0;
}

static void ticks(struct idle_point *point, int count) {
  point->computer.idling = true;
  for (int i = 0; i < count; i++) fuel_tick(&point->design, &point->sensors, &point->computer);
}

/* Air per second that the fuel of bank 1 belongs to at lambda one. */
static double fuelled_kg_s(const struct idle_point *point) {
  return point->computer.fuel_per_cycle_kg[0] * point->engine.plant.combustion.stoichiometric_ratio *
         point->engine.plant.charge.bank_count * point->sensors.speed_rad_s / (4.0 * UNITS_PI);
}

/* At rest the fuel is the sensor's air over 14.7, wherever the observer began and whatever the true
 * manifold is. */
static void by_air_flow(void **state) {
  (void)state;
  for (double start_pa = 10e3; start_pa < 100e3; start_pa += 20e3) {
    struct idle_point point = flow;
    point.computer.manifold_pa = start_pa;
    point.sensors.manifold_pa = 77e3; // not looked at
    point.sensors.air_flow_kg_s = 2.345e-3;
    ticks(&point, 1000);
    check_relative_at(start_pa, fuelled_kg_s(&point), 2.345e-3, 1e-9);
  }
}

/* Charge by hand: e (s p + y barometer / 101325 Pa) V_d/(R T), T between intake air and walls: T = (m cp T_in + h T_wall)/(m cp +
 * h), with m the charge at T(base). */
static void by_pressure(void **state) {
  (void)state;
  struct idle_point point = pressure;
  const struct plant_params *plant = &point.engine.plant;
  const struct charge_params *charge = &plant->charge;
  const double h = plant->intake.wall_conductance_w_k, cp = 3.5 * 287.05287;
  const double wall_k = 298.15 + plant->intake.wall_warmth_ratio * (363.15 - 298.15);
  const double cycles_per_s = 90.0 / (4.0 * UNITS_PI), p = 32e3;
  double air_kg_s = point.engine.computer.air.base_kg_s;
  for (int i = 0; i < 2; i++) { // once at T(base), once at T of what that gave
    const double t = (air_kg_s * cp * 298.15 + h * wall_k) / (air_kg_s * cp + h);
    const double filled = charge->pressure_slope_ratio * p + charge->pressure_offset_pa * point.sensors.barometer_pa / 101325.0;
    air_kg_s = curve_value(&charge->speed_factor, 90.0) * filled * charge->displacement_m3 / (287.05287 * t) * cycles_per_s;
  }
  point.sensors.air_flow_kg_s = 77e-3; // not looked at
  ticks(&point, 1000);
  check_relative(fuelled_kg_s(&point), air_kg_s, 1e-9);
}

/* Without a believable signal the computer takes the air that it asked for. */
static void lost_sensor(void **state) {
  (void)state;
  struct idle_point point = flow;
  point.computer.air_flow_good = false;
  point.computer.asked_air_kg_s = 3.1e-3;
  point.sensors.air_flow_kg_s = 0.0;
  ticks(&point, 1000);
  check_relative(fuelled_kg_s(&point), 3.1e-3, 1e-9);
}

/* Cold: lambda of the curve, richer after a start and while cranking. No closed loop, so no short trim; the
 * long one counts. */
static void enrichment(void **state) {
  (void)state;
  struct idle_point cold = pressure;
  const struct fuel_params *fuel = &cold.engine.computer.fuel;
  cold.sensors.coolant_k = 273.15;
  cold.sensors.lambda[0] = 1.2;
  ticks(&cold, 6000); // until the wall film stands still
  const double plain = cold.computer.fuel_per_cycle_kg[0];
  assert_false(cold.computer.closed_loop);
  check_close(cold.computer.short_trim[0], 0.0, 0.0);
  const double asked = curve_value(&fuel->lambda, 273.15);
  check_below(asked, 0.95);

  struct idle_point point = cold;
  point.computer.memory.long_trim[0][COMPUTER_CELL_IDLE] = 0.1;
  ticks(&point, 6000);
  check_relative(point.computer.fuel_per_cycle_kg[0] / plain, 1.1, 1e-9);

  point = cold;
  point.computer.mode = COMPUTER_CRANKING;
  ticks(&point, 6000);
  check_relative(point.computer.fuel_per_cycle_kg[0] / plain, 1.0 + fuel->crank_ratio, 1e-9);

  point = cold;
  point.computer.start_fuel_ratio = fuel->start_ratio;
  for (int i = 1; i <= 200; i++) {
    ticks(&point, 1);
    check_close_at(i, point.computer.start_fuel_ratio, fuel->start_ratio * exp(-0.01 * i / fuel->start_decay_s), 1e-12);
  }
  check_above(point.computer.fuel_per_cycle_kg[0], plain);
}

/* Nothing without spark, in limp-home's cut, or when the crank hardly turns; the film then evaporates: m
 * exp(-t/tau). */
static void no_fuel(void **state) {
  (void)state;
  for (int why = 0; why < 3; why++) {
    struct idle_point point = flow;
    point.computer.wall_fuel_kg[0] = 1e-5;
    if (why == 0) point.computer.firing = false;
    if (why == 1) point.computer.fuel_cut = true;
    if (why == 2) point.sensors.speed_rad_s = 4.9;
    ticks(&point, 30);
    check_close_at(why, point.computer.fuel_per_cycle_kg[0], 0.0, 0.0);
    const double tau = curve_value(&point.engine.plant.mixture.wall_time_s, IDLE_POINT_WARM_K);
    check_relative_at(why, point.computer.wall_fuel_kg[0], 1e-5 * exp(-0.3 / tau), 1e-12);
  }
}

/* A lean reading adds fuel, a rich one takes it: short = kp e + I, and with long at rest I = ki e t. */
static void short_trim_sign(void **state) {
  (void)state;
  for (int sign = -1; sign <= 1; sign += 2) {
    struct idle_point point = flow;
    const struct fuel_params *fuel = &point.engine.computer.fuel;
    const double e = 0.05 * sign;
    point.sensors.lambda[0] = 1.0 + e;
    for (int i = 1; i <= 100; i++) {
      ticks(&point, 1);
      // what has moved into the long trim has left the integral
      const double sum = point.computer.short_trim[0] + point.computer.memory.long_trim[0][COMPUTER_CELL_IDLE];
      // it moves at the end of a tick, so the short trim shows it one tick later
      const double late = fabs(0.01 * point.computer.short_trim[0] / fuel->long_time_s);
      check_close_at(i, sum, fuel->proportional * e + fuel->integral_1_s * e * 0.01 * i, late + 1e-12);
    }
    assert_true(point.computer.short_trim[0] * sign > 0.0);
    assert_true(point.computer.memory.long_trim[0][COMPUTER_CELL_IDLE] * sign > 0.0);
    struct idle_point plain = flow;
    ticks(&plain, 100);
    assert_true((point.computer.fuel_per_cycle_kg[0] - plain.computer.fuel_per_cycle_kg[0]) * sign > 0.0);
  }
}

/* Both stop at their limits, and come off them at once when the reading turns. */
static void trim_limits(void **state) {
  (void)state;
  for (int sign = -1; sign <= 1; sign += 2) {
    struct idle_point point = flow;
    const struct fuel_params *fuel = &point.engine.computer.fuel;
    point.sensors.lambda[0] = 1.0 + 0.2 * sign;
    ticks(&point, 20000);
    check_close_at(sign, point.computer.short_trim[0], sign * fuel->short_limit_ratio, 1e-12);
    check_close_at(sign, point.computer.memory.long_trim[0][COMPUTER_CELL_IDLE], sign * fuel->long_limit_ratio, 1e-12);
    point.sensors.lambda[0] = 1.0 - 0.02 * sign;
    ticks(&point, 10);
    check_below_at(sign, point.computer.short_trim[0] * sign,
                   fuel->short_limit_ratio - 1e-4); // nothing wound up
  }
}

/* Idle and off idle learn apart; the cell in use is the one that counts. */
static void cells(void **state) {
  (void)state;
  struct idle_point point = flow;
  point.sensors.lambda[0] = 1.05;
  ticks(&point, 1000);
  const double idle = point.computer.memory.long_trim[0][COMPUTER_CELL_IDLE];
  check_above(idle, 0.01);
  check_close(point.computer.memory.long_trim[0][COMPUTER_CELL_OFF_IDLE], 0.0, 0.0);
  point.computer.idling = false;
  point.sensors.lambda[0] = 0.95;
  for (int i = 0; i < 2000; i++) fuel_tick(&point.design, &point.sensors, &point.computer);
  check_close(point.computer.memory.long_trim[0][COMPUTER_CELL_IDLE], idle, 0.0);
  check_below(point.computer.memory.long_trim[0][COMPUTER_CELL_OFF_IDLE], -0.01);
}

/* The oxygen sensor is heeded warm enough, long enough after the start, short of full load; learned only
 * from a warm engine. */
static void closed_loop(void **state) {
  (void)state;
  const struct fuel_params *fuel = &flow.engine.computer.fuel;
  struct idle_point point = flow;
  ticks(&point, 1);
  assert_true(point.computer.closed_loop);
  point.computer.running_s = 0.5 * fuel->closed_loop_delay_s;
  ticks(&point, 1);
  assert_false(point.computer.closed_loop);
  point = flow;
  point.computer.pedal_seen_ratio = fuel->open_loop_pedal_ratio;
  ticks(&point, 1);
  assert_false(point.computer.closed_loop);
  point = flow;
  point.sensors.coolant_k = fuel->closed_loop_k - 0.1;
  ticks(&point, 1);
  assert_false(point.computer.closed_loop);
  point.sensors.coolant_k = flow.engine.computer.supervision.warm_k - 0.1;
  point.sensors.lambda[0] = 1.1;
  ticks(&point, 100);
  assert_true(point.computer.closed_loop);
  check_above(point.computer.short_trim[0], 0.0);
  check_close(point.computer.memory.long_trim[0][COMPUTER_CELL_IDLE], 0.0, 0.0);
  point = flow;
  point.sensors.frozen = true;
  point.sensors.lambda[0] = 1.1;
  ticks(&point, 100);
  check_close(point.computer.short_trim[0], 0.0, 0.0);
}

/* What it injects, put onto the plant's own wall film, brings into the cylinders what the air of that tick
 * needs, even while the pressure jumps: (1 - X) i + m/tau = wanted. */
static void wall_film_is_made_good(void **state) {
  (void)state;
  struct idle_point point = pressure;
  const struct mixture_params *mixture = &point.engine.plant.mixture;
  const double cycles_per_s = 90.0 / (4.0 * UNITS_PI);
  ticks(&point, 1000);
  const double before = point.computer.fuel_per_cycle_kg[0];
  point.sensors.manifold_pa = 45e3;
  ticks(&point, 1); // takes the pressure for the next tick
  const double wall = point.computer.wall_fuel_kg[0];
  ticks(&point, 1);
  const double injected = point.computer.fuel_per_cycle_kg[0] * cycles_per_s;
  const double drawn = mixture_delivered_kg_s(mixture, injected, wall, IDLE_POINT_WARM_K);
  struct idle_point later = point;
  ticks(&later, 1000);
  check_relative(drawn, later.computer.fuel_per_cycle_kg[0] * cycles_per_s,
                 1e-9); // what 45 kPa need in the long run
  check_above(point.computer.fuel_per_cycle_kg[0],
              1.05 * later.computer.fuel_per_cycle_kg[0]); // the wall took its share
  check_above(later.computer.fuel_per_cycle_kg[0], 1.2 * before);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(by_air_flow), cmocka_unit_test(by_pressure),
      cmocka_unit_test(lost_sensor), cmocka_unit_test(enrichment),
      cmocka_unit_test(no_fuel),     cmocka_unit_test(short_trim_sign),
      cmocka_unit_test(trim_limits), cmocka_unit_test(cells),
      cmocka_unit_test(closed_loop), cmocka_unit_test(wall_film_is_made_good),
  };
  return cmocka_run_group_tests(tests, set_up, NULL);
}
