/* sim/circuits: voltages of the tracks and of the air-flow sensor. Truth: the divider by hand from each
 * engine file's shares; King's law with its two points (1 V without flow, 4.5 V at 150 g/s). */
#include "support/check.h"
#include "support/fault_table.h"

#include "base/units.h"
#include "car/circuits.h"
#include "car/conditions.h"
#include "io/config/engine_file.h"

#include <stdio.h>

#define DEG UNITS_RAD_PER_DEG

enum { MODEL_MAX = 16 };

static struct engine read_engine(const char *model) {
  char path[128];
  snprintf(path, sizeof path, "models/%s.cfg", model);
  struct engine engine;
  struct error error;
  assert_int_equal(engine_file_read(path, &engine, &error), STATUS_OK);
  return engine;
}

static struct circuit_faults sound(void) {
  struct conditions conditions;
  conditions_init(&conditions);
  return conditions.circuit_faults;
}

static double travel(const struct engine *engine) { return 90.0 * DEG - engine->plant.throttle.bore.closed_angle_rad; }

static double blade_v(const struct engine *engine, const struct circuit_faults *faults, enum circuit circuit, double share) {
  return circuits_track_v(&engine->plant.throttle, faults, circuit, share * travel(engine), 0.0);
}

static void ends_of_travel(void **state) {
  (void)state;
  char models[MODEL_MAX][FAULT_MODEL_SIZE];
  const size_t count = fault_models(models, MODEL_MAX);
  assert_true(count >= 1);
  const struct circuit_faults faults = sound();
  for (size_t k = 0; k < count; k++) {
    const struct engine engine = read_engine(models[k]);
    const struct throttle_params *t = &engine.plant.throttle;
    check_relative(blade_v(&engine, &faults, CIRCUIT_TRACK1, 0.0), 5.0 * t->closed_position_ratio, 1e-12);
    check_relative(blade_v(&engine, &faults, CIRCUIT_TRACK1, 1.0), 5.0 * t->open_position_ratio, 1e-12);
    const double rest = (t->kind == THROTTLE_CABLE ? t->rest_opening_rad : engine.plant.drive.rest_opening_rad) / travel(&engine);
    check_relative(blade_v(&engine, &faults, CIRCUIT_TRACK1, rest),
                   5.0 * (t->closed_position_ratio + rest * (t->open_position_ratio - t->closed_position_ratio)), 1e-12);
    if (t->open2_position_ratio > 0.0) {
      check_relative(blade_v(&engine, &faults, CIRCUIT_TRACK2, 0.0), 5.0 * t->closed2_position_ratio, 1e-12);
      check_relative(blade_v(&engine, &faults, CIRCUIT_TRACK2, 1.0), 5.0 * t->open2_position_ratio, 1e-12);
    } else {
      check_close(blade_v(&engine, &faults, CIRCUIT_TRACK2, 0.5), 0.0, 0.0);
    }
    for (int i = 0; i < 2; i++) { // 0 V where a cable throttle has no pedal sensor
      const enum circuit circuit = i == 0 ? CIRCUIT_PEDAL1 : CIRCUIT_PEDAL2;
      check_relative(circuits_track_v(t, &faults, circuit, 0.0, 0.0), 5.0 * t->released_pedal_ratio[i], 1e-12);
      check_relative(circuits_track_v(t, &faults, circuit, 0.0, 1.0), 5.0 * t->floored_pedal_ratio[i], 1e-12);
    }
  }
}

/* Where track 2 mirrors track 1 the two make 5 V together, wherever the blade stands. */
static void mirrored_tracks_make_the_supply(void **state) {
  (void)state;
  const struct engine engine = read_engine("four-16");
  const struct circuit_faults faults = sound();
  for (double share = 0.0; share <= 1.0; share += 0.05)
    check_close_at(share, blade_v(&engine, &faults, CIRCUIT_TRACK1, share) + blade_v(&engine, &faults, CIRCUIT_TRACK2, share),
                   5.0, 1e-12);
}

/* 250 ohm under a track of 1000: a fifth of the supply is lost under it, 1 V; the rest is divided as before.
 * Closed: 1 + 0.8 * 0.5. */
static void resistance_in_the_ground(void **state) {
  (void)state;
  const struct engine engine = read_engine("four-16");
  struct circuit_faults faults = sound();
  faults.ground_ohm = 250.0;
  check_relative(blade_v(&engine, &faults, CIRCUIT_TRACK1, 0.0), 1.4, 1e-12);
  check_relative(blade_v(&engine, &faults, CIRCUIT_TRACK1, 1.0), 1.0 + 0.8 * 4.5, 1e-12);
  check_relative(blade_v(&engine, &faults, CIRCUIT_TRACK2, 0.0), 1.0 + 0.8 * 4.5, 1e-12);
  check_relative(circuits_track_v(&engine.plant.throttle, &faults, CIRCUIT_PEDAL1, 0.0, 0.0), 0.8,
                 1e-12); // not the pedal's ground
}

/* Supply and ground swapped: the divider stands on its head. */
static void swapped_supply(void **state) {
  (void)state;
  const struct engine engine = read_engine("four-16");
  struct circuit_faults faults = sound();
  faults.supply_swapped = 1.0;
  for (double share = 0.0; share <= 1.0; share += 0.25)
    check_relative_at(share, blade_v(&engine, &faults, CIRCUIT_TRACK1, share), 5.0 - (0.5 + 4.0 * share), 1e-12);
}

static void supply_scales_all(void **state) {
  (void)state;
  const struct engine engine = read_engine("four-16");
  struct circuit_faults faults = sound();
  faults.supply_v = 4.0;
  check_relative(blade_v(&engine, &faults, CIRCUIT_TRACK1, 1.0), 0.8 * 4.5, 1e-12);
  check_relative(circuits_track_v(&engine.plant.throttle, &faults, CIRCUIT_PEDAL1, 0.0, 1.0), 0.8 * 4.2, 1e-12);
}

static void worn_spot_is_local(void **state) {
  (void)state;
  const struct engine engine = read_engine("four-16");
  const struct circuit_faults good = sound();
  struct circuit_faults worn = good;
  worn.track[CIRCUIT_TRACK1].worn_v = 0.4;
  worn.worn_at_rad = 3.0 * DEG;
  const double offs_deg[] = {-3.0, -1.0, -0.35, 0.0, 0.35, 1.0, 20.0};
  const double lost_v[] = {0.0, 0.0, 0.2, 0.4, 0.2, 0.0, 0.0}; // half at half the half-width of 0.7 degrees: cos(pi / 2) = 0
  for (size_t i = 0; i < sizeof offs_deg / sizeof offs_deg[0]; i++) {
    const double opening = (3.0 + offs_deg[i]) * DEG;
    const double clean = circuits_track_v(&engine.plant.throttle, &good, CIRCUIT_TRACK1, opening, 0.0);
    const double now = circuits_track_v(&engine.plant.throttle, &worn, CIRCUIT_TRACK1, opening, 0.0);
    check_close_at(offs_deg[i], clean - now, lost_v[i], 1e-12);
    check_close_at(offs_deg[i], circuits_track_v(&engine.plant.throttle, &worn, CIRCUIT_TRACK2, opening, 0.0),
                   circuits_track_v(&engine.plant.throttle, &good, CIRCUIT_TRACK2, opening, 0.0), 0.0);
  }
}

static void broken_and_shorted_wires(void **state) {
  (void)state;
  const struct engine engine = read_engine("four-16");
  for (int i = 0; i < CIRCUIT_COUNT; i++) {
    struct circuit_faults faults = sound();
    faults.track[i].open = 1.0;
    check_close(circuits_track_v(&engine.plant.throttle, &faults, (enum circuit)i, 0.3, 0.3), 0.0, 0.0);
    faults = sound();
    faults.track[i].shorted_to_ground = 1.0;
    check_close(circuits_track_v(&engine.plant.throttle, &faults, (enum circuit)i, 0.3, 0.3), 0.0, 0.0);
    faults = sound();
    faults.track[i].shorted_to_supply = 1.0;
    check_close(circuits_track_v(&engine.plant.throttle, &faults, (enum circuit)i, 0.3, 0.3), 5.0, 0.0);
    faults = sound();
    faults.track[i].offset_v = 9.0; // never above the supply, never below ground
    check_close(circuits_track_v(&engine.plant.throttle, &faults, (enum circuit)i, 0.3, 0.3), 5.0, 0.0);
    faults.track[i].offset_v = -9.0;
    check_close(circuits_track_v(&engine.plant.throttle, &faults, (enum circuit)i, 0.3, 0.3), 0.0, 0.0);
  }
}

static void hot_wire(void **state) {
  (void)state;
  struct circuit_faults faults = sound();
  check_close(circuits_air_flow_v(&faults, 0.0), 1.0, 1e-12);
  check_close(circuits_air_flow_v(&faults, 0.15), 4.5, 0.005);
  const double volts[] = {circuits_air_flow_v(&faults, 0.001), circuits_air_flow_v(&faults, 0.004),
                          circuits_air_flow_v(&faults, 0.016)};
  // King: V^2 - A grows with the square root of flow, twofold for four times as much
  check_relative((volts[1] * volts[1] - 1.0) / (volts[0] * volts[0] - 1.0), 2.0, 1e-12);
  check_relative((volts[2] * volts[2] - 1.0) / (volts[1] * volts[1] - 1.0), 2.0, 1e-12);
  check_close(circuits_air_flow_v(&faults, 5.0), 4.85, 1e-12); // saturates
  faults.air_flow_open = 1.0;
  check_close(circuits_air_flow_v(&faults, 0.01), 0.0, 0.0);
  faults.air_flow_open = 0.0;
  faults.air_flow_shorted = 1.0;
  check_close(circuits_air_flow_v(&faults, 0.01), 5.0, 0.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(ends_of_travel),           cmocka_unit_test(mirrored_tracks_make_the_supply),
      cmocka_unit_test(resistance_in_the_ground), cmocka_unit_test(swapped_supply),
      cmocka_unit_test(supply_scales_all),        cmocka_unit_test(worn_spot_is_local),
      cmocka_unit_test(broken_and_shorted_wires), cmocka_unit_test(hot_wire),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
