#include "base/field.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { NEIGHBOURS = 4 };

static bool same(double a, double b) { return a >= b && a <= b; }

double field_to_si(const struct field *field, double value) { return field->unit.si_at_zero + field->unit.si_per_unit * value; }

double field_from_si(const struct field *field, double si) { return (si - field->unit.si_at_zero) / field->unit.si_per_unit; }

double field_exactly(const struct field *field, double si) {
  const double near = field_from_si(field, si);
  double low = near, high = near; // conversion rounds twice: the one wanted is a last digit or two away
  for (int i = 0; i < NEIGHBOURS; i++) {
    if (same(field_to_si(field, low), si)) return low;
    if (same(field_to_si(field, high), si)) return high;
    low = nextafter(low, -INFINITY);
    high = nextafter(high, INFINITY);
  }
  return NAN;
}

double field_writable(const struct field *field, double si) {
  return isnan(field_exactly(field, si)) ? field_to_si(field, field_from_si(field, si)) : si;
}

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
