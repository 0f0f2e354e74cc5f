#include "analysis/settle/settle_balance.h"

#include "base/root.h"
#include "control/actuate.h"
#include "control/fuel.h"
#include "control/idle.h"
#include "control/position.h"
#include "physics/gas.h"
#include "plant/air.h"
#include "plant/blade.h"
#include "plant/torque.h"
#include "sim/exchange.h"

#include <math.h>
#include <string.h>

enum { PRESSURE_ITERATION_MAX = 80, POSITION_ITERATION_MAX = 30, STEP_ITERATION_MAX = 60 };
#define STEP_TOLERANCE         1e-9
#define STEP_REACH_RATIO       0.01  // of base air; a step is about as much
#define POSITION_TOLERANCE_RAD 1e-12 // of 0.04: far below what speed feels
#define PRESSURE_TOLERANCE_PA  1e-7
#define SURPLUS_ROUNDING_KG_S  1e-15 // of some 2e-3
#define LEAST_PRESSURE_PA      2e3

static double cycles_per_s(const struct settle *s) { return s->vehicle.state.crank_speed_rad_s / (4.0 * UNITS_PI); }

/* Oil where friction and coolant keep it, for this coolant temperature. */
static double oil_at_rest_k(const struct settle *s, double friction_w) {
  const struct warmth_params *w = &s->vehicle.engine->plant.warmth;
  return (friction_w + w->coolant_oil_w_k * s->vehicle.state.coolant_k + w->oil_loss_w_k * s->vehicle.inputs.ambient_k) /
         (w->coolant_oil_w_k + w->oil_loss_w_k);
}

void settle_balance_begin(struct settle *s, const struct settle_query *query, double coolant_k) {
  struct vehicle *vehicle = &s->vehicle;
  const struct conditions *c = &query->conditions;
  s->placed_for_ratio = NAN;
  vehicle->conditions = *c;
  vehicle->pedal_ratio = c->hold_speed_rad_s > 0.0 ? 0.0 : c->pedal_ratio;
  const double ambient = conditions_ambient_pa(c), rest = plant_rest_angle_rad(&vehicle->engine->plant);
  plant_state_at_rest(ambient, c->intake_k, coolant_k, c->oil_k, rest, &vehicle->state);
  computer_init(&vehicle->computer, &vehicle->design);
  sensors_init(&vehicle->sensors);
  vehicle->key = KEY_ON;
  vehicle->computer.drive_powered = true;
  vehicle->computer.asleep_in_s = vehicle->engine->plant.drive.awake_s;
  vehicle->computer.mode = query->engine_off ? COMPUTER_KEY_ON : COMPUTER_RUNNING;
  vehicle->computer.firing = !query->engine_off;
  vehicle->computer.idling = !query->engine_off && c->hold_speed_rad_s <= 0.0;
  vehicle->computer.compressor_clutch = vehicle->computer.firing && c->compressor_request > 0.5;
  vehicle->state.compressor_engagement_ratio = vehicle->computer.compressor_clutch ? 1.0 : 0.0;
  vehicle->state.drive_engagement_ratio = c->drive_selected;
  vehicle->scatter = 0.0;
  memcpy(s->long_trim, query->long_trim, sizeof s->long_trim);
  vehicle->inputs.firing = vehicle->computer.firing; // the alternator charges
  exchange_learn_closed(vehicle);
  s->sensors = exchange_sensors(vehicle);
  position_read(&vehicle->design, &s->sensors, &vehicle->computer);
  exchange_hold(vehicle);
  // after it, since it takes the crank, which has no speed yet, for standing; held, the crank would feel no steering
  vehicle->inputs.mode = (struct plant_mode){.crank_held = query->engine_off,
                                             .blade = blade_has_drive(&vehicle->engine->plant) ? BLADE_HELD : BLADE_FREE};
  vehicle->state.blade_rate_rad_s = 0.0;
  vehicle->inputs.weak_pattern = 1.0; // its mean
  s->springs_have_blade = blade_has_drive(&vehicle->engine->plant) && (c->faults.motor_open > 0.5 || c->motor_supply_lost > 0.5);
  vehicle->computer.air_flow_good = c->circuit_faults.air_flow_open < 0.5 && c->circuit_faults.air_flow_shorted < 0.5;
}

/* Manifold temperature and exhaust share that go with the flows of now. */
static void follow_flows(struct settle *s) {
  struct plant_state *state = &s->vehicle.state;
  const struct plant_params *plant = &s->vehicle.engine->plant;
  const struct plant_inputs *inputs = &s->vehicle.inputs;
  double heat_w_k = 0.0, carried_w = 0.0, burned = 0.0, inflow = 0.0;
  for (int i = 0; i < PLANT_PATH_COUNT; i++) {
    const double flow = fmax(s->signals.path_kg_s[i], 0.0);
    const bool exhaust = plant_path_rows[i].node == PLANT_NODE_EXHAUST;
    heat_w_k += flow * GAS_AIR_CP_J_KG_K;
    carried_w += flow * GAS_AIR_CP_J_KG_K * (exhaust ? plant->warmth.exhaust_gas_k : inputs->ambient_k);
    inflow += flow;
    if (exhaust) burned += flow;
  }
  const double wall_k = inputs->ambient_k + plant->intake.wall_warmth_ratio * (state->coolant_k - inputs->ambient_k);
  const double conductance = plant->intake.wall_conductance_w_k;
  if (heat_w_k + conductance > 0.0) state->manifold_temperature_k = (carried_w + conductance * wall_k) / (heat_w_k + conductance);
  state->manifold_burned_ratio = inflow > 0.0 ? burned / inflow : 0.0;
}

/* Inflow less what the cylinders draw, at a pressure. Temperature and exhaust share come to rest with the flows of it; only a back flow
 * and recirculated exhaust feel them in turn, and that settles while the pressure does. */
static double surplus_kg_s(struct settle *s, double pressure_pa) {
  const struct plant_params *plant = &s->vehicle.engine->plant;
  s->vehicle.state.manifold_pressure_pa = pressure_pa;
  air_signals(plant, &s->vehicle.inputs, &s->vehicle.state, &s->signals);
  follow_flows(s);
  air_signals(plant, &s->vehicle.inputs, &s->vehicle.state, &s->signals);
  return s->signals.inflow_kg_s - s->signals.cylinder_kg_s;
}

static bool is_between(double x, double low, double high) { return x > low && x < high; }

/* Pressure at which as much comes in as goes out: secant from the last answer, kept inside a bracket. The first step takes inflow for
 * choked and what the cylinders draw for proportional to pressure, which it nearly is. */
static void balance_air(struct settle *s) {
  double low = LEAST_PRESSURE_PA, high = s->vehicle.inputs.ambient_pa;
  double last = fmin(fmax(s->vehicle.state.manifold_pressure_pa, low), 0.9 * high);
  double last_surplus = surplus_kg_s(s, last);
  double pressure = last * (1.0 + last_surplus / s->signals.cylinder_kg_s);
  *(last_surplus > 0.0 ? &low : &high) = last;
  for (int i = 0; i < PRESSURE_ITERATION_MAX; i++) {
    if (!is_between(pressure, low, high)) pressure = 0.5 * (low + high);
    const double surplus = surplus_kg_s(s, pressure);
    *(surplus > 0.0 ? &low : &high) = pressure;
    const double step = -surplus * (pressure - last) / (surplus - last_surplus);
    if (fabs(step) < PRESSURE_TOLERANCE_PA || fabs(surplus) < SURPLUS_ROUNDING_KG_S) break;
    last = pressure;
    last_surplus = surplus;
    pressure += step;
  }
}

/* Air per engine cycle as the computer knows it at rest. */
static double known_air_kg(const struct settle *s, const struct computer_sensors *sensors) {
  const struct vehicle *vehicle = &s->vehicle;
  if (vehicle->engine->computer.fuel.metering == METERING_AIR_FLOW) {
    const double flow = vehicle->computer.air_flow_good ? sensors->air_flow_kg_s
                                                        : actuate_clean_air_kg_s(&vehicle->design, sensors, &vehicle->computer);
    return flow / cycles_per_s(s);
  }
  const struct charge_params *charge = &vehicle->design.plant->charge; // as the computer takes it to be
  const double first_k = fuel_manifold_k(&vehicle->design, sensors, vehicle->engine->computer.air.base_kg_s);
  const double first = charge_air_per_cycle_kg(charge, sensors->manifold_pa, first_k, sensors->speed_rad_s);
  const double second_k = fuel_manifold_k(&vehicle->design, sensors, first * cycles_per_s(s));
  return charge_air_per_cycle_kg(charge, sensors->manifold_pa, second_k, sensors->speed_rad_s);
}

static double clamp(double value, double low, double high) { return fmin(fmax(value, low), high); }

/* Trims and fuel of one bank: lambda one if the loop is closed and the trims reach, else what the computer doses. A cold engine
 * and an open loop teach nothing: the long-term trim stays what it was. */
static void balance_bank(struct settle *s, int bank, double dosed_kg) {
  struct vehicle *vehicle = &s->vehicle;
  const struct fuel_params *fuel = &vehicle->engine->computer.fuel;
  const int banks = vehicle->engine->plant.charge.bank_count;
  const double air = vehicle->state.burning_air_kg * (banks == 1  ? 1.0
                                                      : bank == 0 ? s->signals.bank1_air_ratio
                                                                  : 1.0 - s->signals.bank1_air_ratio);
  const double vapour_kg = s->signals.vapour_kg_s / banks / cycles_per_s(s);
  const double delivery = vehicle->inputs.faults.fuel_delivery_ratio;
  double *long_trim = &vehicle->computer.memory.long_trim[bank][vehicle->computer.cell];
  double total = *long_trim = s->long_trim[bank];
  if (vehicle->computer.closed_loop) {
    const double needed = air / vehicle->engine->plant.combustion.stoichiometric_ratio - vapour_kg;
    const double wanted = needed / (dosed_kg * delivery) - 1.0;
    const bool warm = s->sensors.coolant_k >= vehicle->engine->computer.supervision.warm_k;
    if (warm) *long_trim = clamp(wanted, -fuel->long_limit_ratio, fuel->long_limit_ratio);
    total = clamp(wanted, *long_trim - fuel->short_limit_ratio, *long_trim + fuel->short_limit_ratio);
  }
  vehicle->computer.short_trim[bank] = total - *long_trim;
  const double injected = dosed_kg * (1.0 + total) * delivery;
  double *burning = bank == 0 ? &vehicle->state.burning_fuel1_kg : &vehicle->state.burning_fuel2_kg;
  *burning = injected + vapour_kg;
  vehicle->inputs.fuel_per_cycle_kg[bank] = dosed_kg * (1.0 + total);
  const struct mixture_params *mixture = &vehicle->engine->plant.mixture; // on the walls as much evaporates as lands there
  double *wall = bank == 0 ? &vehicle->state.wall_fuel1_kg : &vehicle->state.wall_fuel2_kg;
  *wall = mixture->wall_share_ratio * injected * cycles_per_s(s) * curve_value(&mixture->wall_time_s, vehicle->state.coolant_k);
  vehicle->sensors.lambda[bank] = fmin(air / (vehicle->engine->plant.combustion.stoichiometric_ratio * *burning), 2.0);
}

static void balance_fuel(struct settle *s) {
  struct vehicle *vehicle = &s->vehicle;
  vehicle->state.air_sensor_kg_s = s->signals.metered_kg_s;
  vehicle->state.burning_air_kg = s->signals.intake_air_kg;
  const struct computer_sensors sensors = exchange_sensors(vehicle);
  const struct fuel_params *fuel = &vehicle->engine->computer.fuel;
  vehicle->computer.cell = vehicle->computer.idling ? COMPUTER_CELL_IDLE : COMPUTER_CELL_OFF_IDLE;
  vehicle->computer.closed_loop = sensors.coolant_k >= fuel->closed_loop_k && vehicle->pedal_ratio < fuel->open_loop_pedal_ratio;
  const double lambda = vehicle->computer.closed_loop ? 1.0 : curve_value(&fuel->lambda, sensors.coolant_k);
  const int banks = vehicle->engine->plant.charge.bank_count;
  const double dosed = known_air_kg(s, &sensors) / (banks * vehicle->engine->plant.combustion.stoichiometric_ratio * lambda);
  for (int bank = 0; bank < banks; bank++) balance_bank(s, bank, dosed);
}

/* The voltage that holds the blade where it stands: what the loop's integral part has found beyond holding_v. Against a stop it
 * finds nothing. */
static void hold_blade(struct settle *s, bool within_stops) {
  struct vehicle *vehicle = &s->vehicle;
  const struct plant_params *plant = &vehicle->engine->plant;
  if (!blade_has_drive(plant)) return;
  const double closed = plant->throttle.bore.closed_angle_rad;
  vehicle->inputs.holding_v = drive_holding_v(&plant->drive, vehicle->inputs.blade_command_rad - closed);
  vehicle->state.drive_integral_v = 0.0;
  if (!within_stops || !vehicle->inputs.drive_powered) return;
  const double needed = vehicle->inputs.faults.spring_ratio * vehicle->inputs.faults.motor_resistance_ratio *
                        drive_holding_v(&plant->drive, vehicle->state.blade_rad - closed);
  vehicle->state.drive_integral_v = needed - vehicle->inputs.holding_v;
}

/* What the position sensor says less where the blade is. */
static double seen_error_rad(struct settle *s) {
  struct vehicle *vehicle = &s->vehicle;
  const struct computer_sensors sensors = exchange_sensors(vehicle);
  position_read(&vehicle->design, &sensors, &vehicle->computer);
  vehicle->inputs.position_error_rad = vehicle->computer.blade_seen_rad - vehicle->state.blade_rad;
  return vehicle->inputs.position_error_rad;
}

/* Where the blade comes to stand for a command: as the position sensor says, within its stops; a cable where the foot holds it. */
static void place_blade(struct settle *s, double command_rad) {
  struct vehicle *vehicle = &s->vehicle;
  s->placed_for_ratio = NAN;
  const struct plant_params *plant = &vehicle->engine->plant;
  const double closed = plant->throttle.bore.closed_angle_rad;
  double angle = command_rad + vehicle->conditions.position_offset_rad;
  if (plant->throttle.kind == THROTTLE_CABLE)
    angle = actuate_with_pedal_rad(&vehicle->design, vehicle->pedal_ratio, plant_rest_angle_rad(plant));
  double asked = s->springs_have_blade ? closed + plant->drive.rest_opening_rad : angle;
  vehicle->state.blade_rad = clamp(asked, closed, 0.5 * UNITS_PI);
  if (s->springs_have_blade) seen_error_rad(s);
  for (int i = 0; blade_has_drive(plant) && !s->springs_have_blade && i < POSITION_ITERATION_MAX;
       i++) { // the sensor's error depends on where the blade is
    asked = angle - seen_error_rad(s);
    const double before = vehicle->state.blade_rad;
    vehicle->state.blade_rad = clamp(asked, closed, 0.5 * UNITS_PI);
    if (fabs(vehicle->state.blade_rad - before) < POSITION_TOLERANCE_RAD) break;
  }
  vehicle->inputs.blade_command_rad = angle;
  vehicle->computer.blade_command_rad = command_rad;
  hold_blade(s, !s->springs_have_blade && asked > closed && asked < 0.5 * UNITS_PI);
}

static double balance(struct settle *s, double speed_rad_s, double error_rad_s) {
  struct vehicle *vehicle = &s->vehicle;
  const struct plant_params *plant = &vehicle->engine->plant;
  vehicle->state.crank_speed_rad_s = speed_rad_s;
  vehicle->computer.spark_rad = vehicle->inputs.spark_rad =
      idle_spark_goal_rad(&vehicle->design, speed_rad_s, error_rad_s, vehicle->computer.idling);
  balance_air(s);
  if (vehicle->conditions.warmth_held < 0.5) {
    const double friction = loads_friction_nm(&plant->friction, plant->charge.displacement_m3, speed_rad_s, vehicle->state.oil_k);
    vehicle->state.oil_k = oil_at_rest_k(s, friction * speed_rad_s);
  }
  balance_fuel(s);
  torque_signals(plant, &vehicle->inputs, &vehicle->state, &s->signals);
  return s->signals.net_nm;
}

/* Blade angle or bypass steps that the computer wants for idling with so much added. */
static double wanted_for(const struct settle *s, double added_ratio) {
  const struct vehicle *vehicle = &s->vehicle;
  const double air = idle_air_kg_s(&vehicle->design, &s->sensors, vehicle->computer.target_rad_s, added_ratio);
  return actuate_wanted(&vehicle->design, &s->sensors, air, vehicle->computer.idle_blade_rad);
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

/* Blade or bypass valve where the computer wants them for idling with so much added. */
static void place_for_idle(struct settle *s, double added_ratio) {
  struct vehicle *vehicle = &s->vehicle;
  const double wanted = wanted_for(s, added_ratio);
  if (vehicle->engine->plant.throttle.kind == THROTTLE_CABLE)
    vehicle->computer.bypass_steps = vehicle->inputs.bypass_steps = wanted;
  else
    vehicle->computer.idle_blade_rad = wanted;
  place_blade(s, vehicle->computer.idle_blade_rad);
}

double settle_balance_idle_nm(struct settle *s, double speed_rad_s, double added_ratio) {
  struct vehicle *vehicle = &s->vehicle;
  vehicle->computer.idling = true;
  if (!(s->placed_for_ratio >= added_ratio && s->placed_for_ratio <= added_ratio)) {
    place_for_idle(s, added_ratio);
    s->placed_for_ratio = added_ratio;
  }
  return balance(s, speed_rad_s, vehicle->computer.target_rad_s - speed_rad_s);
}

double settle_balance_held_nm(struct settle *s, double speed_rad_s, double pedal_ratio) {
  struct vehicle *vehicle = &s->vehicle;
  vehicle->computer.idling = false;
  vehicle->pedal_ratio = pedal_ratio;
  place_blade(s, actuate_with_pedal_rad(&vehicle->design, pedal_ratio, vehicle->computer.idle_blade_rad));
  return balance(s, speed_rad_s, 0.0);
}

void settle_balance_drive_works(struct settle *s) {
  s->springs_have_blade = false;
  s->placed_for_ratio = NAN;
}

void settle_balance_limp(struct settle *s) {
  s->springs_have_blade = true;
  s->vehicle.computer.limp = COMPUTER_LIMP_REST;
  s->vehicle.computer.drive_powered = s->vehicle.inputs.drive_powered = false;
}

void settle_balance_stand(struct settle *s) {
  struct vehicle *vehicle = &s->vehicle;
  vehicle->state.crank_speed_rad_s = 0.0;
  vehicle->state.manifold_pressure_pa = vehicle->inputs.ambient_pa;
  vehicle->state.manifold_temperature_k = vehicle->inputs.ambient_k;
  vehicle->state.burning_air_kg = vehicle->state.burning_fuel1_kg = vehicle->state.burning_fuel2_kg = 0.0;
  vehicle->state.air_sensor_kg_s = 0.0;
  vehicle->inputs.firing = vehicle->computer.firing = false;
  vehicle->inputs.mode.crank_held = true;
  place_blade(
      s, actuate_with_pedal_rad(&vehicle->design, vehicle->pedal_ratio, vehicle->design.plant->throttle.bore.closed_angle_rad));
}

double settle_balance_coolant_rate_k_s(const struct settle *s) {
  return warmth_coolant_rate_k_s(&s->vehicle.engine->plant.warmth, s->signals.wall_heat_w, s->vehicle.state.coolant_k,
                                 s->vehicle.state.oil_k, s->vehicle.inputs.ambient_k);
}

void settle_balance_sample(struct settle *s, double values[CHANNEL_COUNT]) { exchange_sample(&s->vehicle, 0.0, 0.0, values); }
