#include "sim/simulation.h"

#include "base/random.h"
#include "control/fuel.h"
#include "plant/blade.h"
#include "sim/events.h"
#include "sim/exchange.h"
#include "sim/roughness.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CRANK_PATIENCE_S 8.0                        // usual advice: not more than ten seconds at a time
#define SETTLE_S         20.0                       // one round of settling in: ten times the idle loop's slowest mode
enum { SETTLE_ROUNDS = 6, SETTLE_FILM_ROUNDS = 4 }; // each moves the rest of the effort into the learned offset
#define PROGRESS_TICKS      2000
#define LEAST_PRESSURE_PA   100.0 // a state outside these is not an engine any more
#define MOST_PRESSURE_PA    300e3
#define LEAST_TEMPERATURE_K 150.0
#define MOST_TEMPERATURE_K  900.0
#define MOST_SPEED_RAD_S    1500.0
#define LONG_AGO_S          3600.0

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

double simulation_time_s(const struct simulation *sim) { return (double)sim->tick * COMPUTER_PERIOD_S; }

/* Cycle scatter. Each firing is uneven by itself; noise of that spectrum below the firing frequency is white noise through
 * a first-order low pass of half a firing interval (2 pi / (cylinders * speed)), whatever the tick. */
static void scatter_tick(struct simulation *sim) {
  const double speed = fmax(sim->vehicle.state.crank_speed_rad_s, 1.0);
  const double keep = exp(-COMPUTER_PERIOD_S * speed * sim->vehicle.engine->plant.charge.cylinder_count / (2.0 * UNITS_PI));
  const double fresh = random_normal(sim->scenario->seed, RANDOM_STREAM_CYCLE_SCATTER, (uint64_t)sim->tick);
  sim->vehicle.scatter = sim->recording ? keep * sim->vehicle.scatter + sqrt(1.0 - keep * keep) * fresh : 0.0;
}

/* The starter is let go when the engine runs, or when patience ends. */
static void spring_key(struct simulation *sim) {
  if (sim->vehicle.key != KEY_START) return;
  sim->crank_s += COMPUTER_PERIOD_S;
  if (sim->vehicle.computer.mode == COMPUTER_RUNNING || sim->crank_s > CRANK_PATIENCE_S) sim->vehicle.key = KEY_ON;
}

/* A temperature that the timeline has just changed is the engine's from now on. */
static void set_warmth(struct simulation *sim, const struct conditions *before) {
  const struct conditions *now = &sim->vehicle.conditions;
  if (now->coolant_k > before->coolant_k || now->coolant_k < before->coolant_k) sim->vehicle.state.coolant_k = now->coolant_k;
  if (now->oil_k > before->oil_k || now->oil_k < before->oil_k) sim->vehicle.state.oil_k = now->oil_k;
}

static enum status play_timeline(struct simulation *sim, struct error *error) {
  const double now = simulation_time_s(sim);
  const struct conditions before = sim->vehicle.conditions;
  for (;;) {
    const struct scenario_step *step = timeline_step(&sim->timeline, now, &sim->vehicle.conditions);
    if (!step) break;
    if (step->key >= 0) {
      sim->vehicle.key = (enum key)step->key;
      sim->crank_s = 0.0;
    }
    if (step->action == SCENARIO_ACTION_CLEAR_CODES) computer_clear_codes(&sim->vehicle.computer);
    if (step->action == SCENARIO_ACTION_RESET_LEARNED) computer_reset_learned(&sim->vehicle.computer);
    if (step->action == SCENARIO_ACTION_LOSE_CLOSED) computer_lose_closed(&sim->vehicle.design, &sim->vehicle.computer);
    const enum status status = events_log_step(sim, step, error);
    if (status != STATUS_OK) return status;
  }
  timeline_ramps(&sim->timeline, now, &sim->vehicle.conditions);
  set_warmth(sim, &before);
  return STATUS_OK;
}

static double roughness(const struct simulation *sim) {
  return roughness_rad_s(sim->speed_window, SIMULATION_SPEED_WINDOW, sim->speed_count);
}

void simulation_read(const struct simulation *sim, struct reading *reading) {
  reading_take(&sim->vehicle, simulation_time_s(sim), roughness(sim), reading);
}

void simulation_scan(const struct simulation *sim, struct scan *scan) {
  simulation_read(sim, &scan->reading);
  scan->monitors = sim->vehicle.computer.memory.monitors;
  scan->frame = sim->freeze_frame;
  scan->taken = true;
}

void simulation_ask_scans(struct simulation *sim, struct scan *scans, size_t count) {
  sim->scans = scans;
  sim->scan_count = count;
}

static enum status record_row(struct simulation *sim, struct error *error) {
  double values[CHANNEL_COUNT];
  exchange_sample(&sim->vehicle, simulation_time_s(sim), roughness(sim), values);
  return recording_append(sim->recording, values, error);
}

/* The state is finite and that of an engine, or the run stops here and says which is not. */
static enum status check_state(const struct simulation *sim, struct error *error) {
  const double now = simulation_time_s(sim);
  const char *lost = plant_state_not_finite(&sim->vehicle.state);
  if (lost) return error_set(error, STATUS_INTERNAL, "%s is no longer a number at %.2f s", lost, now);
  const struct plant_state *s = &sim->vehicle.state;
  if (s->manifold_pressure_pa < LEAST_PRESSURE_PA || s->manifold_pressure_pa > MOST_PRESSURE_PA)
    return error_set(error, STATUS_INTERNAL, "manifold pressure left its range at %.2f s: %g kPa", now,
                     s->manifold_pressure_pa / UNITS_PA_PER_KPA);
  if (s->manifold_temperature_k < LEAST_TEMPERATURE_K || s->manifold_temperature_k > MOST_TEMPERATURE_K)
    return error_set(error, STATUS_INTERNAL, "manifold temperature left its range at %.2f s: %g K", now,
                     s->manifold_temperature_k);
  if (s->crank_speed_rad_s < 0.0 || s->crank_speed_rad_s > MOST_SPEED_RAD_S)
    return error_set(error, STATUS_INTERNAL, "engine speed left its range at %.2f s: %g rpm", now,
                     s->crank_speed_rad_s / UNITS_RAD_S_PER_RPM);
  return STATUS_OK;
}

/* From this tick to the next, event by event. */
static enum status integrate(struct simulation *sim, struct error *error) {
  double now = simulation_time_s(sim);
  const double end = (double)(sim->tick + 1) * COMPUTER_PERIOD_S;
  while (now < end) {
    enum solver_stop stop;
    size_t event = 0;
    enum status status = solver_advance(sim->solver, &now, end, (double *)&sim->vehicle.state, &stop, &event, error);
    if (status != STATUS_OK) return status;
    if (stop != SOLVER_STOP_EVENT) continue;
    plant_event_apply(&sim->vehicle.engine->plant, &sim->vehicle.inputs, (enum plant_event)event, &sim->vehicle.inputs.mode,
                      &sim->vehicle.state);
    status = events_log_plant(sim, now, (enum plant_event)event, error);
    if (status != STATUS_OK) return status;
  }
  return STATUS_OK;
}

static void oxygen_tick(struct simulation *sim) {
  double lambda[PLANT_BANK_MAX];
  plant_lambda(&sim->vehicle.engine->plant, &sim->vehicle.inputs, &sim->vehicle.state, lambda);
  if (blade_has_drive(&sim->vehicle.engine->plant)) {
    sim->vehicle.motor_v = blade_motor_v(&sim->vehicle.engine->plant, &sim->vehicle.inputs, &sim->vehicle.state);
    sim->vehicle.motor_a = blade_motor_a(&sim->vehicle.engine->plant, &sim->vehicle.inputs, &sim->vehicle.state);
  }
  sensors_tick(&sim->vehicle.sensors, &sim->vehicle.engine->plant, &sim->vehicle.engine->computer.fuel, lambda,
               sim->vehicle.state.crank_speed_rad_s, sim->vehicle.inputs.firing);
  sim->vehicle.firing_rad =
      fmod(sim->vehicle.firing_rad + sim->vehicle.state.crank_speed_rad_s * COMPUTER_PERIOD_S, 4.0 * UNITS_PI);
}

/* Timeline, driver, computer; then the inputs stand for this tick. */
static enum status decide(struct simulation *sim, struct error *error) {
  enum status status = play_timeline(sim, error);
  if (status != STATUS_OK) return status;
  sim->vehicle.pedal_ratio =
      driver_pedal_ratio(&sim->driver, sim->vehicle.conditions.hold_speed_rad_s, sim->vehicle.state.crank_speed_rad_s,
                         sim->vehicle.conditions.pedal_ratio, COMPUTER_PERIOD_S);
  const enum computer_mode before = sim->vehicle.computer.mode;
  oxygen_tick(sim);
  const struct computer_sensors sensors = exchange_sensors(&sim->vehicle);
  computer_tick(&sim->vehicle.design, &sensors, &sim->vehicle.computer);
  spring_key(sim);
  scatter_tick(sim);
  exchange_hold(&sim->vehicle);
  sim->speed_window[sim->speed_count++ % SIMULATION_SPEED_WINDOW] = sim->vehicle.state.crank_speed_rad_s;
  return events_log_computer(sim, before, error);
}

enum status simulation_tick(struct simulation *sim, struct error *error) {
  enum status status = decide(sim, error);
  const long every = lround(sim->scenario->record_s / COMPUTER_PERIOD_S);
  if (status == STATUS_OK && sim->recording && sim->tick % every == 0) status = record_row(sim, error);
  if (status == STATUS_OK) status = integrate(sim, error);
  if (status != STATUS_OK) return status;
  sim->tick++;
  return check_state(sim, error);
}

enum status simulation_run(struct simulation *sim, struct recording *recording, simulation_progress progress, void *user,
                           struct error *error) {
  const long last = lround(sim->scenario->duration_s / COMPUTER_PERIOD_S);
  sim->recording = recording;
  while (sim->tick < last) {
    const enum status status = simulation_tick(sim, error);
    if (status != STATUS_OK) return status;
    if (progress && sim->tick % PROGRESS_TICKS == 0 && !progress((double)sim->tick / (double)last, user))
      return error_set(error, STATUS_NO, "stopped at %.2f s", simulation_time_s(sim));
  }
  enum status status = decide(sim, error); // the row of the last moment
  if (status == STATUS_OK) status = record_row(sim, error);
  return status;
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
  for (int round = 0; round < SETTLE_ROUNDS; round++) {
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
        return error_set(error, STATUS_BAD_CONFIG,
                         "%s does not idle under the initial conditions of %s: it stalled %.1f s after being let go. Make "
                         "the film thinner or the load smaller, start with the key off, or mend idle_air.base_gps and "
                         "friction of the engine",
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
  sim->vehicle.state.burning_air_kg =
      charge_air_per_cycle_kg(&plant->charge, sim->vehicle.state.manifold_pressure_pa, sim->vehicle.state.manifold_temperature_k,
                              sim->vehicle.state.crank_speed_rad_s);
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
  exchange_learn_closed(&sim->vehicle);
}

static enum status prepare(struct simulation *sim, struct error *error) {
  const double ambient = conditions_ambient_pa(&sim->vehicle.conditions);
  const double rest_rad = plant_rest_angle_rad(&sim->vehicle.engine->plant);
  plant_state_at_rest(ambient, sim->vehicle.conditions.intake_k, sim->vehicle.conditions.coolant_k, sim->vehicle.conditions.oil_k,
                      rest_rad, &sim->vehicle.state);
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
  const enum status status = settle_in(sim, error);
  sim->timeline = timeline;
  sim->vehicle.conditions = sim->scenario->initial;
  sim->tick = 0;
  sim->speed_count = 0;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) sim->vehicle.computer.memory.monitors.code[i] = (struct monitor_state){0};
  events_init(sim);
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
  timeline_init(&sim->timeline, scenario);
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
  const enum status status = vtable->create(&problem, options, &sim->solver, error);
  if (status != STATUS_OK) simulation_destroy(sim);
  if (status == STATUS_OK) *result = sim;
  return status;
}

enum status simulation_create(const struct engine *engine, const struct scenario *scenario, const struct solver_vtable *vtable,
                              const struct solver_options *options, struct simulation **result, struct error *error) {
  struct simulation *sim;
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
  computer->filtered_speed_rad_s = computer->slow_speed_rad_s = sim->vehicle.state.crank_speed_rad_s;
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
  if (blade_has_drive(&sim->vehicle.engine->plant)) {
    sim->vehicle.motor_v = blade_motor_v(&sim->vehicle.engine->plant, &sim->vehicle.inputs, &sim->vehicle.state);
    sim->vehicle.motor_a = blade_motor_a(&sim->vehicle.engine->plant, &sim->vehicle.inputs, &sim->vehicle.state);
  }
  sim->vehicle.faced_of_film_m = -1.0;
  sim->tick = sim->speed_count = 0;
  long_running(sim);
}

void simulation_destroy(struct simulation *sim) {
  if (!sim) return;
  solver_destroy(sim->solver);
  free(sim);
}
