#include "car/causes.h"

#include "base/attributes.h"

#include <assert.h>
#include <math.h>
#include <string.h>

const struct cause_row cause_rows[CAUSE_COUNT] = {
#define CAUSE(name, condition, least, most, scale, needs, rate, text) \
  {#name, #condition, text, least, most, CAUSE_##scale, needs},
#include "car/fault_rows.h"
};

int cause_find(const char *name) {
  for (int i = 0; i < CAUSE_COUNT; i++)
    if (strcmp(cause_rows[i].name, name) == 0) return i;
  return -1;
}

bool cause_applies(const struct engine *engine, enum cause cause) {
  const struct condition_row *condition = condition_find(cause_rows[cause].condition);
  assert(condition); // every cause names a condition: tests/unit/car/test_causes.c
  return engine_has(engine, cause_rows[cause].needs | condition->needs);
}

double cause_prior(const struct engine *engine, enum cause cause) {
  double sum = 0.0;
  for (int i = 0; i < CAUSE_COUNT; i++)
    if (cause_applies(engine, (enum cause)i)) sum += engine->rates.parts[i];
  return sum > 0.0 && cause_applies(engine, cause) ? engine->rates.parts[cause] / sum : 0.0;
}

double cause_severity(enum cause cause, double share) {
  const struct cause_row *row = &cause_rows[cause];
  if (row->scale == CAUSE_LOG) return row->least * pow(row->most / row->least, share);
  return row->least + (row->most - row->least) * share;
}

void cause_apply(enum cause cause, double severity, struct conditions *conditions) {
  const struct condition_row *row = condition_find(cause_rows[cause].condition);
  assert(row);
  conditions_set(conditions, &row->field, field_to_si(&row->field, severity));
}
