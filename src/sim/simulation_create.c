/* How a simulation comes into being: memory and solver, an engine left to idle until it stands still, or one that rests. */
#include "sim/simulation.h"

#include "base/bounds.h"
#include "control/fuel.h"
#include "plant/air.h"
#include "plant/blade.h"
#include "sim/exchange.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SETTLE_S 20.0 // one round of settling in: ten times the idle loop's slowest mode
enum {
  SETTLE_ROUNDS = 7,
  SETTLE_FILM_ROUNDS = 4,
  SETTLE_FIRST_CLEAN = 2
}; // each moves the rest of the effort into the learned offset
#define LONG_AGO_S 3600.0

static void rates_callback(double time_s, const double *state, double *rates, const void *context) {
  const struct simulation *sim = context;
  (void)time_s; // the plant knows no time: what changes is held in its inputs
  plant_rates(&sim->vehicle.engine->plant, &sim->vehicle.inputs, (const struct plant_state *)state, (struct plant_state *)rates);
}

static void events_callback(double time_s, const double *state, double *values, const void *context) {
  const struct simulation *sim = context;
  (void)time_s;
  plant_event_values(&sim->vehicle.engine->plant, &sim->vehicle.inputs, (const struct plant_state *)state, values);
}

/* The blade leads: it does not feel the engine. */
static void lead_rates_callback(double time_s, const double *state, double *rates, const void *context) {
  const struct simulation *sim = context;
  (void)time_s;
  blade_rates(&sim->vehicle.engine->plant, &sim->vehicle.inputs, (const struct plant_state *)state, (struct plant_state *)rates);
}

static void lead_events_callback(double time_s, const double *state, double *values, const void *context) {
  const struct simulation *sim = context;
  (void)time_s;
  blade_event_values(&sim->vehicle.engine->plant, &sim->vehicle.inputs, (const struct plant_state *)state, values);
}

static void rest_rates_callback(double time_s, const double *state, double *rates, const void *context) {
  const struct simulation *sim = context;
  (void)time_s;
  plant_engine_rates(&sim->vehicle.engine->plant, &sim->vehicle.inputs, (const struct plant_state *)state,
                     (struct plant_state *)rates);
}

static void rest_events_callback(double time_s, const double *state, double *values, const void *context) {
  const struct simulation *sim = context;
  (void)time_s;
  plant_engine_event_values(&sim->vehicle.engine->plant, &sim->vehicle.inputs, (const struct plant_state *)state, values);
}

static struct solver_steps step_hint_callback(double time_s, const double *state, const void *context) {
  const struct simulation *sim = context;
  (void)time_s;
  return (struct solver_steps){
      blade_step_s(&sim->vehicle.engine->plant, &sim->vehicle.inputs, (const struct plant_state *)state),
      plant_step_s(&sim->vehicle.engine->plant, &sim->vehicle.inputs, (const struct plant_state *)state)};
}

/* What long use would have moved from the controllers' own parts into what they have learned. */
static void learn_at_once(struct simulation *sim) {
  const struct idle_air_params *air = &sim->vehicle.engine->computer.air;
  const struct fuel_params *fuel = &sim->vehicle.engine->computer.fuel;
  struct computer_state *computer = &sim->vehicle.computer;
  if (sim->vehicle.state.coolant_k + sim->vehicle.conditions.sensor_faults.coolant_bias_k <
      sim->vehicle.engine->computer.supervision.warm_k)
    return;
  double *learned = &computer->memory.learned_ratio;
  const double before = *learned;
  *learned = fmin(fmax(before + computer->effort_ratio, air->learned_least_ratio), air->learned_most_ratio);
  computer->integral_ratio -= *learned - before;
  for (int bank = 0; bank < sim->vehicle.engine->plant.charge.bank_count; bank++) {
    double *trim = &computer->memory.long_trim[bank][computer->cell];
    const double trim_before = *trim;
    *trim = fmin(fmax(*trim + computer->short_trim[bank], -fuel->long_limit_ratio), fuel->long_limit_ratio);
    computer->short_integral[bank] -= *trim - trim_before;
  }
}

/* Runs the engine unrecorded under the initial conditions until it stands still, with the learned offset where long use would
 * have brought it. The film comes in steps: at once it would stall an engine that has had no time to learn. */
static enum status settle_in(struct simulation *sim, struct error *error) {
  const struct conditions *initial = &sim->scenario->initial;
  const bool filmed = initial->film_m > 0.0 || initial->edge_film_m > 0.0 || initial->faults.bypass_film_m > 0.0;
  for (int round = filmed ? 0 : SETTLE_FIRST_CLEAN; round < SETTLE_ROUNDS; round++) {
    const double share = fmin((double)round / SETTLE_FILM_ROUNDS, 1.0);
    sim->vehicle.conditions.film_m = share * sim->scenario->initial.film_m;
    sim->vehicle.conditions.edge_film_m = share * sim->scenario->initial.edge_film_m;
    sim->vehicle.conditions.faults.bypass_film_m = share * sim->scenario->initial.faults.bypass_film_m;
    sim->vehicle.conditions.warmth_held = 1.0;
    const long end = sim->tick + lround(SETTLE_S / COMPUTER_PERIOD_S);
    while (sim->tick < end) {
      const enum status status = simulation_tick(sim, error);
      if (status != STATUS_OK) return status;
      if (sim->vehicle.computer.mode != COMPUTER_RUNNING)
        return error_set(
            error, STATUS_BAD_CONFIG,
            "%s does not idle under the initial conditions of %s: it stalled %.1f s after the start. Make the film thinner or "
            "the load smaller, start with the key off, or correct idle_air.base_gps and friction of the engine",
            sim->vehicle.engine->name, sim->scenario->name, simulation_time_s(sim));
    }
    if (round < SETTLE_ROUNDS - 1) learn_at_once(sim);
  }
  return STATUS_OK;
}

static void start_idling(struct simulation *sim) {
  sim->vehicle.key = KEY_ON;
  sim->vehicle.state.crank_speed_rad_s =
      sim->vehicle.engine->computer.target.by_coolant.y[sim->vehicle.engine->computer.target.by_coolant.count - 1];
  sim->vehicle.state.manifold_pressure_pa = 0.35 * conditions_ambient_pa(&sim->vehicle.conditions);
  sim->vehicle.state.drive_engagement_ratio = sim->vehicle.conditions.drive_selected;
  sim->vehicle.state.compressor_engagement_ratio = sim->vehicle.conditions.compressor_request;
  const struct plant_params *plant = &sim->vehicle.engine->plant;
  sim->vehicle.state.burning_air_kg = charge_air_per_cycle_kg(
      &plant->charge, sim->vehicle.state.manifold_pressure_pa, conditions_ambient_pa(&sim->vehicle.conditions),
      sim->vehicle.state.manifold_temperature_k, sim->vehicle.state.crank_speed_rad_s);
  sim->vehicle.state.air_sensor_kg_s = sim->vehicle.engine->computer.air.base_kg_s;
  const double fuel_kg = sim->vehicle.state.burning_air_kg / plant->combustion.stoichiometric_ratio / plant->charge.bank_count;
  const double tau = curve_value(&plant->mixture.wall_time_s, sim->vehicle.state.coolant_k);
  const double cycles_per_s = sim->vehicle.state.crank_speed_rad_s / (4.0 * UNITS_PI);
  sim->vehicle.state.burning_fuel1_kg = fuel_kg;
  sim->vehicle.state.wall_fuel1_kg = plant->mixture.wall_share_ratio * fuel_kg * cycles_per_s * tau;
  if (plant->charge.bank_count == 2) {
    sim->vehicle.state.burning_fuel2_kg = sim->vehicle.state.burning_fuel1_kg;
    sim->vehicle.state.wall_fuel2_kg = sim->vehicle.state.wall_fuel1_kg;
  }
  const struct computer_sensors sensors = exchange_sensors(&sim->vehicle);
  computer_init_running(&sim->vehicle.computer, &sim->vehicle.design, &sensors);
  for (int bank = 0; bank < plant->charge.bank_count; bank++)
    sim->vehicle.computer.wall_fuel_kg[bank] = sim->vehicle.state.wall_fuel1_kg;
  sim->vehicle.state.blade_rad = sim->vehicle.stick_rad = sim->vehicle.computer.idle_blade_rad;
  exchange_learn_closed(&sim->vehicle, 0.0);
}

static enum status prepare(struct simulation *sim, struct error *error) {
  const double ambient = conditions_ambient_pa(&sim->vehicle.conditions);
  const double rest_rad = plant_rest_angle_rad(&sim->vehicle.engine->plant);
  const double manifold_k =
      air_wall_k(&sim->vehicle.engine->plant, sim->vehicle.conditions.intake_k, sim->vehicle.conditions.coolant_k);
  plant_state_at_rest(ambient, manifold_k, sim->vehicle.conditions.coolant_k, sim->vehicle.conditions.oil_k, rest_rad,
                      &sim->vehicle.state);
  sim->vehicle.stick_rad = rest_rad;
  sensors_init(&sim->vehicle.sensors);
  computer_init(&sim->vehicle.computer, &sim->vehicle.design);
  sim->vehicle.key = KEY_OFF;
  sim->vehicle.inputs.mode = (struct plant_mode){.crank_held = !sim->scenario->running,
                                                 .blade = blade_has_drive(&sim->vehicle.engine->plant) ? BLADE_HELD : BLADE_FREE};
  if (sim->scenario->running) start_idling(sim);
  exchange_hold(&sim->vehicle);
  if (!sim->scenario->running) return STATUS_OK;
  // the timeline begins only after settling in
  const struct timeline timeline = sim->timeline;
  sim->timeline.next = sim->scenario->step_count;
  sim->settling = true;
  const enum status status = settle_in(sim, error);
  sim->timeline = timeline;
  sim->vehicle.conditions = sim->scenario->initial;
  sim->tick = 0;
  roughness_clear(&sim->roughness);
  sim->decided = sim->settling = false;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) sim->vehicle.computer.memory.monitors.code[i] = (struct monitor_state){0};
  events_init(&sim->events, &sim->vehicle);
  return status;
}

/* A solver for the vehicle of this simulation with that engine's step lengths. */
static enum status create_solver(struct simulation *sim, const struct solver_vtable *vtable, const struct engine *engine,
                                 struct solver **solver, struct error *error) {
  double nominal[PLANT_STATE_COUNT];
  for (int i = 0; i < PLANT_STATE_COUNT; i++) nominal[i] = plant_state_rows[i].nominal;
  double bend_most[PLANT_STATE_COUNT];
  plant_step_bends(&engine->plant, (struct plant_state *)bend_most);
  const struct solver_problem problem = {.state_count = PLANT_STATE_COUNT,
                                         .rates = rates_callback,
                                         .event_count = PLANT_EVENT_COUNT,
                                         .events = events_callback,
                                         .context = sim,
                                         .lead_first = offsetof(struct plant_state, blade_rad) / sizeof(double),
                                         .lead_count = BLADE_STATE_COUNT,
                                         .lead_event_first = PLANT_BLADE_EVENT_FIRST,
                                         .lead_rates = lead_rates_callback,
                                         .lead_events = lead_events_callback,
                                         .rest_rates = rest_rates_callback,
                                         .rest_events = rest_events_callback,
                                         .step_hint = step_hint_callback,
                                         .nominal = nominal,
                                         .bend_most = bend_most};
  return vtable->create(&problem, &sim->solver_options, solver, error);
}

/* Where events go. */
static enum status pass_on(const struct recording_event *event, void *user, struct error *error) {
  struct simulation *sim = user;
  enum status status = sim->recording ? recording_add_event(sim->recording, event, error) : STATUS_OK;
  if (status == STATUS_OK && sim->event_sink) status = sim->event_sink(event, sim->event_user, error);
  return status;
}

/* Memory, design and solver; nothing has happened yet. */
static enum status create_empty(const struct engine *engine, const struct scenario *scenario, const struct solver_vtable *vtable,
                                const struct solver_options *options, struct simulation **result, struct error *error) {
  struct simulation *sim = calloc(1, sizeof *sim);
  if (!sim) return error_set(error, STATUS_NO_MEMORY, "out of memory for a simulation");
  sim->vehicle.engine = engine;
  sim->scenario = scenario;
  sim->vehicle.conditions = scenario->initial;
  computer_design_init(&sim->vehicle.design, &engine->computer, engine_calibrated_on(engine));
  film_bore_init(&sim->vehicle.film_bore, &engine->plant.throttle.bore, &engine->plant.throttle.film_shape);
  sim->vehicle.film_bore.on_demand = scenario->film_on_demand;
  timeline_init(&sim->timeline, scenario);
  sim->row_tick = -1;
  sim->solver_options = *options;
  sim->events.sink = pass_on;
  sim->events.user = sim;
  const enum status status = create_solver(sim, vtable, engine, &sim->solver, error);
  if (status != STATUS_OK) simulation_destroy(sim);
  if (status == STATUS_OK) *result = sim;
  return status;
}
enum status simulation_create(const struct engine *engine, const struct scenario *scenario, const struct solver_vtable *vtable,
                              const struct solver_options *options, struct simulation **result, struct error *error) {
  if (scenario->running && scenario->settled)
    return error_set(error, STATUS_BAD_CONFIG, "%s starts from its settled point, which has not been computed (launch_scenario)",
                     scenario->name);
  struct simulation *sim = NULL;
  enum status status = create_empty(engine, scenario, vtable, options, &sim, error);
  if (status != STATUS_OK) return status;
  status = prepare(sim, error);
  if (status != STATUS_OK)
    simulation_destroy(sim);
  else
    *result = sim;
  return status;
}

enum status simulation_create_resting(const struct vehicle *rest, const struct scenario *scenario,
                                      const struct solver_vtable *vtable, const struct solver_options *options,
                                      struct simulation **result, struct error *error) {
  const enum status status = create_empty(rest->engine, scenario, vtable, options, result, error);
  if (status == STATUS_OK) simulation_adopt(*result, rest);
  return status;
}

/* A computer that has been in this state for long. */
static void long_running(struct simulation *sim) {
  struct computer_state *computer = &sim->vehicle.computer;
  computer->running_s = computer->settled_s = computer->key_on_s = LONG_AGO_S;
  computer->ran_this_cycle = true;
  computer->compressor_request = sim->vehicle.conditions.compressor_request > 0.5;
  computer->drive_selected = sim->vehicle.conditions.drive_selected > 0.5;
  computer->coolant_at_start_k = computer->coolant_highest_k = sim->vehicle.state.coolant_k;
  computer->usual_load_w = exchange_load_w(&sim->vehicle.conditions);
  computer->filtered_speed_rad_s = sim->vehicle.state.crank_speed_rad_s;
  computer->misfire = (struct computer_misfire){0};
  computer->manifold_pa = sim->vehicle.state.manifold_pressure_pa;
  memcpy(computer->fuel_per_cycle_kg, sim->vehicle.inputs.fuel_per_cycle_kg, sizeof computer->fuel_per_cycle_kg);
  const struct computer_sensors sensors = exchange_sensors(&sim->vehicle);
  fuel_rest(&sim->vehicle.design, &sensors, computer); // a sensor that is wrong has led the computer's own idea astray
  memcpy(computer->short_integral, computer->short_trim, sizeof computer->short_integral);
}

void simulation_adopt(struct simulation *sim, const struct vehicle *rest) {
  sim->vehicle.engine = rest->engine;
  sim->vehicle.design.params = rest->design.params;
  sim->vehicle.conditions = rest->conditions;
  sim->vehicle.ambient_pa = 0.0; // to be formed anew
  timeline_init(&sim->timeline, sim->scenario);
  film_bore_adopt(&sim->vehicle.film_bore, &rest->film_bore);
  sim->vehicle.pedal_ratio = rest->pedal_ratio;
  sim->vehicle.key = rest->key;
  sensors_init(&sim->vehicle.sensors);
  memcpy(sim->vehicle.sensors.lambda, rest->sensors.lambda, sizeof sim->vehicle.sensors.lambda);
  for (int bank = 0; bank < PLANT_BANK_MAX; bank++)
    for (int i = 0; i < SENSORS_DELAY_MAX; i++) sim->vehicle.sensors.lambda_past[bank][i] = rest->sensors.lambda[bank];
  sim->vehicle.computer = rest->computer;
  sim->vehicle.inputs = rest->inputs;
  sim->vehicle.inputs.bore = &sim->vehicle.film_bore.table;
  sim->vehicle.state = rest->state;
  sim->vehicle.stick_rad = sim->vehicle.state.blade_rad;
  sim->vehicle.motor_v = sim->vehicle.motor_a = sim->vehicle.scatter = sim->vehicle.firing_rad = 0.0;
  sim->vehicle.spark_draw = 0.5;
  if (blade_has_drive(&sim->vehicle.engine->plant)) {
    sim->vehicle.motor_v = blade_motor_v(&sim->vehicle.engine->plant, &sim->vehicle.inputs, &sim->vehicle.state);
    sim->vehicle.motor_a = blade_motor_a(&sim->vehicle.engine->plant, &sim->vehicle.inputs, &sim->vehicle.state);
  }
  sim->vehicle.faced_of_film_m = -1.0;
  sim->driver.integral_ratio =
      rest->conditions.hold_speed_rad_s > 0.0 ? rest->pedal_ratio : 0.0; // the foot stands where it stood
  sim->tick = 0;
  roughness_clear(&sim->roughness);
  sim->crank_s = 0.0;
  sim->row_tick = -1;
  sim->decided = false;
  sim->resting = true;
  sim->waiting_count = 0;
  long_running(sim);
  events_init(&sim->events, &sim->vehicle);
}

void simulation_destroy(struct simulation *sim) {
  if (!sim) return;
  solver_destroy(sim->solver);
  free(sim->waiting);
  free(sim);
}

/* Whether the state of one engine can be the other's. */
static bool of_a_kind(const struct engine *a, const struct engine *b) {
  return a->plant.charge.bank_count == b->plant.charge.bank_count && a->plant.throttle.kind == b->plant.throttle.kind &&
         blade_has_drive(&a->plant) == blade_has_drive(&b->plant) && a->computer.fuel.metering == b->computer.fuel.metering;
}

enum status simulation_change_engine(struct simulation *sim, const struct engine *engine, struct error *error) {
  struct vehicle *vehicle = &sim->vehicle;
  if (!of_a_kind(vehicle->engine, engine))
    return error_set(
        error, STATUS_USAGE,
        "%s cannot replace %s while it runs: cylinder banks, throttle and metering must be of the same kind; start a new run",
        engine->name, vehicle->engine->name);
  struct solver *solver;
  const enum status status = create_solver(sim, sim->solver->vtable, engine, &solver, error);
  if (status != STATUS_OK) return status;
  solver_destroy(sim->solver);
  sim->solver = solver;
  vehicle->engine = engine;
  computer_design_init(&vehicle->design, &engine->computer, engine_calibrated_on(engine));
  const struct throttle_params *throttle = &engine->plant.throttle;
  if (!film_bore_is_of(&vehicle->film_bore, &throttle->bore, &throttle->film_shape)) {
    const struct bore_film film = vehicle->film_bore.film;
    film_bore_change(&vehicle->film_bore, &throttle->bore, &throttle->film_shape);
    film_bore_set(&vehicle->film_bore, &film); // the inputs look at its table
    vehicle->faced_of_film_m = -1.0;           // to be formed anew
  }
  vehicle->state.blade_rad = bounds_larger(vehicle->state.blade_rad, throttle->bore.closed_angle_rad);
  vehicle->stick_rad = bounds_larger(vehicle->stick_rad, throttle->bore.closed_angle_rad);
  return STATUS_OK;
}
