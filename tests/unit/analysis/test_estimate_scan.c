/* What a scan tool's numbers mean on a car. Truth: by hand from positions; SAE J1979's load against manifold over barometer, and against
 * the same without barometer and temperature. */
#include "analysis/estimate/estimate_forward.h"
#include "analysis/estimate/estimate_scan.h"
#include "base/units.h"
#include "io/config/engine_file.h"
#include "support/check.h"

#include <math.h>
#include <stdlib.h>

static struct engine *read_engine(void) {
  struct engine *engine = calloc(1, sizeof *engine);
  struct error error;
  error_clear(&error);
  if (engine_file_read("models/four-16.cfg", engine, &error) != STATUS_OK) fail_msg("%s", error.text);
  return engine;
}

static void predict(const struct engine *engine, double altitude_m, struct estimate_point points[ESTIMATE_CONDITION_COUNT]) {
  struct estimate_forward *forward;
  struct estimate_setting setting;
  struct error error;
  const struct estimate_fault nothing = {0};
  const double z[SCATTER_COUNT] = {0};
  error_clear(&error);
  estimate_setting_init(&setting);
  setting.conditions.altitude_m = altitude_m;
  assert_int_equal(estimate_forward_create(engine, &forward, &error), STATUS_OK);
  estimate_forward_predict(forward, &setting, z, &nothing, ESTIMATE_AT(idle) | ESTIMATE_AT(key_on), points);
  estimate_forward_destroy(forward);
}

static double value(const struct estimate_point *point, enum estimate_quantity quantity) {
  return estimate_quantities[quantity].value(point);
}

/* four-16: position 10 at the stop, 90 wide open 83 degrees further, springs at 4. */
static void positions(void **state) {
  (void)state;
  struct engine *engine = read_engine();
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  const double rest_pct = 10.0 + 80.0 * 4.0 / 83.0;
  predict(engine, 0.0, points);
  const struct estimate_point *idle = &points[ESTIMATE_CONDITION_idle], *key_on = &points[ESTIMATE_CONDITION_key_on];
  const double position = value(idle, ESTIMATE_QUANTITY_tp_pct);
  check_close(value(idle, ESTIMATE_QUANTITY_blade_pct), (position - 10.0) / 0.8, 1e-6);
  engine->computer.scan.relative_definition = COMPUTER_RELATIVE_ABOVE_STOP;
  predict(engine, 0.0, points);
  check_close(value(idle, ESTIMATE_QUANTITY_blade_pct), position - 10.0, 1e-6);
  engine->computer.scan.relative_definition = COMPUTER_RELATIVE_ABOVE_REST;
  engine->computer.scan.key_on_definition = COMPUTER_KEY_ON_REST;
  predict(engine, 0.0, points);
  check_close(value(idle, ESTIMATE_QUANTITY_blade_pct), fmax(position - rest_pct, 0.0), 1e-6);
  check_close(value(key_on, ESTIMATE_QUANTITY_tp_pct), rest_pct, 1e-6);
  check_close(value(key_on, ESTIMATE_QUANTITY_tps1_v), 0.05 * rest_pct, 1e-6);
  check_close(value(key_on, ESTIMATE_QUANTITY_tps2_v), 5.0 - 0.05 * rest_pct, 1e-6);
  engine->computer.scan.relative_zero_ratio = 0.11;
  predict(engine, 0.0, points);
  check_close(value(idle, ESTIMATE_QUANTITY_blade_pct), position - 11.0, 1e-6);
  free(engine);
}

static void loads(void **state) {
  (void)state;
  struct engine *engine = read_engine();
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  double load[3];
  for (int i = 0; i < 3; i++) {
    engine->computer.scan.load_definition = i;
    predict(engine, 1500.0, points);
    load[i] = value(&points[ESTIMATE_CONDITION_idle], ESTIMATE_QUANTITY_load_pct);
  }
  const struct estimate_point *idle = &points[ESTIMATE_CONDITION_idle];
  check_relative(load[COMPUTER_LOAD_PRESSURE_RATIO], 100.0 * value(idle, ESTIMATE_QUANTITY_manifold_kpa) / idle->ambient_kpa,
                 1e-9);
  // standard = sea level / (barometer over 101.325 kPa, root of 298.15 K over the 293.15 K that are drawn in)
  check_relative(load[COMPUTER_LOAD_STANDARD],
                 load[COMPUTER_LOAD_SEA_LEVEL] / (idle->ambient_kpa / 101.325 * sqrt(298.15 / 293.15)), 1e-9);
  free(engine);
}

static void unknown_ones_are_left_out(void **state) {
  (void)state;
  struct engine *engine = read_engine();
  struct estimate_readings readings = {.count = 4,
                                       .readings = {{ESTIMATE_QUANTITY_load_pct, ESTIMATE_CONDITION_idle, 20.0, 1.0},
                                                    {ESTIMATE_QUANTITY_tp_pct, ESTIMATE_CONDITION_idle, 12.0, 1.0},
                                                    {ESTIMATE_QUANTITY_tp_pct, ESTIMATE_CONDITION_key_on, 12.0, 1.0},
                                                    {ESTIMATE_QUANTITY_blade_pct, ESTIMATE_CONDITION_idle, 2.0, 1.0}}};
  estimate_scan_leave_out(engine, &readings);
  assert_int_equal(readings.count, 4);
  engine->computer.scan.load_definition = COMPUTER_LOAD_UNKNOWN;
  engine->computer.scan.relative_definition = COMPUTER_RELATIVE_UNKNOWN;
  engine->computer.scan.key_on_definition = COMPUTER_KEY_ON_UNKNOWN;
  estimate_scan_leave_out(engine, &readings);
  assert_int_equal(readings.count, 1);
  assert_int_equal(readings.left_out, 3);
  assert_int_equal(readings.readings[0].quantity, ESTIMATE_QUANTITY_tp_pct);
  assert_int_equal(readings.readings[0].condition, ESTIMATE_CONDITION_idle);
  free(engine);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(positions), cmocka_unit_test(loads),
                                     cmocka_unit_test(unknown_ones_are_left_out)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
