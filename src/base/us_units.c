#include "base/us_units.h"

#include "base/attributes.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

/* NIST Special Publication 811, appendix B: 1 inHg at 32 F is 3.386 38 kPa, a mile 1.609 344 km, a foot 0.3048 m. */
static const struct us_unit units[] = {
    {"_c", "_f", "C", "F", 1.8, 32.0},
    {"_kpa", "_inhg", "kPa", "inHg", 1.0 / 3.38638, 0.0},
    {"_kmh", "_mph", "km/h", "mph", 1.0 / 1.609344, 0.0},
    {"_m", "_ft", "m", "ft", 1.0 / 0.3048, 0.0},
};

static bool ends_in(const char *name, const char *suffix) {
  const size_t size = strlen(name), end = strlen(suffix);
  return size > end && strcmp(name + size - end, suffix) == 0;
}

const struct us_unit *us_unit_of_own(const char *name) {
  for (size_t i = 0; i < ARRAY_COUNT(units); i++)
    if (ends_in(name, units[i].own)) return &units[i];
  return NULL;
}

const struct us_unit *us_unit_of_us(const char *name) {
  for (size_t i = 0; i < ARRAY_COUNT(units); i++)
    if (ends_in(name, units[i].suffix)) return &units[i];
  return NULL;
}

const struct us_unit *us_unit_of_text(const char *text) {
  for (size_t i = 0; i < ARRAY_COUNT(units); i++) {
    const size_t size = strlen(units[i].own_text);
    const char behind = strlen(text) >= size ? text[size] : 'x';
    if (strncmp(text, units[i].own_text, size) == 0 && !isalnum((unsigned char)behind) && behind != '_' && behind != '/')
      return &units[i];
  }
  return NULL;
}

static bool swap(const char *name, const char *old, const char *new, size_t size, char *result) {
  const int length = snprintf(result, size, "%.*s%s", (int)(strlen(name) - strlen(old)), name, new);
  if (length >= 0 && (size_t)length < size) return true;
  result[0] = '\0';
  return false;
}

bool us_unit_own_name(const struct us_unit *unit, const char *us_name, size_t size, char *own_name) {
  return swap(us_name, unit->suffix, unit->own, size, own_name);
}

bool us_unit_us_name(const struct us_unit *unit, const char *own_name, size_t size, char *us_name) {
  return swap(own_name, unit->own, unit->suffix, size, us_name);
}

double us_unit_from_own(const struct us_unit *unit, double own, bool difference) {
  return (difference ? 0.0 : unit->at_zero) + unit->per_own * own;
}

double us_unit_to_own(const struct us_unit *unit, double us, bool difference) {
  return (us - (difference ? 0.0 : unit->at_zero)) / unit->per_own;
}
