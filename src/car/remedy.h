/* What mends each cause and what that costs, what a comeback costs and what a search by hand: what a decision weighs.
 *
 * Everything is in one money of the user's own; the defaults are in minutes of the workshop. The rows stand in car/remedy_rows.h. */
#ifndef CAR_REMEDY_H
#define CAR_REMEDY_H

#include "base/field.h"
#include "car/cause_rates.h"

enum remedy {
#define REMEDY(cause, remedy, kind, parts, minutes, text) REMEDY_##cause,
#include "car/remedy_rows.h"
  REMEDY_COUNT
};

enum remedy_kind { REMEDY_CLEAN, REMEDY_PART, REMEDY_SETTING, REMEDY_NONE };

struct remedy_row {
  const char *cause, *name, *text;
  enum remedy_kind kind;
};
extern const struct remedy_row remedy_rows[REMEDY_COUNT];

struct remedy_costs {
  double minute;   // money, of a minute of the workshop
  double comeback; // money, of a car that comes back with its complaint, beside finding it by hand and mending it then
  double search;   // minutes, until a cause is found by hand
  double parts[REMEDY_COUNT], minutes[REMEDY_COUNT]; // money; minutes
};
void remedy_costs_default(struct remedy_costs *costs);

/* The same as groups of a file: costs, parts, minutes. */
extern const struct field_group remedy_cost_groups[];
extern const size_t remedy_cost_group_count;

/* The row that mends a cause, by its name; REMEDY_COUNT if there is none. */
size_t remedy_of_cause(const char *cause);

/* Whether the work takes or buys something, so that a look should confirm it first. */
bool remedy_needs_look(size_t row);

/* Money. */
double remedy_cost(const struct remedy_costs *costs, size_t row);

#endif
