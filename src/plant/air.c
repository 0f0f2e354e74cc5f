#include "plant/air.h"

#include "base/bounds.h"
#include "base/units.h"
#include "physics/gas.h"
#include "physics/orifice.h"
#include "physics/slot.h"

#include <math.h>

#define DUCT_TOLERANCE_PA 1e-7 // far below any solver tolerance, so that the rates stay smooth
#define SURELY_CHOKED     0.52 // pressure ratio below which every path from the duct is choked, whatever the filter takes
enum { DUCT_ITERATION_MAX = 60, PRESSURE_ITERATION_MAX = 80 };
#define PRESSURE_TOLERANCE_PA 1e-7
#define SURPLUS_ROUNDING_KG_S 1e-15 // of some 2e-3
#define DRIFT_ROUNDING        1e-11
#define SURE_TIMES            4.0
#define SURELY_FILLED_RATIO   0.2
#define LEAST_PRESSURE_PA     2e3 // no engine pulls a deeper vacuum

static double purge_usual_m2(const struct plant_params *params, const struct plant_inputs *inputs) {
  return params->intake.purge_cda_m2 * inputs->purge_ratio;
}

/* Vapour in all that comes through the purge: of the valve as it should be, and of one that stands open. */
static double purge_vapour_ratio(const struct plant_params *params, const struct plant_inputs *inputs) {
  const double usual = purge_usual_m2(params, inputs);
  const double stuck = AIR_SHARP_DISCHARGE_RATIO * inputs->faults.purge_area_m2;
  if (usual + stuck <= 0.0) return 0.0;
  return (usual * params->intake.purge_vapour_ratio + stuck * inputs->faults.purge_vapour_ratio) / (usual + stuck);
}

/* Friction in the gap, relative to the gap tables'. By the higher of the two pressures, so that it is the same from either side, and
 * by the pressure of the open: the air cleaner's loss changes it by next to nothing. */
static double gap_viscosity(const struct plant_inputs *inputs, const struct plant_state *state) {
  const double high = bounds_larger(inputs->ambient_pa, state->manifold_pressure_pa);
  const double low = bounds_smaller(inputs->ambient_pa, state->manifold_pressure_pa);
  return slot_relative_viscosity(high, inputs->ambient_k, bounds_larger(low, 0.0) / high);
}

/* Flow area of each path, discharge coefficient included. */
static void path_areas(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                       struct plant_signals *signals, double cda_m2[PLANT_PATH_COUNT]) {
  const struct plant_faults *faults = &inputs->faults;
  const double opening = state->blade_rad - params->throttle.bore.closed_angle_rad;
  const struct bore_passage gap = bore_table_at(inputs->bore, state->blade_rad);
  signals->gap_area_m2 = gap.area_m2;
  cda_m2[PLANT_PATH_blade] =
      slot_cda_m2(gap.area_m2, gap.passing_m2, curve_value(&params->throttle.discharge, opening), gap_viscosity(inputs, state));
  cda_m2[PLANT_PATH_bypass] = 0.0;
  if (params->throttle.kind == THROTTLE_CABLE)
    cda_m2[PLANT_PATH_bypass] =
        params->bypass.discharge_ratio * bypass_area_m2(&params->bypass, inputs->bypass_steps, faults->bypass_film_m);
  cda_m2[PLANT_PATH_ventilation] = params->intake.ventilation_cda_m2 + AIR_SHARP_DISCHARGE_RATIO * faults->ventilation_area_m2;
  cda_m2[PLANT_PATH_leak] = AIR_SHARP_DISCHARGE_RATIO * faults->leak_area_m2;
  cda_m2[PLANT_PATH_booster] = AIR_SHARP_DISCHARGE_RATIO * faults->booster_leak_area_m2;
  cda_m2[PLANT_PATH_purge] = purge_usual_m2(params, inputs) + AIR_SHARP_DISCHARGE_RATIO * faults->purge_area_m2;
  cda_m2[PLANT_PATH_recirculation] = AIR_SHARP_DISCHARGE_RATIO * faults->recirculation_area_m2;
}

static double path_flow_kg_s(double cda_m2, double source_pa, double source_k, const struct plant_state *state) {
  if (cda_m2 <= 0.0) return 0.0;
  return orifice_mass_flow_kg_s(cda_m2, source_pa, source_k, state->manifold_pressure_pa, state->manifold_temperature_k);
}

static double duct_flow_kg_s(const struct plant_inputs *inputs, const struct plant_state *state,
                             const double cda_m2[PLANT_PATH_COUNT], double duct_pa, struct plant_signals *signals) {
  double sum = 0.0;
  for (int i = 0; i < PLANT_PATH_COUNT; i++) {
    if (plant_path_rows[i].node != PLANT_NODE_DUCT) continue;
    signals->path_kg_s[i] = path_flow_kg_s(cda_m2[i], duct_pa, inputs->ambient_k, state);
    sum += signals->path_kg_s[i];
  }
  return sum;
}

/* What stands between the open and the duct: a loss that goes with the square of the flow, a charger's rise behind it, and perhaps a hole
 * behind that. */
struct way_in {
  double loss_pa_s2_kg2, rise_pa;
  double leak_pa_s2_kg2; // of the hole in a charge hose; 0: there is none
};

/* Flow through the filter where the duct takes `flow`: the rest comes in through the hole, or goes out by it, as the pressure there is
 * below that of the open or above. With d = p_ambient - p, k m|m| = rise + d and q l|l| = d for the filter and the hole, m + l = flow:
 * quadratics in m, one for each pair of directions; they meet with one slope. */
static double filter_flow_kg_s(const struct way_in *way, double flow) {
  const double k = way->loss_pa_s2_kg2, q = way->leak_pa_s2_kg2;
  if (q <= 0.0) return flow;
  const double square = q * flow * flow;
  if (!(square + way->rise_pa > 0.0)) return 0.0;
  if (k * flow * fabs(flow) >= way->rise_pa) // in by the hole: (k - q) m^2 + 2 q flow m = q flow^2 + rise
    return (square + way->rise_pa) / (q * flow + sqrt(bounds_larger(square * q + (k - q) * (square + way->rise_pa), 0.0)));
  if (flow > 0.0 || square <= way->rise_pa) { // out by it: (k + q) m^2 - 2 q flow m + q flow^2 = rise
    return (q * flow + sqrt(square * q - (k + q) * (square - way->rise_pa))) / (k + q);
  } // out by both: (q - k) m^2 - 2 q flow m + q flow^2 = rise, m < 0
  return -(square - way->rise_pa) / (-q * flow + sqrt(bounds_larger(square * q - (q - k) * (square - way->rise_pa), 0.0)));
}

/* All paths choked: flow goes with duct pressure, so p + k (G p)^2 = head is a quadratic. flow: at that pressure. */
static double scale_choked(double loss, double flow, double head_pa, struct plant_signals *signals) {
  const double per_pa = flow / head_pa;
  const double duct = 2.0 * head_pa / (1.0 + sqrt(1.0 + 4.0 * loss * per_pa * per_pa * head_pa));
  for (int i = 0; i < PLANT_PATH_COUNT; i++)
    if (plant_path_rows[i].node == PLANT_NODE_DUCT) signals->path_kg_s[i] *= duct / head_pa;
  signals->duct_pa = duct;
  return flow * duct / head_pa;
}

/* Pressure before the blade: the root of p + k m(p)|m(p)| = p_ambient + rise, m through the filter, bracketed by manifold, ambient and
 * that pressure. Secant steps with a bisection to fall back on. Returns the flow out of the duct. */
static double solve_duct(const struct way_in *way, const struct plant_inputs *inputs, const struct plant_state *state,
                         const double cda_m2[PLANT_PATH_COUNT], struct plant_signals *signals) {
  const double loss = way->loss_pa_s2_kg2, ambient = inputs->ambient_pa + way->rise_pa;
  double flow = duct_flow_kg_s(inputs, state, cda_m2, ambient, signals);
  if (way->leak_pa_s2_kg2 <= 0.0 && state->manifold_pressure_pa < SURELY_CHOKED * (ambient - loss * flow * flow))
    return scale_choked(loss, flow, ambient, signals);
  double low = bounds_smaller(state->manifold_pressure_pa, inputs->ambient_pa);
  double high = bounds_larger(state->manifold_pressure_pa, ambient);
  double duct = ambient, last_duct = ambient, last_miss = 0.0;
  for (int i = 0; i < DUCT_ITERATION_MAX; i++) {
    if (i > 0) flow = duct_flow_kg_s(inputs, state, cda_m2, duct, signals);
    const double filtered = filter_flow_kg_s(way, flow);
    const double miss = ambient - loss * filtered * fabs(filtered) - duct;
    signals->duct_pa = duct;
    if (fabs(miss) < DUCT_TOLERANCE_PA) break;
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
  return flow;
}

/* A torn boot behind the sensor lets air past it. Filter (loss k) and hole (CdA) see the same small drop, so the flow through the
 * hole is a fixed share of that through the filter: c = CdA sqrt(2 rho k). */
static double boot_share_ratio(double loss, const struct plant_inputs *inputs) {
  if (inputs->faults.boot_leak_area_m2 <= 0.0) return 0.0;
  const double density = inputs->ambient_pa / (GAS_AIR_CONSTANT_J_KG_K * inputs->ambient_k);
  return AIR_SHARP_DISCHARGE_RATIO * inputs->faults.boot_leak_area_m2 * sqrt(2.0 * density * loss);
}

/* The way in as it is now. The charger's rise is that of the flow into the cylinders, whose exhaust drives it, where it delivers just that;
 * what it must deliver beyond takes the rise down, to nothing at the root of two times as much: rise (2 - (m / m_cylinders)^2), our own.
 * A hole in a charge hose sees a small difference of pressure: incompressible, q = 1 / (2 rho CdA^2). */
static struct way_in way_in(const struct plant_params *params, const struct plant_inputs *inputs, double loss,
                            const struct plant_signals *s) {
  struct way_in way = {.loss_pa_s2_kg2 = loss};
  if (params->charger.rise_pa.count == 0) return way; // nor are there charge hoses
  const double rise = curve_value(&params->charger.rise_pa, s->cylinder_kg_s);
  if (rise > 0.0) {
    way.rise_pa = 2.0 * rise;
    way.loss_pa_s2_kg2 += rise / (s->cylinder_kg_s * s->cylinder_kg_s);
  }
  const double hole_m2 = AIR_SHARP_DISCHARGE_RATIO * inputs->faults.charge_leak_area_m2;
  const double density = inputs->ambient_pa / (GAS_AIR_CONSTANT_J_KG_K * inputs->ambient_k);
  if (hole_m2 > 0.0) way.leak_pa_s2_kg2 = 1.0 / (2.0 * density * hole_m2 * hole_m2);
  return way;
}

double air_charge_most_pa(const struct plant_params *params, double ambient_pa) {
  double most = 0.0;
  for (size_t i = 0; i < params->charger.rise_pa.count; i++) most = bounds_larger(most, params->charger.rise_pa.y[i]);
  return ambient_pa + 2.0 * most; // with nothing drawn from it
}

double air_wall_k(const struct plant_params *params, double ambient_k, double coolant_k) {
  return ambient_k + params->intake.wall_warmth_ratio * (coolant_k - ambient_k);
}

/* Share of the air that burns in bank 1: of a sound engine's, less what cylinder 1 loses. lost: of all cylinders' charge. */
static double bank1_air_ratio(double sound_ratio, double lost_ratio) {
  return sound_ratio * (1.0 - 2.0 * lost_ratio) / (1.0 - 2.0 * lost_ratio * sound_ratio);
}

void air_signals(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                 struct plant_signals *s) {
  double cda_m2[PLANT_PATH_COUNT];
  path_areas(params, inputs, state, s, cda_m2);
  const double loss = params->intake.filter_drop_pa_s2_kg2 * inputs->faults.filter_ratio;
  const double lost_ratio = plant_faults_pushed_back_ratio(&inputs->faults) / params->charge.cylinder_count; // of all cylinders
  const double kept = (1.0 - inputs->faults.compression_loss_ratio) * (1.0 - lost_ratio);
  const double exhaust_loss = params->intake.exhaust_drop_pa_s2_kg2 * inputs->faults.exhaust_ratio;
  s->intake_air_kg =
      kept * charge_air_against_loss_kg(&params->charge, state->manifold_pressure_pa, inputs->ambient_pa, exhaust_loss, kept,
                                        state->manifold_temperature_k, state->crank_speed_rad_s, &s->exhaust_pa);
  s->cylinder_kg_s = s->intake_air_kg * state->crank_speed_rad_s / (4.0 * UNITS_PI);
  const double beside = 1.0 + boot_share_ratio(loss, inputs);
  const struct way_in way = way_in(params, inputs, loss / (beside * beside), s);
  const double through_duct = solve_duct(&way, inputs, state, cda_m2, s);
  s->metered_kg_s = filter_flow_kg_s(&way, through_duct) / beside;
  s->inflow_kg_s = through_duct;
  for (int i = 0; i < PLANT_PATH_COUNT; i++) {
    if (plant_path_rows[i].node == PLANT_NODE_DUCT) continue;
    const bool exhaust = plant_path_rows[i].node == PLANT_NODE_EXHAUST;
    s->path_kg_s[i] = path_flow_kg_s(cda_m2[i], exhaust ? s->exhaust_pa : inputs->ambient_pa,
                                     exhaust ? params->warmth.exhaust_gas_k : inputs->ambient_k, state);
    s->inflow_kg_s += s->path_kg_s[i];
  }
  s->vapour_kg_s = bounds_larger(s->path_kg_s[PLANT_PATH_purge], 0.0) * purge_vapour_ratio(params, inputs);
  s->airflow_kg_s = s->inflow_kg_s - s->path_kg_s[PLANT_PATH_recirculation] - s->vapour_kg_s;
  s->intake_air_kg *= 1.0 - state->manifold_burned_ratio;
  const double leak_share = s->inflow_kg_s > 0.0 ? s->path_kg_s[PLANT_PATH_leak] / s->inflow_kg_s : 0.0;
  const double nearer = leak_share * (inputs->faults.leak_bank1_ratio - 0.5);
  s->bank1_air_ratio = bank1_air_ratio(0.5 + nearer, lost_ratio);
}

void air_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
               const struct plant_signals *s, struct plant_state *rates) {
  const double pressure = state->manifold_pressure_pa, temperature = state->manifold_temperature_k;
  const double volume = params->intake.manifold_volume_m3;
  double enthalpy_w = -s->cylinder_kg_s * GAS_AIR_CP_J_KG_K * temperature;
  for (int i = 0; i < PLANT_PATH_COUNT; i++) {
    const bool exhaust = plant_path_rows[i].node == PLANT_NODE_EXHAUST;
    const double outside_k = exhaust ? params->warmth.exhaust_gas_k : inputs->ambient_k;
    const double source_k = s->path_kg_s[i] >= 0.0 ? outside_k : temperature; // back flow leaves as it is
    enthalpy_w += s->path_kg_s[i] * GAS_AIR_CP_J_KG_K * source_k;
  }
  const double wall_k = air_wall_k(params, inputs->ambient_k, state->coolant_k);
  const double heat_w = params->intake.wall_conductance_w_k * (wall_k - temperature);
  const double mass = pressure * volume / (GAS_AIR_CONSTANT_J_KG_K * temperature);
  rates->manifold_pressure_pa = (GAS_AIR_GAMMA - 1.0) / volume * (enthalpy_w + heat_w);
  rates->manifold_temperature_k =
      temperature * (rates->manifold_pressure_pa / pressure - (s->inflow_kg_s - s->cylinder_kg_s) / mass);
  // what comes in dilutes, what goes out leaves the share as it is
  double burned_kg_s = 0.0;
  for (int i = 0; i < PLANT_PATH_COUNT; i++) {
    const double brought = plant_path_rows[i].node == PLANT_NODE_EXHAUST ? 1.0 : 0.0;
    if (s->path_kg_s[i] > 0.0) burned_kg_s += s->path_kg_s[i] * (brought - state->manifold_burned_ratio);
  }
  rates->manifold_burned_ratio = burned_kg_s / mass;
}

/* Manifold temperature and exhaust share that go with the flows of now. */
static void follow_flows(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_signals *s,
                         struct plant_state *state) {
  double heat_w_k = 0.0, carried_w = 0.0, burned = 0.0, inflow = 0.0;
  for (int i = 0; i < PLANT_PATH_COUNT; i++) {
    const double flow = bounds_larger(s->path_kg_s[i], 0.0);
    const bool exhaust = plant_path_rows[i].node == PLANT_NODE_EXHAUST;
    heat_w_k += flow * GAS_AIR_CP_J_KG_K;
    carried_w += flow * GAS_AIR_CP_J_KG_K * (exhaust ? params->warmth.exhaust_gas_k : inputs->ambient_k);
    inflow += flow;
    if (exhaust) burned += flow;
  }
  const double wall_k = air_wall_k(params, inputs->ambient_k, state->coolant_k);
  const double conductance = params->intake.wall_conductance_w_k;
  if (heat_w_k + conductance > 0.0) state->manifold_temperature_k = (carried_w + conductance * wall_k) / (heat_w_k + conductance);
  state->manifold_burned_ratio = inflow > 0.0 ? burned / inflow : 0.0;
}

/* Inflow less what the cylinders draw, at a pressure, with manifold temperature and exhaust share as they are; these then follow the
 * flows. drift: by how much, relative. Choked flows hang on neither, and the draw goes with 1 / temperature, so that the answer is
 * that of the new ones but for little more than its square. */
static double surplus_kg_s(const struct plant_params *params, const struct plant_inputs *inputs, double pressure_pa,
                           struct plant_state *state, struct plant_signals *s, double *drift_ratio) {
  const double temperature = state->manifold_temperature_k, burned = state->manifold_burned_ratio;
  state->manifold_pressure_pa = pressure_pa;
  air_signals(params, inputs, state, s);
  follow_flows(params, inputs, s, state);
  *drift_ratio = fabs(state->manifold_temperature_k / temperature - 1.0) + fabs(state->manifold_burned_ratio - burned);
  return s->inflow_kg_s - s->cylinder_kg_s * temperature / state->manifold_temperature_k; // as it will be
}

/* Secant from the last answer, kept inside a bracket. The first step takes inflow for choked and what the cylinders draw for a line
 * over pressure from where the charge law has them draw nothing, which it nearly is. */
void air_rest(const struct plant_params *params, const struct plant_inputs *inputs, struct plant_state *state,
              struct plant_signals *s) {
  double low = LEAST_PRESSURE_PA, high = air_charge_most_pa(params, inputs->ambient_pa), last = 0.0, last_surplus = 0.0;
  double pressure = bounds_smaller(bounds_larger(state->manifold_pressure_pa, low), 0.9 * high);
  const double none_pa = -params->charge.pressure_offset_pa / params->charge.pressure_slope_ratio;
  const double above_none = bounds_larger(pressure - none_pa, SURELY_FILLED_RATIO * pressure);
  for (int i = 0; i < PRESSURE_ITERATION_MAX; i++) {
    double drift;
    const double surplus = surplus_kg_s(params, inputs, pressure, state, s, &drift);
    const double uncertain = drift * s->cylinder_kg_s;
    if (fabs(surplus) > SURE_TIMES * uncertain) *(surplus > 0.0 ? &low : &high) = pressure;
    const double step =
        i == 0 ? above_none * surplus / s->cylinder_kg_s : -surplus * (pressure - last) / (surplus - last_surplus);
    const bool near = fabs(surplus) < SURPLUS_ROUNDING_KG_S || (i > 0 && !(fabs(step) >= PRESSURE_TOLERANCE_PA));
    if (near && drift < DRIFT_ROUNDING) break;
    const double next = near ? pressure : pressure + step;
    last = pressure;
    last_surplus = surplus;
    pressure = near || (next > low && next < high) ? next : 0.5 * (low + high);
  }
}
