#include "sim/exchange.h"

#include "base/bounds.h"
#include "car/battery.h"
#include "control/actuate.h"
#include "control/position.h"
#include "plant/blade.h"

#include <math.h>
#include <string.h>

enum { PATTERN_SAMPLES = 64 }; // the bump is smooth: its mean is exact to rounding with far fewer
#define JAMMED_NM   50.0       // more than any motor has
#define SLIDE_SHARE 0.7        // what sticks slides with less; usual for dry friction

/* Ambient pressure, formed anew only when what it comes from has changed. */
static double ambient_pa(struct simulation *sim) {
  const struct conditions *c = &sim->conditions;
  const bool same = sim->ambient_pa > 0.0 && sim->ambient_altitude_m >= c->altitude_m &&
                    sim->ambient_altitude_m <= c->altitude_m && sim->ambient_given_pa >= c->ambient_pa &&
                    sim->ambient_given_pa <= c->ambient_pa;
  if (!same) {
    sim->ambient_pa = conditions_ambient_pa(c);
    sim->ambient_altitude_m = c->altitude_m;
    sim->ambient_given_pa = c->ambient_pa;
  }
  return sim->ambient_pa;
}

static double track_v(const struct simulation *sim, enum circuit circuit) {
  const struct throttle_params *throttle = &sim->engine->plant.throttle;
  return circuits_track_v(throttle, &sim->conditions.circuit_faults, circuit,
                          sim->state.blade_rad - throttle->bore.closed_angle_rad, sim->pedal_ratio);
}

static double battery_now_v(const struct simulation *sim) {
  const double speed = sim->state.crank_speed_rad_s;
  const double share = sim->inputs.firing ? loads_alternator_share(&sim->engine->plant.loads, speed) : 0.0;
  return battery_terminal_v(sim->conditions.battery_v, share, sim->inputs.starter);
}

struct computer_sensors exchange_sensors(struct simulation *sim) {
  const struct conditions *c = &sim->conditions;
  const struct sensor_faults *faults = &c->sensor_faults;
  const struct circuit_faults *circuits = &c->circuit_faults;
  return (struct computer_sensors){
      .key = sim->key,
      .speed_rad_s = sim->state.crank_speed_rad_s,
      .coolant_k = sim->state.coolant_k + faults->coolant_bias_k,
      .intake_k = c->intake_k + faults->intake_bias_k,
      .barometer_pa = ambient_pa(sim),
      .air_flow_kg_s = sensors_air_flow_kg_s(faults, sim->state.air_sensor_kg_s),
      .air_flow_v = circuits_air_flow_v(circuits, sensors_air_flow_kg_s(faults, sim->state.air_sensor_kg_s)),
      .manifold_pa = sim->state.manifold_pressure_pa + faults->pressure_offset_pa,
      .lambda = {sim->sensors.lambda[0], sim->sensors.lambda[1]},
      .track_v = {track_v(sim, CIRCUIT_TRACK1), track_v(sim, CIRCUIT_TRACK2)},
      .pedal_v = {track_v(sim, CIRCUIT_PEDAL1), track_v(sim, CIRCUIT_PEDAL2)},
      .battery_v = battery_now_v(sim),
      .motor_v = sim->motor_v,
      .motor_a = sim->motor_a,
      .compressor_request = c->compressor_request > 0.5,
      .drive_selected = c->drive_selected > 0.5,
      .steering = c->steering_ratio > 0.2, // the switch closes at a fifth of full pressure
      .frozen = c->controller_frozen > 0.5,
  };
}

/* Cylinder 1 pushes for one share of the engine cycle: a smooth bump over the crank angle, mean 1. */
static double weak_pattern(const struct simulation *sim) {
  const double sharpness = 0.5 * sim->engine->plant.charge.cylinder_count; // as wide as one cylinder's share
  double mean = 0.0;
  for (int i = 0; i < PATTERN_SAMPLES; i++) mean += exp(sharpness * cos(2.0 * UNITS_PI * i / PATTERN_SAMPLES));
  return exp(sharpness * cos(0.5 * sim->firing_rad)) * PATTERN_SAMPLES / mean;
}

/* A sticking blade stays where it is until the command has gone further than the stick, and then follows it. */
static double stuck_command_rad(struct simulation *sim, double command_rad) {
  const double stick = sim->conditions.blade_stick_rad;
  if (fabs(command_rad - sim->stick_rad) >= stick) sim->stick_rad = command_rad;
  return sim->stick_rad;
}

/* Where the blade is told to go: by the computer, or by the pedal's cable. Only a cable or an ideal loop can be stuck by its
 * command; with a drive, friction does it. */
static double blade_command_rad(struct simulation *sim) {
  const struct plant_params *plant = &sim->engine->plant;
  double command = sim->computer.blade_command_rad + sim->conditions.position_offset_rad;
  if (plant->throttle.kind == THROTTLE_CABLE)
    command = actuate_with_pedal_rad(&sim->design, sim->pedal_ratio, plant_rest_angle_rad(plant));
  if (blade_has_drive(plant)) return command;
  if (sim->conditions.blade_jammed > 0.5) return sim->stick_rad;
  const double closed = plant->throttle.bore.closed_angle_rad;
  return stuck_command_rad(sim, bounds_smaller(bounds_larger(command, closed), 0.5 * UNITS_PI));
}

/* Film that the edge of the half which opens downstream faces; it changes with film and blade only. */
static double faced_film_m(struct simulation *sim) {
  const double film_m = sim->conditions.film_m, blade_rad = sim->state.blade_rad;
  if (film_m <= 0.0) return 0.0;
  const bool same = sim->faced_of_film_m >= film_m && sim->faced_of_film_m <= film_m && sim->faced_of_blade_rad >= blade_rad &&
                    sim->faced_of_blade_rad <= blade_rad;
  if (!same) {
    const struct throttle_params *throttle = &sim->engine->plant.throttle;
    const struct bore_film film = {film_m, sim->conditions.edge_film_m};
    sim->faced_film_m = bore_section_at(&throttle->bore, &throttle->film_shape, &film, blade_rad, 0.5 * UNITS_PI).film_m;
    sim->faced_of_film_m = film_m;
    sim->faced_of_blade_rad = blade_rad;
  }
  return sim->faced_film_m;
}

/* Friction of the blade now. A film makes it stick while the edge lies in it: as thick as it is where the edge of the half that
 * opens downstream stands. A sticking blade is given as the angle that the command must run ahead: friction over the loop's
 * proportional gain. */
static void hold_drive(struct simulation *sim) {
  const struct conditions *c = &sim->conditions;
  const struct plant_params *plant = &sim->engine->plant;
  struct plant_inputs *inputs = &sim->inputs;
  const struct drive_params *drive = &plant->drive;
  inputs->drive_powered = sim->computer.drive_powered && c->motor_supply_lost < 0.5;
  inputs->position_error_rad = sim->computer.blade_seen_rad - sim->state.blade_rad;
  inputs->motor_supply_v = battery_now_v(sim);
  inputs->hand_nm = c->hand_nm;
  if (!blade_has_drive(plant)) return;
  inputs->holding_v = drive_holding_v(drive, inputs->blade_command_rad - plant->throttle.bore.closed_angle_rad);
  const double natural = plant->throttle.natural_frequency_rad_s;
  const double added = drive->film_stick_nm_m * faced_film_m(sim) + drive->inertia_kg_m2 * natural * natural * c->blade_stick_rad;
  inputs->stick_nm = drive->stick_nm + added + (c->blade_jammed > 0.5 ? JAMMED_NM : 0.0);
  inputs->slide_nm = drive->slide_nm + SLIDE_SHARE * added + (c->blade_jammed > 0.5 ? JAMMED_NM : 0.0);
  if (!inputs->drive_powered) sim->state.drive_integral_v = 0.0;
}

void exchange_hold(struct simulation *sim) {
  const struct conditions *c = &sim->conditions;
  const struct bore_film film = {c->film_m, c->edge_film_m};
  film_bore_set(&sim->film_bore, &film);
  struct plant_inputs *inputs = &sim->inputs;
  inputs->bore = &sim->film_bore.table;
  inputs->blade_command_rad = blade_command_rad(sim);
  inputs->bypass_steps = sim->computer.bypass_steps;
  hold_drive(sim);
  memcpy(inputs->fuel_per_cycle_kg, sim->computer.fuel_per_cycle_kg, sizeof inputs->fuel_per_cycle_kg);
  inputs->spark_rad = sim->computer.spark_rad;
  inputs->firing = sim->computer.firing;
  inputs->starter = sim->computer.starter;
  inputs->compressor_clutch = sim->computer.compressor_clutch;
  inputs->ambient_pa = ambient_pa(sim);
  inputs->ambient_k = c->intake_k;
  inputs->drive_engaged = c->drive_selected;
  inputs->steering_ratio = c->steering_ratio;
  inputs->electrical_load_w = c->electrical_load_w;
  inputs->starter_ratio = battery_starter_ratio(c->battery_v);
  inputs->warmth_held = c->warmth_held > 0.5;
  inputs->faults = c->faults;
  inputs->scatter = sim->scatter;
  inputs->weak_pattern = c->faults.weak_cylinder_ratio < 1.0 ? weak_pattern(sim) : 1.0;
  plant_release(&sim->engine->plant, inputs, &inputs->mode, &sim->state);
}

void exchange_learn_closed(struct simulation *sim) {
  const struct throttle_params *throttle = &sim->engine->plant.throttle;
  if (!blade_has_drive(&sim->engine->plant)) return;
  for (int i = 0; i < 2; i++) {
    const double volts =
        circuits_track_v(throttle, &sim->conditions.circuit_faults, i == 0 ? CIRCUIT_TRACK1 : CIRCUIT_TRACK2, 0.0, 0.0);
    const double design_v = POSITION_SUPPLY_V * (i == 0 ? throttle->closed_position_ratio : throttle->closed2_position_ratio);
    if (fabs(volts - design_v) < POSITION_CLOSED_WINDOW_V) sim->computer.memory.closed_ratio[i] = volts / POSITION_SUPPLY_V;
  }
}

void exchange_sample(const struct simulation *sim, double roughness_rad_s, double values[CHANNEL_COUNT]) {
  struct plant_signals signals;
  plant_signals(&sim->engine->plant, &sim->inputs, &sim->state, &signals);
  const struct snapshot snapshot = {
      .time_s = simulation_time_s(sim),
      .plant = &sim->engine->plant,
      .design = &sim->design,
      .conditions = &sim->conditions,
      .inputs = &sim->inputs,
      .state = &sim->state,
      .signals = &signals,
      .motor_v = blade_has_drive(&sim->engine->plant) ? blade_motor_v(&sim->engine->plant, &sim->inputs, &sim->state) : 0.0,
      .motor_a = blade_has_drive(&sim->engine->plant) ? blade_motor_a(&sim->engine->plant, &sim->inputs, &sim->state) : 0.0,
      .computer = &sim->computer,
      .sensors = &sim->sensors,
      .clean_area_m2 = bore_table_area_m2(&sim->design.clean_bore, sim->state.blade_rad),
      .closed_gap_m2 = bore_table_area_m2(&sim->film_bore.table, sim->engine->plant.throttle.bore.closed_angle_rad),
      .speed_sd_rad_s = roughness_rad_s,
      .pedal_ratio = sim->pedal_ratio,
      .battery_v = battery_now_v(sim),
      .track_v = {track_v(sim, CIRCUIT_TRACK1), track_v(sim, CIRCUIT_TRACK2), track_v(sim, CIRCUIT_PEDAL1),
                  track_v(sim, CIRCUIT_PEDAL2)},
  };
  channels_sample(&snapshot, values);
}
