/* Degrees Fahrenheit, inches of mercury, miles an hour and feet in place of our own units, found by the suffix of a name. */
#ifndef BASE_US_UNITS_H
#define BASE_US_UNITS_H

#include <stdbool.h>
#include <stddef.h>

struct us_unit {
  const char *own, *suffix;    // of names: "_c", "_f"
  const char *own_text, *text; // as printed: "C", "F"
  double per_own, at_zero;     // US value = at_zero + per_own * own value
};

/* The row whose own suffix ends the name, NULL if it stays in our unit. */
const struct us_unit *us_unit_of_own(const char *name);

/* The row whose US suffix ends the name, NULL if none does. */
const struct us_unit *us_unit_of_us(const char *name);

/* The row whose own unit stands at the start of a text, as a whole word; NULL if none does. */
const struct us_unit *us_unit_of_text(const char *text);

/* The name with the one suffix in place of the other; false, and an empty name, if it does not fit. */
bool us_unit_own_name(const struct us_unit *unit, const char *us_name, size_t size, char *own_name);
bool us_unit_us_name(const struct us_unit *unit, const char *own_name, size_t size, char *us_name);

/* difference: of two temperatures, and not a temperature. */
double us_unit_from_own(const struct us_unit *unit, double own, bool difference);
double us_unit_to_own(const struct us_unit *unit, double us, bool difference);

#endif
