#include "analysis/settle/settle_balance.h"

#include "base/root.h"
#include "control/actuate.h"
#include "control/fuel.h"
#include "control/idle.h"
#include "control/supervise.h"
#include "plant/air.h"
#include "plant/torque.h"
#include "sim/exchange.h"

#include <math.h>
#include <string.h>

enum { STEP_ITERATION_MAX = 60 };
#define STEP_TOLERANCE   1e-9
#define STEP_REACH_RATIO 0.01 // of base air; a step is about as much
#define TRIM_REACH_RATIO 0.1
#define TRIM_MOST_RATIO  10.0 // where no trim would do

void settle_balance_begin(struct settle *s, const struct settle_query *query, const struct conditions *c, double coolant_k) {
  struct vehicle *vehicle = &s->vehicle;
  vehicle->pedal_ratio = c->hold_speed_rad_s > 0.0 ? 0.0 : c->pedal_ratio;
  const double rest_rad = plant_rest_angle_rad(&vehicle->engine->plant);
  plant_state_at_rest(conditions_ambient_pa(c), air_wall_k(&vehicle->engine->plant, c->intake_k, coolant_k), coolant_k, c->oil_k,
                      rest_rad, &vehicle->state);
  computer_init(&vehicle->computer, &vehicle->design);
  vehicle->sensors.lambda[0] = vehicle->sensors.lambda[1] = 1.0;
  vehicle->key = KEY_ON;
  vehicle->computer.mode = query->engine_off ? COMPUTER_KEY_ON : COMPUTER_RUNNING;
  memcpy(s->long_trim, query->long_trim, sizeof s->long_trim);
  vehicle->inputs.firing = !query->engine_off; // the alternator charges
  vehicle->motor_v = vehicle->motor_a = 0.0;
  if (!query->engine_off) vehicle->state.crank_speed_rad_s = vehicle->engine->computer.target.compressor_rad_s;
  s->stood_rad = rest_rad;
  s->stop_kept_ratio = query->stop_kept_ratio;
  settle_balance_change(s, c);
  const bool warm = s->sensors.coolant_k >= vehicle->engine->computer.supervision.warm_k;
  s->kept_ratio = query->learning == SETTLE_LEARNED && warm ? NAN : query->learned_ratio; // cold, nothing is learned
  vehicle->computer.target_rad_s = idle_target_rad_s(&vehicle->design, &s->sensors);
}

void settle_balance_change(struct settle *s, const struct conditions *c) {
  struct vehicle *vehicle = &s->vehicle;
  s->placed_for_ratio = NAN;
  s->foot_placed = false;
  vehicle->conditions = *c;
  exchange_learn_closed(vehicle, s->stop_kept_ratio);
  s->sensors = exchange_sensors(vehicle);
  computer_rest(&vehicle->design, &s->sensors, &vehicle->computer);
  exchange_rest(vehicle);
}

/* How far the oxygen sensor of a bank is from one with so much trim, as fuel over air: 1 / lambda - 1, which is linear in it as long as
 * the sensor is true. Everything that the fuel of the bank does has then come to rest. */
static double mixture_off_ratio(struct settle *s, int bank, double base_kg, double trim_ratio) {
  struct vehicle *vehicle = &s->vehicle;
  const struct plant_params *plant = &vehicle->engine->plant;
  fuel_asked_rest(base_kg, trim_ratio, &vehicle->computer, bank);
  vehicle->inputs.fuel_per_cycle_kg[bank] = vehicle->computer.fuel_per_cycle_kg[bank];
  torque_fuel_rest(plant, &vehicle->inputs, &s->signals, &vehicle->state, bank);
  const double lambda = torque_exhaust_lambda(plant, &vehicle->inputs, &vehicle->state, s->signals.bank1_air_ratio, bank);
  sensors_rest(&vehicle->sensors, bank, lambda, vehicle->inputs.firing);
  return 1.0 / vehicle->sensors.lambda[bank] - 1.0;
}

/* Trim at which the oxygen sensor reads one: a secant, exact where the sensor is true. */
static double wanted_trim_ratio(struct settle *s, int bank, double base_kg) {
  const double first = mixture_off_ratio(s, bank, base_kg, 0.0), second = mixture_off_ratio(s, bank, base_kg, TRIM_REACH_RATIO);
  const double slope = (second - first) / TRIM_REACH_RATIO;
  if (!(slope > 0.0)) return first < 0.0 ? TRIM_MOST_RATIO : -TRIM_MOST_RATIO;
  return -first / slope;
}

static void balance_fuel(struct settle *s) {
  struct vehicle *vehicle = &s->vehicle;
  exchange_read_engine(vehicle, &s->sensors);
  const double base_kg = fuel_base_rest_kg(&vehicle->design, &s->sensors, &vehicle->computer);
  for (int bank = 0; bank < vehicle->engine->plant.charge.bank_count; bank++) {
    const double wanted = vehicle->computer.closed_loop ? wanted_trim_ratio(s, bank, base_kg) : 0.0;
    const double trim =
        fuel_trim_rest(&vehicle->engine->computer, &s->sensors, wanted, s->long_trim[bank], &vehicle->computer, bank);
    mixture_off_ratio(s, bank, base_kg, trim);
    torque_wall_rest(&vehicle->engine->plant, &vehicle->inputs, &vehicle->state, bank);
  }
}

double settle_balance_nm(struct settle *s, double speed_rad_s) {
  struct vehicle *vehicle = &s->vehicle;
  const struct plant_params *plant = &vehicle->engine->plant;
  const double error = vehicle->computer.target_rad_s - speed_rad_s;
  vehicle->state.crank_speed_rad_s = speed_rad_s;
  vehicle->computer.spark_rad = vehicle->inputs.spark_rad =
      idle_spark_goal_rad(&vehicle->design, speed_rad_s, error, vehicle->computer.idling);
  air_rest(plant, &vehicle->inputs, &vehicle->state, &s->signals);
  plant_lags_rest(plant, &vehicle->inputs, &s->signals, &vehicle->state);
  balance_fuel(s);
  torque_signals(plant, &vehicle->inputs, &vehicle->state, &s->signals);
  return s->signals.net_nm;
}

/* Blade angle or bypass steps that the computer wants for idling with so much added. */
static double wanted_for(const struct settle *s, double added_ratio) {
  const struct vehicle *vehicle = &s->vehicle;
  const double air = idle_air_kg_s(&vehicle->design, &s->sensors, vehicle->computer.target_rad_s, added_ratio);
  return actuate_wanted(&vehicle->design, &s->sensors, air, vehicle->computer.purge_ratio, vehicle->computer.idle_blade_rad);
}

/* What is wanted less the whole step sought. */
struct step_search {
  const struct settle *s;
  double whole;
};

static double over_step(double added_ratio, void *user) {
  const struct step_search *search = user;
  return wanted_for(search->s, added_ratio) - search->whole;
}

double settle_balance_whole_step_ratio(struct settle *s, double added_ratio) {
  if (s->vehicle.engine->plant.throttle.kind != THROTTLE_CABLE) return added_ratio;
  struct step_search search = {s, round(wanted_for(s, added_ratio))};
  const double here = over_step(added_ratio, &search);
  if (fabs(here) < STEP_TOLERANCE) return added_ratio;
  double reach = here > 0.0 ? -STEP_REACH_RATIO : STEP_REACH_RATIO;
  while (here * over_step(added_ratio + reach, &search) > 0.0) reach *= 2.0; // half a step at most: areas grow with steps
  const struct root_limits limits = {SETTLE_EFFORT_RATIO, STEP_TOLERANCE, STEP_ITERATION_MAX};
  return root_between(over_step, &search, added_ratio, here, added_ratio + reach, over_step(added_ratio + reach, &search),
                      &limits);
}

void settle_balance_place(struct settle *s) {
  s->placed_for_ratio = NAN;
  s->foot_placed = s->vehicle.engine->plant.throttle.kind == THROTTLE_CABLE;
  if (!circuits_blade_smooth(&s->vehicle.conditions.circuit_faults)) s->vehicle.state.blade_rad = s->stood_rad;
  exchange_blade_rest(&s->vehicle, &s->sensors);
}

void settle_balance_keep_idle_air(struct settle *s) {
  struct vehicle *vehicle = &s->vehicle;
  const struct computer_state *computer = &vehicle->computer;
  if (!(vehicle->inputs.firing)) return;
  idle_rest(&vehicle->design, &s->sensors, computer->memory.learned_ratio + computer->effort_ratio, &vehicle->computer);
  vehicle->inputs.bypass_steps = exchange_bypass_steps(vehicle);
}

double settle_balance_idle_nm(struct settle *s, double speed_rad_s, double added_ratio) {
  struct vehicle *vehicle = &s->vehicle;
  vehicle->state.crank_speed_rad_s = speed_rad_s;
  const double alternator_w = exchange_alternator_w(vehicle); // fed forward, and less at a low speed
  if (alternator_w > s->sensors.alternator_w || alternator_w < s->sensors.alternator_w) s->placed_for_ratio = NAN;
  s->sensors.alternator_w = alternator_w;
  if (!(s->placed_for_ratio >= added_ratio && s->placed_for_ratio <= added_ratio)) {
    idle_rest(&vehicle->design, &s->sensors, added_ratio, &vehicle->computer);
    if (s->foot_placed) // only the bypass valve moves
      vehicle->inputs.bypass_steps = exchange_bypass_steps(vehicle);
    else
      settle_balance_place(s);
    s->placed_for_ratio = added_ratio;
  }
  return settle_balance_nm(s, speed_rad_s);
}

double settle_balance_pedal_nm(struct settle *s, double speed_rad_s, double pedal_ratio) {
  s->vehicle.pedal_ratio = pedal_ratio;
  settle_balance_place(s);
  return settle_balance_nm(s, speed_rad_s);
}

void settle_balance_stand(struct settle *s) {
  struct vehicle *vehicle = &s->vehicle;
  struct plant_state *state = &vehicle->state;
  vehicle->computer.mode = COMPUTER_KEY_ON;
  vehicle->computer.ran_this_cycle = false;
  state->crank_speed_rad_s = 0.0;
  state->manifold_pressure_pa = vehicle->inputs.ambient_pa;
  state->manifold_temperature_k = air_wall_k(&vehicle->engine->plant, vehicle->inputs.ambient_k, state->coolant_k);
  state->burning_air_kg = state->burning_fuel1_kg = state->burning_fuel2_kg = 0.0;
  state->air_sensor_kg_s = state->compressor_engagement_ratio = 0.0;
  vehicle->inputs.firing = false;
  vehicle->inputs.mode.crank_held = true;
  settle_balance_place(s);
}

enum monitor_effect settle_balance_supervise(struct settle *s, struct monitor_measures *measures, uint64_t *codes) {
  struct vehicle *vehicle = &s->vehicle;
  const struct computer_sensors sensors = exchange_sensors(vehicle);
  if (vehicle->computer.mode == COMPUTER_RUNNING && !vehicle->computer.idling)
    fuel_rest(&vehicle->design, &sensors,
              &vehicle->computer); // its own idea of the pressure, for what the air-flow sensor should say
  return supervise_rest(&vehicle->design, &sensors, &vehicle->computer, measures, codes);
}

double settle_balance_coolant_rate_k_s(const struct settle *s) {
  return warmth_coolant_rate_k_s(&s->vehicle.engine->plant.warmth, s->signals.wall_heat_w, s->vehicle.state.coolant_k,
                                 s->vehicle.state.oil_k, s->vehicle.inputs.ambient_k);
}

void settle_balance_sample(struct settle *s, double values[CHANNEL_COUNT]) { exchange_sample(&s->vehicle, 0.0, 0.0, values); }
