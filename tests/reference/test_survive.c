/* Whatever breaks, the run goes on: every fault of car/conditions.c, on every engine of models/, at five severities over its range, at
 * once and creeping in, with the engine running, with the key just on and with the key just off; and two at a time, drawn by lot, a hand
 * on the throttle blade among them. The default solver must finish.
 *
 *   seconds  0          idles warm, or stands with the key turned on
 *            1          the fault: at once, or over 5 s; "key off": the key goes off as well, the throttle drive stays awake
 *            7          "running": a foot on the pedal for 1 s; the other two: the starter
 *           10          end
 *
 * Truth: none is needed; STATUS_INTERNAL is a failure of the program, never of an engine (solver/solver.h, check_state() of
 * sim/simulation.c). ctest runs every tenth case, drawn by a seed; with the argument `all` all of them are run, with `all k/n`
 * the k-th of n parts. */
#include "support/check.h"
#include "support/fault_table.h"

#include "base/random.h"
#include "io/config/engine_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SEVERITIES = 5, PAIRS = 300, MODELS_MOST = 16, SHARE = 10, SEED = 1, PAIR_SEED = 2 }; // PAIRS: an engine
#define FAULT_S    1.0
#define RAMP_S     5.0
#define ACT_S      7.0
#define DURATION_S 10.0

enum life { LIFE_RUNNING, LIFE_KEY_ON, LIFE_KEY_OFF, LIFE_COUNT };
static const char *const life_names[LIFE_COUNT] = {"running", "key on", "key off"};

/* Which cases are run, and what became of them. */
struct storm {
  size_t part, parts; // 1 of 1: all; 0 of SHARE: one drawn out of so many
  size_t number, run, failed;
};

struct bench {
  struct engine engine;
  struct scenario settling;
  struct simulation *settled;
};

static void must_be_ok(enum status status, const struct error *error) {
  if (status != STATUS_OK) fail_msg("%s", error->text);
}

static void bench_init(struct bench *bench, const char *model) {
  struct error error;
  error_clear(&error);
  scenario_init(&bench->settling);
  snprintf(bench->settling.engine_path, sizeof bench->settling.engine_path, "models/%s.cfg", model);
  must_be_ok(engine_file_read(bench->settling.engine_path, &bench->engine, &error), &error);
  const struct solver_options options = solver_options_default();
  must_be_ok(simulation_create(&bench->engine, &bench->settling, &solver_cvode, &options, &bench->settled, &error), &error);
}

static void bench_end(struct bench *bench) {
  simulation_destroy(bench->settled);
  scenario_destroy(&bench->settling);
}

static struct scenario_step setting(double at_s, double ramp_s, const char *key, double value) {
  const struct condition_row *row = condition_find(key);
  return (struct scenario_step){.at_s = at_s,
                                .ramp_s = ramp_s,
                                .key = -1,
                                .set_count = 1,
                                .sets = {{(size_t)(row - condition_rows), field_to_si(&row->field, value)}}};
}

static struct scenario_step turning(double at_s, enum key key) { return (struct scenario_step){.at_s = at_s, .key = (int)key}; }

static enum status run(const struct bench *bench, enum life life, const struct scenario_step *fault, struct error *error) {
  struct scenario_step steps[4];
  size_t count = 0;
  if (life == LIFE_KEY_ON) steps[count++] = turning(0.0, KEY_ON);
  if (life == LIFE_KEY_OFF) steps[count++] = turning(FAULT_S, KEY_OFF);
  steps[count++] = *fault;
  if (life == LIFE_RUNNING) {
    steps[count++] = setting(ACT_S, 0.0, "pedal_pct", 30.0);
    steps[count++] = setting(ACT_S + 1.0, 0.0, "pedal_pct", 0.0);
  } else {
    steps[count++] = turning(ACT_S, KEY_START);
  }
  struct scenario scenario = bench->settling;
  scenario.duration_s = DURATION_S;
  scenario.running = life != LIFE_KEY_ON;
  scenario.steps = steps;
  scenario.step_count = count;
  const struct solver_options options = solver_options_default();
  struct simulation *sim = NULL;
  enum status status = life == LIFE_KEY_ON
                           ? simulation_create(&bench->engine, &scenario, &solver_cvode, &options, &sim, error)
                           : simulation_create_resting(&bench->settled->vehicle, &scenario, &solver_cvode, &options, &sim, error);
  struct recording recording;
  recording_init(&recording);
  if (status == STATUS_OK) status = simulation_run(sim, &recording, NULL, NULL, error);
  recording_destroy(&recording);
  simulation_destroy(sim);
  return status;
}

static bool is_drawn(const struct storm *storm, size_t number) {
  if (storm->part) return number % storm->parts == storm->part - 1;
  return random_uniform(SEED, RANDOM_STREAM_CASE, number) * (double)storm->parts < 1.0;
}

static void run_if_drawn(struct storm *storm, const struct bench *bench, enum life life, const struct scenario_step *fault,
                         double value) {
  if (!is_drawn(storm, storm->number++)) return;
  struct error error;
  error_clear(&error);
  storm->run++;
  if (run(bench, life, fault, &error) == STATUS_OK) return;
  storm->failed++;
  const char *second = fault->set_count > 1 ? condition_rows[fault->sets[1].condition].field.key : "nothing else";
  printf("%s, %s, %s = %g with %s, %s: %s\n", bench->engine.name, life_names[life],
         condition_rows[fault->sets[0].condition].field.key, value, second, fault->ramp_s > 0.0 ? "ramped" : "at once",
         error.text);
}

static void run_fault(struct storm *storm, const struct bench *bench, const struct field *field) {
  for (int severity = 0; severity < SEVERITIES; severity++) {
    const bool is_switch = field->kind == FIELD_SWITCH;
    if (is_switch && severity < SEVERITIES - 1) continue;
    const double value = field->min + (field->max - field->min) * severity / (SEVERITIES - 1);
    for (int ramp = 0; ramp <= (is_switch ? 0 : 1); ramp++) {
      const struct scenario_step fault = setting(FAULT_S, ramp ? RAMP_S : 0.0, field->key, value);
      for (int life = 0; life < LIFE_COUNT; life++) run_if_drawn(storm, bench, (enum life)life, &fault, value);
    }
  }
}

/* A condition that may be drawn: a fault, or the hand. */
static bool is_drawable(const struct condition_row *row) {
  return row->kind == CONDITION_FAULT || strcmp(row->field.key, "hand_nm") == 0;
}

static double draw(uint64_t *drawn) { return random_uniform(PAIR_SEED, RANDOM_STREAM_CASE, (*drawn)++); }

/* Two faults with values drawn evenly from their ranges, at once or both creeping in. */
static void run_pair(struct storm *storm, const struct bench *bench, uint64_t index) {
  uint64_t drawn = 1000 * index;
  struct scenario_step step = {.at_s = FAULT_S, .key = -1};
  step.ramp_s = draw(&drawn) < 0.5 ? RAMP_S : 0.0;
  const enum life life = (enum life)(draw(&drawn) * LIFE_COUNT);
  double first = 0.0;
  while (step.set_count < 2) {
    const size_t place = (size_t)(draw(&drawn) * (double)condition_count);
    const struct field *field = &condition_rows[place].field;
    if (!is_drawable(&condition_rows[place])) continue;
    double value = field->min + (field->max - field->min) * draw(&drawn);
    if (field->kind == FIELD_SWITCH) {
      value = 1.0;
      step.ramp_s = 0.0; // a switch cannot creep in
    }
    if (step.set_count == 0) first = value;
    step.sets[step.set_count++] = (struct scenario_set){place, field_to_si(field, value)};
  }
  run_if_drawn(storm, bench, life, &step, first);
}

static void run_storm(struct storm *storm) {
  char models[MODELS_MOST][FAULT_MODEL_SIZE];
  const size_t model_count = fault_models(models, MODELS_MOST);
  for (size_t model = 0; model < model_count; model++) {
    struct bench bench;
    bench_init(&bench, models[model]);
    for (size_t i = 0; i < condition_count; i++)
      if (condition_rows[i].kind == CONDITION_FAULT) run_fault(storm, &bench, &condition_rows[i].field);
    for (uint64_t i = 0; i < PAIRS; i++) run_pair(storm, &bench, model * PAIRS + i);
    bench_end(&bench);
  }
  printf("%zu of %zu cases run, %zu failed\n", storm->run, storm->number, storm->failed);
}

static void every_fault_is_survived(void **state) {
  struct storm *storm = *state;
  run_storm(storm);
  assert_true(storm->run > 0);
  assert_int_equal(storm->failed, 0);
}

int main(int count, char **words) {
  struct storm storm = {.part = 0, .parts = SHARE};
  if (count > 1 && strcmp(words[1], "all") == 0) storm.part = storm.parts = 1;
  if (count > 2 && sscanf(words[2], "%zu/%zu", &storm.part, &storm.parts) != 2) return EXIT_FAILURE;
  const struct CMUnitTest tests[] = {cmocka_unit_test_prestate(every_fault_is_survived, &storm)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
