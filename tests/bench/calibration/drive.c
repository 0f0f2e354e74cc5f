#include "drive.h"

#include "base/units.h"
#include "sim/exchange.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAMPLE_S        0.1 // spacing of what a mean is taken of
#define MEAN_S          10.0
#define CALM_S          5.0  // at idle before it is read, and after key on
#define LOADED_S        20.0 // after a load came on; its lowest speed lies in the first two seconds of it
#define STEP_S          2.0
#define AT_REST_S       15.0 // back at idle after a load
#define HELD_RPM        2500.0
#define HELD_WITHIN_RPM 50.0 // else a technician would say that it does not hold the speed
#define COLD_S          55.0 // after the start: the catalyst has been heated
#define PATIENCE_S      8.0  // of the starter
enum { LEARN_ROUNDS = 2 };   // the second finds what the short-term trim's limit left
#define NEVER_S 1e6          // no rows are wanted

/* One engine that is being driven. */
struct drive {
  struct engine car;
  struct scenario scenario;
  struct recording recording; // cycle scatter acts where something is recorded
  struct simulation *sim;
  struct error *error;
  enum status status;
  bool runs;
};

static void advance(struct drive *d, double duration_s) {
  for (long left = lround(duration_s / COMPUTER_PERIOD_S); left > 0 && d->status == STATUS_OK; left--)
    d->status = simulation_tick(d->sim, d->error);
}

/* Of every channel; false if the engine has stalled by then. */
static void mean_of(struct drive *d, struct estimate_point *point) {
  const int samples = (int)lround(MEAN_S / SAMPLE_S);
  double sums[CHANNEL_COUNT] = {0};
  for (int i = 0; i < samples; i++) {
    double values[CHANNEL_COUNT];
    advance(d, SAMPLE_S);
    exchange_sample(&d->sim->vehicle, simulation_time_s(d->sim), 0.0, values);
    for (int k = 0; k < CHANNEL_COUNT; k++) sums[k] += values[k];
  }
  for (int k = 0; k < CHANNEL_COUNT; k++) point->values[k] = sums[k] / samples;
  point->ambient_kpa = conditions_ambient_pa(&d->sim->vehicle.conditions) / UNITS_PA_PER_KPA;
  point->runs = d->runs = d->status == STATUS_OK && d->sim->vehicle.computer.mode == COMPUTER_RUNNING;
}

static void lowest_of(struct drive *d, struct estimate_point *point) {
  double lowest = INFINITY;
  for (long left = lround(STEP_S / COMPUTER_PERIOD_S); left > 0; left--) {
    advance(d, COMPUTER_PERIOD_S);
    lowest = fmin(lowest, d->sim->vehicle.state.crank_speed_rad_s);
  }
  point->lowest_rpm = lowest / UNITS_RAD_S_PER_RPM;
  point->runs = d->runs = d->status == STATUS_OK && d->sim->vehicle.computer.mode == COMPUTER_RUNNING;
}

/* A load comes on at idle, is read and goes. */
static void load(struct drive *d, double *request, enum estimate_condition step, enum estimate_condition steady,
                 struct estimate_point points[ESTIMATE_CONDITION_COUNT]) {
  if (!d->runs || !estimate_forward_has(&d->car, steady)) return;
  *request = 1.0;
  lowest_of(d, &points[step]);
  advance(d, LOADED_S - STEP_S);
  mean_of(d, &points[steady]);
  points[step].runs = points[step].runs && points[steady].runs;
  *request = 0.0;
  advance(d, AT_REST_S);
}

/* Long use has taught the long-term trims of this cell what the short-term ones do now. */
static void learn_trims(struct drive *d) {
  struct computer_state *computer = &d->sim->vehicle.computer;
  const double limit = d->car.computer.fuel.long_limit_ratio;
  for (int bank = 0; bank < d->car.plant.charge.bank_count; bank++) {
    double *trim = &computer->memory.long_trim[bank][computer->cell];
    const double before = *trim;
    *trim = fmin(fmax(before + computer->short_trim[bank], -limit), limit);
    computer->short_integral[bank] -= *trim - before;
  }
}

static void begin(struct drive *d, bool running) {
  const struct solver_options options = solver_options_default();
  d->scenario.running = running;
  recording_init(&d->recording);
  d->status = simulation_create(&d->car, &d->scenario, &solver_fast, &options, &d->sim, d->error);
  d->runs = d->status == STATUS_OK;
  if (d->status == STATUS_BAD_CONFIG) d->status = STATUS_OK; // it does not idle: an answer too
  if (d->runs) d->sim->recording = &d->recording;
}

static void end(struct drive *d) {
  simulation_destroy(d->sim);
  d->sim = NULL;
  recording_destroy(&d->recording);
}

static void drive_warm(struct drive *d, struct estimate_point points[ESTIMATE_CONDITION_COUNT], struct computer_memory *memory) {
  begin(d, true);
  if (d->runs) {
    struct conditions *now = &d->sim->vehicle.conditions;
    advance(d, CALM_S);
    mean_of(d, &points[ESTIMATE_CONDITION_idle]);
    *memory = d->sim->vehicle.computer.memory;
    load(d, &now->compressor_request, ESTIMATE_CONDITION_ac_step, ESTIMATE_CONDITION_idle_ac, points);
    load(d, &now->drive_selected, ESTIMATE_CONDITION_gear_step, ESTIMATE_CONDITION_drive, points);
    if (d->runs) {
      now->hold_speed_rad_s = HELD_RPM * UNITS_RAD_S_PER_RPM;
      for (int i = 0; i < LEARN_ROUNDS; i++) {
        advance(d, LOADED_S);
        learn_trims(d);
      }
      advance(d, LOADED_S);
      struct estimate_point *held = &points[ESTIMATE_CONDITION_hold_2500];
      mean_of(d, held);
      held->runs = held->runs && fabs(held->values[CHANNEL_speed_rpm] - HELD_RPM) < HELD_WITHIN_RPM;
    }
  }
  end(d);
}

static void drive_key_on(struct drive *d, const struct computer_memory *memory,
                         struct estimate_point points[ESTIMATE_CONDITION_COUNT]) {
  begin(d, false);
  if (d->runs) {
    d->sim->vehicle.computer.memory = *memory;
    d->sim->vehicle.key = KEY_ON;
    advance(d, CALM_S);
    mean_of(d, &points[ESTIMATE_CONDITION_key_on]);
    points[ESTIMATE_CONDITION_key_on].runs = d->status == STATUS_OK;
  }
  end(d);
}

static void drive_cold(struct drive *d, double cold_c, const struct computer_memory *memory,
                       struct estimate_point points[ESTIMATE_CONDITION_COUNT]) {
  struct conditions *initial = &d->scenario.initial;
  initial->coolant_k = initial->oil_k = initial->intake_k = cold_c + UNITS_KELVIN_AT_ZERO_C;
  initial->warmth_held = 0.0;
  begin(d, false);
  if (d->runs) {
    d->sim->vehicle.computer.memory = *memory;
    d->sim->vehicle.key = KEY_ON;
    advance(d, CALM_S);
    d->sim->vehicle.key = KEY_START;
    for (double waited = 0.0; waited < PATIENCE_S && d->sim->vehicle.computer.mode != COMPUTER_RUNNING; waited += SAMPLE_S)
      advance(d, SAMPLE_S);
    advance(d, COLD_S);
    mean_of(d, &points[ESTIMATE_CONDITION_cold_idle]);
  }
  end(d);
}

enum status drive_car(const struct engine *nominal, const double *z, const struct estimate_fault *fault, double cold_c,
                      uint64_t seed, struct estimate_point points[ESTIMATE_CONDITION_COUNT], struct error *error) {
  struct drive *d = calloc(1, sizeof *d);
  if (!d) return error_set(error, STATUS_NO_MEMORY, "out of memory for a car");
  d->error = error;
  memset(points, 0, ESTIMATE_CONDITION_COUNT * sizeof *points);
  double amounts[SCATTER_COUNT];
  estimate_forward_amounts(nominal, z, fault, amounts);
  scatter_make_car(nominal, amounts, &d->car);
  scenario_init(&d->scenario);
  d->scenario.seed = seed;
  d->scenario.record_s = NEVER_S;
  struct conditions *initial = &d->scenario.initial;
  for (size_t i = 0; i < fault->count; i++) cause_apply(fault->cause[i], fault->severity[i], initial);
  scatter_make_conditions(amounts, initial);
  initial->warmth_held = 1.0; // the thermostat holds what the day's deviation says
  struct computer_memory memory;
  drive_warm(d, points, &memory);
  if (d->status == STATUS_OK && points[ESTIMATE_CONDITION_idle].runs) {
    drive_key_on(d, &memory, points);
    drive_cold(d, cold_c, &memory, points);
  }
  const enum status status = d->status;
  scenario_destroy(&d->scenario);
  free(d);
  return status;
}
