#include "sim/exchange.h"

#include "base/bounds.h"
#include "base/root.h"
#include "car/battery.h"
#include "control/actuate.h"
#include "control/position.h"
#include "plant/blade.h"

#include <math.h>
#include <string.h>

enum { LET_GO_TICK_MAX = 300, POSITION_ITERATION_MAX = 30, WALK_STEP_MAX = 4000, WALK_ITERATION_MAX = 60 };
#define POSITION_TOLERANCE_RAD 1e-12                      // of 0.04: far below what speed feels
#define WALK_STEP_RAD          (0.03 * UNITS_RAD_PER_DEG) // a twentieth of a worn spot's half-width
enum { PATTERN_SAMPLES = 64 };                            // the bump is smooth: its mean is exact to rounding with far fewer
#define JAMMED_NM           50.0                          // more than any motor has
#define FACED_ALIKE_RATIO   0.002                         // a tenth of a micrometre of 50
#define BYPASS_PARKED_RATIO 0.5                           // of its travel; common practice, no source
#define SLIDE_SHARE         0.7                           // what sticks slides with less; usual for dry friction

/* Ambient pressure, formed anew only when what it comes from has changed. */
static double ambient_pa(struct vehicle *vehicle) {
  const struct conditions *c = &vehicle->conditions;
  const bool same = vehicle->ambient_pa > 0.0 && vehicle->ambient_altitude_m >= c->altitude_m &&
                    vehicle->ambient_altitude_m <= c->altitude_m && vehicle->ambient_given_pa >= c->ambient_pa &&
                    vehicle->ambient_given_pa <= c->ambient_pa;
  if (!same) {
    vehicle->ambient_pa = conditions_ambient_pa(c);
    vehicle->ambient_altitude_m = c->altitude_m;
    vehicle->ambient_given_pa = c->ambient_pa;
  }
  return vehicle->ambient_pa;
}

static double track_v(const struct vehicle *vehicle, enum circuit circuit) {
  const struct throttle_params *throttle = &vehicle->engine->plant.throttle;
  return circuits_track_v(throttle, &vehicle->conditions.circuit_faults, circuit,
                          vehicle->state.blade_rad - throttle->bore.closed_angle_rad, vehicle->pedal_ratio);
}

double exchange_bypass_steps(const struct vehicle *vehicle) {
  const bool moves = circuits_bypass_moves(&vehicle->conditions.circuit_faults);
  return moves ? vehicle->computer.bypass_steps : BYPASS_PARKED_RATIO * vehicle->engine->plant.bypass.step_count;
}

double exchange_load_w(const struct conditions *c) { return c->charging_v > c->battery_v ? c->electrical_load_w : 0.0; }

double exchange_alternator_w(const struct vehicle *vehicle) {
  if (!vehicle->inputs.firing) return 0.0;
  return exchange_load_w(&vehicle->conditions) *
         loads_alternator_share(&vehicle->engine->plant.loads, vehicle->state.crank_speed_rad_s);
}

static double battery_now_v(const struct vehicle *vehicle) {
  const double speed = vehicle->state.crank_speed_rad_s;
  const double share = vehicle->inputs.firing ? loads_alternator_share(&vehicle->engine->plant.loads, speed) : 0.0;
  return battery_terminal_v(vehicle->conditions.battery_v, vehicle->conditions.charging_v, share, vehicle->inputs.starter);
}

void exchange_read_engine(const struct vehicle *vehicle, struct computer_sensors *sensors) {
  const struct sensor_faults *faults = &vehicle->conditions.sensor_faults;
  sensors->speed_rad_s = vehicle->state.crank_speed_rad_s;
  sensors->air_flow_kg_s = sensors_air_flow_kg_s(faults, vehicle->state.air_sensor_kg_s);
  sensors->manifold_pa =
      sensors_pressure_pa(faults, vehicle->state.manifold_pressure_pa + vehicle->engine->plant.intake.pressure_sensor_pa);
  sensors->alternator_w = exchange_alternator_w(vehicle);
  for (int bank = 0; bank < PLANT_BANK_MAX; bank++) sensors->lambda[bank] = vehicle->sensors.lambda[bank];
}

struct computer_sensors exchange_sensors(struct vehicle *vehicle) {
  const struct conditions *c = &vehicle->conditions;
  const struct sensor_faults *faults = &c->sensor_faults;
  struct computer_sensors sensors = {
      .key = vehicle->key,
      .coolant_k = vehicle->state.coolant_k + faults->coolant_bias_k,
      .intake_k = c->intake_k + faults->intake_bias_k,
      .barometer_pa = ambient_pa(vehicle),
      .track_v = {track_v(vehicle, CIRCUIT_TRACK1), track_v(vehicle, CIRCUIT_TRACK2)},
      .pedal_v = {track_v(vehicle, CIRCUIT_PEDAL1), track_v(vehicle, CIRCUIT_PEDAL2)},
      .battery_v = battery_now_v(vehicle),
      .field_w = exchange_load_w(c),
      .motor_v = vehicle->motor_v,
      .motor_a = vehicle->motor_a,
      .bypass_low = c->circuit_faults.bypass_grounded > 0.5,
      .bypass_high = c->circuit_faults.bypass_shorted > 0.5,
      .bypass_open = c->circuit_faults.bypass_open > 0.5,
      .compressor_request = c->compressor_request > 0.5,
      .drive_selected = c->drive_selected > 0.5,
      .steering = c->steering_ratio > 0.2, // the switch closes at a fifth of full pressure
      .frozen = c->controller_frozen > 0.5,
      .learned_frozen = c->learned_frozen > 0.5,
      .spark_frozen = c->spark_frozen > 0.5,
  };
  exchange_read_engine(vehicle, &sensors);
  sensors.air_flow_v = circuits_air_flow_v(&c->circuit_faults, sensors.air_flow_kg_s);
  return sensors;
}

/* Cylinder 1 pushes for one share of the engine cycle: a smooth bump over the crank angle, mean 1. */
static double cylinder1_pattern(const struct vehicle *vehicle) {
  const double sharpness = 0.5 * vehicle->engine->plant.charge.cylinder_count; // as wide as one cylinder's share
  double mean = 0.0;
  for (int i = 0; i < PATTERN_SAMPLES; i++) mean += exp(sharpness * cos(2.0 * UNITS_PI * i / PATTERN_SAMPLES));
  return exp(sharpness * cos(0.5 * vehicle->firing_rad)) * PATTERN_SAMPLES / mean;
}

/* A sticking blade stays where it is until the command has gone further than the stick, and then follows it. */
static double stuck_command_rad(struct vehicle *vehicle, double command_rad) {
  const double stick = vehicle->conditions.blade_stick_rad;
  if (fabs(command_rad - vehicle->stick_rad) >= stick) vehicle->stick_rad = command_rad;
  return vehicle->stick_rad;
}

/* Where the blade is told to go: by the computer, or by the pedal's cable. */
static double told_rad(const struct vehicle *vehicle) {
  const struct plant_params *plant = &vehicle->engine->plant;
  if (plant->throttle.kind == THROTTLE_CABLE)
    return actuate_with_pedal_rad(&vehicle->design, vehicle->pedal_ratio, plant_rest_angle_rad(plant));
  return vehicle->computer.blade_command_rad + vehicle->conditions.position_offset_rad;
}

/* The same with what sticks. Only a cable or an ideal loop can be stuck by its command; with a drive, friction does it. */
static double blade_command_rad(struct vehicle *vehicle) {
  const struct plant_params *plant = &vehicle->engine->plant;
  const double command = told_rad(vehicle);
  if (blade_has_drive(plant)) return command;
  if (vehicle->conditions.blade_jammed > 0.5) return vehicle->stick_rad;
  const double closed = plant->throttle.bore.closed_angle_rad;
  return stuck_command_rad(vehicle, bounds_clamp(command, closed, 0.5 * UNITS_PI));
}

/* Film that the edge of the half which opens downstream faces; it changes with film and blade only. Its share of the film hangs so
 * little on the film that a growing one may wait for a new look. */
static double faced_film_m(struct vehicle *vehicle) {
  const double film_m = vehicle->conditions.film_m, blade_rad = vehicle->state.blade_rad;
  if (film_m <= 0.0) return 0.0;
  const bool same = fabs(vehicle->faced_of_film_m - film_m) <= FACED_ALIKE_RATIO * film_m &&
                    vehicle->faced_of_blade_rad >= blade_rad && vehicle->faced_of_blade_rad <= blade_rad;
  if (!same) {
    const struct throttle_params *throttle = &vehicle->engine->plant.throttle;
    const struct bore_film film = {film_m, vehicle->conditions.edge_film_m};
    vehicle->faced_ratio =
        bore_section_at(&throttle->bore, &throttle->film_shape, &film, blade_rad, 0.5 * UNITS_PI).film_m / film_m;
    vehicle->faced_of_film_m = film_m;
    vehicle->faced_of_blade_rad = blade_rad;
  }
  return vehicle->faced_ratio * film_m;
}

/* Friction of the blade now. A film makes it stick while the edge lies in it: as thick as it is where the edge of the half that
 * opens downstream stands. A sticking blade is given as the angle that the command must run ahead: friction over the loop's
 * proportional gain. */
static void hold_drive(struct vehicle *vehicle) {
  const struct conditions *c = &vehicle->conditions;
  const struct plant_params *plant = &vehicle->engine->plant;
  struct plant_inputs *inputs = &vehicle->inputs;
  const struct drive_params *drive = &plant->drive;
  inputs->drive_powered = vehicle->computer.drive_powered && c->motor_supply_lost < 0.5;
  inputs->position_error_rad = vehicle->computer.blade_seen_rad - vehicle->state.blade_rad;
  inputs->motor_supply_v = battery_now_v(vehicle);
  inputs->hand_nm = c->hand_nm;
  if (!blade_has_drive(plant)) return;
  inputs->holding_v = drive_holding_v(drive, inputs->blade_command_rad - plant->throttle.bore.closed_angle_rad);
  const double natural = plant->throttle.natural_frequency_rad_s;
  const double added =
      drive->film_stick_nm_m * faced_film_m(vehicle) + drive->inertia_kg_m2 * natural * natural * c->blade_stick_rad;
  inputs->stick_nm = drive->stick_nm + added + (c->blade_jammed > 0.5 ? JAMMED_NM : 0.0);
  inputs->slide_nm = drive->slide_nm + SLIDE_SHARE * added + (c->blade_jammed > 0.5 ? JAMMED_NM : 0.0);
  if (!inputs->drive_powered) vehicle->state.drive_integral_v = 0.0;
}

static void hold(struct vehicle *vehicle) {
  const struct conditions *c = &vehicle->conditions;
  const struct bore_film film = {c->film_m, c->edge_film_m};
  film_bore_set(&vehicle->film_bore, &film);
  struct plant_inputs *inputs = &vehicle->inputs;
  inputs->bore = &vehicle->film_bore.table;
  inputs->blade_command_rad = blade_command_rad(vehicle);
  inputs->bypass_steps = exchange_bypass_steps(vehicle);
  hold_drive(vehicle);
  memcpy(inputs->fuel_per_cycle_kg, vehicle->computer.fuel_per_cycle_kg, sizeof inputs->fuel_per_cycle_kg);
  inputs->purge_ratio = vehicle->computer.purge_ratio;
  inputs->spark_rad = vehicle->computer.spark_rad;
  inputs->firing = vehicle->computer.firing;
  inputs->starter = vehicle->computer.starter;
  inputs->compressor_clutch = vehicle->computer.compressor_clutch;
  inputs->ambient_pa = ambient_pa(vehicle);
  inputs->ambient_k = c->intake_k;
  inputs->drive_engaged = c->drive_selected;
  inputs->steering_ratio = c->steering_ratio;
  inputs->electrical_load_w = exchange_load_w(c);
  inputs->starter_ratio = battery_starter_ratio(c->battery_v);
  inputs->warmth_held = c->warmth_held > 0.5;
  inputs->faults = c->faults;
}

void exchange_hold(struct vehicle *vehicle) {
  struct plant_inputs *inputs = &vehicle->inputs;
  hold(vehicle);
  inputs->scatter = vehicle->scatter;
  const struct plant_faults *faults = &inputs->faults;
  const bool apart = faults->spark_missing_ratio > 0.0 || faults->cylinder_loss_ratio > 0.0;
  inputs->cylinder1_pattern = apart ? cylinder1_pattern(vehicle) : 1.0;
  inputs->no_spark_ratio = vehicle->spark_draw < faults->spark_missing_ratio ? 1.0 : 0.0;
  plant_release(&vehicle->engine->plant, inputs, &inputs->mode, &vehicle->state);
}

void exchange_rest(struct vehicle *vehicle) {
  struct plant_inputs *inputs = &vehicle->inputs;
  hold(vehicle);
  vehicle->scatter = inputs->scatter = 0.0;
  inputs->cylinder1_pattern = 1.0;
  inputs->no_spark_ratio = inputs->faults.spark_missing_ratio;
  const bool drive = blade_has_drive(&vehicle->engine->plant);
  inputs->mode = (struct plant_mode){.crank_held = !vehicle->computer.firing, .blade = drive ? BLADE_HELD : BLADE_FREE};
}

/* What the position sensor shows less where the blade is. */
static double seen_error_rad(struct vehicle *vehicle) {
  const struct computer_sensors sensors = {.track_v = {track_v(vehicle, CIRCUIT_TRACK1), track_v(vehicle, CIRCUIT_TRACK2)}};
  position_read_blade(&vehicle->design, &sensors, &vehicle->computer);
  return vehicle->computer.blade_seen_rad - vehicle->state.blade_rad;
}

/* Command less what is seen with the blade at an angle. */
static double off_rad(double angle_rad, void *user) {
  struct vehicle *vehicle = user;
  vehicle->state.blade_rad = angle_rad;
  return vehicle->inputs.blade_command_rad - angle_rad - seen_error_rad(vehicle);
}

/* Past a worn spot one reading stands for several angles: the loop takes the blade to the first on its way. */
static void walk_blade(struct vehicle *vehicle) {
  static const struct root_limits limits = {POSITION_TOLERANCE_RAD, POSITION_TOLERANCE_RAD, WALK_ITERATION_MAX};
  const double closed = vehicle->engine->plant.throttle.bore.closed_angle_rad;
  double last = vehicle->state.blade_rad, last_off = off_rad(last, vehicle);
  const double step = last_off > 0.0 ? WALK_STEP_RAD : -WALK_STEP_RAD;
  for (int i = 0; i < WALK_STEP_MAX && last > closed - WALK_STEP_RAD && last < 0.5 * UNITS_PI + WALK_STEP_RAD; i++) {
    const double next = last + step, off = off_rad(next, vehicle);
    if (off * last_off <= 0.0) {
      last = root_between(off_rad, vehicle, last, last_off, next, off, &limits);
      break;
    }
    last = next;
    last_off = off;
  }
  vehicle->state.blade_rad = last;
}

/* Springs and friction have the blade: it goes from where it stands, friction being that of where it is. */
static void let_blade_go(struct vehicle *vehicle) {
  struct plant_inputs *inputs = &vehicle->inputs;
  inputs->mode.blade = BLADE_HELD;
  vehicle->state.blade_rate_rad_s = vehicle->state.drive_integral_v = 0.0;
  for (int i = 0; i < LET_GO_TICK_MAX && (i == 0 || inputs->mode.blade != BLADE_HELD); i++) {
    hold_drive(vehicle);
    blade_let_go(&vehicle->engine->plant, COMPUTER_PERIOD_S, inputs, &vehicle->state);
  }
  const bool swings = inputs->mode.blade != BLADE_HELD; // without friction for ever: in the mean where its springs meet
  if (swings) vehicle->state.blade_rad = plant_rest_angle_rad(&vehicle->engine->plant);
  inputs->mode.blade = BLADE_HELD;
}

void exchange_blade_rest(struct vehicle *vehicle, struct computer_sensors *sensors) {
  const struct plant_params *plant = &vehicle->engine->plant;
  struct plant_inputs *inputs = &vehicle->inputs;
  if (plant->throttle.kind == THROTTLE_CABLE) { // the foot moves it, and the computer reads the pedal off it
    inputs->blade_command_rad = told_rad(vehicle);
    blade_rest(plant, inputs, &vehicle->state);
  }
  for (int i = 0; i < 2; i++) {
    sensors->track_v[i] = track_v(vehicle, i == 0 ? CIRCUIT_TRACK1 : CIRCUIT_TRACK2);
    sensors->pedal_v[i] = track_v(vehicle, i == 0 ? CIRCUIT_PEDAL1 : CIRCUIT_PEDAL2);
  }
  computer_rest(&vehicle->design, sensors, &vehicle->computer);
  inputs->blade_command_rad = told_rad(vehicle);
  inputs->bypass_steps = exchange_bypass_steps(vehicle);
  inputs->drive_powered = vehicle->computer.drive_powered && vehicle->conditions.motor_supply_lost < 0.5;
  inputs->compressor_clutch = vehicle->computer.compressor_clutch;
  if (!blade_has_drive(plant)) {
    blade_rest(plant, inputs, &vehicle->state);
    if (plant->throttle.kind == THROTTLE_ELECTRONIC) seen_error_rad(vehicle);
    return;
  }
  inputs->holding_v = drive_holding_v(&plant->drive, inputs->blade_command_rad - plant->throttle.bore.closed_angle_rad);
  const double read_at_rad = vehicle->state.blade_rad;
  if (!blade_is_driven(inputs))
    let_blade_go(vehicle);
  else if (!circuits_blade_smooth(&vehicle->conditions.circuit_faults))
    walk_blade(vehicle);
  const bool moved = vehicle->state.blade_rad < read_at_rad || vehicle->state.blade_rad > read_at_rad;
  inputs->position_error_rad = moved ? seen_error_rad(vehicle) : vehicle->computer.blade_seen_rad - read_at_rad;
  for (int i = 0; i < POSITION_ITERATION_MAX; i++) { // the sensor's error depends on where the blade is
    const double before = inputs->position_error_rad;
    blade_rest(plant, inputs, &vehicle->state);
    inputs->position_error_rad = seen_error_rad(vehicle);
    if (fabs(inputs->position_error_rad - before) < POSITION_TOLERANCE_RAD) break;
  }
  vehicle->motor_v = blade_motor_v(plant, inputs, &vehicle->state);
  vehicle->motor_a = blade_motor_a(plant, inputs, &vehicle->state);
}

void exchange_learn_closed(struct vehicle *vehicle, double kept_ratio) {
  const struct throttle_params *throttle = &vehicle->engine->plant.throttle;
  if (!blade_has_drive(&vehicle->engine->plant)) return;
  for (int i = 0; i < 2; i++) {
    const double volts =
        circuits_track_v(throttle, &vehicle->conditions.circuit_faults, i == 0 ? CIRCUIT_TRACK1 : CIRCUIT_TRACK2, 0.0, 0.0);
    const double design_v = POSITION_SUPPLY_V * (i == 0 ? throttle->closed_position_ratio : throttle->closed2_position_ratio);
    if (fabs(volts - design_v) < POSITION_CLOSED_WINDOW_V)
      vehicle->computer.memory.closed_ratio[i] = (volts - kept_ratio * (volts - design_v)) / POSITION_SUPPLY_V;
  }
}

void exchange_sample(const struct vehicle *vehicle, double time_s, double roughness_rad_s, double values[CHANNEL_COUNT]) {
  struct plant_signals signals;
  plant_signals(&vehicle->engine->plant, &vehicle->inputs, &vehicle->state, &signals);
  const struct snapshot snapshot = {
      .time_s = time_s,
      .plant = &vehicle->engine->plant,
      .design = &vehicle->design,
      .conditions = &vehicle->conditions,
      .inputs = &vehicle->inputs,
      .state = &vehicle->state,
      .signals = &signals,
      .motor_v = blade_has_drive(&vehicle->engine->plant)
                     ? blade_motor_v(&vehicle->engine->plant, &vehicle->inputs, &vehicle->state)
                     : 0.0,
      .motor_a = blade_has_drive(&vehicle->engine->plant)
                     ? blade_motor_a(&vehicle->engine->plant, &vehicle->inputs, &vehicle->state)
                     : 0.0,
      .computer = &vehicle->computer,
      .sensors = &vehicle->sensors,
      .clean_area_m2 = bore_table_area_m2(&vehicle->design.clean_bore, vehicle->state.blade_rad),
      .closed_gap_m2 = bore_table_area_m2(&vehicle->film_bore.table, vehicle->engine->plant.throttle.bore.closed_angle_rad),
      .speed_sd_rad_s = roughness_rad_s,
      .pedal_ratio = vehicle->pedal_ratio,
      .battery_v = battery_now_v(vehicle),
      .track_v = {track_v(vehicle, CIRCUIT_TRACK1), track_v(vehicle, CIRCUIT_TRACK2), track_v(vehicle, CIRCUIT_PEDAL1),
                  track_v(vehicle, CIRCUIT_PEDAL2)},
  };
  channels_sample(&snapshot, values);
}
