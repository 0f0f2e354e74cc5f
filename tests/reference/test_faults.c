/* Every fault against what the trade expects of it, on every engine in models/, and against docs/faults.md.
 *
 * Truth: reference/fault_expectations.h, each row with its source or "common practice, no source"; and that
 * whatever the fault, a run ends with a running or a stalled engine, never with an error of ours.
 *
 * Every fault is run on two of four engines, drawn by a seed, and one end in four of the ranges is tried (test_survive.c takes other
 * severities); with the argument `all` every one. */
#include "support/fault_table.h"

#include "base/random.h"
#include "reference/fault_expectations.h"
#include "support/check.h"
#include "support/sample.h"
#include "support/scene.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DOCUMENT "docs/faults.md"
enum { MODEL_MOST = 8, CASE_MOST = 128, PAIR_COUNT = 10, LINE_SIZE = 2048, SEED = 8, ENGINES_OF = 3, ENDS_OF = 5 };

static bool whole; // set once, before the tests

#define ALIKE_PCT 3.0
#define TRY_S     10.0
#define PAIR_S    15.0

/* All runs, done once. */
struct runs {
  size_t model_count;
  char models[MODEL_MOST][FAULT_MODEL_SIZE];
  unsigned engine[MODEL_MOST];
  struct fault_outcome clean[MODEL_MOST], other_seed[MODEL_MOST];
  bool done[MODEL_MOST][CASE_MOST]; // is in the sample
  struct fault_outcome faulty[MODEL_MOST][CASE_MOST];
  enum status status[MODEL_MOST][CASE_MOST];
  char error[MODEL_MOST][CASE_MOST][200];
};

static void must_be_ok(enum status status, const struct error *error) {
  if (status != STATUS_OK) fail_msg("%s", error->text);
}

static void run_model(struct runs *runs, size_t model) {
  struct fault_bench bench;
  struct error error;
  error_clear(&error);
  must_be_ok(fault_bench_init(&bench, runs->models[model], &error), &error);
  runs->engine[model] = engine_features(&bench.engine);
  must_be_ok(fault_bench_run(&bench, NULL, 1, &runs->clean[model], &error), &error);
  must_be_ok(fault_bench_run(&bench, NULL, 2, &runs->other_seed[model], &error), &error);
  for (size_t i = 0; i < FAULT_EXPECTATION_COUNT; i++) {
    runs->done[model][i] = sample_takes(whole, SEED, i * runs->model_count + model, ENGINES_OF);
    if (!runs->done[model][i]) continue;
    error_clear(&error);
    runs->status[model][i] = fault_bench_run(&bench, &fault_expectations[i].trial, 1, &runs->faulty[model][i], &error);
    snprintf(runs->error[model][i], sizeof runs->error[model][i], "%.199s", error.text);
  }
  fault_bench_destroy(&bench);
}

static int run_all(void **state) {
  struct runs *runs = calloc(1, sizeof *runs);
  if (!runs || (int)FAULT_EXPECTATION_COUNT > (int)CASE_MOST) return 1;
  runs->model_count = fault_models(runs->models, MODEL_MOST);
  for (size_t model = 0; model < runs->model_count; model++) run_model(runs, model);
  *state = runs;
  return 0;
}

static int forget_all(void **state) {
  free(*state);
  return 0;
}

static bool is_pattern(const char *signs) {
  return strlen(signs) == FAULT_READING_COUNT && strspn(signs, "+-0pm.") == FAULT_READING_COUNT;
}

/* A new fault needs a row, and in it an expectation for every engine: signs, or why there are none. */
static void every_fault_has_its_rows(void **state) {
  const struct runs *runs = *state;
  int missing = 0;
  assert_true(runs->model_count >= 1);
  for (size_t i = 0; i < condition_count; i++) {
    if (condition_rows[i].kind != CONDITION_FAULT) continue;
    const char *key = condition_rows[i].field.key;
    const struct fault_expectation *row = fault_expectations_find(key);
    if (!row) print_error("%s has no row in tests/reference/fault_expectations.h\n", key), missing++;
    for (size_t model = 0; row && model < runs->model_count; model++)
      if (!fault_expectations_for(row, runs->engine[model]))
        print_error("%s says nothing of %s in tests/reference/fault_expectations.h\n", key, runs->models[model]), missing++;
  }
  for (size_t i = 0; i < FAULT_EXPECTATION_COUNT; i++) {
    const struct fault_expectation *row = &fault_expectations[i];
    const struct condition_row *condition = condition_find(row->trial.key);
    assert_non_null(condition);
    assert_true(condition->kind == CONDITION_FAULT);
    assert_ptr_equal(fault_expectations_find(row->trial.key), row); // no second row
    for (size_t k = 0; k < FAULT_SIGNS_MAX && row->signs[k].source; k++) {
      for (int point = 0; point < FAULT_POINT_COUNT; point++) assert_true(is_pattern(row->signs[k].signs[point]));
      assert_true(*row->signs[k].source && *row->signs[k].why);
    }
  }
  assert_int_equal(missing, 0);
}

/* Where an engine lacks what the product's row says a fault needs, nobody expects anything of it. */
static void nothing_is_expected_of_what_is_not_there(void **state) {
  const struct runs *runs = *state;
  static const char *const nothing[FAULT_POINT_COUNT] = NOTHING;
  for (size_t i = 0; i < FAULT_EXPECTATION_COUNT; i++)
    for (size_t model = 0; model < runs->model_count; model++) {
      const struct fault_signs *signs = fault_expectations_for(&fault_expectations[i], runs->engine[model]);
      const unsigned needs = condition_find(fault_expectations[i].trial.key)->needs;
      if (!signs || (needs & ~runs->engine[model]) == 0) continue;
      for (int point = 0; point < FAULT_POINT_COUNT; point++)
        if (strcmp(signs->signs[point], nothing[point]) != 0)
          fail_msg("%s needs what %s lacks, and yet %s is expected", fault_expectations[i].trial.key, runs->models[model],
                   signs->signs[point]);
    }
}

/* Scatter alone stays within every dead band. */
static void dead_bands_are_wide_enough(void **state) {
  const struct runs *runs = *state;
  for (size_t model = 0; model < runs->model_count; model++)
    for (int point = 0; point < FAULT_POINT_COUNT; point++)
      for (int i = 0; i < FAULT_READING_COUNT; i++) {
        const double change =
            fault_change(&runs->clean[model], &runs->other_seed[model], (enum fault_point)point, (enum fault_reading)i);
        if (!isnan(change))
          check_below_at(i, fabs(change), fault_dead_band(&runs->clean[model], (enum fault_point)point, (enum fault_reading)i));
      }
}

static bool as_expected(char sign, double change, double band) {
  switch (sign) {
  case '+':
    return change > band;
  case '-':
    return change < -band;
  case '0':
    return fabs(change) <= band;
  case 'p':
    return change >= -band;
  case 'm':
    return change <= band;
  default:
    return true;
  }
}

static int signs_against(const struct runs *runs, size_t model, size_t fault, const struct fault_signs *row) {
  const char *key = fault_expectations[fault].trial.key;
  const struct fault_outcome *clean = &runs->clean[model], *faulty = &runs->faulty[model][fault];
  int wrong = 0;
  for (int point = 0; point < FAULT_POINT_COUNT; point++) {
    if (faulty->end[point] == FAULT_END_STALLED) {
      print_error("%s, %s: stalls (%s)\n", runs->models[model], key, fault_point_names[point]);
      return wrong + 1;
    }
    for (int i = 0; i < FAULT_READING_COUNT; i++) {
      const double change = fault_change(clean, faulty, (enum fault_point)point, (enum fault_reading)i);
      const double band = fault_dead_band(clean, (enum fault_point)point, (enum fault_reading)i);
      if (isnan(change) || as_expected(row->signs[point][i], change, band)) continue;
      print_error("%s, %s at %s: %s changes by %.3g %s, band %.3g, expected %c: %s (%s)\n", runs->models[model], key,
                  fault_point_names[point], fault_reading_rows[i].name, change, fault_reading_rows[i].unit, band,
                  row->signs[point][i], row->why, row->source);
      wrong++;
    }
  }
  return wrong;
}

static bool in_order(const struct fault_outcome *clean, const struct fault_outcome *faulty, enum fault_more more) {
  const double trim_idle = fabs(fault_change(clean, faulty, FAULT_POINT_IDLE, FAULT_READING_TRIM));
  const double trim_held = fabs(fault_change(clean, faulty, FAULT_POINT_HELD, FAULT_READING_TRIM));
  const double pressure_idle = fault_change(clean, faulty, FAULT_POINT_IDLE, FAULT_READING_PRESSURE);
  const double pressure_held = fault_change(clean, faulty, FAULT_POINT_HELD, FAULT_READING_PRESSURE);
  switch (more) {
  case TRIM_AT_IDLE:
    return trim_idle > trim_held;
  case TRIM_ALIKE:
    return fabs(trim_idle - trim_held) < ALIKE_PCT;
  case PRESSURE_HELD:
    return pressure_held > pressure_idle;
  case NO_ORDER:
    break;
  }
  return true;
}

static void signs_as_the_trade_expects(void **state) {
  const struct runs *runs = *state;
  int wrong = 0;
  for (size_t model = 0; model < runs->model_count; model++)
    for (size_t i = 0; i < FAULT_EXPECTATION_COUNT; i++) {
      const struct fault_signs *row = fault_expectations_for(&fault_expectations[i], runs->engine[model]);
      const char *key = fault_expectations[i].trial.key;
      const struct fault_outcome *faulty = &runs->faulty[model][i];
      if (!row || !runs->done[model][i]) continue; // that there is a row says the test above
      if (runs->status[model][i] != STATUS_OK) {
        print_error("%s, %s: %s\n", runs->models[model], key, runs->error[model][i]);
        wrong++;
        continue;
      }
      wrong += signs_against(runs, model, i, row);
      if (!in_order(&runs->clean[model], faulty, row->more))
        print_error("%s, %s: trim or pressure not in the order expected: %s\n", runs->models[model], key, row->why), wrong++;
      if (row->limp != LIMP_ANY && (int)faulty->limp != row->limp)
        print_error("%s, %s: limp-home is %s, expected %s: %s\n", runs->models[model], key, computer_limp_names[faulty->limp],
                    computer_limp_names[row->limp], row->why),
            wrong++;
    }
  assert_int_equal(wrong, 0);
}

/* The number in a cell of the document: NAN for a dash, a stall or text. */
static double cell_value(const char *cell) {
  char *end;
  const double value = strtod(cell, &end);
  return end == cell ? NAN : value;
}

/* Finds the fault's row below the heading of engine and point, and its cells. False if there is none. */
static bool document_row(FILE *document, const char *model, const char *heading, const char *key, char *line,
                         const char *cells[FAULT_READING_COUNT]) {
  bool in_model = false, in_table = false;
  rewind(document);
  while (fgets(line, LINE_SIZE, document)) {
    line[strcspn(line, "\n")] = '\0';
    if (strncmp(line, "## ", 3) == 0) in_model = strncmp(line + 3, model, strlen(model)) == 0 && line[3 + strlen(model)] == ':';
    if (line[0] == '#') in_table = in_model && strcmp(line, heading) == 0;
    if (!in_table || strncmp(line, "| ", 2) != 0) continue;
    if (strncmp(line + 2, key, strlen(key)) != 0 || line[2 + strlen(key)] != ' ') continue;
    char *at = strchr(line + 2, '|');
    for (int i = 0; i < FAULT_READING_COUNT && at; i++) {
      *at = '\0';
      cells[i] = at + 1;
      at = strchr(at + 1, '|');
    }
    return at != NULL;
  }
  return false;
}

/* One row of the document against the run: a number may be off by the dead band and a tenth of itself. */
static int row_against(const struct runs *runs, size_t model, size_t fault, int point,
                       const char *const cells[FAULT_READING_COUNT]) {
  int wrong = 0;
  for (int i = 0; i < FAULT_READING_COUNT; i++) {
    const double band = fault_dead_band(&runs->clean[model], (enum fault_point)point, (enum fault_reading)i);
    const double change =
        fault_change(&runs->clean[model], &runs->faulty[model][fault], (enum fault_point)point, (enum fault_reading)i);
    const double now = fabs(change) < band ? 0.0 : change, told = cell_value(cells[i]);
    const bool same = isnan(change) ? isnan(told) : fabs(told - now) <= band + 0.1 * fabs(now);
    if (same) continue;
    print_error("%s, %s, %s at %s: %s says%s, it is %.3g\n", DOCUMENT, runs->models[model], fault_expectations[fault].trial.key,
                fault_point_names[point], fault_reading_rows[i].name, cells[i], now);
    wrong++;
  }
  return wrong;
}

static void document_is_what_runs_give(void **state) {
  static const char *const headings[FAULT_POINT_COUNT] = {FAULT_TABLE_IDLE_HEADING, FAULT_TABLE_HELD_HEADING};
  const struct runs *runs = *state;
  FILE *document = fopen(DOCUMENT, "r");
  if (!document) fail_msg("%s cannot be read: write it with make_faults", DOCUMENT);
  int wrong = 0;
  char line[LINE_SIZE];
  for (size_t model = 0; model < runs->model_count; model++)
    for (size_t i = 0; i < FAULT_EXPECTATION_COUNT; i++)
      for (int point = 0; point < FAULT_POINT_COUNT; point++) {
        const char *cells[FAULT_READING_COUNT];
        if (!runs->done[model][i] || runs->status[model][i] != STATUS_OK) continue;
        if (document_row(document, runs->models[model], headings[point], fault_expectations[i].trial.key, line, cells))
          wrong += row_against(runs, model, i, point, cells);
        else
          print_error("%s has no row for %s of %s\n", DOCUMENT, fault_expectations[i].trial.key, runs->models[model]), wrong++;
      }
  fclose(document);
  if (wrong) fail_msg("%d places of %s are out of date: write it anew with make_faults", wrong, DOCUMENT);
}

static double start_s(double battery_v) {
  struct scene scene;
  scene_init(&scene, "four-16", 12.0);
  scene.scenario.running = false;
  scene_initial(&scene, "battery_rest_v", battery_v);
  scene_key(&scene, 1.0, KEY_START);
  scene_run(&scene);
  const double started_s = scene_event_s(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STARTED);
  scene_end(&scene);
  return started_s;
}

/* Common practice, no source: a weak battery turns the engine more slowly, an empty one not at all. */
static void low_battery_shows_in_cranking(void **state) {
  (void)state;
  const double full_s = start_s(12.6), weak_s = start_s(11.0);
  check_above(full_s, 1.0);
  check_above(weak_s, full_s);
  assert_true(isnan(start_s(7.5)));
}

static double between(const struct condition_row *row, double share) {
  if (row->field.kind == FIELD_SWITCH) return share < 0.5 ? 0.0 : 1.0;
  return row->field.min + share * (row->field.max - row->field.min);
}

static int try_values(struct fault_bench *bench, const size_t *rows, const double *values, size_t count, double duration_s,
                      int *stalls) {
  struct error error;
  error_clear(&error);
  bool stalled;
  if (fault_bench_try(bench, rows, values, count, duration_s, &stalled, &error) == STATUS_OK) {
    *stalls += stalled;
    return 0;
  }
  for (size_t i = 0; i < count; i++) print_error("%s = %g ", condition_rows[rows[i]].field.key, values[i]);
  print_error("on %s: %s\n", bench->engine.name, error.text);
  return 1;
}

/* A range that a scenario may use must be one that can be run. */
static void range_ends_run(void **state) {
  (void)state;
  struct fault_bench bench;
  struct error error;
  error_clear(&error);
  must_be_ok(fault_bench_init(&bench, "four-16", &error), &error);
  int failed = 0, stalls = 0, count = 0;
  for (size_t i = 0; i < condition_count; i++) {
    const struct condition_row *row = &condition_rows[i];
    assert_true(row->field.min < row->field.max);
    assert_true(row->initial >= row->field.min && row->initial <= row->field.max);
    for (int end = 0; end < 2; end++) {
      if (!sample_takes(whole, SEED, 2 * i + (size_t)end, ENDS_OF)) continue;
      const double value = end ? row->field.max : row->field.min;
      failed += try_values(&bench, &i, &value, 1, TRY_S, &stalls);
      count++;
    }
  }
  print_message("%d of %d range ends stall the engine\n", stalls, count);
  fault_bench_destroy(&bench);
  assert_int_equal(failed, 0);
}

/* From the key, with the fault there from the beginning: starter, blade at rest, all from standstill. */
static void range_ends_start(void **state) {
  (void)state;
  int failed = 0, started = 0, count = 0;
  for (size_t i = 0; i < condition_count; i++) {
    const struct condition_row *row = &condition_rows[i];
    if (row->kind != CONDITION_FAULT) continue;
    for (int end = 0; end < 2; end++) {
      if (!sample_takes(whole, SEED, 2 * i + (size_t)end, ENDS_OF)) continue;
      count++;
      struct scene scene;
      struct error error;
      error_clear(&error);
      scene_init(&scene, "four-16", TRY_S);
      scene.solver = &solver_fixed;
      scene.scenario.running = false;
      scene_initial(&scene, row->field.key, end ? row->field.max : row->field.min);
      scene_key(&scene, 0.1, KEY_ON);
      scene_key(&scene, 1.5, KEY_START);
      if (scene_try(&scene, &error) != STATUS_OK)
        print_error("%s = %g from the key: %s\n", row->field.key, end ? row->field.max : row->field.min, error.text), failed++;
      else
        started += scene_events(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STARTED) > 0;
      scene_end(&scene);
    }
  }
  print_message("%d of %d range ends start\n", started, count);
  assert_int_equal(failed, 0);
}

/* Two faults at once, anywhere in their ranges, taken by chance from a fixed seed; on each engine. */
static void pairs_run(void **state) {
  const struct runs *runs = *state;
  int failed = 0, stalls = 0;
  for (size_t model = 0; model < runs->model_count; model++) {
    struct fault_bench bench;
    struct error error;
    error_clear(&error);
    must_be_ok(fault_bench_init(&bench, runs->models[model], &error), &error);
    for (uint64_t pair = 0; pair < PAIR_COUNT; pair++) {
      size_t rows[2];
      double values[2];
      for (uint64_t i = 0; i < 2; i++) {
        const double pick = random_uniform(1, RANDOM_STREAM_CASE, 4 * pair + 2 * i);
        const char *key = fault_expectations[(size_t)(pick * (double)FAULT_EXPECTATION_COUNT)].trial.key;
        rows[i] = (size_t)(condition_find(key) - condition_rows);
        values[i] = between(&condition_rows[rows[i]], random_uniform(1, RANDOM_STREAM_CASE, 4 * pair + 2 * i + 1));
      }
      failed += try_values(&bench, rows, values, 2, PAIR_S, &stalls);
    }
    fault_bench_destroy(&bench);
  }
  print_message("%d of %zu pairs stall the engine\n", stalls, PAIR_COUNT * runs->model_count);
  assert_int_equal(failed, 0);
}

int main(int argc, char **argv) {
  whole = sample_is_whole(argc, argv);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_fault_has_its_rows),
      cmocka_unit_test(nothing_is_expected_of_what_is_not_there),
      cmocka_unit_test(dead_bands_are_wide_enough),
      cmocka_unit_test(signs_as_the_trade_expects),
      cmocka_unit_test(document_is_what_runs_give),
      cmocka_unit_test(low_battery_shows_in_cranking),
      cmocka_unit_test(range_ends_run),
      cmocka_unit_test(range_ends_start),
      cmocka_unit_test(pairs_run),
  };
  return cmocka_run_group_tests(tests, run_all, forget_all);
}
