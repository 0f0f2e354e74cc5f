#include "car/engine_pack.h"

#include <math.h>
#include <string.h>

/* Calls `each` for every field of an engine, until it answers false. base: of the struct that the field points into. */
static bool for_fields(bool (*each)(const struct field *field, size_t base, void *user), void *user) {
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) {
      const struct field_group *group = &engine_parts[i].groups[j];
      for (size_t k = 0; k < group->count; k++)
        if (!each(&group->fields[k], engine_parts[i].base + group->base, user)) return false;
    }
  return true;
}

static bool count_field(const struct field *field, size_t base, void *user) {
  size_t *count = user;
  (void)base;
  *count += field->kind == FIELD_CURVE ? 1 + 2 * CURVE_POINT_MAX : 1;
  return true;
}

size_t engine_pack_size(void) {
  size_t count = 0;
  (void)for_fields(count_field, &count);
  return count;
}

/* ---- Packing ---- */

struct packing {
  const char *engine;
  double *numbers;
  size_t count;
};

static bool pack_field(const struct field *field, size_t base, void *user) {
  struct packing *packing = user;
  const char *at = packing->engine + base;
  if (field->kind == FIELD_REAL || field->kind == FIELD_SWITCH) {
    packing->numbers[packing->count++] = field_real(field, at);
  } else if (field->kind == FIELD_COUNT || field->kind == FIELD_CHOICE) {
    int value;
    memcpy(&value, at + field->offset, sizeof value);
    packing->numbers[packing->count++] = value;
  } else {
    struct curve curve;
    memcpy(&curve, at + field->offset, sizeof curve);
    packing->numbers[packing->count++] = (double)curve.count;
    for (size_t i = 0; i < curve.count; i++) packing->numbers[packing->count++] = curve.x[i];
    for (size_t i = 0; i < curve.count; i++) packing->numbers[packing->count++] = curve.y[i];
  }
  return true;
}

size_t engine_pack(const struct engine *engine, double *numbers) {
  struct packing packing = {(const char *)engine, numbers, 0};
  (void)for_fields(pack_field, &packing);
  return packing.count;
}

/* ---- And back ---- */

struct unpacking {
  char *engine;
  const double *numbers;
  size_t count, at;
};

static bool take(struct unpacking *unpacking, double *number) {
  if (unpacking->at == unpacking->count) return false;
  *number = unpacking->numbers[unpacking->at++];
  return isfinite(*number);
}

/* A whole number from 0 to most. */
static bool take_whole(struct unpacking *unpacking, double most, double *number) {
  return take(unpacking, number) && *number >= 0.0 && *number <= most && !(fmod(*number, 1.0) > 0.0);
}

static bool take_curve(struct unpacking *unpacking, char *at) {
  struct curve curve = {0};
  double number;
  if (!take_whole(unpacking, CURVE_POINT_MAX, &number)) return false;
  curve.count = (size_t)number;
  for (size_t i = 0; i < curve.count; i++)
    if (!take(unpacking, &curve.x[i])) return false;
  for (size_t i = 0; i < curve.count; i++)
    if (!take(unpacking, &curve.y[i])) return false;
  if (curve.count > 0 && !curve_init(&curve)) return false;
  memcpy(at, &curve, sizeof curve);
  return true;
}

/* How many choices a row has. */
static size_t choice_count(const struct field *field) {
  size_t count = 0;
  while (field->choices[count]) count++;
  return count;
}

static bool unpack_field(const struct field *field, size_t base, void *user) {
  struct unpacking *unpacking = user;
  char *at = unpacking->engine + base;
  double number;
  if (field->kind == FIELD_CURVE) return take_curve(unpacking, at + field->offset);
  if (field->kind == FIELD_REAL || field->kind == FIELD_SWITCH) {
    if (!take(unpacking, &number)) return false;
    field_set_real(field, at, number);
    return true;
  }
  const double most = field->kind == FIELD_CHOICE ? (double)choice_count(field) - 1.0 : field->max;
  if (!take_whole(unpacking, most, &number)) return false;
  const int value = (int)number;
  memcpy(at + field->offset, &value, sizeof value);
  return true;
}

bool engine_pack_undo(const double *numbers, size_t count, struct engine *engine) {
  *engine = (struct engine){0};
  struct unpacking unpacking = {(char *)engine, numbers, count, 0};
  return for_fields(unpack_field, &unpacking) && unpacking.at == count;
}
