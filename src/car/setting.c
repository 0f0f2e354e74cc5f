#include "car/setting.h"

#include "base/near_miss.h"
#include "base/us_units.h"
#include "car/former.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NAMES_MAX = 512 };

static bool is_number(const struct field *field) {
  return field->kind == FIELD_REAL || field->kind == FIELD_SWITCH || field->kind == FIELD_COUNT;
}

/* Keys of these parts are names of other things (causes, deviations), and want their group. */
static bool wants_group(const struct engine_part *part) {
  return part->groups == scatter_groups || part->groups == cause_rate_groups;
}

static void point_at(struct setting *setting, const struct engine_part *part, const struct field_group *group,
                     const struct field *field) {
  snprintf(setting->name, sizeof setting->name, "%s.%s", group->name, field->key);
  setting->field = field;
  setting->of_engine = true;
  setting->base = part->base + group->base;
}

static bool find_in_engine(const char *name, struct setting *setting) {
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      const size_t length = strlen(group->name);
      if (strncmp(name, group->name, length) != 0 || name[length] != '.') continue;
      const struct field *field = field_find(group->fields, group->count, name + length + 1);
      if (!field) continue;
      point_at(setting, &engine_parts[i], group, field);
      return true;
    }
  return false;
}

/* A key without its group; how many groups have it, and their full names in a list. */
static int find_bare(const char *name, struct setting *setting, size_t size, char *list) {
  int found = 0;
  size_t used = 0;
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count && !wants_group(&engine_parts[i]); j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      const struct field *field = field_find(group->fields, group->count, name);
      if (!field) continue;
      point_at(setting, &engine_parts[i], group, field);
      const int added = snprintf(list + used, size - used, "%s%s", found ? " or " : "", setting->name);
      used += added > 0 && used + (size_t)added < size ? (size_t)added : 0;
      found++;
    }
  return found;
}

/* Everything that can be set, for the near miss. */
struct names {
  size_t count;
  char full[NAMES_MAX][SETTING_NAME_SIZE];
  const char *names[NAMES_MAX];
};

static void add_name(struct names *names, const char *name, const char *group, const char *key) {
  if (names->count == NAMES_MAX) return;
  snprintf(names->full[names->count], SETTING_NAME_SIZE, "%s%s%s", group, *group ? "." : "", key);
  names->names[names->count] = name ? name : names->full[names->count];
  names->count++;
}

/* Conditions and group.key, or the keys alone. */
static void add_names(struct names *names, bool bare) {
  names->count = 0;
  for (size_t i = 0; i < condition_count && !bare; i++) add_name(names, NULL, "", condition_rows[i].field.key);
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count && !(bare && wants_group(&engine_parts[i])); j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      for (size_t k = 0; k < group->count; k++)
        add_name(names, bare ? group->fields[k].key : NULL, group->name, group->fields[k].key);
    }
}

/* The full name nearest to what was written; NULL if none is near. */
static const char *near_name(struct names *names, const char *name) {
  for (int bare = 0; bare < 2; bare++) {
    add_names(names, bare);
    const char *near = near_miss_best(name, names->names, names->count);
    for (size_t i = 0; near && i < names->count; i++)
      if (names->names[i] == near) return names->full[i];
  }
  return NULL;
}

static enum status tell_unknown(const char *name, struct error *error) {
  struct names *names = calloc(1, sizeof *names); // much for a small stack
  const char *near = names ? near_name(names, name) : NULL;
  const enum status status =
      near ? error_set(error, STATUS_USAGE, "there is no quantity '%s'; did you mean '%s'?", name, near)
           : error_set(error, STATUS_USAGE,
                       "there is no quantity '%s': bladegap list faults and bladegap list parameters show all (a parameter is "
                       "written group.key)",
                       name);
  free(names);
  return status;
}

/* How many rows a name may mean; setting: the last of them, list: all, if they are more than one. */
static int look_up(const char *name, struct setting *setting, char list[SETTING_TEXT_SIZE]) {
  *setting = (struct setting){0};
  snprintf(setting->name, sizeof setting->name, "%s", name);
  const struct condition_row *row = condition_find(name);
  if (row) setting->field = &row->field;
  if (row || find_in_engine(name, setting)) return 1;
  return find_bare(name, setting, SETTING_TEXT_SIZE, list);
}

/* Any row that there is. */
static enum status find_any(const char *name, struct setting *setting, struct error *error) {
  char list[SETTING_TEXT_SIZE];
  const int found = look_up(name, setting, list);
  if (found == 1) return STATUS_OK;
  if (found > 1) return error_set(error, STATUS_USAGE, "'%s' is in more than one group: write %s", name, list);
  const char *now = former_name_now(name);
  if (now) return error_set(error, STATUS_USAGE, "there is no quantity '%s' any more; %s", name, now);
  return tell_unknown(name, error);
}

enum status setting_find(const char *name, struct setting *setting, struct error *error) {
  const enum status status = find_any(name, setting, error);
  if (status != STATUS_OK || is_number(setting->field)) return status;
  return error_set(error, STATUS_USAGE, "%s is a %s, not a number", setting->name,
                   setting->field->kind == FIELD_CURVE ? "curve" : "word");
}

bool setting_is_same(const struct setting *a, const struct setting *b) {
  return a->field == b->field && a->base == b->base && a->of_engine == b->of_engine;
}

enum status setting_check(const struct setting *setting, double value, struct error *error) {
  const struct field *field = setting->field;
  if (!isfinite(value) || value < field->min || value > field->max)
    return error_set(error, STATUS_USAGE, "%s=%.10g is out of range: %g to %g (%s)", setting->name, value, field->min, field->max,
                     field->text);
  if (field->kind == FIELD_SWITCH && value > 0.0 && value < 1.0)
    return error_set(error, STATUS_USAGE, "%s=%.10g: it is a switch, 0 or 1 (%s)", setting->name, value, field->text);
  if (field->kind == FIELD_COUNT && value > floor(value))
    return error_set(error, STATUS_USAGE, "%s=%.10g: it is a whole number, %g to %g (%s)", setting->name, value, field->min,
                     field->max, field->text);
  const struct condition_row *row = setting->of_engine ? NULL : condition_find(field->key);
  return row ? condition_check(row, value, error) : STATUS_OK; // what a range cannot say
}

void setting_apply(const struct setting *setting, double value, struct engine *engine, struct conditions *conditions) {
  const struct field *field = setting->field;
  char *base = (char *)engine + setting->base;
  const int whole = (int)value;
  if (!setting->of_engine)
    conditions_set(conditions, field, field_to_si(field, value));
  else if (field->kind == FIELD_CURVE)
    memcpy(base + field->offset, &setting->curve, sizeof setting->curve);
  else if (field->kind == FIELD_COUNT || field->kind == FIELD_CHOICE)
    memcpy(base + field->offset, &whole, sizeof whole);
  else
    field_set_real(field, base, field_to_si(field, value));
}

double setting_value(const struct setting *setting, const struct engine *engine, const struct conditions *conditions) {
  const struct field *field = setting->field;
  const char *base = (const char *)engine + setting->base;
  int whole;
  if (!setting->of_engine) return field_from_si(field, conditions_value(conditions, field));
  if (field->kind == FIELD_CURVE) return (double)NAN;
  if (field->kind != FIELD_COUNT && field->kind != FIELD_CHOICE) return field_from_si(field, field_real(field, base));
  memcpy(&whole, base + field->offset, sizeof whole);
  return whole;
}

void setting_write(const struct setting *setting, const struct engine *engine, const struct conditions *conditions,
                   char text[SETTING_TEXT_SIZE]) {
  const struct field *field = setting->field;
  size_t used = 0;
  if (field->kind == FIELD_CHOICE) {
    snprintf(text, SETTING_TEXT_SIZE, "%s", field->choices[(int)setting_value(setting, engine, conditions)]);
    return;
  }
  if (field->kind != FIELD_CURVE) {
    snprintf(text, SETTING_TEXT_SIZE, "%.10g", setting_value(setting, engine, conditions));
    return;
  }
  const struct curve *curve = (const void *)((const char *)engine + setting->base + field->offset);
  text[0] = '\0';
  for (size_t i = 0; i < curve->count && used + 40 < SETTING_TEXT_SIZE; i++)
    used +=
        (size_t)snprintf(text + used, SETTING_TEXT_SIZE - used, "%s%.6g:%.6g", i ? "," : "",
                         (curve->x[i] - field->x_unit.si_at_zero) / field->x_unit.si_per_unit, field_from_si(field, curve->y[i]));
}

/* ---- Values in text ---- */

static enum status read_word(const char *option, const char *text, const char *word, const struct field *field, double *value,
                             struct error *error) {
  size_t count = 0, used = 0;
  char list[SETTING_TEXT_SIZE] = "";
  for (; field->choices[count]; count++) {
    *value = (double)count;
    if (strcmp(field->choices[count], word) == 0) return STATUS_OK;
    const int added = snprintf(list + used, sizeof list - used, "%s%s", count ? ", " : "", field->choices[count]);
    used += added > 0 && used + (size_t)added < sizeof list ? (size_t)added : 0;
  }
  const char *near = near_miss_best(word, field->choices, count);
  return error_set(error, STATUS_USAGE, "--%s %s: '%s' is none of %s%s%s%s", option, text, word, list,
                   near ? "; did you mean " : "", near ? near : "", near ? "?" : "");
}

/* "0:0.66,20:0.72,83:0.9": points of x and y in the units of the file. */
static enum status read_curve(const char *option, const char *text, const char *at, struct setting *setting,
                              struct error *error) {
  const struct field *field = setting->field;
  struct curve curve = {0};
  for (bool more = true; more;) {
    char *colon, *end;
    const double x = strtod(at, &colon);
    const double y = colon > at && *colon == ':' ? strtod(colon + 1, &end) : (double)NAN;
    // end is set where there is a colon. NOLINTNEXTLINE(clang-analyzer-core.UndefinedBinaryOperatorResult)
    if (colon == at || *colon != ':' || end == colon + 1 || (*end && *end != ',') || !isfinite(x) || !isfinite(y))
      return error_set(error, STATUS_USAGE, "--%s %s: a curve is X:Y,X:Y,..., 1 to %d points", option, text, CURVE_POINT_MAX);
    if (curve.count == CURVE_POINT_MAX)
      return error_set(error, STATUS_USAGE, "--%s %s: more than %d points", option, text, CURVE_POINT_MAX);
    if (y < field->min || y > field->max)
      return error_set(error, STATUS_USAGE, "%s: point %zu: y is %.10g; allowed: %.10g to %.10g (%s)", setting->name,
                       curve.count + 1, y, field->min, field->max, field->text);
    curve.x[curve.count] = field->x_unit.si_at_zero + field->x_unit.si_per_unit * x;
    curve.y[curve.count++] = field_to_si(field, y);
    more = *end == ',';
    at = end + 1;
  }
  if (!curve_init(&curve)) return error_set(error, STATUS_USAGE, "--%s %s: x must increase from point to point", option, text);
  if (!curve_is_smooth(&curve))
    return error_set(error, STATUS_USAGE, "--%s %s: points too close together for a curve", option, text);
  setting->curve = curve;
  return STATUS_OK;
}

/* A name in a US unit, and its value, become our own. False if the name is none. */
static bool from_us(const char *name, struct setting *setting, double *value) {
  const struct us_unit *unit = us_unit_of_us(name);
  char own[SETTING_NAME_SIZE], list[SETTING_TEXT_SIZE];
  if (!unit || !us_unit_own_name(unit, name, sizeof own, own)) return false;
  if (look_up(own, setting, list) != 1 || !is_number(setting->field)) return false;
  *value = us_unit_to_own(unit, *value, setting->field->unit.si_at_zero == 0.0);
  return true;
}

/* The name before the sign; NULL if there is none. */
static const char *split(const char *text, char name[SETTING_NAME_SIZE]) {
  const char *equals = strchr(text, '=');
  if (!equals || equals == text || (size_t)(equals - text) >= SETTING_NAME_SIZE) return NULL;
  snprintf(name, SETTING_NAME_SIZE, "%.*s", (int)(equals - text), text);
  return equals + 1;
}

static enum status read_number(const char *option, const char *text, const char *word, double *value, struct error *error) {
  char *end;
  *value = strtod(word, &end);
  if (end == word || *end) return error_set(error, STATUS_USAGE, "--%s %s: '%s' is not a number", option, text, word);
  return STATUS_OK;
}

enum status setting_read(const char *option, const char *text, struct setting *setting, double *value, struct error *error) {
  char name[SETTING_NAME_SIZE], list[SETTING_TEXT_SIZE];
  const char *word = split(text, name);
  if (!word) return error_set(error, STATUS_USAGE, "--%s %s: it needs NAME=VALUE, as in film_um=40", option, text);
  *value = 0.0;
  const bool found = look_up(name, setting, list) == 1;
  if (found && setting->field->kind == FIELD_CURVE) return read_curve(option, text, word, setting, error);
  if (found && setting->field->kind == FIELD_CHOICE) return read_word(option, text, word, setting->field, value, error);
  enum status status = read_number(option, text, word, value, error);
  if (status != STATUS_OK) return status;
  status = from_us(name, setting, value) ? STATUS_OK : setting_find(name, setting, error);
  return status == STATUS_OK ? setting_check(setting, *value, error) : status;
}

enum status setting_scale_text(const char *option, const char *text, struct setting *setting, struct engine *engine,
                               struct error *error) {
  char name[SETTING_NAME_SIZE];
  const char *word = split(text, name);
  double factor;
  struct error why;
  if (!word)
    return error_set(error, STATUS_USAGE, "--%s %s: it needs NAME=FACTOR, as in friction.constant_bar=1.1", option, text);
  enum status status = read_number(option, text, word, &factor, error);
  if (status == STATUS_OK) status = find_any(name, setting, error);
  if (status != STATUS_OK) return status;
  if (!setting->of_engine)
    return error_set(error, STATUS_USAGE, "--%s %s: %s is a condition; only values of the engine file have factors (--set it)",
                     option, text, setting->name);
  if (!(factor >= SETTING_FACTOR_LEAST && factor <= SETTING_FACTOR_MOST))
    return error_set(error, STATUS_USAGE, "--%s %s: the factor is %.10g; allowed: %g to %g", option, text, factor,
                     SETTING_FACTOR_LEAST, SETTING_FACTOR_MOST);
  error_clear(&why);
  status = field_scale(setting->field, (char *)engine + setting->base, factor, &why);
  return status == STATUS_OK ? status : error_set(error, status, "--%s %s: %s %s", option, text, setting->name, why.text);
}

enum status setting_apply_text(const char *option, const char *text, struct engine *engine, struct conditions *conditions,
                               struct error *error) {
  struct setting setting;
  double value;
  const enum status status = setting_read(option, text, &setting, &value, error);
  if (status == STATUS_OK) setting_apply(&setting, value, engine, conditions);
  return status;
}
