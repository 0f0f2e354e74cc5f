/* sim/sensors: delay in engine cycles, lag, limits. Truth: docs/physics.md section 7, closed solutions. */
#include "support/check.h"

#include "base/units.h"
#include "car/sensors.h"

#define CYCLE_RAD (4.0 * UNITS_PI)

struct rig {
  struct plant_params plant;
  struct fuel_params fuel;
  struct sensors sensors;
};

static void rig_init(struct rig *rig, int banks, double delay_cycles, double lag_s) {
  *rig = (struct rig){.plant.charge.bank_count = banks, .fuel = {.sensor_delay_cycles = delay_cycles, .sensor_lag_s = lag_s}};
  sensors_init(&rig->sensors);
}

static void tick(struct rig *rig, double lambda1, double lambda2, double speed_rad_s, bool firing) {
  const double lambda[PLANT_BANK_MAX] = {lambda1, lambda2};
  sensors_tick(&rig->sensors, &rig->plant, &rig->fuel, lambda, speed_rad_s, firing);
}

/* Ticks from a step of lambda to its answer. A lag far below a tick follows at once. */
static int answer_ticks(double delay_cycles, double cycle_s) {
  static struct rig rig;
  rig_init(&rig, 1, delay_cycles, 1e-5);
  for (int i = 0; i < 600; i++) tick(&rig, 1.0, 1.0, CYCLE_RAD / cycle_s, true);
  int ticks = 0;
  for (tick(&rig, 1.2, 1.0, CYCLE_RAD / cycle_s, true); rig.sensors.lambda[0] < 1.1 && ticks < 2000; ticks++)
    tick(&rig, 1.2, 1.0, CYCLE_RAD / cycle_s, true);
  return ticks;
}

/* Two cycles of 0.1 s are 20 ticks; of 0.2 s, at half the speed, 40. 511 ticks are the most that is kept. */
static void delay(void **state) {
  (void)state;
  assert_int_equal(answer_ticks(2.0, 0.1), 20);
  assert_int_equal(answer_ticks(2.0, 0.2), 40);
  assert_int_equal(answer_ticks(0.0, 0.1), 0);
  assert_int_equal(answer_ticks(10.0, 1.0), 511); // 1000 by the formula
}

/* y = 1 + 0.2 (1 - exp(-t/tau)), exact at every tick. */
static void lag(void **state) {
  (void)state;
  static struct rig rig;
  rig_init(&rig, 1, 0.0, 0.1);
  for (int i = 1; i <= 100; i++) {
    tick(&rig, 1.2, 1.0, 90.0, true);
    check_close_at(i, rig.sensors.lambda[0], 1.0 + 0.2 * (1.0 - exp(-0.1 * i)), 1e-13);
  }
}

/* Plain air reads 2 and no more; each bank for itself. */
static void limits_and_banks(void **state) {
  (void)state;
  static struct rig rig;
  rig_init(&rig, 2, 0.0, 1e-5);
  tick(&rig, 0.9, 1.1, 90.0, true);
  check_close(rig.sensors.lambda[0], 0.9, 1e-12);
  check_close(rig.sensors.lambda[1], 1.1, 1e-12);
  tick(&rig, 50.0, 1.1, 90.0, true);
  check_close(rig.sensors.lambda[0], 2.0, 1e-12);
  tick(&rig, 1.0, 1.0, 90.0, false);
  check_close(rig.sensors.lambda[0], 2.0, 1e-12);
  check_close(rig.sensors.lambda[1], 2.0, 1e-12);
}

/* 1.1 * 3 - 0.5 = 2.8 g/s; never below nothing. */
static void air_flow(void **state) {
  (void)state;
  const struct sensor_faults faults = {.air_flow_gain_ratio = 1.1, .air_flow_offset_kg_s = -0.5e-3};
  check_relative(sensors_air_flow_kg_s(&faults, 3e-3), 2.8e-3, 1e-13);
  check_close(sensors_air_flow_kg_s(&faults, 0.2e-3), 0.0, 0.0);
}

/* 35 kPa and 12 more; an offset never takes it beyond what the signal can show. */
static void pressure(void **state) {
  (void)state;
  struct sensor_faults faults = {.pressure_offset_pa = 12e3};
  check_relative(sensors_pressure_pa(&faults, 35e3), 47e3, 1e-13);
  check_close(sensors_pressure_pa(&faults, 109e3), 120e3, 0.0);
  faults.pressure_offset_pa = -30e3;
  check_close(sensors_pressure_pa(&faults, 29.44e3), 10e3, 0.0);
  check_relative(sensors_pressure_pa(&faults, 101.325e3), 71.325e3, 1e-13);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(delay), cmocka_unit_test(lag), cmocka_unit_test(limits_and_banks),
                                     cmocka_unit_test(air_flow), cmocka_unit_test(pressure)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
