/* What the core computes, bit by bit: settled points, a run and an estimate of every engine. Built for WebAssembly, for musl and for
 * glibc, so that tests/cli/wasm_core.sh can compare.
 *
 * A line is a kind, names, a colon, and numbers as the 16 hexadecimal digits of their bits. */
#include "analysis/estimate/estimate_after.h"
#include "analysis/estimate/estimate_next.h"
#include "car/engine_pack.h"
#include "library/shipped.h"
#include "plant/blade.h"
#include "sim/simulation.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct error error; // large

static void must(enum status status, const char *what) {
  if (status == STATUS_OK) return;
  fprintf(stderr, "%s: %s\n", what, error.text);
  exit(1);
}

static void show(double value) {
  uint64_t bits = UINT64_C(0x7ff8000000000000); // WebAssembly leaves the sign of a NaN open
  if (!isnan(value)) memcpy(&bits, &value, sizeof bits);
  printf(" %016" PRIx64, bits);
}

static void show_all(size_t count, const double *values) {
  for (size_t i = 0; i < count; i++) show(values[i]);
  printf("\n");
}

/* A condition by the name and in the unit that a user gives it. */
struct set {
  const char *name;
  double value;
};
enum { SET_MAX = 4 };

static size_t row_of(const char *name) {
  const struct condition_row *row = condition_find(name);
  if (row) return (size_t)(row - condition_rows);
  fprintf(stderr, "no condition is called %s\n", name);
  exit(1);
}

/* ---- settled points ---- */
static const struct {
  const char *name;
  struct set sets[SET_MAX];
  bool engine_off;
} points[] = {
    {"clean", {{0}}, false},
    {"film", {{"film_um", 55}}, false},
    {"bypass_film", {{"bypass_film_um", 120}}, false},
    {"loads", {{"film_um", 30}, {"air_conditioning", 1}, {"drive", 1}, {"electrical_load_w", 900}}, false},
    {"held", {{"hold_rpm", 2500}, {"film_um", 40}}, false},
    {"cold", {{"coolant_c", -10}, {"oil_c", -10}, {"intake_c", -10}}, false},
    {"mountain", {{"altitude_m", 2500}, {"intake_c", 35}}, false},
    {"leak", {{"leak_mm2", 14}, {"maf_gain_ratio", 0.9}}, false},
    {"many", {{"egr_stuck_mm2", 4}, {"filter_ratio", 20}, {"spark_missing_pct", 40}, {"drag_nm", 3}}, false},
    {"key_on", {{"film_um", 55}}, true},
};

static void settle_all(const struct engine *engine, const char *name) {
  struct settle *settle;
  must(settle_create(engine, &settle, &error), name);
  for (size_t i = 0; i < sizeof points / sizeof points[0]; i++) {
    struct settle_query query;
    settle_query_init(&query);
    query.engine_off = points[i].engine_off;
    for (size_t k = 0; k < SET_MAX && points[i].sets[k].name; k++) {
      const struct field *field = &condition_rows[row_of(points[i].sets[k].name)].field;
      conditions_set(&query.conditions, field, field_to_si(field, points[i].sets[k].value));
    }
    struct settle_point point;
    settle_solve(settle, &query, &point);
    printf("settled %s %s %d %llx:", name, points[i].name, (int)point.outcome, (unsigned long long)point.codes);
    show_all(CHANNEL_COUNT, point.values);
  }
  settle_destroy(settle);
}

/* ---- a run: warm with film, loads and faults, a cold start, a stale learned offset after the clean ---- */
enum { LEAVE = -1, END_S = 400 };
static const struct {
  double at_s, ramp_s;
  int key;
  enum scenario_action action;
  struct set sets[SET_MAX];
} steps[] = {
    {5, 50, LEAVE, SCENARIO_ACTION_NONE, {{"film_um", 30}}},
    {60, 0, LEAVE, SCENARIO_ACTION_NONE, {{"air_conditioning", 1}, {"electrical_load_w", 800}}},
    {75, 0, LEAVE, SCENARIO_ACTION_NONE, {{"air_conditioning", 0}, {"electrical_load_w", 300}}},
    {80, 1, LEAVE, SCENARIO_ACTION_NONE, {{"steering_pct", 100}}},
    {84, 1, LEAVE, SCENARIO_ACTION_NONE, {{"steering_pct", 0}}},
    {90, 5, LEAVE, SCENARIO_ACTION_NONE, {{"leak_mm2", 4}}},
    {110, 0, LEAVE, SCENARIO_ACTION_NONE, {{"leak_mm2", 0}, {"maf_gain_ratio", 0.9}, {"map_offset_kpa", 4}}},
    {130, 0, LEAVE, SCENARIO_ACTION_NONE, {{"maf_gain_ratio", 1}, {"map_offset_kpa", 0}}},
    {135, 2, LEAVE, SCENARIO_ACTION_NONE, {{"pedal_pct", 12}}},
    {141, 1, LEAVE, SCENARIO_ACTION_NONE, {{"pedal_pct", 0}}},
    {150, 0, LEAVE, SCENARIO_ACTION_NONE, {{"hold_rpm", 2500}}},
    {160, 0, LEAVE, SCENARIO_ACTION_NONE, {{"hold_rpm", 0}}},
    {170, 0, LEAVE, SCENARIO_ACTION_NONE, {{"cylinder_compression_loss_pct", 30}, {"spark_offset_deg", -4}}},
    {190, 0, LEAVE, SCENARIO_ACTION_CLEAR_CODES, {{"cylinder_compression_loss_pct", 0}, {"spark_offset_deg", 0}}},
    {200, 0, KEY_OFF, SCENARIO_ACTION_NONE, {{0}}},
    {205, 0, LEAVE, SCENARIO_ACTION_NONE, {{"coolant_c", 0}, {"oil_c", 0}, {"intake_c", 0}}},
    {210, 0, KEY_ON, SCENARIO_ACTION_NONE, {{0}}},
    {212, 0, KEY_START, SCENARIO_ACTION_NONE, {{0}}},
    {250, 0, LEAVE, SCENARIO_ACTION_NONE, {{"drive", 1}}},
    {270, 0, LEAVE, SCENARIO_ACTION_NONE, {{"drive", 0}, {"tps1_open", 1}}},
    {290, 0, LEAVE, SCENARIO_ACTION_NONE, {{"tps1_open", 0}}},
    {300, 0, KEY_OFF, SCENARIO_ACTION_CLEAR_CODES, {{"film_um", 0}}},
    {310, 0, KEY_ON, SCENARIO_ACTION_LOSE_CLOSED, {{0}}},
    {315, 0, KEY_START, SCENARIO_ACTION_NONE, {{0}}},
    {350, 10, LEAVE, SCENARIO_ACTION_RESET_LEARNED, {{"egr_stuck_mm2", 2}, {"purge_stuck_mm2", 2}}},
};
enum { STEP_COUNT = sizeof steps / sizeof steps[0] };

static void write_steps(struct scenario_step *to) {
  for (size_t i = 0; i < STEP_COUNT; i++) {
    to[i] =
        (struct scenario_step){.at_s = steps[i].at_s, .ramp_s = steps[i].ramp_s, .key = steps[i].key, .action = steps[i].action};
    for (size_t k = 0; k < SET_MAX && steps[i].sets[k].name; k++) {
      const size_t row = row_of(steps[i].sets[k].name);
      to[i].sets[to[i].set_count++] = (struct scenario_set){row, field_to_si(&condition_rows[row].field, steps[i].sets[k].value)};
    }
  }
}

static void run(const struct engine *engine, const char *kind, const char *name) {
  static struct scenario_step played[STEP_COUNT];
  write_steps(played);
  struct scenario scenario;
  scenario_init(&scenario);
  scenario.duration_s = END_S;
  scenario.record_s = 0.5;
  scenario.steps = played;
  scenario.step_count = STEP_COUNT;
  const struct solver_options options = solver_options_default();
  struct simulation *sim;
  struct recording recording;
  recording_init(&recording);
  must(simulation_create(engine, &scenario, &solver_fast, &options, &sim, &error), name);
  must(simulation_run(sim, &recording, NULL, NULL, &error), name);
  for (size_t i = 0; i < recording.row_count; i++) {
    printf("%s %s %zu:", kind, name, i);
    show_all(CHANNEL_COUNT, &recording.values[i * CHANNEL_COUNT]);
  }
  for (size_t i = 0; i < recording.event_count; i++) {
    printf("%s_event %s %s:", kind, name, recording.events[i].text);
    show_all(1, &recording.events[i].time_s);
  }
  recording_destroy(&recording);
  simulation_destroy(sim);
}

/* ---- an estimate ---- */
/* A filmed car that deviates a little from the nominal one, read a little wrong. */
static void read_car(const struct estimate_question *question, double film_um, unsigned wanted,
                     struct estimate_readings *readings) {
  static struct estimate_point read[ESTIMATE_CONDITION_COUNT];
  double z[SCATTER_COUNT];
  for (int i = 0; i < SCATTER_COUNT; i++) z[i] = i % 2 ? 0.4 : -0.3;
  const struct estimate_fault fault = {.count = 1, .cause = {CAUSE_film}, .severity = {film_um}};
  unsigned conditions = 0;
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    if (estimate_forward_has(question->engine, (enum estimate_condition)c)) conditions |= wanted & (1u << c);
  struct estimate_forward *forward;
  must(estimate_forward_create(question->engine, &forward, &error), "forward");
  estimate_forward_predict(forward, &question->setting, z, &fault, conditions, read);
  estimate_forward_destroy(forward);
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    for (int q = 0; q < ESTIMATE_QUANTITY_COUNT; q++) {
      const struct estimate_quantity_row *row = &estimate_quantities[q];
      if (!(conditions & row->conditions & (1u << c)) || row->instrument != ESTIMATE_STREAM) continue;
      const double value = row->value(&read[c]);
      if (isnan(value)) continue;
      const double sd = estimate_reading_sd((enum estimate_quantity)q, value, NAN, NAN), off = (q + c) % 3 - 1;
      readings->readings[readings->count++] =
          (struct estimate_reading){(enum estimate_quantity)q, (enum estimate_condition)c, value + 0.4 * off * sd, sd};
    }
  estimate_readings_join(readings);
}

/* What is out of the question is searched only as far as to see that, and a last digit may end that elsewhere. */
#define OUT_OF_QUESTION 1e-9

static void show_hypothesis(const char *name, const struct estimate_hypothesis *h) {
  if (h->probability < OUT_OF_QUESTION) return;
  printf("estimate %s %zu %d %d %zu:", name, h->fault.count, (int)h->fault.cause[0], (int)h->fault.cause[1], h->node_count);
  const double values[] = {h->prior,  h->log_evidence, h->probability, h->low[0],  h->high[0], h->mean[0],
                           h->low[1], h->high[1],      h->mean[1],     h->p_value, h->chi2};
  show_all(sizeof values / sizeof values[0], values);
}

static void show_advice(const char *name, const struct estimate *estimate) {
  struct estimate_next *next = calloc(1, sizeof *next);
  struct estimate_after *after = calloc(1, sizeof *after);
  if (!next || !after) exit(1);
  must(estimate_next(estimate, NULL, next, &error), name);
  must(estimate_after(estimate, after, &error), name);
  for (size_t i = 0; i < next->count; i++) {
    printf("next %s %s:", name, next->tests[i].name);
    show_all(1, &next->tests[i].gain_bits);
  }
  for (size_t i = 0; i < after->count; i++) {
    const struct estimate_after_reading *r = &after->readings[i];
    printf("after %s %d %d:", name, (int)r->quantity, (int)r->condition);
    const double values[] = {r->now.low, r->now.high, r->stale.low, r->stale.high, r->relearned.low, r->relearned.high};
    show_all(sizeof values / sizeof values[0], values);
  }
  free(next);
  free(after);
}

static void ask(const struct engine *engine, const char *name, bool all) {
  static struct estimate_question question;
  memset(&question, 0, sizeof question); // no copy of it on the stack, which is small
  question.engine = engine;
  question.pairs = all;
  estimate_setting_init(&question.setting);
  estimate_setting_init(&question.baseline_setting);
  const unsigned steady = ESTIMATE_AT(key_on) | ESTIMATE_AT(idle) | ESTIMATE_AT(hold_2500);
  read_car(&question, 55.0, all ? steady : steady | ESTIMATE_AT(ac_step), &question.readings); // pairs with load steps take long
  if (all) read_car(&question, 5.0, ESTIMATE_AT(idle), &question.baseline);
  struct estimate *estimate;
  must(estimate_create(&question, &for_each_serial, &estimate, &error), name);
  for (size_t i = 0; i < estimate->count; i++) show_hypothesis(name, &estimate->hypotheses[i]);
  if (all) show_advice(name, estimate);
  estimate_destroy(estimate);
}

int main(void) {
  static struct engine engine;
  for (size_t i = 0; i < shipped_engine_count; i++) {
    const struct shipped_engine *packed = &shipped_engines[i];
    if (!engine_pack_undo(packed->numbers, packed->number_count, &engine)) {
      fprintf(stderr, "%s: the packed numbers are not those of an engine\n", packed->name);
      return 1;
    }
    settle_all(&engine, packed->name);
    run(&engine, "shipped", packed->name);
    ask(&engine, packed->name, i == 0);
    if (!blade_has_drive(&engine.plant)) continue;
    engine.plant.drive.gear_ratio = 0.0;
    run(&engine, "ideal", packed->name); // the blade follows its command: nothing sticks
  }
  return 0;
}
