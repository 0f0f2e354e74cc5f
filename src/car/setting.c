#include "car/setting.h"

#include "base/near_miss.h"
#include "base/us_units.h"
#include "car/former.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NAMES_MAX = 512 };

static bool can_be_set(const struct field *field) { return field->kind == FIELD_REAL || field->kind == FIELD_SWITCH; }

static bool find_in_engine(const char *name, struct setting *setting) {
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      const size_t length = strlen(group->name);
      if (strncmp(name, group->name, length) != 0 || name[length] != '.') continue;
      const struct field *field = field_find(group->fields, group->count, name + length + 1);
      if (!field || !can_be_set(field)) continue;
      setting->field = field;
      setting->of_engine = true;
      setting->base = engine_parts[i].base + group->base;
      return true;
    }
  return false;
}

/* Everything that can be set, for the near miss: conditions, then group.key. */
static size_t all_names(char (*storage)[SETTING_NAME_SIZE], const char **names) {
  size_t count = 0;
  for (size_t i = 0; i < condition_count && count < NAMES_MAX; i++) names[count++] = condition_rows[i].field.key;
  size_t used = 0;
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++)
      for (size_t k = 0; k < engine_parts[i].groups[j].count && count < NAMES_MAX; k++) {
        if (!can_be_set(&engine_parts[i].groups[j].fields[k])) continue;
        snprintf(storage[used], SETTING_NAME_SIZE, "%s.%s", engine_parts[i].groups[j].name,
                 engine_parts[i].groups[j].fields[k].key);
        names[count++] = storage[used++];
      }
  return count;
}

enum status setting_find(const char *name, struct setting *setting, struct error *error) {
  *setting = (struct setting){0};
  snprintf(setting->name, sizeof setting->name, "%s", name);
  const struct condition_row *row = condition_find(name);
  if (row) {
    setting->field = &row->field;
    return STATUS_OK;
  }
  if (find_in_engine(name, setting)) return STATUS_OK;
  const char *now = former_name_now(name);
  if (now) return error_set(error, STATUS_USAGE, "there is no quantity '%s' any more; %s", name, now);
  char(*storage)[SETTING_NAME_SIZE] = calloc(NAMES_MAX, sizeof *storage);
  const char **names = calloc(NAMES_MAX, sizeof *names);
  const char *near = storage && names ? near_miss_best(name, names, all_names(storage, names)) : NULL;
  const enum status status =
      near ? error_set(error, STATUS_USAGE, "there is no quantity '%s'; did you mean '%s'?", name, near)
           : error_set(error, STATUS_USAGE,
                       "there is no quantity '%s': bladegap list faults and bladegap list parameters show all (a parameter is "
                       "written group.key)",
                       name);
  free(storage);
  free(names);
  return status;
}

enum status setting_check(const struct setting *setting, double value, struct error *error) {
  const struct field *field = setting->field;
  if (!isfinite(value) || value < field->min || value > field->max)
    return error_set(error, STATUS_USAGE, "%s=%.10g is out of range: %g to %g (%s)", setting->name, value, field->min, field->max,
                     field->text);
  if (field->kind == FIELD_SWITCH && value > 0.0 && value < 1.0)
    return error_set(error, STATUS_USAGE, "%s=%.10g: it is a switch, 0 or 1 (%s)", setting->name, value, field->text);
  const struct condition_row *row = setting->of_engine ? NULL : condition_find(field->key);
  return row ? condition_check(row, value, error) : STATUS_OK; // what a range cannot say
}

void setting_apply(const struct setting *setting, double value, struct engine *engine, struct conditions *conditions) {
  const double si = field_to_si(setting->field, value);
  if (setting->of_engine)
    field_set_real(setting->field, (char *)engine + setting->base, si);
  else
    conditions_set(conditions, setting->field, si);
}

double setting_value(const struct setting *setting, const struct engine *engine, const struct conditions *conditions) {
  const double si = setting->of_engine ? field_real(setting->field, (const char *)engine + setting->base)
                                       : conditions_value(conditions, setting->field);
  return field_from_si(setting->field, si);
}

/* A name in a US unit, and its value, become our own. False if the name is none. */
static bool from_us(const char *name, struct setting *setting, double *value) {
  const struct us_unit *unit = us_unit_of_us(name);
  char own[SETTING_NAME_SIZE];
  struct error ignored;
  error_clear(&ignored);
  if (!unit || !us_unit_own_name(unit, name, sizeof own, own)) return false;
  if (setting_find(own, setting, &ignored) != STATUS_OK) return false;
  *value = us_unit_to_own(unit, *value, setting->field->unit.si_at_zero == 0.0);
  return true;
}

enum status setting_read(const char *option, const char *text, struct setting *setting, double *value, struct error *error) {
  const char *equals = strchr(text, '=');
  if (!equals || equals == text || (size_t)(equals - text) >= SETTING_NAME_SIZE)
    return error_set(error, STATUS_USAGE, "--%s %s: it wants NAME=VALUE, as in film_um=40", option, text);
  char name[SETTING_NAME_SIZE];
  snprintf(name, sizeof name, "%.*s", (int)(equals - text), text);
  char *end;
  *value = strtod(equals + 1, &end);
  if (end == equals + 1 || *end) return error_set(error, STATUS_USAGE, "--%s %s: '%s' is not a number", option, text, equals + 1);
  enum status status = from_us(name, setting, value) ? STATUS_OK : setting_find(name, setting, error);
  return status == STATUS_OK ? setting_check(setting, *value, error) : status;
}

enum status setting_apply_text(const char *option, const char *text, struct engine *engine, struct conditions *conditions,
                               struct error *error) {
  struct setting setting;
  double value;
  const enum status status = setting_read(option, text, &setting, &value, error);
  if (status == STATUS_OK) setting_apply(&setting, value, engine, conditions);
  return status;
}
