#include "sim/simulation.h"

#include "base/random.h"
#include "plant/blade.h"
#include "sim/exchange.h"
#include "sim/roughness.h"

#include <math.h>

#define CRANK_PATIENCE_S    8.0 // usual advice: not more than ten seconds at a time
#define PROGRESS_TICKS      2000
#define LEAST_PRESSURE_PA   100.0 // a state outside these is not an engine any more
#define MOST_PRESSURE_PA    300e3
#define LEAST_TEMPERATURE_K 90.0 // air of -40 C that expands from 110 to 4 kPa without heat: (4 / 110)^(2 / 7) of 233 K
#define MOST_TEMPERATURE_K  900.0
#define MOST_SPEED_RAD_S    1500.0
#define RUN_MOST_S          2e7 // 231 days; ticks are counted in a long, which may have 32 bits

double simulation_time_s(const struct simulation *sim) { return (double)sim->tick * COMPUTER_PERIOD_S; }

/* The decimal number that a file would give for a tick: 0.57, where 57 * 0.01 is a last digit more. */
static double written_time_s(long tick) { return (double)tick / round(1.0 / COMPUTER_PERIOD_S); }

double simulation_acts_s(const struct simulation *sim) { return written_time_s(sim->decided ? sim->tick + 1 : sim->tick); }

/* Cycle scatter. Each firing is uneven by itself; noise of that spectrum below the firing frequency is white noise through
 * a first-order low pass of half a firing interval (2 pi / (cylinders * speed)), whatever the tick. */
static void scatter_tick(struct simulation *sim) {
  if (sim->settling) {
    sim->vehicle.scatter = 0.0;
    return;
  }
  const double speed = fmax(sim->vehicle.state.crank_speed_rad_s, 1.0);
  const double keep = exp(-COMPUTER_PERIOD_S * speed * sim->vehicle.engine->plant.charge.cylinder_count / (2.0 * UNITS_PI));
  const double fresh = random_normal(sim->scenario->seed, RANDOM_STREAM_CYCLE_SCATTER, (uint64_t)sim->tick);
  sim->vehicle.scatter = keep * sim->vehicle.scatter + sqrt(1.0 - keep * keep) * fresh;
}

/* The starter is let go when the engine runs, or when patience ends. */
static void spring_key(struct simulation *sim) {
  if (sim->vehicle.key != KEY_START) return;
  sim->crank_s += COMPUTER_PERIOD_S;
  if (sim->vehicle.computer.mode == COMPUTER_RUNNING || sim->crank_s > CRANK_PATIENCE_S) sim->vehicle.key = KEY_ON;
}

/* A temperature that is set is the engine's from now on, also if it is what was set last. */
static void set_warmth(struct simulation *sim, const struct scenario_step *step) {
  const struct conditions *now = &sim->vehicle.conditions;
  for (size_t i = 0; i < step->set_count && step->ramp_s <= 0.0; i++) {
    const size_t offset = condition_rows[step->sets[i].condition].field.offset;
    if (offset == offsetof(struct conditions, coolant_k)) sim->vehicle.state.coolant_k = now->coolant_k;
    if (offset == offsetof(struct conditions, oil_k)) sim->vehicle.state.oil_k = now->oil_k;
  }
}

/* The same for one on a ramp. */
static void ramp_warmth(struct simulation *sim, const struct conditions *before) {
  const struct conditions *now = &sim->vehicle.conditions;
  if (now->coolant_k > before->coolant_k || now->coolant_k < before->coolant_k) sim->vehicle.state.coolant_k = now->coolant_k;
  if (now->oil_k > before->oil_k || now->oil_k < before->oil_k) sim->vehicle.state.oil_k = now->oil_k;
}

/* What a step does besides its sets and ramps, which have been done. */
static enum status act(struct simulation *sim, const struct scenario_step *step, struct error *error) {
  set_warmth(sim, step);
  if (step->key >= 0) {
    sim->vehicle.key = (enum key)step->key;
    sim->crank_s = 0.0;
  }
  if (step->action == SCENARIO_ACTION_CLEAR_CODES) computer_clear_codes(&sim->vehicle.computer);
  if (step->action == SCENARIO_ACTION_RESET_LEARNED) computer_reset_learned(&sim->vehicle.computer);
  if (step->action == SCENARIO_ACTION_LOSE_CLOSED) computer_lose_closed(&sim->vehicle.design, &sim->vehicle.computer);
  enum status status = sim->kept ? scenario_append(sim->kept, step, error) : STATUS_OK;
  if (status == STATUS_OK && !sim->settling) status = events_log_step(&sim->events, simulation_time_s(sim), step, error);
  return status;
}

/* The scenario's steps that are due, then what was played. */
static enum status play_timeline(struct simulation *sim, struct error *error) {
  const double now = simulation_time_s(sim);
  struct conditions *conditions = &sim->vehicle.conditions;
  enum status status = STATUS_OK;
  const struct scenario_step *step;
  while (status == STATUS_OK && (step = timeline_step(&sim->timeline, now, conditions))) status = act(sim, step, error);
  for (size_t i = 0; i < sim->waiting_count && status == STATUS_OK; i++) {
    step = &sim->waiting[i];
    timeline_apply(&sim->timeline, step, step->at_s, conditions);
    status = act(sim, step, error);
  }
  sim->waiting_count = 0;
  const struct conditions before = *conditions;
  timeline_ramps(&sim->timeline, now, conditions);
  ramp_warmth(sim, &before);
  return status;
}

static double roughness(const struct simulation *sim) { return roughness_rad_s(&sim->roughness); }

void simulation_read(const struct simulation *sim, struct scan_data *reading) {
  scan_data_take(&sim->vehicle, simulation_time_s(sim), roughness(sim), reading);
}

void simulation_scan(const struct simulation *sim, struct scan *scan) {
  simulation_read(sim, &scan->reading);
  scan->monitors = sim->vehicle.computer.memory.monitors;
  scan->frame = sim->events.seen.freeze_frame;
  scan->taken = true;
}

void simulation_ask_scans(struct simulation *sim, struct scan *scans, size_t count) {
  sim->scans = scans;
  sim->scan_count = count;
}

/* Takes what is due at this tick. */
static void take_scans(struct simulation *sim) {
  const double nearest_from_s = simulation_time_s(sim) + 0.5 * COMPUTER_PERIOD_S;
  for (size_t i = 0; i < sim->scan_count; i++)
    if (!sim->scans[i].taken && sim->scans[i].wanted_s < nearest_from_s) simulation_scan(sim, &sim->scans[i]);
}

/* The row of this moment, unless it has been written. */
static enum status record_row(struct simulation *sim, struct error *error) {
  if (!sim->recording || sim->row_tick == sim->tick) return STATUS_OK;
  sim->row_tick = sim->tick;
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
    if (!sim->settling) status = events_log_plant(&sim->events, now, (enum plant_event)event, error);
    if (status != STATUS_OK) return status;
  }
  return STATUS_OK;
}

/* Moves cylinder 1 on in its cycle; half-way from firing to firing the next one is drawn. */
static void turn_cylinder1(struct simulation *sim) {
  struct vehicle *vehicle = &sim->vehicle;
  const double before_rad = vehicle->firing_rad;
  vehicle->firing_rad = fmod(before_rad + vehicle->state.crank_speed_rad_s * COMPUTER_PERIOD_S, 4.0 * UNITS_PI);
  if (before_rad < 2.0 * UNITS_PI && vehicle->firing_rad >= 2.0 * UNITS_PI)
    vehicle->spark_draw = random_uniform(sim->scenario->seed, RANDOM_STREAM_SPARK, (uint64_t)sim->tick);
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
  turn_cylinder1(sim);
}

/* What has changed since the last tick; before: the computer's mode then. */
static enum status note_changes(struct simulation *sim, enum computer_mode before, struct error *error) {
  if (sim->settling) return STATUS_OK;
  const struct events_moment moment = {
      .vehicle = &sim->vehicle, .time_s = simulation_time_s(sim), .crank_s = sim->crank_s, .roughness = &sim->roughness};
  const enum status status = events_log_computer(&sim->events, &moment, before, error);
  take_scans(sim);
  return status;
}

/* Timeline, driver, computer, once a tick; then the inputs stand until the next. */
static enum status decide(struct simulation *sim, struct error *error) {
  if (sim->decided) return STATUS_OK;
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
  roughness_add(&sim->roughness, sim->vehicle.state.crank_speed_rad_s);
  sim->decided = true;
  return note_changes(sim, before, error);
}

enum status simulation_sample(struct simulation *sim, double values[CHANNEL_COUNT], struct error *error) {
  const enum status status = decide(sim, error);
  if (status == STATUS_OK) exchange_sample(&sim->vehicle, simulation_time_s(sim), roughness(sim), values);
  return status;
}

enum status simulation_tick(struct simulation *sim, struct error *error) {
  enum status status = decide(sim, error);
  const long every = lround(sim->scenario->record_s / COMPUTER_PERIOD_S);
  if (status == STATUS_OK && !sim->settling && sim->tick % every == 0) status = record_row(sim, error);
  if (status == STATUS_OK) status = integrate(sim, error);
  if (status != STATUS_OK) return status;
  sim->tick++;
  sim->decided = false;
  if (sim->kept) sim->kept->duration_s = written_time_s(sim->tick);
  return check_state(sim, error);
}

static enum status run_to(struct simulation *sim, long last, simulation_progress progress, void *user, struct error *error) {
  while (sim->tick < last) {
    const enum status status = simulation_tick(sim, error);
    if (status != STATUS_OK) return status;
    if (progress && sim->tick % PROGRESS_TICKS == 0 && !progress((double)sim->tick / (double)last, user))
      return error_set(error, STATUS_NO, "stopped at %.2f s", simulation_time_s(sim));
  }
  const enum status status = decide(sim, error);
  return status == STATUS_OK ? record_row(sim, error) : status; // the row of the last moment
}

enum status simulation_run_until(struct simulation *sim, double until_s, struct recording *recording,
                                 simulation_progress progress, void *user, struct error *error) {
  if (!(until_s >= 0.0) || until_s > RUN_MOST_S)
    return error_set(error, STATUS_USAGE, "a run cannot end at %g s; allowed: 0 to %g", until_s, RUN_MOST_S);
  sim->recording = recording;
  const enum status status = run_to(sim, lround(until_s / COMPUTER_PERIOD_S), progress, user, error);
  sim->recording = NULL; // it is the caller's, and need not live longer
  return status;
}

enum status simulation_run(struct simulation *sim, struct recording *recording, simulation_progress progress, void *user,
                           struct error *error) {
  return simulation_run_until(sim, sim->scenario->duration_s, recording, progress, user, error);
}
