#include "support/long_idle.h"

#include "support/check.h"

#include "analysis/run/window.h"
#include "io/config/engine_file.h"
#include "sim/exchange.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FAULT_AT_S  20.0
#define RAMP_S      20.0
#define LEARN_S     2.5
#define LEARN_END_S 80.0
#define MINUTE_S    60.0
#define PART_S      10.0 // longer than any memory of speed but the integrators'
#define LONGEST_S   1800.0
#define STILL_RATIO 1e-3 // of idle air, of fuel
#define TARGET_RPM  5.0  // nearer than that it is on its target
enum { PARTS = 12, STILL_MAX = 6 };

void long_idle_init(struct long_idle *idle, const char *model) {
  *idle = (struct long_idle){0};
  scenario_init(&idle->scenario);
  snprintf(idle->scenario.name, sizeof idle->scenario.name, "long idle");
  snprintf(idle->scenario.engine_path, sizeof idle->scenario.engine_path, "models/%s.cfg", model);
  idle->scenario.duration_s = LONGEST_S;
  idle->scenario.record_s = 0.07; // no simple part of an engine cycle, which would show one cylinder's work too often
  const struct solver_options options = solver_options_default();
  struct error error;
  error_clear(&error);
  enum status status = engine_file_read(idle->scenario.engine_path, &idle->engine, &error);
  if (status == STATUS_OK) status = simulation_create(&idle->engine, &idle->scenario, &solver_fast, &options, &idle->sim, &error);
  if (status != STATUS_OK) fail_msg("%s: %s", model, error.text);
  idle->clean = malloc(sizeof *idle->clean);
  assert_non_null(idle->clean);
  *idle->clean = *idle->sim; // the solver keeps nothing from tick to tick, so the rest is all there is
}

void long_idle_destroy(struct long_idle *idle) {
  simulation_destroy(idle->sim);
  free(idle->clean);
  scenario_destroy(&idle->scenario);
}

static void come_in(struct simulation *sim, const struct long_idle_value *values, double share) {
  for (int i = 0; i < LONG_IDLE_VALUE_MAX && values[i].key; i++) {
    const struct condition_row *row = condition_find(values[i].key);
    assert_non_null(row);
    const double from = field_to_si(&row->field, row->initial), to = field_to_si(&row->field, values[i].value);
    conditions_set(&sim->vehicle.conditions, &row->field, row->field.kind == FIELD_SWITCH ? to : from + share * (to - from));
  }
}

/* The computer's own rules for when it learns. */
static void learn(struct simulation *sim) {
  const struct computer_params *params = &sim->vehicle.engine->computer;
  struct computer_state *computer = &sim->vehicle.computer;
  if (sim->vehicle.state.coolant_k + sim->vehicle.conditions.sensor_faults.coolant_bias_k < params->supervision.warm_k) return;
  if (computer->idling) {
    double *learned = &computer->memory.learned_ratio;
    const double before = *learned;
    *learned = fmin(fmax(before + computer->effort_ratio, params->air.learned_least_ratio), params->air.learned_most_ratio);
    computer->integral_ratio -= *learned - before;
  }
  for (int bank = 0; computer->closed_loop && bank < sim->vehicle.engine->plant.charge.bank_count; bank++) {
    double *trim = &computer->memory.long_trim[bank][computer->cell];
    const double before = *trim, limit = params->fuel.long_limit_ratio;
    *trim = fmin(fmax(before + computer->short_trim[bank], -limit), limit);
    computer->short_integral[bank] -= *trim - before;
  }
}

static void tick(struct simulation *sim) {
  struct error error;
  error_clear(&error);
  if (simulation_tick(sim, &error) != STATUS_OK) fail_msg("%s", error.text);
}

static bool runs(const struct simulation *sim) { return sim->vehicle.computer.mode == COMPUTER_RUNNING; }

static void start(struct simulation *sim, const struct long_idle_value *values, enum long_idle_entry entry) {
  const long every = lround(LEARN_S / COMPUTER_PERIOD_S), at = lround(FAULT_AT_S / COMPUTER_PERIOD_S);
  while (runs(sim) && simulation_time_s(sim) < LEARN_END_S) {
    const double since_s = simulation_time_s(sim) - FAULT_AT_S;
    if (sim->tick == at && entry != LONG_IDLE_RAMPED) come_in(sim, values, 1.0);
    if (sim->tick == at && entry == LONG_IDLE_LEARNED) exchange_learn_closed(&sim->vehicle, 0.0);
    if (since_s >= 0.0 && entry == LONG_IDLE_RAMPED) come_in(sim, values, fmin(since_s / RAMP_S, 1.0));
    if ((since_s < 0.0 || since_s > RAMP_S) && sim->tick % every == 0) learn(sim);
    tick(sim);
  }
}

struct integrators {
  double sum[STILL_MAX];
};

static void add(struct integrators *mean, const struct simulation *sim, double weight) {
  const struct computer_state *c = &sim->vehicle.computer;
  const double values[STILL_MAX] = {c->effort_ratio,  c->memory.learned_ratio,         c->short_trim[0],
                                    c->short_trim[1], c->memory.long_trim[0][c->cell], c->memory.long_trim[1][c->cell]};
  for (int i = 0; i < STILL_MAX; i++) mean->sum[i] += weight * values[i];
}

static bool still(const struct integrators *a, const struct integrators *b) {
  for (int i = 0; i < STILL_MAX; i++)
    if (fabs(a->sum[i] - b->sum[i]) > STILL_RATIO) return false;
  return true;
}

static void read_end(const struct recording *recording, double end_s, struct long_idle_end *end) {
  for (int channel = 0; channel < CHANNEL_COUNT; channel++) {
    double sum = 0.0, squares = 0.0;
    for (int i = 0; i < PARTS; i++) {
      const double from = end_s - PART_S * (PARTS - i);
      const double mean = window_mean(recording, window_between(recording, from, from + PART_S - 0.05), (enum channel)channel);
      sum += mean;
      squares += mean * mean;
    }
    end->mean[channel] = sum / PARTS;
    end->error[channel] = sqrt(fmax(squares / PARTS - end->mean[channel] * end->mean[channel], 0.0) / (PARTS - 1));
  }
  const struct window all = window_between(recording, end_s - PART_S * PARTS, end_s);
  end->least_rpm = window_least(recording, all, CHANNEL_speed_rpm);
  end->most_rpm = window_most(recording, all, CHANNEL_speed_rpm);
}

static enum settle_outcome outcome_of(const struct simulation *sim, bool cut, const struct long_idle_end *end) {
  const struct computer_state *computer = &sim->vehicle.computer;
  if (!runs(sim)) return SETTLE_STALLS;
  if (computer->limp == COMPUTER_LIMP_REST) return cut ? SETTLE_CUTS : SETTLE_LIMPS;
  if (cut) return SETTLE_LIMITED;
  const bool pressed = sim->vehicle.conditions.pedal_ratio > sim->vehicle.engine->computer.pedal.closed_ratio;
  if (!computer->idling) return pressed ? SETTLE_HELD : SETTLE_UNCONTROLLED;
  const double off_rpm = end->mean[CHANNEL_speed_rpm] - end->mean[CHANNEL_target_rpm];
  if (fabs(off_rpm) <= fmax(TARGET_RPM, 3.0 * end->error[CHANNEL_speed_rpm])) return SETTLE_IDLES;
  return off_rpm > 0.0 ? SETTLE_RACES : SETTLE_DROOPS;
}

void long_idle_run(struct long_idle *idle, const char *load, const struct long_idle_value values[LONG_IDLE_VALUE_MAX],
                   enum long_idle_entry entry, struct long_idle_end *end) {
  struct simulation *sim = idle->sim;
  struct recording recording;
  recording_init(&recording);
  *sim = *idle->clean;
  sim->recording = &recording;
  *end = (struct long_idle_end){0};
  const struct long_idle_value loads[LONG_IDLE_VALUE_MAX] = {{load, 1.0}};
  come_in(sim, loads, 1.0);
  start(sim, values, entry);
  struct integrators last = {{0.0}};
  bool cut = false;
  const long ticks = lround(MINUTE_S / COMPUTER_PERIOD_S);
  for (int minute = 0; runs(sim) && !end->rests && simulation_time_s(sim) < LONGEST_S; minute++) {
    struct integrators mean = {{0.0}};
    cut = false;
    for (long i = 0; i < ticks && runs(sim); i++) {
      tick(sim);
      add(&mean, sim, 1.0 / (double)ticks);
      cut |= sim->vehicle.computer.fuel_cut;
    }
    end->rests = minute > 0 && still(&last, &mean);
    last = mean;
  }
  end->time_s = simulation_time_s(sim);
  end->idles = sim->vehicle.computer.idling;
  end->limp = sim->vehicle.computer.limp;
  if (runs(sim)) read_end(&recording, end->time_s, end);
  end->outcome = outcome_of(sim, cut, end);
  sim->recording = NULL;
  recording_destroy(&recording);
}
