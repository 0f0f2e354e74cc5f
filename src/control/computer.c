#include "control/computer.h"

#include "base/bounds.h"
#include "base/units.h"
#include "control/actuate.h"
#include "control/fuel.h"
#include "control/idle.h"
#include "control/position.h"
#include "control/supervise.h"

#include <math.h>
#include <string.h>

#define LIMP_PEDAL_RATIO     0.2                       // what reduced power leaves of the pedal
#define LEARN_PUSH_RAD       (0.5 * UNITS_RAD_PER_DEG) // beyond the stop, so that the blade surely lies against it
#define AIR_FLOW_LEAST_V     0.3
#define AIR_FLOW_MOST_V      4.9
#define CRANK_AIR_RATIO      1.6   // blade while cranking, share of base air: an engine needs more to start than to idle
#define WARM_UP_RISE_K       22.0  // 40 degrees F; 13 CCR 1968.2 definition of a warm-up cycle, from memory
#define LOAD_CHANGE_W        60.0  // a pair of headlamp bulbs has 110; less is no new load
#define USUAL_LOAD_S         10.0  // against a mean of so long
#define WARM_UP_REACHED_K    344.0 // 160 degrees F; the same
#define LONG_AGO_S           3600.0
#define COLD_START_SPARK_RAD (10.0 * UNITS_RAD_PER_DEG) // while cranking; usual practice 5 to 10 degrees

const char *const computer_key_names[] = {"off", "on", "start", 0};
const char *const computer_limp_names[] = {"none", "reduced power", "blade on its rest angle", 0};

void computer_design_init(struct computer_design *design, const struct computer_params *params,
                          const struct plant_params *plant) {
  const struct bore_film no_film = {0.0, 0.0};
  bore_table_init(&design->clean_bore, &plant->throttle.bore, &plant->throttle.film_shape, &no_film);
  computer_design_change(design, params, plant);
}

void computer_design_rebase(struct computer_design *design, const struct computer_params *params,
                            const struct plant_params *plant) {
  const struct bore_film no_film = {0.0, 0.0};
  bore_table_init_on_demand(&design->clean_bore, &plant->throttle.bore, &plant->throttle.film_shape, &no_film);
  computer_design_change(design, params, plant);
}

void computer_design_change(struct computer_design *design, const struct computer_params *params,
                            const struct plant_params *plant) {
  design->params = params;
  design->plant = plant;
  design->start_air_keep = exp(-COMPUTER_PERIOD_S / params->air.start_decay_s);
  design->start_fuel_keep = exp(-COMPUTER_PERIOD_S / params->fuel.start_decay_s);
}

/* Closed stop as designed: what a new computer believes. */
static void learned_as_new(const struct computer_design *design, struct computer_state *state) {
  state->memory.closed_ratio[0] = design->plant->throttle.closed_position_ratio;
  state->memory.closed_ratio[1] = design->plant->throttle.closed2_position_ratio;
  state->memory.closed_learned = true;
}

void computer_lose_closed(const struct computer_design *design, struct computer_state *state) {
  learned_as_new(design, state);
  state->memory.closed_learned = false;
}

void computer_init(struct computer_state *state, const struct computer_design *design) {
  *state = (struct computer_state){0};
  state->blade_command_rad = state->idle_blade_rad = plant_rest_angle_rad(design->plant);
  state->motor_current_ratio = state->air_expected_ratio = 1.0;
  learned_as_new(design, state);
}

void computer_init_running(struct computer_state *state, const struct computer_design *design,
                           const struct computer_sensors *sensors) {
  computer_init(state, design);
  state->mode = COMPUTER_RUNNING;
  state->firing = true;
  state->ran_this_cycle = true;
  state->compressor_request = sensors->compressor_request;
  state->compressor_clutch = sensors->compressor_request;
  state->drive_selected = sensors->drive_selected;
  state->usual_load_w = sensors->field_w;
  state->coolant_at_start_k = state->coolant_highest_k = sensors->coolant_k;
  state->running_s = state->settled_s = LONG_AGO_S;
  state->spark_rad = design->params->spark.base_rad;
  state->filtered_speed_rad_s = sensors->speed_rad_s;
  state->manifold_pa = sensors->manifold_pa;
  state->asleep_in_s = design->plant->drive.awake_s;
  state->drive_powered = true;
  state->key_on_s = LONG_AGO_S;
  idle_tick(design, sensors, state);
  state->blade_command_rad = state->idle_blade_rad;
}

static void start_cycle(struct computer_state *state, const struct computer_sensors *sensors) {
  state->running_s = state->settled_s = 0.0;
  state->integral_ratio = state->effort_ratio = 0.0;
  state->filtered_speed_rad_s = sensors->speed_rad_s;
  state->ran_this_cycle = true;
  state->coolant_at_start_k = state->coolant_highest_k = sensors->coolant_k;
}

static void key_off(struct computer_state *state) {
  if (state->ran_this_cycle) {
    const bool warmed_up =
        state->coolant_highest_k >= WARM_UP_REACHED_K && state->coolant_highest_k - state->coolant_at_start_k >= WARM_UP_RISE_K;
    monitors_end_cycle(&state->memory.monitors, warmed_up);
    state->ran_this_cycle = false;
  }
  state->integral_ratio = state->effort_ratio = 0.0;
}

/* Key and crank speed decide what the computer is doing. The key springs back from start by itself; the starter lets go
 * when the engine runs. */
static void choose_mode(const struct computer_design *design, const struct computer_sensors *sensors,
                        struct computer_state *state) {
  const enum computer_mode before = state->mode;
  if (sensors->key == KEY_OFF) {
    if (before != COMPUTER_OFF) key_off(state);
    state->mode = COMPUTER_OFF;
  } else if (before == COMPUTER_RUNNING) {
    if (sensors->speed_rad_s < design->plant->crank.stall_speed_rad_s) state->mode = COMPUTER_KEY_ON;
  } else if (sensors->key == KEY_START) {
    if (before == COMPUTER_CRANKING && sensors->speed_rad_s > design->params->supervision.running_rad_s) {
      state->mode = COMPUTER_RUNNING;
      start_cycle(state, sensors);
      state->start_extra_ratio = design->params->air.start_ratio;
      state->start_fuel_ratio = design->params->fuel.start_ratio;
    } else {
      state->mode = COMPUTER_CRANKING;
    }
  } else {
    state->mode = COMPUTER_KEY_ON;
  }
  if (state->mode == COMPUTER_CRANKING)
    state->cranked_rad += sensors->speed_rad_s * COMPUTER_PERIOD_S;
  else
    state->cranked_rad = 0.0;
  state->firing = state->mode == COMPUTER_RUNNING || state->cranked_rad > design->params->supervision.sync_rad;
  state->starter = state->mode == COMPUTER_CRANKING;
}

/* The pedal's demand on top of an idle angle; in limp-home little of it. */
static double with_pedal(const struct computer_design *design, const struct computer_state *state, double idle_rad) {
  const double pedal =
      state->limp == COMPUTER_LIMP_NONE ? state->pedal_seen_ratio : bounds_smaller(state->pedal_seen_ratio, LIMP_PEDAL_RATIO);
  return actuate_with_pedal_rad(design, pedal, idle_rad);
}

static bool pedal_pressed(const struct computer_design *design, const struct computer_state *state) {
  return state->pedal_seen_ratio > design->params->pedal.closed_ratio;
}

static bool believes_air_flow(const struct computer_sensors *sensors) {
  return sensors->air_flow_v > AIR_FLOW_LEAST_V && sensors->air_flow_v < AIR_FLOW_MOST_V;
}

static void run_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state) {
  const bool disturbed = sensors->compressor_request != state->compressor_request ||
                         sensors->drive_selected != state->drive_selected || sensors->steering != state->steering ||
                         fabs(sensors->field_w - state->usual_load_w) > LOAD_CHANGE_W || pedal_pressed(design, state);
  state->usual_load_w += (sensors->field_w - state->usual_load_w) * (COMPUTER_PERIOD_S / USUAL_LOAD_S);
  state->compressor_request = sensors->compressor_request;
  state->drive_selected = sensors->drive_selected;
  state->steering = sensors->steering;
  state->compressor_clutch = sensors->compressor_request;
  state->running_s += COMPUTER_PERIOD_S;
  state->settled_s = disturbed ? 0.0 : state->settled_s + COMPUTER_PERIOD_S;
  state->start_extra_ratio *= design->start_air_keep;
  state->coolant_highest_k = bounds_larger(state->coolant_highest_k, sensors->coolant_k);
  if (!sensors->frozen) idle_tick(design, sensors, state);
  state->blade_command_rad = with_pedal(design, state, state->idle_blade_rad);
}

/* Where the blade should be, and what else follows from the mode. */
static void mode_tick(const struct computer_design *design, const struct computer_sensors *sensors,
                      struct computer_state *state) {
  const double closed = design->plant->throttle.bore.closed_angle_rad;
  if (state->mode != COMPUTER_RUNNING) state->idling = state->compressor_clutch = false;
  switch (state->mode) {
  case COMPUTER_OFF: // while the drive is still awake it closes the blade, then the springs have it
    state->manifold_pa = sensors->barometer_pa;
    state->blade_command_rad = closed;
    state->key_on_s = 0.0;
    break;
  case COMPUTER_KEY_ON: // first the closed stop is learned; then the blade follows the pedal, no air being needed
    if (sensors->speed_rad_s <= 0.0) state->manifold_pa = sensors->barometer_pa;
    state->blade_command_rad =
        position_learn_tick(design, sensors, state) ? closed - LEARN_PUSH_RAD : with_pedal(design, state, closed);
    break;
  case COMPUTER_CRANKING: {
    const double cold = curve_value(&design->params->air.cold_ratio, sensors->coolant_k);
    actuate_idle_air(design, sensors, design->params->air.base_kg_s * (CRANK_AIR_RATIO * cold + state->memory.learned_ratio),
                     state);
    state->blade_command_rad = with_pedal(design, state, state->idle_blade_rad);
    state->spark_rad = COLD_START_SPARK_RAD;
    break;
  }
  case COMPUTER_RUNNING:
    run_tick(design, sensors, state);
    break;
  }
}

/* The drive is awake with the key on, once its springs have been looked at, and for a while after; limp-home switches it off. */
static void power_tick(const struct computer_design *design, struct computer_state *state) {
  if (state->mode != COMPUTER_OFF) {
    state->asleep_in_s = design->plant->drive.awake_s;
  } else {
    state->asleep_in_s = bounds_larger(state->asleep_in_s - COMPUTER_PERIOD_S, 0.0);
    state->limp = COMPUTER_LIMP_NONE;
  }
  const bool looking = state->mode == COMPUTER_KEY_ON && state->key_on_s <= POSITION_REST_LOOK_S;
  state->drive_powered = state->asleep_in_s > 0.0 && state->limp != COMPUTER_LIMP_REST && !looking;
}

void computer_rest(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state) {
  const bool running = state->mode == COMPUTER_RUNNING;
  position_read(design, sensors, state);
  state->air_flow_good = believes_air_flow(sensors);
  state->key_on_s = LONG_AGO_S;
  state->running_s = running ? LONG_AGO_S : 0.0;
  state->settled_s = running && !pedal_pressed(design, state) ? LONG_AGO_S : 0.0;
  state->start_extra_ratio = state->start_fuel_ratio = 0.0;
  state->compressor_request = sensors->compressor_request;
  state->drive_selected = sensors->drive_selected;
  state->steering = sensors->steering;
  state->compressor_clutch = running && sensors->compressor_request;
  state->firing = running;
  state->idling = running && idle_in_control(design, state);
  state->usual_load_w = sensors->field_w;
  fuel_loop_rest(design, sensors, state);
  state->blade_command_rad =
      with_pedal(design, state, running ? state->idle_blade_rad : design->plant->throttle.bore.closed_angle_rad);
  power_tick(design, state);
  // asked for only where the sensor is not believed
  state->asked_air_kg_s = state->air_flow_good ? 0.0 : actuate_clean_air_kg_s(design, sensors, state);
}

void computer_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state) {
  position_read(design, sensors, state);
  state->air_flow_good = believes_air_flow(sensors);
  choose_mode(design, sensors, state);
  mode_tick(design, sensors, state);
  power_tick(design, state);
  state->asked_air_kg_s = actuate_clean_air_kg_s(design, sensors, state);
  fuel_tick(design, sensors, state);
  supervise_tick(design, sensors, state);
}

void computer_clear_codes(struct computer_state *state) { monitors_clear(&state->memory.monitors); }

void computer_reset_learned(struct computer_state *state) {
  state->memory.learned_ratio = 0.0;
  memset(state->memory.long_trim, 0, sizeof state->memory.long_trim);
}
