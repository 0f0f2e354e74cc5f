#include "plant/torque.h"

#include "base/bounds.h"
#include "base/units.h"

#define LEAST_SPEED_RAD_S 5.0 // 50 rpm: below it fuel per cycle would grow without bound
#define HALF_OF_LOSS      0.5 // of the charge lost, in the efficiency of what is left; our own

static double bank_air_kg(const struct plant_params *params, const struct plant_state *state, double bank1_ratio, int bank) {
  if (params->charge.bank_count == 1) return bank == 0 ? state->burning_air_kg : 0.0;
  return state->burning_air_kg * (bank == 0 ? bank1_ratio : 1.0 - bank1_ratio);
}

static double lambda_of(double enough_kg, double fuel_kg) {
  return fuel_kg * TORQUE_LAMBDA_NO_FUEL > enough_kg ? enough_kg / fuel_kg : TORQUE_LAMBDA_NO_FUEL;
}

static double cylinders_in_bank(const struct plant_params *params) {
  return (double)params->charge.cylinder_count / params->charge.bank_count;
}

/* What cylinder 1 gives and takes, against its share in a sound engine. */
struct cylinder1 {
  double bank_cylinders; // of its bank, in sound cylinders' worth of charge
  double charge_ratio;   // charge that it keeps
  double work_ratio;     // work of it
};

/* no_spark: share of its firings. What leaks away does no work, and half as much again is missing in the efficiency. */
static struct cylinder1 cylinder1_of(const struct plant_params *params, const struct plant_inputs *inputs, double no_spark) {
  const double lost = inputs->faults.cylinder_loss_ratio, pushed_back = plant_faults_pushed_back_ratio(&inputs->faults);
  return (struct cylinder1){cylinders_in_bank(params) - pushed_back, 1.0 - pushed_back,
                            (1.0 - lost) * (1.0 - HALF_OF_LOSS * lost) * (1.0 - no_spark)};
}

double torque_exhaust_lambda(const struct plant_params *params, const struct plant_inputs *inputs,
                             const struct plant_state *state, double bank1_ratio, int bank) {
  const double enough_kg = bank_air_kg(params, state, bank1_ratio, bank) / params->combustion.stoichiometric_ratio;
  const struct cylinder1 one = cylinder1_of(params, inputs, inputs->faults.spark_missing_ratio);
  const double unburned = bank == 0 ? inputs->faults.spark_missing_ratio * one.charge_ratio / one.bank_cylinders : 0.0;
  return lambda_of(enough_kg, (bank == 0 ? state->burning_fuel1_kg : state->burning_fuel2_kg) * (1.0 - unburned));
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
      combustion_burn_efficiency(combustion, s->residual_fraction) * (1.0 - HALF_OF_LOSS * inputs->faults.compression_loss_ratio);
  const struct cylinder1 one = cylinder1_of(params, inputs, inputs->no_spark_ratio);
  double work = 0.0, burned = 0.0, uneven = 0.0;
  for (int bank = 0; bank < params->charge.bank_count; bank++) {
    const double fuel = bank == 0 ? state->burning_fuel1_kg : state->burning_fuel2_kg;
    double bank_burned;
    const double air = bank_air_kg(params, state, s->bank1_air_ratio, bank);
    const double bank_work = bank_work_j(params, air, fuel, efficiency, &s->lambda[bank], &bank_burned);
    const double turn = bank == 0 ? inputs->cylinder1_pattern / one.bank_cylinders : 0.0; // cylinder 1's, were it sound
    const double sound = bank == 0 ? cylinders_in_bank(params) / one.bank_cylinders : 1.0;
    work += bank_work * (sound - (1.0 - one.work_ratio) * turn);
    burned += bank_burned * (1.0 - inputs->no_spark_ratio * one.charge_ratio * turn);
    uneven += bank_work * mixture_scatter_factor(&params->mixture, s->lambda[bank]);
  }
  const double scatter =
      inputs->scatter * combustion_scatter_ratio(combustion, s->best_spark_rad - s->spark_rad, s->residual_fraction) * uneven;
  s->indicated_nm = (work + scatter) / (4.0 * UNITS_PI);
  s->burned_w = burned * speed / (4.0 * UNITS_PI);
  s->wall_heat_w = params->warmth.wall_heat_ratio * bounds_larger(s->burned_w - work * speed / (4.0 * UNITS_PI), 0.0);
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

/* What the injectors of one bank deliver. */
static double injected_fuel_kg_s(const struct plant_params *params, const struct plant_inputs *inputs, int bank,
                                 double cycles_per_s) {
  const double asked = inputs->firing ? inputs->fuel_per_cycle_kg[bank] : 0.0;
  return asked * (1.0 + params->mixture.injector_ratio) * inputs->faults.fuel_delivery_ratio * cycles_per_s;
}

/* Fuel that burns in one bank in an engine cycle, once it is there: what injectors and wall film deliver, and with the purge air. What
 * cylinder 1 pushes back into the manifold is drawn by all cylinders, so part of bank 1's fuel burns in bank 2. */
static double drawn_fuel_kg(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                            const struct plant_signals *s, const double delivered_kg_s[PLANT_BANK_MAX], int bank) {
  const double vapour_kg_s = s->vapour_kg_s / params->charge.bank_count;
  const double lost = plant_faults_pushed_back_ratio(&inputs->faults);
  const double over_kg_s =
      params->charge.bank_count == 2 ? (delivered_kg_s[0] + vapour_kg_s) * lost / (params->charge.cylinder_count - lost) : 0.0;
  const double drawn_kg_s = delivered_kg_s[bank] + vapour_kg_s + (bank == 0 ? -over_kg_s : over_kg_s);
  return drawn_kg_s * 4.0 * UNITS_PI / bounds_larger(state->crank_speed_rad_s, LEAST_SPEED_RAD_S);
}

/* Fuel of the banks: injected onto wall and into air, evaporated, drawn in, burned a lag later. */
static void fuel_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                       const struct plant_signals *s, struct plant_state *rates) {
  const double cycles_per_s = state->crank_speed_rad_s / (4.0 * UNITS_PI);
  const double wall_kg[PLANT_BANK_MAX] = {state->wall_fuel1_kg, state->wall_fuel2_kg};
  const double burning_kg[PLANT_BANK_MAX] = {state->burning_fuel1_kg, state->burning_fuel2_kg};
  double delivered_kg_s[PLANT_BANK_MAX] = {0.0}, wall_rate[PLANT_BANK_MAX] = {0.0}, burning_rate[PLANT_BANK_MAX] = {0.0};
  for (int bank = 0; bank < params->charge.bank_count; bank++) {
    const double injected_kg_s = injected_fuel_kg_s(params, inputs, bank, cycles_per_s);
    // at most two banks. NOLINTNEXTLINE(clang-analyzer-core.CallAndMessage)
    delivered_kg_s[bank] = mixture_delivered_kg_s(&params->mixture, injected_kg_s, wall_kg[bank], state->coolant_k);
    wall_rate[bank] = mixture_wall_rate_kg_s(&params->mixture, injected_kg_s, wall_kg[bank], state->coolant_k);
    const double per_cycle = drawn_fuel_kg(params, inputs, state, s, delivered_kg_s, bank);
    burning_rate[bank] = (per_cycle - burning_kg[bank]) * cycles_per_s / params->combustion.torque_lag_cycle_ratio;
  }
  rates->wall_fuel1_kg = wall_rate[0];
  rates->wall_fuel2_kg = wall_rate[1];
  rates->burning_fuel1_kg = burning_rate[0];
  rates->burning_fuel2_kg = burning_rate[1];
}

void torque_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                  const struct plant_signals *s, struct plant_state *rates) {
  const double cycles_per_s = state->crank_speed_rad_s / (4.0 * UNITS_PI);
  rates->crank_speed_rad_s = inputs->mode.crank_held ? 0.0 : s->net_nm / params->crank.inertia_kg_m2;
  rates->burning_air_kg = (s->intake_air_kg - state->burning_air_kg) * cycles_per_s / params->combustion.torque_lag_cycle_ratio;
  fuel_rates(params, inputs, state, s, rates);
}

void torque_fuel_rest(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_signals *s,
                      struct plant_state *state, int bank) {
  const double cycles_per_s = state->crank_speed_rad_s / (4.0 * UNITS_PI);
  double delivered_kg_s[PLANT_BANK_MAX]; // past a wall film at rest
  for (int i = 0; i < PLANT_BANK_MAX; i++) delivered_kg_s[i] = injected_fuel_kg_s(params, inputs, i, cycles_per_s);
  *(bank == 0 ? &state->burning_fuel1_kg : &state->burning_fuel2_kg) =
      drawn_fuel_kg(params, inputs, state, s, delivered_kg_s, bank);
  state->burning_air_kg = s->intake_air_kg;
}

void torque_wall_rest(const struct plant_params *params, const struct plant_inputs *inputs, struct plant_state *state, int bank) {
  const double injected_kg_s = injected_fuel_kg_s(params, inputs, bank, state->crank_speed_rad_s / (4.0 * UNITS_PI));
  *(bank == 0 ? &state->wall_fuel1_kg : &state->wall_fuel2_kg) =
      mixture_wall_rest_kg(&params->mixture, injected_kg_s, state->coolant_k);
}
