#include "base/field.h"

#include "base/number.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { NEIGHBOURS = 4, SCALE_DIGITS = 12 };

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

/* The user's number of an SI value. */
static double user_number(const struct field *field, double si) {
  const double exact = field_exactly(field, si);
  return isnan(exact) ? field_from_si(field, si) : exact;
}

/* Without what multiplying leaves in the last digits: 3 times 1.3 is 3.9, as a user would write it. */
static double tidy(double product) {
  char text[32];
  double value;
  number_write(product, SCALE_DIGITS, text, sizeof text);
  return number_read(text, &value) ? value : product;
}

/* The product, in range, becomes *si. */
static enum status scale_one(const struct field *field, size_t point, double factor, double *si, struct error *error) {
  const double product = tidy(factor * user_number(field, *si));
  char where[32] = "";
  if (point) snprintf(where, sizeof where, " at point %zu", point);
  if (!(product >= field->min && product <= field->max))
    return error_set(error, STATUS_USAGE, "times %.10g is %.10g%s; allowed: %.10g to %.10g", factor, product, where, field->min,
                     field->max);
  *si = field_to_si(field, product);
  return STATUS_OK;
}

static enum status scale_curve(const struct field *field, void *base, double factor, struct error *error) {
  struct curve curve;
  memcpy(&curve, (const char *)base + field->offset, sizeof curve);
  bool zero = true;
  for (size_t i = 0; i < curve.count; i++) zero = zero && same(curve.y[i], 0.0);
  if (zero) return error_set(error, STATUS_USAGE, "is 0 or missing, so a factor does not change it; set it");
  for (size_t i = 0; i < curve.count; i++) {
    const enum status status = scale_one(field, i + 1, factor, &curve.y[i], error);
    if (status != STATUS_OK) return status;
  }
  if (!curve_init(&curve)) return error_set(error, STATUS_USAGE, "times %.10g does not give a curve", factor);
  memcpy((char *)base + field->offset, &curve, sizeof curve);
  return STATUS_OK;
}

enum status field_scale(const struct field *field, void *base, double factor, struct error *error) {
  if (field->kind != FIELD_REAL && field->kind != FIELD_CURVE)
    return error_set(error, STATUS_USAGE, "is a %s: a factor cannot act on it; set it",
                     field->kind == FIELD_CHOICE   ? "word"
                     : field->kind == FIELD_SWITCH ? "switch"
                                                   : "count");
  if (!same(field->unit.si_at_zero, 0.0))
    return error_set(error, STATUS_USAGE, "is a temperature, and multiples of temperatures mean nothing; set it");
  if (field->kind == FIELD_CURVE) return scale_curve(field, base, factor, error);
  double si = field_real(field, base);
  if (same(si, 0.0)) return error_set(error, STATUS_USAGE, "is 0, so a factor does not change it; set it");
  const enum status status = scale_one(field, 0, factor, &si, error);
  if (status == STATUS_OK) field_set_real(field, base, si);
  return status;
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
