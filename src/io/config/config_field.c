#include "io/config/config_field.h"

#include "base/near_miss.h"
#include "car/former.h"
#include "io/config/config_text.h"

#include <assert.h>
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
  NAME_MAX_COUNT = 64,  // keys in one group; the largest has some fifteen
  SHOWN_NAME_COUNT = 6, // of allowed names, in a message
  LIST_SIZE = 200
};

/* "a, b, c": at most so many names. */
static void join_names(const char *const *names, size_t count, size_t size, char *joined) {
  size_t used = 0;
  joined[0] = '\0';
  for (size_t i = 0; i < count && used < size; i++) {
    const int added = snprintf(joined + used, size - used, "%s%s", i > 0 ? ", " : "", names[i]);
    if (added < 0) return;
    used += (size_t)added;
  }
}

/* A finite number. `what` is "" or begins the message: "point 3: y ". */
static bool number_read(struct config *config, const struct config_setting_t *node, const char *what, double *number) {
  const struct config_value value = config_value(node);
  char found[CONFIG_DESCRIPTION_SIZE];
  if (value.kind != CONFIG_INTEGER && value.kind != CONFIG_REAL) {
    config_describe(node, sizeof found, found);
    config_fault_at(config, node, "%smust be a number, found %s", what, found);
    return false;
  }
  if (value.hexadecimal) {
    config_fault_at(config, node, "%sis written in hexadecimal; write a decimal number", what);
    return false;
  }
  if (!isfinite(value.real)) {
    config_fault_at(config, node, "%sis too large a number", what);
    return false;
  }
  *number = value.real;
  return true;
}

/* The same, within the row's range, in the user's unit. */
static bool ranged_read(struct config *config, const struct config_setting_t *node, const char *what, const struct field *field,
                        double *number) {
  if (!number_read(config, node, what, number)) return false;
  if (*number >= field->min && *number <= field->max) return true;
  config_fault_at(config, node, "%sis %.10g; allowed: %.10g to %.10g", what, *number, field->min, field->max);
  return false;
}

static bool real_read(struct config *config, const struct config_setting_t *node, const struct field *field, void *base) {
  double number;
  const bool good = ranged_read(config, node, "", field, &number);
  field_set_real(field, base, good ? field_to_si(field, number) : (double)NAN);
  return good;
}

static bool switch_read(struct config *config, const struct config_setting_t *node, const struct field *field, void *base) {
  const struct config_value value = config_value(node);
  const bool typed = (value.kind == CONFIG_BOOLEAN || value.kind == CONFIG_INTEGER) && !value.hexadecimal;
  const bool good = typed && (value.integer == 0 || value.integer == 1);
  field_set_real(field, base, good ? (double)value.integer : (double)NAN);
  if (good) return true;
  char found[CONFIG_DESCRIPTION_SIZE];
  config_describe(node, sizeof found, found);
  config_fault_at(config, node, "must be false or true (or 0 or 1), found %s", found);
  return false;
}

static bool count_read(struct config *config, const struct config_setting_t *node, const struct field *field, void *base) {
  assert(field->min >= INT_MIN && field->max <= INT_MAX);
  double number;
  if (!ranged_read(config, node, "", field, &number)) return false;
  const struct config_value value = config_value(node);
  if (value.kind != CONFIG_INTEGER) {
    config_fault_at(config, node, "must be a whole number without a decimal point, found %.10g", number);
    return false;
  }
  const int count = (int)value.integer;
  memcpy((char *)base + field->offset, &count, sizeof count);
  return true;
}

static bool choice_read(struct config *config, const struct config_setting_t *node, const struct field *field, void *base) {
  const struct config_value value = config_value(node);
  int count = 0;
  for (; field->choices[count]; count++) {
    if (value.kind != CONFIG_TEXT || strcmp(value.text, field->choices[count]) != 0) continue;
    memcpy((char *)base + field->offset, &count, sizeof count);
    return true;
  }
  char found[CONFIG_DESCRIPTION_SIZE], allowed[LIST_SIZE];
  config_describe(node, sizeof found, found);
  join_names(field->choices, (size_t)count, sizeof allowed, allowed);
  const char *near = value.kind == CONFIG_TEXT ? near_miss_best(value.text, field->choices, (size_t)count) : NULL;
  if (near)
    config_fault_at(config, node, "is %s; did you mean \"%s\"? allowed: %s", found, near, allowed);
  else
    config_fault_at(config, node, "must be one of %s (in quotation marks), found %s", allowed, found);
  return false;
}

/* One point of a curve, in SI. */
static bool point_read(struct config *config, const struct config_setting_t *pair, const struct field *field, size_t index,
                       double *x, double *y) {
  char what[32];
  if (config_value(pair).kind != CONFIG_LIST || config_child_count(pair) != 2) {
    char found[CONFIG_DESCRIPTION_SIZE];
    config_describe(pair, sizeof found, found);
    config_fault_at(config, pair, "point %zu must be two numbers (x, y), found %s", index + 1, found);
    return false;
  }
  double user_x, user_y;
  snprintf(what, sizeof what, "point %zu: x ", index + 1);
  const bool good_x = number_read(config, config_child(pair, 0), what, &user_x);
  snprintf(what, sizeof what, "point %zu: y ", index + 1);
  const bool good_y = ranged_read(config, config_child(pair, 1), what, field, &user_y);
  if (!good_x || !good_y) return false;
  *x = field->x_unit.si_at_zero + field->x_unit.si_per_unit * user_x;
  *y = field_to_si(field, user_y);
  return true;
}

/* Whether each point lies beyond the one before; `good` says which points could be read. */
static bool points_rise(struct config *config, const struct config_setting_t *list, const struct curve *curve, const bool *good) {
  bool rise = true;
  for (size_t i = 1; i < curve->count; i++) {
    if (!good[i - 1] || !good[i] || curve->x[i] > curve->x[i - 1]) continue;
    const struct config_setting_t *before = config_child(config_child(list, i - 1), 0);
    const struct config_setting_t *here = config_child(config_child(list, i), 0);
    config_fault_at(config, here, "point %zu: x is %.10g after %.10g; x must increase from point to point", i + 1,
                    config_value(here).real, config_value(before).real);
    rise = false;
  }
  return rise;
}

static bool curve_read(struct config *config, const struct config_setting_t *node, const struct field *field, void *base) {
  struct curve *target = (struct curve *)(void *)((char *)base + field->offset);
  *target = (struct curve){0};
  const size_t count = config_child_count(node);
  if (config_value(node).kind != CONFIG_LIST || count < 1 || count > CURVE_POINT_MAX) {
    char found[CONFIG_DESCRIPTION_SIZE];
    config_describe(node, sizeof found, found);
    config_fault_at(config, node, "must be a list of 1 to %d points ((x, y), (x, y), ...), found %s", CURVE_POINT_MAX, found);
    return false;
  }
  struct curve curve = {.count = count};
  bool good[CURVE_POINT_MAX], all_good = true;
  for (size_t i = 0; i < count; i++) {
    good[i] = point_read(config, config_child(node, i), field, i, &curve.x[i], &curve.y[i]);
    all_good = all_good && good[i];
  }
  if (!points_rise(config, node, &curve, good) || !all_good) return false;
  if (!curve_init(&curve) || !curve_is_smooth(&curve)) {
    config_fault_at(config, node, "has points too close together or too far apart for a curve");
    return false;
  }
  *target = curve;
  return true;
}

bool config_field_read(struct config *config, const struct config_setting_t *node, const struct field *field, void *base) {
  switch (field->kind) {
  case FIELD_REAL:
    return real_read(config, node, field, base);
  case FIELD_SWITCH:
    return switch_read(config, node, field, base);
  case FIELD_COUNT:
    return count_read(config, node, field, base);
  case FIELD_CHOICE:
    return choice_read(config, node, field, base);
  case FIELD_CURVE:
    return curve_read(config, node, field, base);
  }
  assert(false); // a kind of field without a reader
  return false;
}

/* The path a key would have in this group. */
static void absent_key(const struct config_setting_t *group, const char *key, size_t size, char *path) {
  char above[CONFIG_KEY_SIZE];
  config_key(group, sizeof above, above);
  snprintf(path, size, "%.80s%s%.64s", above, above[0] ? "." : "", key);
}

bool config_field_required(struct config *config, const struct config_setting_t *group, const struct field *field, void *base) {
  const struct config_setting_t *node = config_member(group, field->key);
  if (node) return config_field_read(config, node, field, base);
  char path[CONFIG_KEY_SIZE];
  absent_key(group, field->key, sizeof path, path);
  if (field->kind == FIELD_REAL || field->kind == FIELD_SWITCH) field_set_real(field, base, (double)NAN);
  config_fault(config, config_line(group), "key '%s' is missing: %s", path, field->text);
  return false;
}

bool config_field_optional(struct config *config, const struct config_setting_t *group, const struct field *field, void *base) {
  const struct config_setting_t *node = config_member(group, field->key);
  return node ? config_field_read(config, node, field, base) : true;
}

/* Every key's default; false if one has none. */
static bool all_default(const struct field_group *group, void *base) {
  bool all = true;
  for (size_t i = 0; i < group->count; i++) {
    if (group->fields[i].has_default)
      field_set_default(&group->fields[i], base);
    else
      all = false;
  }
  return all;
}

void config_field_group(struct config *config, const struct config_setting_t *parent, const struct field_group *group,
                        const char *hint, void *base) {
  const struct config_setting_t *node = config_member(parent, group->name);
  const bool complete = group->optional || all_default(group, (char *)base + group->base);
  if (!node) {
    if (!complete) config_fault(config, config_line(parent), "group '%s' is missing: %s", group->name, group->text);
    return;
  }
  if (!config_field_is_group(config, node)) return;
  for (size_t i = 0; i < group->count; i++) {
    if (group->fields[i].has_default) {
      field_set_default(&group->fields[i], (char *)base + group->base);
      config_field_optional(config, node, &group->fields[i], (char *)base + group->base);
    } else {
      config_field_required(config, node, &group->fields[i], (char *)base + group->base);
    }
  }
  config_field_check_keys(config, node, group, hint);
}

void config_field_check_keys(struct config *config, const struct config_setting_t *node, const struct field_group *group,
                             const char *hint) {
  const char *names[NAME_MAX_COUNT];
  assert(group->count <= NAME_MAX_COUNT);
  for (size_t i = 0; i < group->count; i++) names[i] = group->fields[i].key;
  config_field_check_known(config, node, names, group->count, hint);
}

/* Whether nothing of the group stands in the struct: all that a file must give is 0. */
static bool is_absent(const struct field_group *group, const void *base) {
  for (size_t i = 0; i < group->count; i++) {
    const struct field *field = &group->fields[i];
    const char *value = (const char *)base + group->base + field->offset;
    if (field->has_default) continue;
    if ((field->kind == FIELD_REAL || field->kind == FIELD_SWITCH) &&
        fabs(field_real(field, (const char *)base + group->base)) > 0.0)
      return false;
    if ((field->kind == FIELD_COUNT || field->kind == FIELD_CHOICE) && *(const int *)(const void *)value != 0) return false;
    if (field->kind == FIELD_CURVE && ((const struct curve *)(const void *)value)->count > 0) return false;
  }
  return true;
}

void config_field_group_over(struct config *config, const struct config_setting_t *parent, const struct field_group *group,
                             const char *hint, void *base) {
  const struct config_setting_t *node = config_member(parent, group->name);
  if (!node) return;
  if (group->optional && is_absent(group, base)) {
    config_field_group(config, parent, group, hint, base);
    return;
  }
  if (!config_field_is_group(config, node)) return;
  for (size_t i = 0; i < group->count; i++) config_field_optional(config, node, &group->fields[i], (char *)base + group->base);
  config_field_check_keys(config, node, group, hint);
}

bool config_field_text(struct config *config, const struct config_setting_t *group, const char *key, size_t size, char *text) {
  const struct config_setting_t *node = config_member(group, key);
  text[0] = '\0';
  if (!node) {
    char path[CONFIG_KEY_SIZE];
    absent_key(group, key, sizeof path, path);
    config_fault(config, config_line(group), "key '%s' is missing: it must be text", path);
    return false;
  }
  const struct config_value value = config_value(node);
  if (value.kind != CONFIG_TEXT) {
    char found[CONFIG_DESCRIPTION_SIZE];
    config_describe(node, sizeof found, found);
    config_fault_at(config, node, "must be text in quotation marks, found %s", found);
    return false;
  }
  const size_t length = strlen(value.text);
  if (length == 0 || length >= size) {
    config_fault_at(config, node, "is %zu bytes long; allowed: 1 to %zu", length, size - 1);
    return false;
  }
  if (!config_text_is_plain(value.text)) {
    config_fault_at(config, node, "contains a control character or bytes that are not UTF-8");
    return false;
  }
  memcpy(text, value.text, length + 1);
  return true;
}

static void note_unknown(struct config *config, const struct config_setting_t *node, const char *const *names, size_t count,
                         const char *hint) {
  char allowed[LIST_SIZE];
  const char *now = former_name_now(config_name(node));
  if (now) {
    config_fault_at(config, node, "is no longer known; %s", now);
    return;
  }
  const char *near = near_miss_best(config_name(node), names, count);
  if (near) {
    config_fault_at(config, node, "is unknown; did you mean '%s'?", near);
    return;
  }
  const bool all = !hint || count <= SHOWN_NAME_COUNT;
  join_names(names, all ? count : SHOWN_NAME_COUNT, sizeof allowed, allowed);
  if (all)
    config_fault_at(config, node, "is unknown; allowed here: %s", allowed);
  else
    config_fault_at(config, node, "is unknown; allowed here: %s and %zu more, see `%s`", allowed, count - SHOWN_NAME_COUNT, hint);
}

void config_field_check_known(struct config *config, const struct config_setting_t *group, const char *const *names, size_t count,
                              const char *hint) {
  for (size_t i = 0; i < config_child_count(group); i++) {
    const struct config_setting_t *node = config_child(group, i);
    bool known = false;
    for (size_t j = 0; j < count && !known; j++) known = strcmp(config_name(node), names[j]) == 0;
    if (!known) note_unknown(config, node, names, count, hint);
  }
}

bool config_field_is_group(struct config *config, const struct config_setting_t *node) {
  if (config_value(node).kind == CONFIG_GROUP) return true;
  char found[CONFIG_DESCRIPTION_SIZE];
  config_describe(node, sizeof found, found);
  config_fault_at(config, node, "must be a group { ... }, found %s", found);
  return false;
}

bool config_field_is_list(struct config *config, const struct config_setting_t *node) {
  if (config_value(node).kind == CONFIG_LIST) return true;
  char found[CONFIG_DESCRIPTION_SIZE];
  config_describe(node, sizeof found, found);
  config_fault_at(config, node, "must be a list ( ... ), found %s", found);
  return false;
}
