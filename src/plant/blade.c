#include "plant/blade.h"

#include "base/bounds.h"
#include "base/units.h"

#include <math.h>

#define STOP_HAIR_RAD  1e-6 // release only when commanded off a stop by more than this: 0.06 thousandths of a degree
#define START_RAD_S    1e-4 // rate a blade that breaks loose begins with, so that coming to rest is a fall through zero
#define STOP_TOUCH_RAD 1e-9 // at a stop within rounding
#define STILL_RAD      1e-7 // as good as where it should be
#define LIMIT_FADE_V   1.0  // over so much before the supply's limit the integral part comes to rest; our own
#define STEP_RATIO     0.2  // 1 ms for a loop of 100 rad/s: a slide is drawn to a ten-millionth of its length

static double closed_rad(const struct plant_params *params) { return params->throttle.bore.closed_angle_rad; }

static double opening_rad(const struct plant_params *params, const struct plant_state *state) {
  return state->blade_rad - closed_rad(params);
}

/* Gains of the position loop from its natural frequency and damping, with the drive's own inertia and back voltage. */
static double proportional_v_rad(const struct plant_params *params) {
  const double natural = params->throttle.natural_frequency_rad_s;
  return params->drive.inertia_kg_m2 * natural * natural / drive_nm_per_v(&params->drive);
}

static double derivative_v_s_rad(const struct plant_params *params) {
  const struct drive_params *drive = &params->drive;
  const double wanted = 2.0 * params->throttle.damping_ratio * params->throttle.natural_frequency_rad_s;
  const double own = drive->gear_ratio * drive->motor_constant_nm_a; // back voltage per rad/s
  return bounds_larger(wanted * drive->inertia_kg_m2 / drive_nm_per_v(drive) - own, 0.0);
}

/* What the loop would like to put on the motor, before the supply limits it. */
static double wanted_v(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state) {
  const double seen = state->blade_rad + inputs->position_error_rad;
  const double error = inputs->blade_command_rad - seen;
  return proportional_v_rad(params) * error + state->drive_integral_v - derivative_v_s_rad(params) * state->blade_rate_rad_s +
         inputs->holding_v;
}

static double limited_v(const struct plant_inputs *inputs, double wanted) {
  if (!inputs->drive_powered) return 0.0;
  return bounds_smaller(bounds_larger(wanted, -inputs->motor_supply_v), inputs->motor_supply_v);
}

/* The open winding or an unpowered bridge carries no current, so a moving blade is not braked by it either. */
static double current_a(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                        double motor_v) {
  if (!inputs->drive_powered || inputs->faults.motor_open > 0.5) return 0.0;
  return drive_current_a(&params->drive, motor_v, state->blade_rate_rad_s) / inputs->faults.motor_resistance_ratio;
}

double blade_motor_v(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state) {
  return limited_v(inputs, wanted_v(params, inputs, state));
}

double blade_motor_a(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state) {
  return current_a(params, inputs, state, blade_motor_v(params, inputs, state));
}

/* Everything that turns the shaft but friction. */
static double driving_nm(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                         double wanted) {
  const struct drive_params *drive = &params->drive;
  const double motor =
      drive->gear_ratio * drive->motor_constant_nm_a * current_a(params, inputs, state, limited_v(inputs, wanted));
  const double spring = inputs->faults.spring_ratio * drive_spring_nm(drive, opening_rad(params, state));
  return motor + spring + inputs->hand_nm;
}

static bool at_closed(const struct plant_params *params, const struct plant_state *state) {
  return state->blade_rad <= closed_rad(params) + STOP_TOUCH_RAD;
}

static bool at_open(const struct plant_state *state) { return state->blade_rad >= 0.5 * UNITS_PI - STOP_TOUCH_RAD; }

/* How fast the integral part grows. Inside the dead band it rests. At the supply's limit, or against a stop, more of it would only wind
 * up; before the limit it fades instead of being switched off, else voltage and switch chase each other along the limit. */
static double integral_rate_v_s(const struct plant_params *params, const struct plant_inputs *inputs,
                                const struct plant_state *state, double wanted) {
  const double error = inputs->blade_command_rad - state->blade_rad - inputs->position_error_rad;
  const double band = params->drive.dead_band_rad;
  const double beyond = error - bounds_smaller(bounds_larger(error, -band), band);
  if (!inputs->drive_powered || (beyond > 0.0 ? at_open(state) : at_closed(params, state))) return 0.0;
  const double room_v = inputs->motor_supply_v - (beyond > 0.0 ? wanted : -wanted);
  const double share = bounds_smaller(bounds_larger(room_v / LIMIT_FADE_V, 0.0), 1.0);
  return params->drive.integral_1_s * proportional_v_rad(params) * beyond * share;
}

static void drive_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                        struct plant_state *rates) {
  const double wanted = wanted_v(params, inputs, state);
  rates->drive_integral_v = integral_rate_v_s(params, inputs, state, wanted);
  rates->blade_rad = rates->blade_rate_rad_s = 0.0;
  if (inputs->mode.blade == BLADE_HELD) return;
  const double against = inputs->mode.blade == BLADE_OPENING ? -1.0 : 1.0;
  const double torque = driving_nm(params, inputs, state, wanted) + against * inputs->slide_nm;
  rates->blade_rad = state->blade_rate_rad_s;
  rates->blade_rate_rad_s = torque / params->drive.inertia_kg_m2;
}

/* The ideal loop, and a cable: second order towards the command. */
static void follow_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                         struct plant_state *rates) {
  rates->blade_rad = rates->blade_rate_rad_s = rates->drive_integral_v = 0.0;
  if (inputs->mode.blade == BLADE_HELD) return;
  const double natural = params->throttle.natural_frequency_rad_s;
  rates->blade_rad = state->blade_rate_rad_s;
  rates->blade_rate_rad_s = natural * natural * (inputs->blade_command_rad - state->blade_rad) -
                            2.0 * params->throttle.damping_ratio * natural * state->blade_rate_rad_s;
}

void blade_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                 struct plant_state *rates) {
  if (blade_has_drive(params))
    drive_rates(params, inputs, state, rates);
  else
    follow_rates(params, inputs, state, rates);
}

double blade_step_s(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state) {
  if (inputs->mode.blade == BLADE_HELD) return PLANT_STEP_MOST_S;
  const bool still = inputs->mode.blade == BLADE_FREE && fabs(inputs->blade_command_rad - state->blade_rad) < STILL_RAD &&
                     fabs(state->blade_rate_rad_s) < STILL_RAD * params->throttle.natural_frequency_rad_s;
  return still ? PLANT_STEP_MOST_S : STEP_RATIO / params->throttle.natural_frequency_rad_s;
}

/* Torque beyond what holds a resting blade: positive breaks it loose. */
static double open_excess_nm(const struct plant_inputs *inputs, const struct plant_state *state, double driving) {
  return at_open(state) ? -1.0 : driving - inputs->stick_nm;
}

static double close_excess_nm(const struct plant_params *params, const struct plant_inputs *inputs,
                              const struct plant_state *state, double driving) {
  return at_closed(params, state) ? -1.0 : -driving - inputs->stick_nm;
}

void blade_event_values(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                        double values[PLANT_EVENT_COUNT]) {
  for (int i = PLANT_BLADE_EVENT_FIRST; i < PLANT_EVENT_COUNT; i++) values[i] = 1.0;
  const enum blade_mode mode = inputs->mode.blade;
  if (mode != BLADE_HELD) {
    if (mode != BLADE_OPENING) values[PLANT_EVENT_closed_stop] = state->blade_rad - closed_rad(params) + 0.1 * STOP_HAIR_RAD;
    if (mode != BLADE_CLOSING) values[PLANT_EVENT_open_stop] = 0.5 * UNITS_PI + 0.1 * STOP_HAIR_RAD - state->blade_rad;
  }
  if (!blade_has_drive(params)) return;
  if (mode == BLADE_OPENING) values[PLANT_EVENT_blade_rests] = state->blade_rate_rad_s;
  if (mode == BLADE_CLOSING) values[PLANT_EVENT_blade_rests] = -state->blade_rate_rad_s;
  if (mode != BLADE_HELD) return;
  const double driving = driving_nm(params, inputs, state, wanted_v(params, inputs, state));
  values[PLANT_EVENT_blade_opens] = -open_excess_nm(inputs, state, driving);
  values[PLANT_EVENT_blade_closes] = -close_excess_nm(params, inputs, state, driving);
}

static void start(struct plant_mode *mode, double *rate, enum blade_mode way) {
  mode->blade = way;
  *rate = way == BLADE_OPENING ? START_RAD_S : -START_RAD_S;
}

void blade_release(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                   struct plant_mode *mode, double *rate_rad_s) {
  if (mode->blade != BLADE_HELD) return;
  if (blade_has_drive(params)) {
    const double driving = driving_nm(params, inputs, state, wanted_v(params, inputs, state));
    if (open_excess_nm(inputs, state, driving) > 0.0)
      start(mode, rate_rad_s, BLADE_OPENING);
    else if (close_excess_nm(params, inputs, state, driving) > 0.0)
      start(mode, rate_rad_s, BLADE_CLOSING);
    return;
  }
  const bool off_closed = inputs->blade_command_rad > closed_rad(params) + STOP_HAIR_RAD;
  const bool off_open = inputs->blade_command_rad < 0.5 * UNITS_PI - STOP_HAIR_RAD;
  if (at_closed(params, state) ? off_closed : off_open) mode->blade = BLADE_FREE;
}

void blade_event_apply(const struct plant_params *params, const struct plant_inputs *inputs, enum plant_event event,
                       struct plant_mode *mode, struct plant_state *state) {
  switch (event) {
  case PLANT_EVENT_blade_opens:
    start(mode, &state->blade_rate_rad_s, BLADE_OPENING);
    return;
  case PLANT_EVENT_blade_closes:
    start(mode, &state->blade_rate_rad_s, BLADE_CLOSING);
    return;
  case PLANT_EVENT_closed_stop:
    state->blade_rad = closed_rad(params);
    break;
  case PLANT_EVENT_open_stop:
    state->blade_rad = 0.5 * UNITS_PI;
    break;
  default: // it came to rest where it is
    break;
  }
  mode->blade = BLADE_HELD;
  state->blade_rate_rad_s = 0.0;
  if (blade_has_drive(params)) blade_release(params, inputs, state, mode, &state->blade_rate_rad_s); // or goes back at once
}
