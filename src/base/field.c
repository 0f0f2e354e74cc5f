#include "base/field.h"

#include <assert.h>
#include <string.h>

double field_to_si(const struct field *field, double value) { return field->unit.si_at_zero + field->unit.si_per_unit * value; }

double field_from_si(const struct field *field, double si) { return (si - field->unit.si_at_zero) / field->unit.si_per_unit; }

double field_real(const struct field *field, const void *base) {
  assert(field->kind == FIELD_REAL || field->kind == FIELD_SWITCH);
  double si;
  memcpy(&si, (const char *)base + field->offset, sizeof si);
  return si;
}

void field_set_real(const struct field *field, void *base, double si) {
  assert(field->kind == FIELD_REAL || field->kind == FIELD_SWITCH);
  memcpy((char *)base + field->offset, &si, sizeof si);
}

const struct field *field_find(const struct field *fields, size_t count, const char *key) {
  for (size_t i = 0; i < count; i++)
    if (strcmp(fields[i].key, key) == 0) return &fields[i];
  return NULL;
}

void field_set_default(const struct field *field, void *base) {
  void *value = (char *)base + field->offset;
  switch (field->kind) {
  case FIELD_REAL:
  case FIELD_SWITCH:
    field_set_real(field, base, field_to_si(field, field->initial));
    break;
  case FIELD_COUNT:
  case FIELD_CHOICE:
    *(int *)value = (int)field->initial;
    break;
  case FIELD_CURVE:
    *(struct curve *)value = (struct curve){0};
    break;
  }
}
