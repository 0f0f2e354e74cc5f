/* What a co-simulation unit of an engine shows to the outside: one variable for every condition, key and action (inputs), every number of the
 * engine file that decides how it runs (parameters), every channel and every fault code (outputs).
 *
 * References number them the same for every engine; what an engine has not is left out of its list. A name is used once: nine are those of a
 * condition and of a channel, so all that is set while it runs begins with "set.". */
#ifndef ANALYSIS_UNIT_UNIT_VARIABLES_H
#define ANALYSIS_UNIT_UNIT_VARIABLES_H

#include "base/attributes.h"
#include "car/conditions.h"
#include "car/engine.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum unit_role { UNIT_TIME, UNIT_INPUT, UNIT_PARAMETER, UNIT_OUTPUT };
enum unit_type { UNIT_REAL, UNIT_INTEGER, UNIT_BOOLEAN };

/* What stands behind a reference. */
enum unit_kind {
  UNIT_KIND_TIME,
  UNIT_KIND_CONDITION, // index: of condition_rows
  UNIT_KIND_KEY,
  UNIT_KIND_ACTION, // index: enum scenario_action
  UNIT_KIND_START,  // enum scenario_start
  UNIT_KIND_SEED,
  UNIT_KIND_PARAMETER, // field within the engine
  UNIT_KIND_CHANNEL,   // index: enum channel
  UNIT_KIND_CODE,      // index: enum monitor_code
};

enum { UNIT_NAME_SIZE = 96 };

struct unit_variable {
  uint32_t reference;
  enum unit_kind kind;
  enum unit_role role;
  enum unit_type type;
  char name[UNIT_NAME_SIZE];
  const char *text;
  const struct field *field; // conditions and parameters: unit and range
  size_t index;              // by kind
  size_t base;               // parameters: of the group within struct engine
  double start, min, max;    // user's unit; min and max NaN where there are none
};

/* How many references there are, 0 to this less one. */
uint32_t unit_variable_count(void);

/* What a reference stands for, and its index of that kind; false if there is none of it. */
bool unit_variable_find(uint32_t reference, enum unit_kind *kind, size_t *index);

/* The variable with a reference; false if there is none of it. */
bool unit_variable_at(uint32_t reference, struct unit_variable *variable);

/* Whether an engine has it. Of channels only time can tell: these are left out by who has seen a row. */
bool unit_variable_fits(const struct unit_variable *variable, const struct engine *engine);

/* Value of a parameter in the user's unit. */
double unit_variable_parameter(const struct unit_variable *variable, const struct engine *engine);

/* A number that tells tables apart: of all names and references. */
uint64_t unit_variable_digest(void);

#endif
