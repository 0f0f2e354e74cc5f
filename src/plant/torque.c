#include "plant/torque.h"

#include "base/bounds.h"
#include "base/units.h"

#define LEAST_SPEED_RAD_S 5.0 // 50 rpm: below it fuel per cycle would grow without bound

static double bank_air_kg(const struct plant_params *params, const struct plant_state *state, double bank1_ratio, int bank) {
  if (params->charge.bank_count == 1) return bank == 0 ? state->burning_air_kg : 0.0;
  return state->burning_air_kg * (bank == 0 ? bank1_ratio : 1.0 - bank1_ratio);
}

static double lambda_of(double enough_kg, double fuel_kg) {
  return fuel_kg * TORQUE_LAMBDA_NO_FUEL > enough_kg ? enough_kg / fuel_kg : TORQUE_LAMBDA_NO_FUEL;
}

double torque_lambda(const struct plant_params *params, const struct plant_state *state, double bank1_ratio, int bank) {
  const double enough_kg = bank_air_kg(params, state, bank1_ratio, bank) / params->combustion.stoichiometric_ratio;
  return lambda_of(enough_kg, bank == 0 ? state->burning_fuel1_kg : state->burning_fuel2_kg);
}

/* Work of one bank in one engine cycle at best spark and without dilution, J, and the fuel energy set free. */
static double bank_work_j(const struct plant_params *params, double air_kg, double fuel_kg, double efficiency, double *lambda,
                          double *burned_j) {
  const struct combustion_params *combustion = &params->combustion;
  const double enough_kg = air_kg / combustion->stoichiometric_ratio;
  *lambda = lambda_of(enough_kg, fuel_kg);
  const double factor = mixture_torque_factor(&params->mixture, *lambda);
  *burned_j = factor > 0.0 ? bounds_smaller(enough_kg, fuel_kg) * combustion->heating_value_j_kg : 0.0;
  return enough_kg * combustion->heating_value_j_kg * efficiency * factor;
}

/* The part of the signals that only a firing engine has. */
static void combustion_signals(const struct plant_params *params, const struct plant_inputs *inputs,
                               const struct plant_state *state, struct plant_signals *s) {
  const struct combustion_params *combustion = &params->combustion;
  const double speed = state->crank_speed_rad_s;
  const double efficiency =
      curve_value(&combustion->efficiency, speed) * combustion_spark_efficiency(combustion, s->best_spark_rad - s->spark_rad) *
      combustion_burn_efficiency(combustion, s->residual_fraction) * (1.0 - 0.5 * inputs->faults.compression_loss_ratio);
  double work = 0.0, burned = 0.0, uneven = 0.0;
  for (int bank = 0; bank < params->charge.bank_count; bank++) {
    const double fuel = bank == 0 ? state->burning_fuel1_kg : state->burning_fuel2_kg;
    double bank_burned;
    const double air = bank_air_kg(params, state, s->bank1_air_ratio, bank);
    const double bank_work = bank_work_j(params, air, fuel, efficiency, &s->lambda[bank], &bank_burned);
    work += bank_work;
    burned += bank_burned;
    uneven += bank_work * mixture_scatter_factor(&params->mixture, s->lambda[bank]);
  }
  const double scatter =
      inputs->scatter * combustion_scatter_ratio(combustion, s->best_spark_rad - s->spark_rad, s->residual_fraction) * uneven;
  const double lost = (1.0 - inputs->faults.weak_cylinder_ratio) / params->charge.cylinder_count * inputs->weak_pattern;
  s->indicated_nm = (work * (1.0 - lost) + scatter) / (4.0 * UNITS_PI);
  s->burned_w = burned * speed / (4.0 * UNITS_PI);
  s->wall_heat_w =
      params->warmth.wall_heat_ratio * bounds_larger(s->burned_w - work * (1.0 - lost) * speed / (4.0 * UNITS_PI), 0.0);
}

void torque_signals(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                    struct plant_signals *s) {
  const double speed = state->crank_speed_rad_s;
  const double displacement = params->charge.displacement_m3;
  s->best_spark_rad = curve_value(&params->combustion.best_spark_rad, speed);
  s->spark_rad = inputs->spark_rad + inputs->faults.spark_offset_rad;
  const double own = charge_residual_fraction(&params->charge, state->manifold_pressure_pa, s->exhaust_pa, speed);
  s->residual_fraction = own + (1.0 - own) * state->manifold_burned_ratio;
  s->lambda[0] = s->lambda[1] = TORQUE_LAMBDA_NO_FUEL;
  s->indicated_nm = s->burned_w = s->wall_heat_w = 0.0;
  if (inputs->firing) combustion_signals(params, inputs, state, s);
  s->friction_nm = loads_friction_nm(&params->friction, displacement, speed, state->oil_k);
  s->pumping_nm = loads_pumping_nm(displacement, state->manifold_pressure_pa, s->exhaust_pa);
  s->alternator_nm = inputs->firing ? loads_alternator_nm(&params->loads, inputs->electrical_load_w, speed) : 0.0;
  s->compressor_nm = params->loads.compressor_torque_nm * state->compressor_engagement_ratio;
  s->steering_nm = inputs->mode.crank_held ? 0.0 : params->loads.steering_torque_nm * inputs->steering_ratio;
  s->converter_nm = loads_converter_nm(&params->loads, speed) * state->drive_engagement_ratio;
  s->starter_nm = inputs->starter ? inputs->starter_ratio * loads_starter_nm(&params->loads, speed) : 0.0;
  s->net_nm = s->indicated_nm + s->starter_nm - s->friction_nm - s->pumping_nm - s->alternator_nm - s->compressor_nm -
              s->steering_nm - s->converter_nm - inputs->faults.drag_nm;
}

/* Fuel of one bank: injected onto wall and into air, evaporated, drawn in, burned a lag later. */
static void bank_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                       const struct plant_signals *s, int bank, double *wall_rate, double *fuel_rate) {
  const double cycles_per_s = state->crank_speed_rad_s / (4.0 * UNITS_PI);
  const double asked = inputs->firing ? inputs->fuel_per_cycle_kg[bank] : 0.0;
  const double injected_kg_s = asked * inputs->faults.fuel_delivery_ratio * cycles_per_s;
  const double wall_kg = bank == 0 ? state->wall_fuel1_kg : state->wall_fuel2_kg;
  const double burning_kg = bank == 0 ? state->burning_fuel1_kg : state->burning_fuel2_kg;
  double drawn_kg_s = mixture_delivered_kg_s(&params->mixture, injected_kg_s, wall_kg, state->coolant_k);
  drawn_kg_s += s->vapour_kg_s / params->charge.bank_count;
  const double per_cycle = drawn_kg_s * 4.0 * UNITS_PI / bounds_larger(state->crank_speed_rad_s, LEAST_SPEED_RAD_S);
  *wall_rate = mixture_wall_rate_kg_s(&params->mixture, injected_kg_s, wall_kg, state->coolant_k);
  *fuel_rate = (per_cycle - burning_kg) * cycles_per_s / params->combustion.torque_lag_cycle_ratio;
}

void torque_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                  const struct plant_signals *s, struct plant_state *rates) {
  const double cycles_per_s = state->crank_speed_rad_s / (4.0 * UNITS_PI);
  rates->crank_speed_rad_s = inputs->mode.crank_held ? 0.0 : s->net_nm / params->crank.inertia_kg_m2;
  rates->burning_air_kg = (s->intake_air_kg - state->burning_air_kg) * cycles_per_s / params->combustion.torque_lag_cycle_ratio;
  bank_rates(params, inputs, state, s, 0, &rates->wall_fuel1_kg, &rates->burning_fuel1_kg);
  rates->wall_fuel2_kg = rates->burning_fuel2_kg = 0.0;
  if (params->charge.bank_count == 2) bank_rates(params, inputs, state, s, 1, &rates->wall_fuel2_kg, &rates->burning_fuel2_kg);
}
