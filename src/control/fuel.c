#include "control/fuel.h"

#include "base/bounds.h"
#include "base/units.h"
#include "physics/gas.h"

#include <math.h>

#define CUT_CLEARS_S      1.0  // until the oxygen sensor sees burned gas again after a fuel cut
#define PURGE_AFTER_S     30.0 // from the start
#define PURGE_OPENS_S     10.0
#define LEAST_SPEED_RAD_S 5.0 // 50 rpm: slower, nothing is injected
#define LEAST_PRESSURE_PA 5e3 // the observer's floor; no engine pulls a deeper vacuum
#define CRANK_LAMBDA_MOST 1.0
enum { OBSERVER_ROUNDS = 6 };

double fuel_manifold_k(const struct computer_design *design, const struct computer_sensors *sensors, double air_kg_s) {
  const struct intake_params *intake = &design->plant->intake;
  const double wall_k = sensors->intake_k + intake->wall_warmth_ratio * (sensors->coolant_k - sensors->intake_k);
  const double carried = bounds_larger(air_kg_s, 0.0) * GAS_AIR_CP_J_KG_K;
  const double sum = carried + intake->wall_conductance_w_k;
  return sum > 0.0 ? (carried * sensors->intake_k + intake->wall_conductance_w_k * wall_k) / sum : sensors->intake_k;
}

/* Air flow as the sensor says; without a believable one what the computer itself asked the throttle for. */
static double sensed_air_kg_s(const struct computer_sensors *sensors, const struct computer_state *state) {
  return state->air_flow_good ? sensors->air_flow_kg_s : state->asked_air_kg_s;
}

/* Fresh air per engine cycle at the pressure that the observer holds, kg, and the temperature that goes with it. */
static double observed_air_kg(const struct computer_design *design, const struct computer_sensors *sensors, double manifold_pa,
                              double *temperature_k) {
  const struct charge_params *charge = &design->plant->charge;
  const double guess_k = fuel_manifold_k(design, sensors, design->params->air.base_kg_s);
  const double guess_kg = charge_air_per_cycle_kg(charge, manifold_pa, sensors->barometer_pa, guess_k, sensors->speed_rad_s);
  *temperature_k = fuel_manifold_k(design, sensors, guess_kg * sensors->speed_rad_s / (4.0 * UNITS_PI));
  return charge_air_per_cycle_kg(charge, manifold_pa, sensors->barometer_pa, *temperature_k, sensors->speed_rad_s);
}

/* Fresh air per engine cycle, kg; moves the observer of the manifold pressure. */
static double air_per_cycle_kg(const struct computer_design *design, const struct computer_sensors *sensors,
                               struct computer_state *state) {
  const double cycles_per_s = sensors->speed_rad_s / (4.0 * UNITS_PI);
  double temperature;
  const double air_kg = observed_air_kg(design, sensors, state->manifold_pa, &temperature);
  if (design->params->fuel.metering == METERING_PRESSURE) {
    state->manifold_pa = sensors->manifold_pa;
  } else {
    const double filling = GAS_AIR_CONSTANT_J_KG_K * temperature / design->plant->intake.manifold_volume_m3;
    state->manifold_pa += COMPUTER_PERIOD_S * filling * (sensed_air_kg_s(sensors, state) - air_kg * cycles_per_s);
    state->manifold_pa = bounds_clamp(state->manifold_pa, LEAST_PRESSURE_PA, sensors->barometer_pa);
  }
  return air_kg;
}

static void trim_tick(const struct computer_params *params, const struct computer_sensors *sensors, struct computer_state *state,
                      int bank) {
  const struct fuel_params *fuel = &params->fuel;
  double *long_trim = &state->memory.long_trim[bank][state->cell];
  if (!state->closed_loop) {
    state->short_trim[bank] = state->short_integral[bank] = 0.0;
    return;
  }
  const double error = bounds_clamp(sensors->lambda[bank] - 1.0, -0.3, 0.3);
  const double limit = fuel->short_limit_ratio;
  const double wanted = fuel->proportional * error + state->short_integral[bank];
  const bool pushing = (wanted >= limit && error > 0.0) || (wanted <= -limit && error < 0.0);
  if (!pushing) state->short_integral[bank] += fuel->integral_1_s * error * COMPUTER_PERIOD_S;
  state->short_trim[bank] = bounds_clamp(fuel->proportional * error + state->short_integral[bank], -limit, limit);
  if (sensors->coolant_k < params->supervision.warm_k) return; // a cold engine teaches nothing
  const double before = *long_trim;
  const double moved = state->short_trim[bank] * COMPUTER_PERIOD_S / fuel->long_time_s;
  *long_trim = bounds_clamp(before + moved, -fuel->long_limit_ratio, fuel->long_limit_ratio);
  state->short_integral[bank] -= *long_trim - before;
}

/* What must be injected so that `wanted` goes into the cylinders, and how the wall film follows. Rates per second. */
static double injected_kg_s(const struct mixture_params *mixture, double wanted_kg_s, double coolant_k, double *wall_kg) {
  const double tau = curve_value(&mixture->wall_time_s, coolant_k);
  const double injected = bounds_larger((wanted_kg_s - *wall_kg / tau) / (1.0 - mixture->wall_share_ratio), 0.0);
  // exact for a rate held over the tick
  const double end_kg = mixture->wall_share_ratio * injected * tau;
  *wall_kg = end_kg + (*wall_kg - end_kg) * exp(-COMPUTER_PERIOD_S / tau);
  return injected;
}

double fuel_wanted_lambda(const struct fuel_params *fuel, double coolant_k, const struct computer_state *state) {
  const double lambda = curve_value(&fuel->lambda, coolant_k);
  if (state->mode == COMPUTER_CRANKING) return bounds_smaller(lambda, CRANK_LAMBDA_MOST) / (1.0 + fuel->crank_ratio);
  return state->closed_loop ? 1.0 : lambda / (1.0 + state->start_fuel_ratio);
}

/* The oxygen sensors are heeded, and the long-term trim of which cell is in use. */
static void choose_loop(const struct computer_design *design, const struct computer_sensors *sensors,
                        struct computer_state *state) {
  const struct fuel_params *fuel = &design->params->fuel;
  state->cell = state->idling ? COMPUTER_CELL_IDLE : COMPUTER_CELL_OFF_IDLE;
  state->closed_loop = state->mode == COMPUTER_RUNNING && sensors->coolant_k >= fuel->closed_loop_k &&
                       state->running_s >= fuel->closed_loop_delay_s && state->pedal_seen_ratio < fuel->open_loop_pedal_ratio;
}

/* Fuel of one bank and cycle for so much air, before trims. */
static double base_kg(const struct computer_design *design, const struct computer_sensors *sensors,
                      const struct computer_state *state, double air_kg) {
  const double lambda = fuel_wanted_lambda(&design->params->fuel, sensors->coolant_k, state);
  return air_kg / (design->plant->charge.bank_count * design->plant->combustion.stoichiometric_ratio * lambda);
}

/* Air per cycle at rest: by pressure, or what the sensor says, as far as the observer's pressure reaches. */
static double air_rest_kg(const struct computer_design *design, const struct computer_sensors *sensors,
                          const struct computer_state *state) {
  double temperature;
  if (design->params->fuel.metering == METERING_PRESSURE)
    return observed_air_kg(design, sensors, sensors->manifold_pa, &temperature);
  const double sensed_kg = sensed_air_kg_s(sensors, state) * 4.0 * UNITS_PI / sensors->speed_rad_s;
  // by far the most readings lie well inside; a warm manifold holds more than half of what a cold one would
  const double cold_kg = charge_air_per_cycle_kg(&design->plant->charge, sensors->barometer_pa, sensors->barometer_pa,
                                                 sensors->intake_k, sensors->speed_rad_s);
  if (sensed_kg > 0.1 * cold_kg && sensed_kg < 0.5 * cold_kg) return sensed_kg;
  const double least_kg = observed_air_kg(design, sensors, LEAST_PRESSURE_PA, &temperature);
  return bounds_clamp(sensed_kg, least_kg, observed_air_kg(design, sensors, sensors->barometer_pa, &temperature));
}

double fuel_base_rest_kg(const struct computer_design *design, const struct computer_sensors *sensors,
                         struct computer_state *state) {
  choose_loop(design, sensors, state);
  return base_kg(design, sensors, state, air_rest_kg(design, sensors, state));
}

void fuel_asked_rest(double base, double trim_ratio, struct computer_state *state, int bank) {
  state->fuel_per_cycle_kg[bank] = state->firing ? base * (1.0 + trim_ratio) : 0.0;
}

double fuel_trim_rest(const struct computer_params *params, const struct computer_sensors *sensors, double wanted_ratio,
                      double kept_ratio, struct computer_state *state, int bank) {
  const struct fuel_params *fuel = &params->fuel;
  double *long_trim = &state->memory.long_trim[bank][state->cell];
  *long_trim = kept_ratio;
  state->short_trim[bank] = 0.0;
  if (state->closed_loop) {
    const bool warm = sensors->coolant_k >= params->supervision.warm_k; // a cold engine teaches nothing
    if (warm) *long_trim = bounds_clamp(wanted_ratio, -fuel->long_limit_ratio, fuel->long_limit_ratio);
    state->short_trim[bank] = bounds_clamp(wanted_ratio - *long_trim, -fuel->short_limit_ratio, fuel->short_limit_ratio);
  }
  state->short_integral[bank] = state->short_trim[bank];
  return state->short_trim[bank] + *long_trim;
}

void fuel_rest(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state) {
  const double cycles_per_s = sensors->speed_rad_s / (4.0 * UNITS_PI);
  const struct charge_params *charge = &design->plant->charge;
  if (design->params->fuel.metering == METERING_PRESSURE) {
    state->manifold_pa = sensors->manifold_pa;
  } else {
    for (int i = 0; i < OBSERVER_ROUNDS; i++) { // the temperature hardly changes from round to round
      double temperature;
      (void)observed_air_kg(design, sensors, state->manifold_pa, &temperature);
      const double wanted = charge_manifold_pa(charge, sensed_air_kg_s(sensors, state) / cycles_per_s, sensors->barometer_pa,
                                               temperature, sensors->speed_rad_s);
      state->manifold_pa = bounds_clamp(wanted, LEAST_PRESSURE_PA, sensors->barometer_pa);
    }
  }
  const double tau = curve_value(&design->plant->mixture.wall_time_s, sensors->coolant_k);
  for (int bank = 0; bank < design->plant->charge.bank_count; bank++)
    state->wall_fuel_kg[bank] = design->plant->mixture.wall_share_ratio * state->fuel_per_cycle_kg[bank] * cycles_per_s * tau;
}

static bool purge_wanted(const struct computer_design *design, const struct computer_sensors *sensors,
                         const struct computer_state *state) {
  return state->closed_loop && sensors->coolant_k >= design->params->supervision.warm_k && !state->fuel_cut;
}

void fuel_loop_rest(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state) {
  choose_loop(design, sensors, state);
  state->purge_ratio = purge_wanted(design, sensors, state) ? 1.0 : 0.0;
}

/* Opened slowly, so that the trims can follow; shut at once. */
static void purge_tick(const struct computer_design *design, const struct computer_sensors *sensors,
                       struct computer_state *state) {
  const bool open = purge_wanted(design, sensors, state) && state->running_s > PURGE_AFTER_S;
  state->purge_ratio = open ? bounds_smaller(state->purge_ratio + COMPUTER_PERIOD_S / PURGE_OPENS_S, 1.0) : 0.0;
}

void fuel_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state) {
  const double cycles_per_s = sensors->speed_rad_s / (4.0 * UNITS_PI);
  const double air_kg = air_per_cycle_kg(design, sensors, state);
  state->start_fuel_ratio *= design->start_fuel_keep;
  choose_loop(design, sensors, state);
  if (!sensors->frozen) purge_tick(design, sensors, state);
  state->cut_seen_s = state->fuel_cut ? CUT_CLEARS_S : bounds_larger(state->cut_seen_s - COMPUTER_PERIOD_S, 0.0);
  const int banks = design->plant->charge.bank_count;
  const double base = base_kg(design, sensors, state, air_kg);
  for (int bank = 0; bank < banks; bank++) {
    if (!sensors->frozen && state->cut_seen_s <= 0.0) trim_tick(design->params, sensors, state, bank);
    const double trim = state->short_trim[bank] + state->memory.long_trim[bank][state->cell];
    const double wanted_kg_s = base * (1.0 + trim) * cycles_per_s;
    state->fuel_per_cycle_kg[bank] = 0.0;
    if (!state->firing || state->fuel_cut || sensors->speed_rad_s < LEAST_SPEED_RAD_S) {
      state->wall_fuel_kg[bank] *= exp(-COMPUTER_PERIOD_S / curve_value(&design->plant->mixture.wall_time_s, sensors->coolant_k));
      continue;
    }
    const double injected = injected_kg_s(&design->plant->mixture, wanted_kg_s, sensors->coolant_k, &state->wall_fuel_kg[bank]);
    state->fuel_per_cycle_kg[bank] = injected / cycles_per_s;
  }
}
