#include "plant/plant.h"

#include "base/bounds.h"
#include "base/units.h"
#include "physics/gas.h"
#include "plant/air.h"
#include "plant/blade.h"
#include "plant/torque.h"

#include <assert.h>
#include <math.h>

#define STANDSTILL_RAD_S    1.0 // 10 rpm: no engine turns slower, the last compression stops it
#define MANIFOLD_STEP_RATIO 1.0 // step times fastest rate; the method is stable to 2.8
#define LAG_STEP_RATIO      0.5
#define BEND_RATIO          3e-4 // of a state's everyday size
#define BEND_SPEED_RAD_S    1e-3 // 0.01 rpm
#define BEND_PRESSURE_PA    1.0
#define BYPASS_MOST_M2      2e-5 // more than any bypass valve opens

void plant_signals(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                   struct plant_signals *signals) {
  air_signals(params, inputs, state, signals);
  torque_signals(params, inputs, state, signals);
}

void plant_lambda(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                  double lambda[PLANT_BANK_MAX]) {
  double bank1_ratio = 0.5;
  if (params->charge.bank_count == 2 && (inputs->faults.leak_area_m2 > 0.0 || inputs->faults.cylinder_loss_ratio > 0.0)) {
    struct plant_signals s;
    air_signals(params, inputs, state, &s);
    bank1_ratio = s.bank1_air_ratio;
  }
  for (int bank = 0; bank < params->charge.bank_count; bank++)
    lambda[bank] = torque_exhaust_lambda(params, inputs, state, bank1_ratio, bank);
}

static void warmth_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                         const struct plant_signals *s, struct plant_state *rates) {
  rates->coolant_k = rates->oil_k = 0.0;
  if (inputs->warmth_held) return;
  rates->coolant_k = warmth_coolant_rate_k_s(&params->warmth, s->wall_heat_w, state->coolant_k, state->oil_k, inputs->ambient_k);
  rates->oil_k = warmth_oil_rate_k_s(&params->warmth, s->friction_nm * state->crank_speed_rad_s, state->coolant_k, state->oil_k,
                                     inputs->ambient_k);
}

void plant_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                 struct plant_state *rates) {
  plant_engine_rates(params, inputs, state, rates);
  blade_rates(params, inputs, state, rates);
}

void plant_engine_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                        struct plant_state *rates) {
  struct plant_signals s;
  plant_signals(params, inputs, state, &s);
  air_rates(params, inputs, state, &s, rates);
  torque_rates(params, inputs, state, &s, rates);
  warmth_rates(params, inputs, state, &s, rates);
  rates->air_sensor_kg_s = ((1.0 + params->air_sensor.gain_ratio) * s.metered_kg_s - state->air_sensor_kg_s) /
                           (params->air_sensor.lag_s * inputs->faults.air_sensor_lag_ratio);
  const double clutch = inputs->compressor_clutch ? 1.0 : 0.0;
  rates->compressor_engagement_ratio = (clutch - state->compressor_engagement_ratio) / params->loads.compressor_lag_s;
  rates->drive_engagement_ratio = (inputs->drive_engaged - state->drive_engagement_ratio) / params->loads.converter_lag_s;
}

void plant_lags_rest(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_signals *s,
                     struct plant_state *state) {
  state->air_sensor_kg_s = (1.0 + params->air_sensor.gain_ratio) * s->metered_kg_s;
  state->compressor_engagement_ratio = inputs->compressor_clutch ? 1.0 : 0.0;
  state->drive_engagement_ratio = inputs->drive_engaged;
  if (inputs->warmth_held) return;
  const double speed = state->crank_speed_rad_s;
  const double friction_w = loads_friction_nm(&params->friction, params->charge.displacement_m3, speed, state->oil_k) * speed;
  state->oil_k = warmth_oil_rest_k(&params->warmth, friction_w, state->coolant_k, inputs->ambient_k);
}

/* Manifold: dp/dt = gamma R T / V * flow(p). Choked, the flow does not feel p; nearer to ambient its slope per pascal is at most
 * CdA / sqrt(R T) * min(0.6 / sqrt(1 - r), 33), the second being the slope of the laminar zone. */
static double manifold_step_s(const struct plant_params *params, const struct plant_inputs *inputs,
                              const struct plant_state *state) {
  const double ratio = state->manifold_pressure_pa / inputs->ambient_pa;
  if (ratio < 0.6) return PLANT_STEP_MOST_S;
  const double opening = state->blade_rad - params->throttle.bore.closed_angle_rad;
  const double cda = bore_table_area_m2(inputs->bore, state->blade_rad) * curve_value(&params->throttle.discharge, opening) +
                     params->intake.ventilation_cda_m2 + inputs->faults.leak_area_m2 + BYPASS_MOST_M2;
  const double slope = bounds_smaller(0.6 / sqrt(bounds_larger(1.0 - ratio, 1e-6)), 33.0);
  const double per_s = GAS_AIR_GAMMA * sqrt(GAS_AIR_CONSTANT_J_KG_K * state->manifold_temperature_k) * cda * slope /
                       params->intake.manifold_volume_m3;
  return MANIFOLD_STEP_RATIO / per_s;
}

double plant_step_s(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state) {
  const double burning_s =
      params->combustion.torque_lag_cycle_ratio * 4.0 * UNITS_PI / bounds_larger(state->crank_speed_rad_s, 1.0);
  const double sensor_s = params->air_sensor.lag_s * inputs->faults.air_sensor_lag_ratio;
  const double lags = LAG_STEP_RATIO * bounds_smaller(bounds_smaller(burning_s, sensor_s), params->loads.compressor_lag_s);
  return bounds_smaller(bounds_smaller(PLANT_STEP_MOST_S, lags), manifold_step_s(params, inputs, state));
}

void plant_step_bends(const struct plant_params *params, struct plant_state *most) {
  double *values = (double *)most;
  for (int i = 0; i < PLANT_STATE_COUNT; i++) values[i] = BEND_RATIO * plant_state_rows[i].nominal;
  // speed and pressure are what is read, and where a kink in a step (a mixture that begins to burn) is an error as large as the bend
  most->crank_speed_rad_s = BEND_SPEED_RAD_S;
  most->manifold_pressure_pa = BEND_PRESSURE_PA;
  most->blade_rate_rad_s = params->throttle.natural_frequency_rad_s * most->blade_rad; // no more than position needs
}

void plant_event_values(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                        double values[PLANT_EVENT_COUNT]) {
  plant_engine_event_values(params, inputs, state, values);
  blade_event_values(params, inputs, state, values);
}

void plant_engine_event_values(const struct plant_params *params, const struct plant_inputs *inputs,
                               const struct plant_state *state, double values[PLANT_EVENT_COUNT]) {
  for (int i = 0; i < PLANT_BLADE_EVENT_FIRST; i++) values[i] = 1.0;
  const double speed = state->crank_speed_rad_s;
  if (inputs->firing && !inputs->starter) values[PLANT_EVENT_stall] = speed - params->crank.stall_speed_rad_s;
  if (!inputs->mode.crank_held) values[PLANT_EVENT_standstill] = speed - STANDSTILL_RAD_S;
}

void plant_event_apply(const struct plant_params *params, const struct plant_inputs *inputs, enum plant_event event,
                       struct plant_mode *mode, struct plant_state *state) {
  switch (event) {
  case PLANT_EVENT_stall: // the computer acts on it at its next tick
    break;
  case PLANT_EVENT_standstill:
    mode->crank_held = true;
    state->crank_speed_rad_s = 0.0;
    break;
  case PLANT_EVENT_closed_stop:
  case PLANT_EVENT_open_stop:
  case PLANT_EVENT_blade_rests:
  case PLANT_EVENT_blade_opens:
  case PLANT_EVENT_blade_closes:
    blade_event_apply(params, inputs, event, mode, state);
    break;
  case PLANT_EVENT_COUNT:
    assert(0);
  }
}

void plant_release(const struct plant_params *params, const struct plant_inputs *inputs, struct plant_mode *mode,
                   struct plant_state *state) {
  if (mode->crank_held || state->crank_speed_rad_s <= STANDSTILL_RAD_S) {
    mode->crank_held = true; // whoever let go of a crank that hardly turned
    if (inputs->starter) {   // one weaker than what it has to turn does not turn it, or not any more
      struct plant_inputs turning = *inputs;
      struct plant_signals signals;
      turning.mode.crank_held = false;
      plant_signals(params, &turning, state, &signals);
      mode->crank_held = signals.net_nm <= 0.0;
    }
  }
  if (mode->crank_held) state->crank_speed_rad_s = 0.0;
  blade_release(params, inputs, state, mode, &state->blade_rate_rad_s);
}

void plant_state_at_rest(double ambient_pa, double manifold_k, double coolant_k, double oil_k, double blade_rad,
                         struct plant_state *state) {
  *state = (struct plant_state){0};
  state->manifold_pressure_pa = ambient_pa;
  state->manifold_temperature_k = manifold_k;
  state->coolant_k = coolant_k;
  state->oil_k = oil_k;
  state->blade_rad = blade_rad;
}

double plant_travel_rad(const struct throttle_params *throttle) { return 0.5 * UNITS_PI - throttle->bore.closed_angle_rad; }

double plant_track_share(const struct throttle_params *throttle, double position_ratio) {
  return (position_ratio - throttle->closed_position_ratio) / (throttle->open_position_ratio - throttle->closed_position_ratio);
}

double plant_rest_angle_rad(const struct plant_params *params) {
  const double closed = params->throttle.bore.closed_angle_rad;
  if (params->throttle.kind == THROTTLE_CABLE) return closed + params->throttle.rest_opening_rad;
  return blade_has_drive(params) ? closed + params->drive.rest_opening_rad : closed;
}
