#include "car/causes.h"

#include "base/attributes.h"

#include <assert.h>
#include <math.h>
#include <string.h>

const struct cause_row cause_rows[CAUSE_COUNT] = {
#define CAUSE(name, condition, least, most, scale, needs, rate, text) \
  {#name, #condition, text, least, most, CAUSE_##scale, needs, false},
#define STATE(name, what, least, most, scale, needs, rate, text) {#name, #what, text, least, most, CAUSE_##scale, needs, true},
#include "car/fault_rows.h"
};

#define MEMORY_KEY      "learned_pct"
#define MEMORY_MOST_PCT 60.0 // no computer learns more; common practice, no source
#define FAINTEST        0.2  // of the least severity: fainter is none
#define TAIL_POWER      2.0  // beyond the most, density falls as 1 / (2 sqrt(distance))

int cause_find(const char *name) {
  for (int i = 0; i < CAUSE_COUNT; i++)
    if (strcmp(cause_rows[i].name, name) == 0) return i;
  return -1;
}

enum cause_place cause_place(enum cause cause) {
  const char *what = cause_rows[cause].condition;
  if (strcmp(what, MEMORY_KEY) == 0) return CAUSE_IN_MEMORY;
  return condition_find(what) ? CAUSE_IN_CONDITIONS : CAUSE_IN_CAR;
}

bool cause_applies(const struct engine *engine, enum cause cause) {
  const unsigned needs = cause_rows[cause].needs;
  const struct condition_row *condition = condition_find(cause_rows[cause].condition);
  return engine_has(engine, condition ? needs | condition->needs : needs);
}

double cause_prior(const struct engine *engine, enum cause cause) {
  double sum = 0.0;
  for (int i = 0; i < CAUSE_COUNT; i++)
    if (cause_applies(engine, (enum cause)i)) sum += engine->rates.parts[i];
  return sum > 0.0 && cause_applies(engine, cause) ? engine->rates.parts[cause] / sum : 0.0;
}

/* As far as a severity can go in the direction of the row's most, or of its least. */
static double furthest(enum cause cause, bool up) {
  const struct cause_row *row = &cause_rows[cause];
  const struct condition_row *condition = condition_find(row->condition);
  if (condition) return up ? condition->field.max : condition->field.min;
  if (strcmp(row->condition, MEMORY_KEY) == 0) return up ? MEMORY_MOST_PCT : 0.0;
  const double span = row->most - row->least; // of a deviation: as much again on either side
  return up ? row->most + span : row->least - span;
}

/* A range on either side of what is sound has two tails; one on one side fades towards what is sound. */
static double faintest(enum cause cause) {
  const struct cause_row *row = &cause_rows[cause];
  const struct condition_row *condition = condition_find(row->condition);
  const double sound = condition ? condition->initial : 0.0;
  if ((row->least - sound) * (row->most - sound) < 0.0) return furthest(cause, row->most < row->least);
  return row->scale == CAUSE_LOG ? row->least * FAINTEST : sound + FAINTEST * (row->least - sound);
}

double cause_severity(enum cause cause, double share) {
  const struct cause_row *row = &cause_rows[cause];
  if (row->least == row->most) return row->least;
  const bool log = row->scale == CAUSE_LOG;
  const double least = log ? log2(row->least) : row->least, most = log ? log2(row->most) : row->most;
  double at;
  if (share < CAUSE_LEAST_SHARE) {
    const double faint = log ? log2(faintest(cause)) : faintest(cause);
    at = least + (faint - least) * (1.0 - share / CAUSE_LEAST_SHARE);
  } else if (share > CAUSE_MOST_SHARE) {
    const double limit = furthest(cause, row->most > row->least), far = log ? log2(limit) : limit;
    at = most + (far - most) * pow((share - CAUSE_MOST_SHARE) / (1.0 - CAUSE_MOST_SHARE), TAIL_POWER);
  } else {
    at = least + (most - least) * (share - CAUSE_LEAST_SHARE) / (CAUSE_MOST_SHARE - CAUSE_LEAST_SHARE);
  }
  return log ? exp2(at) : at;
}

void cause_apply(enum cause cause, double severity, struct conditions *conditions) {
  const struct condition_row *row = condition_find(cause_rows[cause].condition);
  if (!row) return;
  conditions_set(conditions, &row->field, field_to_si(&row->field, severity));
  if (cause == CAUSE_not_warm) conditions->oil_k = conditions->coolant_k;
}

void cause_add(enum cause cause, double severity, double amounts[SCATTER_COUNT]) {
  if (cause_place(cause) != CAUSE_IN_CAR) return;
  const int scatter = scatter_find(cause_rows[cause].condition);
  assert(scatter >= 0); // every cause names a condition, a deviation or the memory: tests/unit/car/test_causes.c
  amounts[scatter] += severity * scatter_rows[scatter].factor;
}
