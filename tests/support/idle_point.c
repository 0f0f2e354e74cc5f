#include "support/idle_point.h"

#include "base/units.h"
#include "car/conditions.h"
#include "io/config/engine_file.h"
#include "support/check.h"

#include <stdio.h>

static void set_inputs(struct idle_point *point) {
  struct conditions sound;
  conditions_init(&sound);
  const struct plant_params *plant = &point->engine.plant;
  point->inputs = (struct plant_inputs){
      .mode = {.blade = BLADE_HELD},
      .bore = &point->design.clean_bore,
      .spark_rad = point->engine.computer.spark.base_rad,
      .firing = true,
      .ambient_pa = IDLE_POINT_AMBIENT_PA,
      .ambient_k = IDLE_POINT_AMBIENT_K,
      .electrical_load_w = 300.0,
      .starter_ratio = 1.0,
      .motor_supply_v = 14.0,
      .faults = sound.faults,
      .cylinder1_pattern = 1.0,
  };
  point->inputs.blade_command_rad = point->state.blade_rad;
  for (int bank = 0; bank < plant->charge.bank_count; bank++)
    point->inputs.fuel_per_cycle_kg[bank] =
        point->state.burning_air_kg / plant->combustion.stoichiometric_ratio / plant->charge.bank_count;
}

static void set_state(struct idle_point *point) {
  const struct plant_params *plant = &point->engine.plant;
  struct plant_state *s = &point->state;
  plant_state_at_rest(IDLE_POINT_MANIFOLD_PA, IDLE_POINT_MANIFOLD_K, IDLE_POINT_WARM_K, IDLE_POINT_WARM_K,
                      plant->throttle.bore.closed_angle_rad + 2.0 * UNITS_RAD_PER_DEG, s);
  s->crank_speed_rad_s = IDLE_POINT_SPEED_RAD_S;
  s->burning_air_kg =
      charge_air_per_cycle_kg(&plant->charge, IDLE_POINT_MANIFOLD_PA, 101325.0, IDLE_POINT_MANIFOLD_K, IDLE_POINT_SPEED_RAD_S);
  const double fuel_kg = s->burning_air_kg / plant->combustion.stoichiometric_ratio;
  s->burning_fuel1_kg = fuel_kg / plant->charge.bank_count;
  if (plant->charge.bank_count == 2) s->burning_fuel2_kg = s->burning_fuel1_kg;
  s->air_sensor_kg_s = point->engine.computer.air.base_kg_s;
}

static void set_sensors(struct idle_point *point) {
  const struct throttle_params *throttle = &point->engine.plant.throttle;
  const double span = 0.5 * UNITS_PI - throttle->bore.closed_angle_rad;
  const double travel = (point->state.blade_rad - throttle->bore.closed_angle_rad) / span;
  point->sensors = (struct computer_sensors){
      .key = KEY_ON,
      .speed_rad_s = IDLE_POINT_SPEED_RAD_S,
      .coolant_k = IDLE_POINT_WARM_K,
      .intake_k = IDLE_POINT_AMBIENT_K,
      .barometer_pa = IDLE_POINT_AMBIENT_PA,
      .air_flow_kg_s = point->engine.computer.air.base_kg_s,
      .manifold_pa = IDLE_POINT_MANIFOLD_PA,
      .lambda = {1.0, 1.0},
      .pedal_v = {5.0 * throttle->released_pedal_ratio[0], 5.0 * throttle->released_pedal_ratio[1]},
      .battery_v = 14.0,
      .air_flow_v = 1.9,
  };
  const double closed[2] = {throttle->closed_position_ratio, throttle->closed2_position_ratio};
  const double open[2] = {throttle->open_position_ratio, throttle->open2_position_ratio};
  for (int i = 0; i < 2; i++) point->sensors.track_v[i] = 5.0 * (closed[i] + (open[i] - closed[i]) * travel);
}

void idle_point_init(struct idle_point *point, const char *model) {
  struct error error;
  error_clear(&error);
  *point = (struct idle_point){0};
  char path[128];
  snprintf(path, sizeof path, "models/%.80s.cfg", model);
  if (engine_file_read(path, &point->engine, &error) != STATUS_OK) fail_msg("%s", error.text);
  computer_design_init(&point->design, &point->engine.computer, &point->engine.plant);
  set_state(point);
  set_inputs(point);
  set_sensors(point);
  computer_init_running(&point->computer, &point->design, &point->sensors);
  point->computer.air_flow_good = true;
}

struct plant_signals idle_point_signals(const struct idle_point *point) {
  struct plant_signals signals;
  plant_signals(&point->engine.plant, &point->inputs, &point->state, &signals);
  return signals;
}
