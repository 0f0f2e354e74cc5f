#include "plant/plant.h"

#include "base/units.h"
#include "physics/gas.h"
#include "physics/orifice.h"

#include <assert.h>
#include <math.h>

#define STANDSTILL_RAD_S   1.0   // 10 rpm: no engine turns slower, the last compression stops it
#define STOP_HAIR_RAD      1e-6  // release only when commanded off a stop by more than this: 0.06 thousandths of a degree
#define DUCT_TOLERANCE_PA  1e-7  // far below any solver tolerance, so that the rates stay smooth
enum { DUCT_ITERATION_MAX = 60 };

const struct plant_path_row plant_path_rows[PLANT_PATH_COUNT] = {
#define PATH(name, metered, text) {#name, metered, text},
    PLANT_PATH_LIST(PATH)
#undef PATH
};

/* Flow area of each path, discharge coefficient included. */
static void path_areas(const struct plant_params *params, const struct plant_inputs *inputs,
                       const struct plant_state *state, struct plant_signals *signals,
                       double cda_m2[PLANT_PATH_COUNT]) {
  const double opening = state->blade_rad - params->throttle.bore.closed_angle_rad;
  signals->gap_area_m2 = bore_table_area_m2(inputs->bore, state->blade_rad);
  cda_m2[PLANT_PATH_blade] = signals->gap_area_m2 * curve_value(&params->throttle.discharge, opening);
  cda_m2[PLANT_PATH_ventilation] = params->intake.ventilation_cda_m2;
  cda_m2[PLANT_PATH_leak] = PLANT_LEAK_DISCHARGE_RATIO * inputs->leak_area_m2;
}

static double metered_flow_kg_s(const struct plant_inputs *inputs, const struct plant_state *state,
                                const double cda_m2[PLANT_PATH_COUNT], double duct_pa, struct plant_signals *signals) {
  double sum = 0.0;
  for (int i = 0; i < PLANT_PATH_COUNT; i++) {
    if (!plant_path_rows[i].metered) continue;
    signals->path_kg_s[i] = orifice_mass_flow_kg_s(cda_m2[i], duct_pa, inputs->ambient_k, state->manifold_pressure_pa,
                                                   state->manifold_temperature_k);
    sum += signals->path_kg_s[i];
  }
  return sum;
}

/* Pressure behind the filter: the root of p + k m(p)|m(p)| = p_ambient, bracketed by manifold and ambient pressure.
 * Secant steps with a bisection to fall back on; two evaluations at idle, where the filter takes a few pascal. */
static void solve_duct(const struct plant_params *params, const struct plant_inputs *inputs,
                       const struct plant_state *state, const double cda_m2[PLANT_PATH_COUNT],
                       struct plant_signals *signals) {
  const double k = params->intake.filter_drop_pa_s2_kg2, ambient = inputs->ambient_pa;
  double low = fmin(state->manifold_pressure_pa, ambient), high = fmax(state->manifold_pressure_pa, ambient);
  double duct = ambient, last_duct = 0.0, last_miss = 0.0;
  for (int i = 0; i < DUCT_ITERATION_MAX; i++) {
    const double flow = metered_flow_kg_s(inputs, state, cda_m2, duct, signals);
    const double miss = ambient - k * flow * fabs(flow) - duct;
    signals->metered_kg_s = flow;
    signals->duct_pa = duct;
    if (fabs(miss) < DUCT_TOLERANCE_PA) return;
    if (miss > 0.0)
      low = duct;
    else
      high = duct;
    double next = i == 0 ? duct + miss : duct - miss * (duct - last_duct) / (miss - last_miss);
    if (!(next > low && next < high)) next = 0.5 * (low + high);
    last_duct = duct;
    last_miss = miss;
    duct = next;
  }
}

static void air_signals(const struct plant_params *params, const struct plant_inputs *inputs,
                        const struct plant_state *state, struct plant_signals *signals) {
  double cda_m2[PLANT_PATH_COUNT];
  path_areas(params, inputs, state, signals, cda_m2);
  solve_duct(params, inputs, state, cda_m2, signals);
  signals->airflow_kg_s = signals->metered_kg_s;
  for (int i = 0; i < PLANT_PATH_COUNT; i++) {
    if (plant_path_rows[i].metered) continue;
    signals->path_kg_s[i] = orifice_mass_flow_kg_s(cda_m2[i], inputs->ambient_pa, inputs->ambient_k,
                                                   state->manifold_pressure_pa, state->manifold_temperature_k);
    signals->airflow_kg_s += signals->path_kg_s[i];
  }
}

static void torque_signals(const struct plant_params *params, const struct plant_inputs *inputs,
                           const struct plant_state *state, struct plant_signals *s) {
  const double speed = state->crank_speed_rad_s;
  const double displacement = params->charge.displacement_m3;
  s->best_spark_rad = curve_value(&params->combustion.best_spark_rad, speed);
  s->residual_fraction =
      charge_residual_fraction(&params->charge, state->manifold_pressure_pa, s->exhaust_pa, speed);
  s->indicated_nm = 0.0;
  if (inputs->firing) {
    const double work = combustion_work_per_cycle_j(&params->combustion, state->burning_air_kg, speed,
                                                    inputs->spark_rad, s->residual_fraction);
    const double scatter =
        inputs->scatter * combustion_scatter_ratio(&params->combustion, speed, inputs->spark_rad, s->residual_fraction);
    s->indicated_nm = work * (1.0 + scatter) / (4.0 * UNITS_PI);
  }
  s->friction_nm = loads_friction_nm(&params->friction, displacement, speed);
  s->pumping_nm = loads_pumping_nm(displacement, state->manifold_pressure_pa, s->exhaust_pa);
  s->alternator_nm = inputs->firing ? loads_alternator_nm(&params->loads, inputs->electrical_load_w, speed) : 0.0;
  s->compressor_nm = params->loads.compressor_torque_nm * state->compressor_engagement_ratio;
  s->converter_nm = loads_converter_nm(&params->loads, speed) * state->drive_engagement_ratio;
  s->starter_nm = inputs->starter ? loads_starter_nm(&params->loads, speed) : 0.0;
  s->net_nm = s->indicated_nm + s->starter_nm - s->friction_nm - s->pumping_nm - s->alternator_nm - s->compressor_nm -
              s->converter_nm - inputs->drag_nm;
}

void plant_signals(const struct plant_params *params, const struct plant_inputs *inputs,
                   const struct plant_state *state, struct plant_signals *signals) {
  const double turning = state->crank_speed_rad_s / (4.0 * UNITS_PI); // engine cycles per second
  air_signals(params, inputs, state, signals);
  signals->intake_air_kg = charge_air_per_cycle_kg(&params->charge, state->manifold_pressure_pa,
                                                   state->manifold_temperature_k, state->crank_speed_rad_s);
  signals->cylinder_kg_s = signals->intake_air_kg * turning;
  signals->exhaust_pa =
      inputs->ambient_pa + params->intake.exhaust_drop_pa_s2_kg2 * signals->cylinder_kg_s * signals->cylinder_kg_s;
  torque_signals(params, inputs, state, signals);
}

static void manifold_rates(const struct plant_params *params, const struct plant_inputs *inputs,
                           const struct plant_state *state, const struct plant_signals *s, struct plant_state *rates) {
  const double pressure = state->manifold_pressure_pa, temperature = state->manifold_temperature_k;
  const double volume = params->intake.manifold_volume_m3;
  double enthalpy_w = -s->cylinder_kg_s * GAS_AIR_CP_J_KG_K * temperature;
  for (int i = 0; i < PLANT_PATH_COUNT; i++) {
    const double source_k = s->path_kg_s[i] >= 0.0 ? inputs->ambient_k : temperature; // back flow leaves as it is
    enthalpy_w += s->path_kg_s[i] * GAS_AIR_CP_J_KG_K * source_k;
  }
  const double heat_w = params->intake.wall_conductance_w_k * (params->intake.wall_temperature_k - temperature);
  const double mass = pressure * volume / (GAS_AIR_CONSTANT_J_KG_K * temperature);
  rates->manifold_pressure_pa = (GAS_AIR_GAMMA - 1.0) / volume * (enthalpy_w + heat_w);
  rates->manifold_temperature_k =
      temperature * (rates->manifold_pressure_pa / pressure - (s->airflow_kg_s - s->cylinder_kg_s) / mass);
}

static void blade_rates(const struct plant_params *params, const struct plant_inputs *inputs,
                        const struct plant_state *state, struct plant_state *rates) {
  if (inputs->mode.blade != BLADE_FREE) {
    rates->blade_rad = rates->blade_rate_rad_s = 0.0;
    return;
  }
  const double natural = params->throttle.natural_frequency_rad_s;
  rates->blade_rad = state->blade_rate_rad_s;
  rates->blade_rate_rad_s = natural * natural * (inputs->blade_command_rad - state->blade_rad) -
                            2.0 * params->throttle.damping_ratio * natural * state->blade_rate_rad_s;
}

void plant_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                 struct plant_state *rates) {
  struct plant_signals s;
  plant_signals(params, inputs, state, &s);
  manifold_rates(params, inputs, state, &s, rates);
  const double cycles_per_s = state->crank_speed_rad_s / (4.0 * UNITS_PI);
  rates->crank_speed_rad_s = inputs->mode.crank_held ? 0.0 : s.net_nm / params->crank.inertia_kg_m2;
  rates->burning_air_kg =
      (s.intake_air_kg - state->burning_air_kg) * cycles_per_s / params->combustion.torque_lag_cycle_ratio;
  blade_rates(params, inputs, state, rates);
  rates->air_sensor_kg_s = (s.metered_kg_s - state->air_sensor_kg_s) / params->air_sensor.lag_s;
  const double clutch = inputs->compressor_clutch ? 1.0 : 0.0;
  rates->compressor_engagement_ratio =
      (clutch - state->compressor_engagement_ratio) / params->loads.compressor_lag_s;
  rates->drive_engagement_ratio =
      (inputs->drive_engaged - state->drive_engagement_ratio) / params->loads.converter_lag_s;
}

void plant_event_values(const struct plant_params *params, const struct plant_inputs *inputs,
                        const struct plant_state *state, double values[PLANT_EVENT_COUNT]) {
  for (int i = 0; i < PLANT_EVENT_COUNT; i++) values[i] = 1.0;
  const double speed = state->crank_speed_rad_s;
  if (inputs->firing && !inputs->starter) values[PLANT_EVENT_stall] = speed - params->crank.stall_speed_rad_s;
  if (!inputs->mode.crank_held && !inputs->starter) values[PLANT_EVENT_standstill] = speed - STANDSTILL_RAD_S;
  if (inputs->mode.blade == BLADE_FREE) {
    values[PLANT_EVENT_closed_stop] = state->blade_rad - params->throttle.bore.closed_angle_rad + 0.1 * STOP_HAIR_RAD;
    values[PLANT_EVENT_open_stop] = 0.5 * UNITS_PI + 0.1 * STOP_HAIR_RAD - state->blade_rad;
  }
}

void plant_event_apply(const struct plant_params *params, enum plant_event event, struct plant_mode *mode,
                       struct plant_state *state) {
  switch (event) {
  case PLANT_EVENT_stall: // the computer acts on it at its next tick
    break;
  case PLANT_EVENT_standstill:
    mode->crank_held = true;
    state->crank_speed_rad_s = 0.0;
    break;
  case PLANT_EVENT_closed_stop:
    mode->blade = BLADE_AT_CLOSED_STOP;
    state->blade_rad = params->throttle.bore.closed_angle_rad;
    state->blade_rate_rad_s = 0.0;
    break;
  case PLANT_EVENT_open_stop:
    mode->blade = BLADE_AT_OPEN_STOP;
    state->blade_rad = 0.5 * UNITS_PI;
    state->blade_rate_rad_s = 0.0;
    break;
  case PLANT_EVENT_COUNT:
    assert(0);
  }
}

void plant_release(const struct plant_params *params, const struct plant_inputs *inputs, struct plant_mode *mode) {
  if (inputs->starter) mode->crank_held = false;
  const double closed = params->throttle.bore.closed_angle_rad, open = 0.5 * UNITS_PI;
  if (mode->blade == BLADE_AT_CLOSED_STOP && inputs->blade_command_rad > closed + STOP_HAIR_RAD) mode->blade = BLADE_FREE;
  if (mode->blade == BLADE_AT_OPEN_STOP && inputs->blade_command_rad < open - STOP_HAIR_RAD) mode->blade = BLADE_FREE;
}

void plant_state_at_rest(double ambient_pa, double ambient_k, double blade_rad, struct plant_state *state) {
  *state = (struct plant_state){0};
  state->manifold_pressure_pa = ambient_pa;
  state->manifold_temperature_k = ambient_k;
  state->blade_rad = blade_rad;
}
