#include "control/position.h"

#include "base/bounds.h"
#include "base/units.h"

#include <math.h>

#define LEARN_TAKES_S 0.9 // the stop has been reached and is read here
#define PEDAL_LOW_V   0.2
#define PEDAL_HIGH_V  4.85

static bool in_range(double volts, double low, double high) { return volts >= low && volts <= high; }

/* Share of travel that a track shows; closed_ratio as learned. */
static double track_ratio(double volts, double closed_ratio, double open_ratio) {
  return (volts / POSITION_SUPPLY_V - closed_ratio) / (open_ratio - closed_ratio);
}

static bool two_tracks(const struct throttle_params *throttle) { return throttle->open2_position_ratio > 0.0; }

void position_read_blade(const struct computer_design *design, const struct computer_sensors *sensors,
                         struct computer_state *state) {
  const struct throttle_params *throttle = &design->plant->throttle;
  const double open_ratio[2] = {throttle->open_position_ratio, throttle->open2_position_ratio};
  const double span = 0.5 * UNITS_PI - throttle->bore.closed_angle_rad;
  const int count = two_tracks(throttle) ? 2 : 1;
  double share[2] = {0.0, 0.0};
  for (int i = 0; i < count; i++) {
    share[i] = track_ratio(sensors->track_v[i], state->memory.closed_ratio[i], open_ratio[i]);
    state->track_good[i] = in_range(sensors->track_v[i], POSITION_LOW_V, POSITION_HIGH_V);
  }
  if (count == 1) state->track_good[1] = false;
  const bool both = state->track_good[0] && state->track_good[1];
  state->track_difference_ratio = both ? fabs(share[0] - share[1]) : 0.0;
  const int use = state->track_good[0] || count == 1 ? 0 : 1;
  state->blade_seen_rad = throttle->bore.closed_angle_rad + span * share[use];
  for (int i = 0; i < 2; i++) state->track_opening_rad[i] = span * share[i];
}

static void read_pedal(const struct computer_design *design, const struct computer_sensors *sensors,
                       struct computer_state *state) {
  const struct throttle_params *throttle = &design->plant->throttle;
  state->pedal_difference_ratio = 0.0;
  if (throttle->kind == THROTTLE_CABLE) { // no pedal sensor: the blade's own sensor tells what the foot does
    const double rest_rad = throttle->rest_opening_rad + throttle->bore.closed_angle_rad;
    const struct curve *opening = &design->params->pedal.opening_rad;
    const double added = bounds_larger(state->blade_seen_rad - rest_rad, 0.0);
    // only whether it is pressed, and roughly how far, matters
    state->pedal_seen_ratio = bounds_smaller(added / opening->y[opening->count - 1], 1.0);
    return;
  }
  double share[2];
  for (int i = 0; i < 2; i++) {
    share[i] = track_ratio(sensors->pedal_v[i], throttle->released_pedal_ratio[i], throttle->floored_pedal_ratio[i]);
    state->pedal_good[i] = in_range(sensors->pedal_v[i], PEDAL_LOW_V, PEDAL_HIGH_V);
  }
  const bool both = state->pedal_good[0] && state->pedal_good[1];
  if (both) state->pedal_difference_ratio = fabs(share[0] - share[1]);
  // a track above its range has no code of its own here: it is a pair that does not agree
  if (sensors->pedal_v[0] > PEDAL_HIGH_V || sensors->pedal_v[1] > PEDAL_HIGH_V) state->pedal_difference_ratio = 1.0;
  double seen = 0.0; // neither: the engine idles
  if (both)
    seen = bounds_smaller(share[0], share[1]); // the lesser demand is the safe one
  else if (state->pedal_good[0] || state->pedal_good[1])
    seen = share[state->pedal_good[0] ? 0 : 1];
  state->pedal_seen_ratio = bounds_clamp(seen, 0.0, 1.0);
}

void position_read(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state) {
  position_read_blade(design, sensors, state);
  read_pedal(design, sensors, state);
}

/* The blade is against its stop: what the tracks read now is closed, if it can be. */
static void learn_closed(const struct computer_design *design, const struct computer_sensors *sensors,
                         struct computer_state *state) {
  const struct throttle_params *throttle = &design->plant->throttle;
  const double closed_ratio[2] = {throttle->closed_position_ratio, throttle->closed2_position_ratio};
  state->closed_error_v = 0.0;
  for (int i = 0; i < (two_tracks(throttle) ? 2 : 1); i++)
    if (state->track_good[i])
      state->closed_error_v =
          bounds_larger(state->closed_error_v, fabs(sensors->track_v[i] - POSITION_SUPPLY_V * closed_ratio[i]));
  if (state->closed_error_v > POSITION_CLOSED_WINDOW_V) return;
  for (int i = 0; i < 2; i++)
    if (state->track_good[i]) state->memory.closed_ratio[i] = sensors->track_v[i] / POSITION_SUPPLY_V;
  state->memory.closed_learned = true;
}

bool position_learn_tick(const struct computer_design *design, const struct computer_sensors *sensors,
                         struct computer_state *state) {
  if (design->plant->drive.gear_ratio <= 0.0 || state->limp == COMPUTER_LIMP_REST) return false;
  const double before = state->key_on_s;
  state->key_on_s += COMPUTER_PERIOD_S;
  if (state->key_on_s <= POSITION_REST_LOOK_S) return false;
  if (before <= POSITION_REST_LOOK_S) {
    const double rest_rad = design->plant->throttle.bore.closed_angle_rad + design->plant->drive.rest_opening_rad;
    state->rest_error_rad = fabs(state->blade_seen_rad - rest_rad);
  }
  if (state->key_on_s <= LEARN_TAKES_S) return true;
  if (before <= LEARN_TAKES_S && state->pedal_seen_ratio < design->params->pedal.closed_ratio)
    learn_closed(design, sensors, state);
  return false;
}
