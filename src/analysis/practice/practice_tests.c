#include "analysis/practice/practice_tests.h"

#include "analysis/estimate/estimate_scan.h"
#include "base/near_miss.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* What is read in parts and as a whole is told as a whole. */
static bool is_part(enum estimate_quantity quantity) {
  for (size_t i = 0; i < ESTIMATE_WHOLE_COUNT; i++)
    if (estimate_wholes[i].parts[0] == quantity || estimate_wholes[i].parts[1] == quantity) return true;
  return false;
}

static unsigned possible_conditions(const struct engine *engine) {
  unsigned conditions = 0;
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    if (estimate_forward_has(engine, (enum estimate_condition)c)) conditions |= 1u << c;
  return conditions;
}

static void find_readings(struct practice_tests *t, unsigned conditions, const struct estimate_point *points) {
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    for (int q = 0; q < ESTIMATE_QUANTITY_COUNT && t->readings.count < ESTIMATE_READING_MAX; q++) {
      const struct estimate_quantity_row *row = &estimate_quantities[q];
      const enum estimate_quantity quantity = (enum estimate_quantity)q;
      const enum estimate_condition condition = (enum estimate_condition)c;
      if (!(conditions & row->conditions & (1u << c)) || !points[c].runs || is_part(quantity)) continue;
      if (row->instrument == ESTIMATE_LOG || !estimate_scan_known(t->engine, quantity, condition)) continue;
      const double value = row->value(&points[c]);
      if (isnan(value)) continue;
      t->flicker[t->readings.count] = hypot(row->flicker, row->flicker_share * value);
      t->readings.readings[t->readings.count++] =
          (struct estimate_reading){quantity, condition, value, estimate_reading_sd(quantity, value, NAN, NAN)};
    }
}

static bool is_stream(const struct estimate_reading *r) {
  return estimate_quantities[r->quantity].instrument == ESTIMATE_STREAM && !((1u << r->condition) & ESTIMATE_AT_STEPS);
}

static struct practice_test *add(struct practice_tests *t, const struct practice_test *test) {
  if (t->count == PRACTICE_TEST_MAX) return NULL;
  t->tests[t->count] = *test;
  return &t->tests[t->count++];
}

static void add_stream(struct practice_tests *t, enum estimate_condition condition) {
  struct practice_test test = {.kind = PRACTICE_STREAM, .condition = condition};
  for (size_t i = 0; i < t->readings.count && test.count < PRACTICE_SHOWN_MAX; i++)
    if (t->readings.readings[i].condition == condition && is_stream(&t->readings.readings[i])) test.shown[test.count++] = i;
  estimate_next_stream(t->engine, condition, &test.what);
  if (test.count > 0) (void)add(t, &test);
}

static void add_looks(struct practice_tests *t) {
  struct practice_test test = {.kind = PRACTICE_LOOK};
  for (; estimate_next_look(t->engine, test.look, &test.what); test.look++)
    for (int c = 0; c < CAUSE_COUNT; c++)
      if (((test.what.finds >> c) & 1u) && cause_applies(t->engine, (enum cause)c)) {
        (void)add(t, &test);
        break;
      }
}

void practice_tests_init(struct practice_tests *t, const struct engine *engine, struct estimate_forward *forward) {
  const double z[SCATTER_COUNT] = {0.0};
  const unsigned conditions = possible_conditions(engine);
  struct estimate_setting setting;
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  memset(t, 0, sizeof *t);
  t->engine = engine;
  estimate_setting_init(&setting);
  estimate_forward_predict(forward, &setting, z, &(struct estimate_fault){0}, conditions, points);
  find_readings(t, conditions, points);
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++) add_stream(t, (enum estimate_condition)c);
  for (size_t i = 0; i < t->readings.count; i++) {
    const struct estimate_reading *r = &t->readings.readings[i];
    struct practice_test test = {.kind = PRACTICE_READING, .condition = r->condition, .count = 1, .shown = {i}};
    if (is_stream(r)) continue;
    estimate_next_reading(engine, r->quantity, r->condition, &test.what);
    (void)add(t, &test);
  }
  add_looks(t);
}

static bool same_name(const char *given, const char *name) {
  for (; *given && *name; given++, name++)
    if (*given != *name && !(*given == '-' && *name == '_')) return false;
  return *given == *name;
}

size_t practice_tests_find(const struct practice_tests *t, const char *name) {
  size_t i = 0;
  while (i < t->count && !same_name(name, t->tests[i].what.name)) i++;
  return i;
}

enum status practice_tests_get(const struct practice_tests *t, const char *name, size_t *test, struct error *error) {
  const char *names[PRACTICE_TEST_MAX];
  *test = practice_tests_find(t, name);
  if (*test < t->count) return STATUS_OK;
  for (size_t i = 0; i < t->count; i++) names[i] = t->tests[i].what.name;
  const char *near = near_miss_best(name, names, t->count);
  return error_set(error, STATUS_USAGE, "there is no test '%s' on this engine%s%s%s; bladegap practice tests CASE lists them",
                   name, near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
}
