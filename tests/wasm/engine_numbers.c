#include "wasm/engine_numbers.h"

#include <assert.h>
#include <string.h>

/* All fields of all groups, one after another. */
struct place {
  size_t part, group, field;
};

static const struct field *next_field(struct place *place, size_t *offset) {
  for (; place->part < ENGINE_PART_COUNT; place->part++, place->group = 0) {
    const struct engine_part *part = &engine_parts[place->part];
    for (; place->group < *part->count; place->group++, place->field = 0) {
      const struct field_group *group = &part->groups[place->group];
      if (place->field >= group->count) continue;
      const struct field *field = &group->fields[place->field++];
      *offset = part->base + group->base + field->offset;
      return field;
    }
  }
  return NULL;
}

size_t engine_numbers_write(const struct engine *engine, double numbers[ENGINE_NUMBERS_MAX]) {
  struct place place = {0};
  size_t count = 0, offset;
  for (const struct field *field = next_field(&place, &offset); field; field = next_field(&place, &offset)) {
    const char *at = (const char *)engine + offset;
    assert(count + 1 + 2 * CURVE_POINT_MAX <= ENGINE_NUMBERS_MAX);
    if (field->kind == FIELD_REAL || field->kind == FIELD_SWITCH) {
      memcpy(&numbers[count++], at, sizeof(double));
    } else if (field->kind == FIELD_CURVE) {
      const struct curve *curve = (const struct curve *)(const void *)at;
      numbers[count++] = (double)curve->count;
      for (size_t i = 0; i < curve->count; i++) {
        numbers[count++] = curve->x[i];
        numbers[count++] = curve->y[i];
      }
    } else { // FIELD_COUNT, FIELD_CHOICE
      int value;
      memcpy(&value, at, sizeof value);
      numbers[count++] = value;
    }
  }
  return count;
}

/* Numbers that are still to be read. */
struct rest {
  const double *numbers;
  size_t count;
};

static bool take(struct rest *rest, double *number) {
  if (rest->count == 0) return false;
  *number = *rest->numbers++;
  rest->count--;
  return true;
}

static bool take_curve(struct rest *rest, struct curve *curve) {
  double count;
  if (!take(rest, &count) || !(count >= 0.0 && count <= CURVE_POINT_MAX)) return false;
  *curve = (struct curve){.count = (size_t)count};
  for (size_t i = 0; i < curve->count; i++)
    if (!take(rest, &curve->x[i]) || !take(rest, &curve->y[i])) return false;
  return curve->count == 0 || curve_init(curve); // none: of a part that this engine has not
}

bool engine_numbers_read(const double *numbers, size_t count, struct engine *engine) {
  memset(engine, 0, sizeof *engine);
  struct rest rest = {numbers, count};
  struct place place = {0};
  size_t offset;
  for (const struct field *field = next_field(&place, &offset); field; field = next_field(&place, &offset)) {
    char *at = (char *)engine + offset;
    double number;
    if (field->kind == FIELD_CURVE) {
      if (!take_curve(&rest, (struct curve *)(void *)at)) return false;
      continue;
    }
    if (!take(&rest, &number)) return false;
    const int value = field->kind == FIELD_COUNT || field->kind == FIELD_CHOICE ? (int)number : 0;
    if (field->kind == FIELD_COUNT || field->kind == FIELD_CHOICE)
      memcpy(at, &value, sizeof value);
    else
      memcpy(at, &number, sizeof number);
  }
  return rest.count == 0;
}
