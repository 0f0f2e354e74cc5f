#include "analysis/unit/unit_variables.h"

#include "base/digest.h"
#include "control/monitors.h"
#include "sim/channels.h"
#include "sim/scenario.h"

#include <assert.h>
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- Parameters: numbers of plant and computer; rates and deviations are of estimates ---- */

enum { RUNNING_PARTS = 2 };

static bool is_number(const struct field *field) { return field->kind != FIELD_CURVE; }

static size_t parameter_count(void) {
  size_t count = 0;
  for (size_t i = 0; i < RUNNING_PARTS; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++)
      for (size_t k = 0; k < engine_parts[i].groups[j].count; k++) count += is_number(&engine_parts[i].groups[j].fields[k]);
  return count;
}

static void parameter_at(size_t index, struct unit_variable *variable) {
  for (size_t i = 0; i < RUNNING_PARTS; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      for (size_t k = 0; k < group->count; k++) {
        const struct field *field = &group->fields[k];
        if (!is_number(field) || index-- > 0) continue;
        const bool whole = field->kind == FIELD_COUNT || field->kind == FIELD_CHOICE;
        variable->type = field->kind == FIELD_SWITCH ? UNIT_BOOLEAN : whole ? UNIT_INTEGER : UNIT_REAL;
        variable->field = field;
        variable->base = engine_parts[i].base + group->base;
        variable->text = field->text;
        variable->min = field->min;
        variable->max = field->max;
        if (field->kind == FIELD_CHOICE) {
          variable->min = 0.0;
          for (variable->max = -1.0; field->choices[(int)variable->max + 1];) variable->max += 1.0;
        }
        snprintf(variable->name, sizeof variable->name, "%s.%s", group->name, field->key);
        return;
      }
    }
  assert(false); // unit_variable_find() knows how many there are
}

double unit_variable_parameter(const struct unit_variable *variable, const struct engine *engine) {
  const void *base = (const char *)engine + variable->base;
  if (variable->type == UNIT_INTEGER) {
    int whole;
    memcpy(&whole, (const char *)base + variable->field->offset, sizeof whole);
    return whole;
  }
  return field_from_si(variable->field, field_real(variable->field, base));
}

/* ---- The table ---- */

enum { ACTION_COUNT = SCENARIO_ACTION_LOSE_CLOSED };

static const char *const action_texts[] = {
    [SCENARIO_ACTION_CLEAR_CODES] = "as it becomes true: the scan tool clears the fault codes",
    [SCENARIO_ACTION_RESET_LEARNED] = "as it becomes true: the scan tool resets what the computer has learned",
    [SCENARIO_ACTION_LOSE_CLOSED] = "as it becomes true: the computer forgets the closed stop",
};

static void take_condition(struct unit_variable *variable) {
  const struct condition_row *row = &condition_rows[variable->index];
  variable->role = UNIT_INPUT;
  variable->type = row->field.kind == FIELD_SWITCH ? UNIT_BOOLEAN : UNIT_REAL;
  variable->text = row->field.text;
  variable->field = &row->field;
  variable->start = row->initial;
  variable->min = row->field.min;
  variable->max = row->field.max;
  snprintf(variable->name, sizeof variable->name, "set.%s", row->field.key);
}

static void take_channel(struct unit_variable *variable) {
  variable->role = UNIT_OUTPUT;
  variable->text = channel_rows[variable->index].text;
  snprintf(variable->name, sizeof variable->name, "%s", channel_rows[variable->index].name);
}

static void take_code(struct unit_variable *variable) {
  variable->role = UNIT_OUTPUT;
  variable->type = UNIT_INTEGER;
  variable->text = monitor_rows[variable->index].text;
  variable->min = CODE_NONE;
  variable->max = CODE_CONFIRMED;
  snprintf(variable->name, sizeof variable->name, "code.%s", monitor_rows[variable->index].code);
}

uint32_t unit_variable_count(void) {
  return (uint32_t)(1 + condition_count + 1 + ACTION_COUNT + 2 + CHANNEL_COUNT - 1 + MONITOR_CODE_COUNT + parameter_count());
}

bool unit_variable_find(uint32_t reference, enum unit_kind *kind, size_t *index) {
  const struct {
    enum unit_kind kind;
    size_t count, first;
  } rows[] = {
      {UNIT_KIND_TIME, 1, 0},
      {UNIT_KIND_CONDITION, condition_count, 0},
      {UNIT_KIND_KEY, 1, 0},
      {UNIT_KIND_ACTION, ACTION_COUNT, 1},
      {UNIT_KIND_START, 1, 0},
      {UNIT_KIND_SEED, 1, 0},
      {UNIT_KIND_CHANNEL, CHANNEL_COUNT - 1, 1}, // time_s is the time
      {UNIT_KIND_CODE, MONITOR_CODE_COUNT, 0},
  };
  size_t left = reference;
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    *kind = rows[i].kind;
    *index = rows[i].first + left;
    if (left < rows[i].count) return true;
    left -= rows[i].count;
  }
  *kind = UNIT_KIND_PARAMETER;
  *index = left;
  return left < parameter_count();
}

static void take_choice(const char *name, const char *text, double start, double max, enum unit_role role,
                        struct unit_variable *variable) {
  variable->role = role;
  variable->type = UNIT_INTEGER;
  variable->text = text;
  variable->start = start;
  variable->min = 0.0;
  variable->max = max;
  snprintf(variable->name, sizeof variable->name, "%s", name);
}

bool unit_variable_at(uint32_t reference, struct unit_variable *variable) {
  *variable = (struct unit_variable){.reference = reference, .min = NAN, .max = NAN};
  if (!unit_variable_find(reference, &variable->kind, &variable->index)) return false;
  switch (variable->kind) {
  case UNIT_KIND_TIME:
    variable->text = "simulated time";
    snprintf(variable->name, sizeof variable->name, "time");
    break;
  case UNIT_KIND_CONDITION:
    take_condition(variable);
    break;
  case UNIT_KIND_KEY:
    take_choice("set.key", "key: 0 off, 1 on, 2 start, until the engine runs", KEY_ON, KEY_START, UNIT_INPUT, variable);
    break;
  case UNIT_KIND_ACTION:
    variable->role = UNIT_INPUT;
    variable->type = UNIT_BOOLEAN;
    variable->text = action_texts[variable->index];
    snprintf(variable->name, sizeof variable->name, "set.%s", scenario_action_names[variable->index]);
    break;
  case UNIT_KIND_START:
    take_choice("start",
                "how it begins: 0 left to idle until its readings are steady, 1 standing with the key off, 2 at its settled "
                "point from the first moment",
                SCENARIO_START_SETTLED, SCENARIO_START_SETTLED, UNIT_PARAMETER, variable);
    break;
  case UNIT_KIND_SEED:
    take_choice("seed", "seed of the scatter from cycle to cycle", 1.0, INT_MAX, UNIT_PARAMETER, variable);
    break;
  case UNIT_KIND_CHANNEL:
    take_channel(variable);
    break;
  case UNIT_KIND_CODE:
    take_code(variable);
    break;
  case UNIT_KIND_PARAMETER:
    variable->role = UNIT_PARAMETER;
    parameter_at(variable->index, variable);
    break;
  }
  return true;
}

static bool has_group(const struct engine *engine, const struct unit_variable *variable) {
  for (size_t i = 0; i < RUNNING_PARTS; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      if (engine_parts[i].base + group->base != variable->base || !group->optional) continue;
      if (variable->field < group->fields || variable->field >= group->fields + group->count) continue;
      for (size_t k = 0; k < group->count; k++) { // a group that is left out is all zeros
        struct unit_variable other = *variable;
        other.field = &group->fields[k];
        if (!is_number(other.field)) continue;
        other.type = other.field->kind == FIELD_COUNT || other.field->kind == FIELD_CHOICE ? UNIT_INTEGER : UNIT_REAL;
        const double value = unit_variable_parameter(&other, engine);
        if (value < 0.0 || value > 0.0) return true;
      }
      return false;
    }
  return true;
}

bool unit_variable_fits(const struct unit_variable *variable, const struct engine *engine) {
  switch (variable->kind) {
  case UNIT_KIND_CONDITION:
    return engine_has(engine, condition_rows[variable->index].needs);
  case UNIT_KIND_PARAMETER:
    return has_group(engine, variable);
  default:
    return true;
  }
}

uint64_t unit_variable_digest(void) {
  uint64_t digest = DIGEST_OF_NOTHING;
  struct unit_variable variable;
  for (uint32_t i = 0; unit_variable_at(i, &variable); i++) digest = digest_add(digest, variable.name, strlen(variable.name) + 1);
  return digest;
}
