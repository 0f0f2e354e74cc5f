#include "car/remedy.h"

#include "base/attributes.h"

#include <string.h>

const struct remedy_row remedy_rows[REMEDY_COUNT] = {
#define REMEDY(cause, remedy, kind, parts, minutes, text) {#cause, #remedy, text, REMEDY_##kind},
#include "car/remedy_rows.h"
};

static const struct field cost_fields[] = {
    FIELD_ROW_REAL_OR(struct remedy_costs, minute, "minute", 1.0, 0.001, 1e6, 1, "what a minute in the workshop costs, in money"),
    FIELD_ROW_REAL_OR(struct remedy_costs, comeback, "comeback", 1.0, 0, 1e9, 120,
                      "what it costs when a car comes back with its complaint, in money; common practice, no source"),
    FIELD_ROW_REAL_OR(struct remedy_costs, search, "search", 1.0, 0, 1e5, 120,
                      "minutes until a cause is found by hand; common practice, no source"),
};

static const struct field parts_fields[] = {
#define REMEDY(cause, remedy, kind, parts_, minutes_, text) \
  FIELD_ROW_REAL_OR(struct remedy_costs, parts[REMEDY_##cause], #cause, 1.0, 0, 1e9, parts_, "money for parts to " text),
#include "car/remedy_rows.h"
};

static const struct field minutes_fields[] = {
#define REMEDY(cause, remedy, kind, parts_, minutes_, text) \
  FIELD_ROW_REAL_OR(struct remedy_costs, minutes[REMEDY_##cause], #cause, 1.0, 0, 1e6, minutes_, "minutes to " text),
#include "car/remedy_rows.h"
};

const struct field_group remedy_cost_groups[] = {
    {"costs", cost_fields, ARRAY_COUNT(cost_fields), 0, "of a minute, a comeback, a search", true},
    {"parts", parts_fields, ARRAY_COUNT(parts_fields), 0, "what the parts for each cause cost", true},
    {"minutes", minutes_fields, ARRAY_COUNT(minutes_fields), 0, "how long repairing each cause takes", true},
};
const size_t remedy_cost_group_count = ARRAY_COUNT(remedy_cost_groups);

void remedy_costs_default(struct remedy_costs *costs) {
  for (size_t i = 0; i < remedy_cost_group_count; i++)
    for (size_t k = 0; k < remedy_cost_groups[i].count; k++) field_set_default(&remedy_cost_groups[i].fields[k], costs);
}

static const struct {
  const char *cause;
  enum remedy remedy;
} sames[] = {
#define SAME(cause, as) {#cause, REMEDY_##as},
#include "car/remedy_rows.h"
};

size_t remedy_of_cause(const char *cause) {
  for (size_t i = 0; i < ARRAY_COUNT(sames); i++)
    if (strcmp(sames[i].cause, cause) == 0) return sames[i].remedy;
  size_t row = 0;
  while (row < REMEDY_COUNT && strcmp(remedy_rows[row].cause, cause) != 0) row++;
  return row;
}

bool remedy_needs_look(size_t row) {
  return row < REMEDY_COUNT && (remedy_rows[row].kind == REMEDY_CLEAN || remedy_rows[row].kind == REMEDY_PART);
}

double remedy_cost(const struct remedy_costs *costs, size_t row) {
  return costs->parts[row] + costs->minute * costs->minutes[row];
}
