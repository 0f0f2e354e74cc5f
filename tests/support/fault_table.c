#include "support/fault_table.h"

#include "analysis/run/window.h"
#include "io/config/engine_file.h"

#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RAMP_S       10.0
#define REFERENCE_M3 1.6e-3
#define LEARN_S      2.5 // from one round of learning to the next, from RAMP_S on
#define IDLE_FROM_S  30.0
#define IDLE_TO_S    50.0
#define HELD_FROM_S  62.0
#define HELD_TO_S    70.0
enum { LEARN_ROUNDS = 7 }; // the last leaves the idle five seconds before it is read

const char *const fault_point_names[FAULT_POINT_COUNT] = {"idle", "2500"};

/* Steps of service 01: SAE J1979 as in pages read of two public tables. Scatter: largest change of a clean engine's mean when
 * only the seed changes, and a margin; test_faults.c checks that it stays below. */
const struct fault_reading_row fault_reading_rows[FAULT_READING_COUNT] = {
    {"speed", "rpm", 4.0, 0.0, 0, "engine speed; a scan tool's step is 0.25 rpm, scatter alone moves the mean by up to 2"},
    {"roughness", "rpm", 3.0, 0.0, 1, "standard deviation of speed over 10 s; scatter alone moves its mean by up to 2"},
    {"opening", "% or steps", 0.39, 0.0, 2,
     "absolute throttle position, a scan tool's step is 100/255 %; at the idle of a cable throttle the mean "
     "steps of its bypass valve"},
    {"idle air added", "%", 1.0, 0.0, 1, "learned offset and controller together, share of a new engine's idle air; scatter"},
    {"air flow", "g/s", 0.05, 0.01, 2, "air-flow sensor; a scan tool's step is 0.01 g/s, scatter moves the mean by more"},
    {"pressure", "kPa", 1.0, 0.0, 1, "manifold, absolute, at a gauge; a scan tool's step is 1 kPa"},
    {"trim", "%", 0.79, 0.0, 1, "short and long term together, bank 1; a scan tool's step is 100/128 %"},
    {"trim, bank 2", "%", 0.79, 0.0, 1, "the same of bank 2, where there is one"},
    {"lambda", "1", 0.01, 0.0, 3, "oxygen sensor, bank 1; what the trims have not yet taken up a few seconds after a change"},
    {"spark reserve", "%", 1.0, 0.0, 1, "torque that earlier spark could still add; no instrument shows it"},
};

struct fault_case fault_case_for(const struct fault_case *fault, const struct engine *engine) {
  struct fault_case scaled = *fault;
  const double size = engine->plant.charge.displacement_m3 / REFERENCE_M3;
  if (fault->size == FAULT_SIZE_SEVERITY) scaled.severity *= size;
  if (fault->size == FAULT_SIZE_WITH) scaled.with_value *= size;
  return scaled;
}

#define LEAST_STEPS 40.0 // no blade idles, or holds 2500 rpm, so far open; every bypass valve here stands further
#define WHOLE_STEP  1.0

double fault_dead_band(const struct fault_outcome *clean, enum fault_point point, enum fault_reading reading) {
  const struct fault_reading_row *row = &fault_reading_rows[reading];
  const double value = clean->reading[point][reading];
  if (reading == FAULT_READING_OPENING && value > LEAST_STEPS) return WHOLE_STEP; // of a bypass valve, not per cent of a blade
  return row->dead_band + (isnan(value) ? 0.0 : row->dead_share * fabs(value));
}

double fault_change(const struct fault_outcome *clean, const struct fault_outcome *faulty, enum fault_point point,
                    enum fault_reading reading) {
  return faulty->reading[point][reading] - clean->reading[point][reading];
}

enum status fault_bench_init(struct fault_bench *bench, const char *model, struct error *error) {
  *bench = (struct fault_bench){0};
  scenario_init(&bench->scenario);
  snprintf(bench->scenario.name, sizeof bench->scenario.name, "faults");
  snprintf(bench->scenario.engine_path, sizeof bench->scenario.engine_path, "models/%s.cfg", model);
  bench->scenario.duration_s = HELD_TO_S;
  const struct solver_options options = solver_options_default();
  enum status status = engine_file_read(bench->scenario.engine_path, &bench->engine, error);
  if (status == STATUS_OK)
    status = simulation_create(&bench->engine, &bench->scenario, &solver_fixed, &options, &bench->sim, error);
  if (status != STATUS_OK) return status;
  bench->settled = malloc(sizeof *bench->settled);
  if (!bench->settled) return error_set(error, STATUS_NO_MEMORY, "out of memory for a copy of %s", model);
  *bench->settled = *bench->sim; // the solver keeps nothing from tick to tick, so the rest is all there is
  return STATUS_OK;
}

void fault_bench_destroy(struct fault_bench *bench) {
  simulation_destroy(bench->sim);
  free(bench->settled);
  scenario_destroy(&bench->scenario);
}

static void set(struct simulation *sim, const char *key, double value, double share) {
  const struct condition_row *row = condition_find(key);
  const double from = field_to_si(&row->field, row->initial), to = field_to_si(&row->field, value);
  const double now = row->field.kind == FIELD_SWITCH ? to : from + share * (to - from);
  conditions_set(&sim->vehicle.conditions, &row->field, now);
}

static void come_in(struct simulation *sim, const struct fault_case *fault, double share) {
  set(sim, fault->key, fault->severity, share);
  if (fault->with) set(sim, fault->with, fault->with_value, share);
}

static double mean(const struct recording *recording, enum fault_point point, enum channel channel) {
  const double from = point == FAULT_POINT_IDLE ? IDLE_FROM_S : HELD_FROM_S;
  const double to = point == FAULT_POINT_IDLE ? IDLE_TO_S : HELD_TO_S;
  return window_mean(recording, window_between(recording, from, to), channel);
}

static void read_point(const struct fault_bench *bench, const struct recording *recording, enum fault_point point,
                       double reading[FAULT_READING_COUNT]) {
  const struct plant_params *plant = &bench->engine.plant;
  const bool steps = plant->throttle.kind == THROTTLE_CABLE && point == FAULT_POINT_IDLE;
  const bool air_flow = bench->engine.computer.fuel.metering == METERING_AIR_FLOW;
  const bool two = plant->charge.bank_count == 2;
  reading[FAULT_READING_SPEED] = mean(recording, point, CHANNEL_speed_rpm);
  reading[FAULT_READING_ROUGHNESS] = mean(recording, point, CHANNEL_speed_sd_rpm);
  reading[FAULT_READING_OPENING] = mean(recording, point, steps ? CHANNEL_bypass_steps : CHANNEL_tp_pct);
  reading[FAULT_READING_ADDED] = point == FAULT_POINT_IDLE
                                     ? mean(recording, point, CHANNEL_effort_pct) + mean(recording, point, CHANNEL_learned_pct)
                                     : NAN; // stands still off idle
  reading[FAULT_READING_AIR] = air_flow ? mean(recording, point, CHANNEL_maf_gps) : NAN;
  reading[FAULT_READING_PRESSURE] = mean(recording, point, CHANNEL_manifold_kpa);
  reading[FAULT_READING_TRIM] = mean(recording, point, CHANNEL_stft_pct) + mean(recording, point, CHANNEL_ltft_pct);
  reading[FAULT_READING_TRIM2] =
      two ? mean(recording, point, CHANNEL_stft2_pct) + mean(recording, point, CHANNEL_ltft2_pct) : NAN;
  reading[FAULT_READING_LAMBDA] = mean(recording, point, CHANNEL_lambda);
  reading[FAULT_READING_RESERVE] = mean(recording, point, CHANNEL_spark_reserve_pct);
}

static void list_codes(const struct simulation *sim, struct fault_outcome *outcome) {
  size_t used = 0;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    if (sim->vehicle.computer.memory.monitors.code[i].code == CODE_NONE) continue;
    const char *code = monitor_rows[i].code;
    if (used + strlen(code) + 2 > sizeof outcome->codes) return;
    used += (size_t)snprintf(outcome->codes + used, sizeof outcome->codes - used, used ? " %s" : "%s", code);
  }
}

/* What minutes of idling would do: the effort becomes the learned offset. The computer's own rule for when it learns. */
static void learn(struct simulation *sim) {
  const struct idle_air_params *air = &sim->vehicle.engine->computer.air;
  const double coolant_k = sim->vehicle.state.coolant_k + sim->vehicle.conditions.sensor_faults.coolant_bias_k;
  if (!sim->vehicle.computer.idling || coolant_k < sim->vehicle.engine->computer.supervision.warm_k) return;
  double *learned = &sim->vehicle.computer.memory.learned_ratio;
  const double before = *learned;
  *learned = fmin(fmax(before + sim->vehicle.computer.effort_ratio, air->learned_least_ratio), air->learned_most_ratio);
  sim->vehicle.computer.integral_ratio -= *learned - before;
}

/* A tick at which a round of learning is due. */
static bool learns_now(const struct simulation *sim) {
  const long every = lround(LEARN_S / COMPUTER_PERIOD_S), first = lround(RAMP_S / COMPUTER_PERIOD_S);
  return sim->tick >= first && sim->tick < first + LEARN_ROUNDS * every && (sim->tick - first) % every == 0;
}

/* Ticks up to a time or a stall. */
static enum status tick_to(struct simulation *sim, double to_s, const struct fault_case *fault, bool *stalled,
                           struct error *error) {
  while (!*stalled && simulation_time_s(sim) < to_s - 0.5 * COMPUTER_PERIOD_S) {
    if (fault) come_in(sim, fault, fault->at_once ? 1.0 : fmin(simulation_time_s(sim) / RAMP_S, 1.0));
    if (learns_now(sim)) learn(sim);
    const enum status status = simulation_tick(sim, error);
    if (status != STATUS_OK) return status;
    *stalled = sim->vehicle.computer.mode != COMPUTER_RUNNING;
  }
  return STATUS_OK;
}

enum status fault_bench_run(struct fault_bench *bench, const struct fault_case *fault, uint64_t seed,
                            struct fault_outcome *outcome, struct error *error) {
  static const double ends_s[FAULT_POINT_COUNT] = {IDLE_TO_S, HELD_TO_S};
  struct recording recording;
  recording_init(&recording);
  bench->scenario.seed = seed;
  const struct fault_case none = {0}, scaled = fault ? fault_case_for(fault, &bench->engine) : none;
  if (fault) fault = &scaled;
  *bench->sim = *bench->settled;
  bench->sim->recording = &recording;
  *outcome = (struct fault_outcome){0};
  enum status status = STATUS_OK;
  bool stalled = false;
  for (int point = 0; point < FAULT_POINT_COUNT && status == STATUS_OK; point++) {
    if (point == FAULT_POINT_HELD) bench->sim->vehicle.conditions.hold_speed_rad_s = FAULT_TABLE_HELD_RPM * UNITS_RAD_S_PER_RPM;
    status = tick_to(bench->sim, ends_s[point], fault, &stalled, error);
    outcome->end[point] = stalled ? FAULT_END_STALLED : FAULT_END_RUNS;
    for (int i = 0; i < FAULT_READING_COUNT; i++) outcome->reading[point][i] = NAN;
    if (!stalled && status == STATUS_OK) read_point(bench, &recording, (enum fault_point)point, outcome->reading[point]);
  }
  outcome->limp = bench->sim->vehicle.computer.limp;
  list_codes(bench->sim, outcome);
  bench->sim->recording = NULL;
  recording_destroy(&recording);
  return status;
}

enum status fault_bench_try(struct fault_bench *bench, const size_t *conditions, const double *values, size_t count,
                            double duration_s, bool *stalled, struct error *error) {
  *bench->sim = *bench->settled;
  bench->sim->settling = true; // without cycle scatter
  for (size_t i = 0; i < count; i++) set(bench->sim, condition_rows[conditions[i]].field.key, values[i], 1.0);
  bench->sim->vehicle.state.coolant_k = bench->sim->vehicle.conditions.coolant_k; // as the timeline does
  bench->sim->vehicle.state.oil_k = bench->sim->vehicle.conditions.oil_k;
  *stalled = false;
  for (int i = 0; simulation_time_s(bench->sim) < duration_s; i++) { // a stalled engine goes on coasting
    const enum status status = simulation_tick(bench->sim, error);
    if (status != STATUS_OK) return status;
    if (bench->sim->vehicle.computer.mode != COMPUTER_RUNNING) *stalled = true;
  }
  return STATUS_OK;
}

static int by_name(const void *a, const void *b) { return strcmp(a, b); }

size_t fault_models(char names[][FAULT_MODEL_SIZE], size_t most) {
  DIR *folder = opendir("models");
  size_t count = 0;
  for (const struct dirent *entry = folder ? readdir(folder) : NULL; entry; entry = readdir(folder)) {
    const char *dot = strrchr(entry->d_name, '.');
    if (!dot || dot == entry->d_name || strcmp(dot, ".cfg") != 0 || count == most) continue;
    snprintf(names[count++], FAULT_MODEL_SIZE, "%.*s", (int)(dot - entry->d_name), entry->d_name);
  }
  if (folder) closedir(folder);
  qsort(names, count, FAULT_MODEL_SIZE, by_name);
  return count;
}
