#include "control/supervise.h"

#include "base/attributes.h"
#include "base/bounds.h"
#include "base/units.h"
#include "control/actuate.h"
#include "control/features.h"
#include "control/idle.h"
#include "control/misfire.h"
#include "control/position.h"
#include "physics/orifice.h"

#include <math.h>

#define SPEED_FILTER_S     0.5 // speed as the idle monitors see it: longer than a firing stroke, shorter than a debounce
#define CURRENT_FILTER_S   0.2
#define AIR_FILTER_S       1.0
#define POSITION_FILTER_S  0.05
#define LEAST_VOLTAGE_V    9.0                       // below, actuators are not judged
#define LEAST_MOTOR_V      1.0                       // too little voltage tells nothing of the current
#define TRACKS_AGREE_RATIO 0.02                      // else the position, and with it the rate, is not known
#define SLOW_BLADE_RAD_S   0.3                       // faster, the back voltage is not known well enough
#define REST_WINDOW_RAD    (2.0 * UNITS_RAD_PER_DEG) // springs in order leave the blade within this of its rest angle
#define IDLE_AIR_RATIO     1.6                       // with less than this times the base air the blade must be near rest

static void follow(double *filtered, double value, double time_s) {
  *filtered += (value - *filtered) * (COMPUTER_PERIOD_S / time_s);
}

/* Current of the throttle drive over what its voltage should give; NaN where that tells nothing. */
static double current_ratio(const struct computer_design *design, const struct computer_sensors *sensors,
                            const struct computer_state *state, double rate_rad_s) {
  const struct drive_params *drive = &design->plant->drive;
  const double expected = drive_current_a(drive, sensors->motor_v, rate_rad_s);
  const bool sure = state->track_good[0] && state->track_good[1] && state->track_difference_ratio < TRACKS_AGREE_RATIO;
  const bool telling = sure && fabs(rate_rad_s) < SLOW_BLADE_RAD_S && fabs(sensors->motor_v) > LEAST_MOTOR_V &&
                       fabs(expected) > 0.5 * LEAST_MOTOR_V / drive->resistance_ohm;
  return telling && fabs(sensors->motor_a) > 0.05 ? sensors->motor_a / expected : NAN;
}

/* Current against voltage, and command against position, of the throttle drive. */
static void filter_drive(const struct computer_design *design, const struct computer_sensors *sensors,
                         struct computer_state *state) {
  if (design->plant->drive.gear_ratio <= 0.0) return;
  follow(&state->position_off_rad, state->blade_command_rad - state->blade_seen_rad, POSITION_FILTER_S);
  const double rate = (state->blade_seen_rad - state->blade_before_rad) / COMPUTER_PERIOD_S;
  state->blade_before_rad = state->blade_seen_rad;
  const double ratio = current_ratio(design, sensors, state, rate);
  if (!isnan(ratio)) follow(&state->motor_current_ratio, ratio, CURRENT_FILTER_S);
}

/* Air-flow sensor over what the blade, less the learned deposit, should pass; NaN where that tells nothing. */
static double air_ratio(const struct computer_design *design, const struct computer_sensors *sensors,
                        const struct computer_state *state) {
  if (design->params->fuel.metering != METERING_AIR_FLOW || state->mode != COMPUTER_RUNNING) return NAN;
  const double base_m2 = orifice_choked_cda_m2(design->params->air.base_kg_s, sensors->barometer_pa, sensors->intake_k);
  const double film_m2 = bounds_larger(state->memory.learned_ratio, 0.0) * base_m2;
  const double clean_m2 = actuate_clean_cda_m2(design, state->blade_seen_rad, sensors->barometer_pa, sensors->intake_k);
  const double open_m2 = clean_m2 - film_m2;
  const double cda_m2 = bounds_larger(open_m2, 0.0) + design->plant->intake.ventilation_cda_m2;
  const double expected =
      orifice_mass_flow_kg_s(cda_m2, sensors->barometer_pa, sensors->intake_k, state->manifold_pa, sensors->intake_k);
  return expected > 0.2 * design->params->air.base_kg_s ? sensors->air_flow_kg_s / expected : NAN;
}

static void filter_air(const struct computer_design *design, const struct computer_sensors *sensors,
                       struct computer_state *state) {
  const double ratio = air_ratio(design, sensors, state);
  if (!isnan(ratio)) follow(&state->air_expected_ratio, ratio, AIR_FILTER_S);
}

/* Enable conditions that hold now. */
static unsigned enabled_bits(const struct computer_design *design, const struct computer_sensors *sensors,
                             const struct computer_state *state) {
  const struct supervision_params *supervision = &design->params->supervision;
  const unsigned features = features_of(design->plant, design->params);
  // with a cable only the blade's own track tells whether the pedal is pressed
  const bool pedal_known = (features & FEATURE_electronic) || state->track_good[0];
  const struct {
    bool holds;
    enum monitor_enable bit;
  } rows[] = {
      {state->mode != COMPUTER_OFF, MONITOR_ENABLE_key_on},
      {state->mode == COMPUTER_RUNNING, MONITOR_ENABLE_running},
      // not after a stall: the manifold is still filling
      {state->mode == COMPUTER_KEY_ON && sensors->speed_rad_s <= 0.0 && !state->ran_this_cycle, MONITOR_ENABLE_stopped},
      {state->idling && pedal_known, MONITOR_ENABLE_idling},
      {state->mode == COMPUTER_RUNNING && !state->idling, MONITOR_ENABLE_off_idle},
      {sensors->coolant_k >= supervision->warm_k, MONITOR_ENABLE_warm},
      {state->settled_s >= supervision->monitor_delay_s && pedal_known, MONITOR_ENABLE_settled},
      {idle_at_limit(design, state), MONITOR_ENABLE_at_limit},
      {state->closed_loop, MONITOR_ENABLE_closed_loop},
      {state->drive_powered, MONITOR_ENABLE_drive},
      {sensors->battery_v > LEAST_VOLTAGE_V, MONITOR_ENABLE_voltage},
  };
  unsigned bits = monitors_possible(features);
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++)
    if (!rows[i].holds) bits &= ~(unsigned)rows[i].bit;
  return bits;
}

/* With idle air in the sensor the blade must be at rest; how far the single track is from there, share of travel. */
static double single_track_off(const struct computer_design *design, const struct computer_sensors *sensors,
                               const struct computer_state *state) {
  const struct throttle_params *throttle = &design->plant->throttle;
  const bool idle_air = state->mode == COMPUTER_RUNNING && state->air_flow_good &&
                        sensors->air_flow_kg_s < IDLE_AIR_RATIO * design->params->air.base_kg_s &&
                        sensors->coolant_k >= design->params->supervision.warm_k;
  if (!idle_air) return 0.0;
  const double span = 0.5 * UNITS_PI - throttle->bore.closed_angle_rad;
  return fabs(state->track_opening_rad[0] - throttle->rest_opening_rad) / span;
}

static struct monitor_measures form_measures(const struct computer_design *design, const struct computer_sensors *sensors,
                                             const struct computer_state *state) {
  const struct drive_params *drive = &design->plant->drive;
  struct monitor_measures m = {.enabled = enabled_bits(design, sensors, state)};
  m.low_speed_rad_s = state->target_rad_s - state->filtered_speed_rad_s;
  m.high_speed_rad_s = -m.low_speed_rad_s;
  for (int i = 0; i < 2; i++) {
    m.track_v[i] = sensors->track_v[i];
    m.pedal_v[i] = sensors->pedal_v[i];
    m.trim_ratio[i] = state->short_trim[i] + state->memory.long_trim[i][state->cell];
  }
  m.air_flow_v = sensors->air_flow_v;
  m.track_difference_ratio = state->track_difference_ratio;
  m.pedal_difference_ratio = state->pedal_difference_ratio;
  m.track1_alone_ratio = single_track_off(design, sensors, state);
  m.air_off_ratio = state->air_flow_good ? state->air_expected_ratio - 1.0 : 0.0;
  m.pressure_off_pa = sensors->manifold_pa - sensors->barometer_pa;
  const bool cutting = state->limp == COMPUTER_LIMP_REST || state->cut_seen_s > 0.0; // rough on purpose
  m.misfire_ratio = cutting ? 0.0 : state->misfire.ratio;
  m.position_off_rad = state->position_off_rad;
  m.motor_v = sensors->motor_v;
  m.motor_a = sensors->motor_a;
  m.motor_current_ratio = state->motor_current_ratio;
  if (drive->gear_ratio > 0.0) m.motor_stall_ratio = fabs(sensors->motor_a) * drive->resistance_ohm / sensors->battery_v;
  m.body_off_ratio = bounds_larger(state->closed_error_v / POSITION_CLOSED_WINDOW_V, state->rest_error_rad / REST_WINDOW_RAD);
  m.not_learned = state->memory.closed_learned ? 0.0 : 1.0;
  m.battery_v = sensors->battery_v;
  m.bypass_low = sensors->bypass_low ? 1.0 : 0.0;
  m.bypass_high = sensors->bypass_high ? 1.0 : 0.0;
  m.bypass_open = sensors->bypass_open ? 1.0 : 0.0;
  m.limp = state->limp == COMPUTER_LIMP_NONE ? 0.0 : 1.0;
  return m;
}

/* With the drive off, above a fast idle; else by the rev limiter. */
struct supervise_cut supervise_cut(const struct computer_design *design, const struct computer_state *state) {
  const double limit = design->params->supervision.rev_limit_rad_s;
  if (state->limp == COMPUTER_LIMP_REST) return (struct supervise_cut){SUPERVISE_LIMP_SPEED_RAD_S, SUPERVISE_LIMP_RESUME_RAD_S};
  return (struct supervise_cut){limit, limit - SUPERVISE_REV_HYSTERESIS_RAD_S};
}

/* Limp-home holds until the key is turned off. */
static void take_effect(enum monitor_effect effect, const struct computer_design *design, const struct computer_sensors *sensors,
                        struct computer_state *state) {
  if (effect == MONITOR_EFFECT_REST) state->limp = COMPUTER_LIMP_REST;
  if (effect == MONITOR_EFFECT_REDUCED && state->limp == COMPUTER_LIMP_NONE) state->limp = COMPUTER_LIMP_REDUCED;
  const struct supervise_cut cut = supervise_cut(design, state);
  if (sensors->speed_rad_s > cut.above_rad_s)
    state->fuel_cut = true;
  else if (sensors->speed_rad_s < cut.below_rad_s)
    state->fuel_cut = false;
}

void supervise_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state) {
  follow(&state->filtered_speed_rad_s, sensors->speed_rad_s, SPEED_FILTER_S);
  misfire_tick(design, sensors, state);
  filter_drive(design, sensors, state);
  filter_air(design, sensors, state);
  state->measures = form_measures(design, sensors, state);
  const enum monitor_effect effect =
      monitors_tick(&state->memory.monitors, &state->measures, COMPUTER_PERIOD_S, design->params->supervision.debounce_s);
  take_effect(effect, design, sensors, state);
}

enum monitor_effect supervise_rest(const struct computer_design *design, const struct computer_sensors *sensors,
                                   struct computer_state *state, struct monitor_measures *measures, uint64_t *codes) {
  state->filtered_speed_rad_s = sensors->speed_rad_s;
  state->misfire = (struct computer_misfire){0};
  if (design->plant->drive.gear_ratio > 0.0) {
    state->position_off_rad = state->blade_command_rad - state->blade_seen_rad;
    state->blade_before_rad = state->blade_seen_rad;
    const double current = current_ratio(design, sensors, state, 0.0);
    state->motor_current_ratio = isnan(current) ? 1.0 : current;
  }
  const double air = air_ratio(design, sensors, state);
  state->air_expected_ratio = isnan(air) ? 1.0 : air;
  *measures = form_measures(design, sensors, state);
  state->measures = *measures;
  return monitors_rest(measures, codes);
}
