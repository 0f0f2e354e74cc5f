/* One row per number that a user can write: the keys of an engine file, and the quantities a timeline can set.
 *
 * A row names the key (its unit is the suffix), the place in a struct, how the user's unit becomes SI, the allowed
 * range *in the user's unit*, and a sentence. Reader, range check, near miss, help text and docs all come from it. */
#ifndef BASE_FIELD_H
#define BASE_FIELD_H

#include "base/curve.h"
#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>

enum field_kind {
  FIELD_REAL,   // double, SI
  FIELD_SWITCH, // double, 0 or 1; a file may also say false or true; never ramped
  FIELD_COUNT,  // int
  FIELD_CHOICE, // int: index into field.choices
  FIELD_CURVE,  // struct curve; the file holds pairs ( (x, y), ... )
};

struct field_unit {
  double si_per_unit, si_at_zero; // SI value = si_at_zero + si_per_unit * user's value
};

struct field {
  const char *key;
  enum field_kind kind;
  size_t offset;              // of the value within its struct
  struct field_unit unit;     // of the value; of a curve's y
  double min, max;            // user's unit; of a curve's y
  struct field_unit x_unit;   // curves only
  const char *const *choices; // FIELD_CHOICE only: names, NULL after the last
  const char *text;           // what it is, where a usual value comes from
  bool has_default;           // a file may leave the key out
  double initial;             // and then it has this value, in the user's unit; an absent curve has no points
};

#define FIELD_PLAIN \
  { 1.0, 0.0 }
#define FIELD_SCALED(factor) \
  { factor, 0.0 }
#define FIELD_CELSIUS \
  { 1.0, 273.15 }

/* Rows for tables of struct field; `type` is the struct they point into. Those that end in _OR may be left out of a file. */
#define FIELD_ROW_REAL(type, member, key, factor, min, max, text) \
  { key, FIELD_REAL, offsetof(type, member), FIELD_SCALED(factor), min, max, FIELD_PLAIN, NULL, text, false, 0.0 }
#define FIELD_ROW_CELSIUS(type, member, key, min, max, text) \
  { key, FIELD_REAL, offsetof(type, member), FIELD_CELSIUS, min, max, FIELD_PLAIN, NULL, text, false, 0.0 }
#define FIELD_ROW_SWITCH(type, member, key, text) \
  { key, FIELD_SWITCH, offsetof(type, member), FIELD_PLAIN, 0, 1, FIELD_PLAIN, NULL, text, false, 0.0 }
#define FIELD_ROW_COUNT(type, member, key, min, max, text) \
  { key, FIELD_COUNT, offsetof(type, member), FIELD_PLAIN, min, max, FIELD_PLAIN, NULL, text, false, 0.0 }
#define FIELD_ROW_CHOICE(type, member, key, names, text) \
  { key, FIELD_CHOICE, offsetof(type, member), FIELD_PLAIN, 0, 0, FIELD_PLAIN, names, text, false, 0.0 }
#define FIELD_ROW_CURVE(type, member, key, x_factor, y_factor, min, max, text) \
  { key, FIELD_CURVE, offsetof(type, member), FIELD_SCALED(y_factor), min, max, FIELD_SCALED(x_factor), NULL, text, false, 0.0 }

#define FIELD_ROW_REAL_OR(type, member, key, factor, min, max, initial, text) \
  { key, FIELD_REAL, offsetof(type, member), FIELD_SCALED(factor), min, max, FIELD_PLAIN, NULL, text, true, initial }
#define FIELD_ROW_CHOICE_OR(type, member, key, names, initial, text) \
  { key, FIELD_CHOICE, offsetof(type, member), FIELD_PLAIN, 0, 0, FIELD_PLAIN, names, text, true, initial }
#define FIELD_ROW_CURVE_OR_NONE(type, member, key, x_factor, y_factor, min, max, text) \
  { key, FIELD_CURVE, offsetof(type, member), FIELD_SCALED(y_factor), min, max, FIELD_SCALED(x_factor), NULL, text, true, 0.0 }

/* A named group of rows: `name = { ... }` in an engine file. All rows point into the same struct. */
struct field_group {
  const char *name;
  const struct field *fields;
  size_t count;
  size_t base; // offset of the struct the rows point into, within the whole
  const char *text;
  bool optional; // an engine without such a part leaves the group out
};

double field_to_si(const struct field *field, double value);
double field_from_si(const struct field *field, double si);

/* The value in the user's unit that becomes this very number in SI; NaN if none does. */
double field_exactly(const struct field *field, double si);

/* The same number in SI, or the nearest that the user's unit can express. */
double field_writable(const struct field *field, double si);

/* Reads and writes a FIELD_REAL or FIELD_SWITCH inside the struct that starts at base. */
double field_real(const struct field *field, const void *base);
void field_set_real(const struct field *field, void *base, double si);

/* Gives the value inside the struct that starts at base its default. */
void field_set_default(const struct field *field, void *base);

/* Multiplies the value inside the struct that starts at base, or every y of a curve there, as if the user's number had been multiplied.
 * STATUS_USAGE with words to stand behind the name ("times 2 is 1.2; allowed: 0 to 1"), nothing changed, if the product is out of range, if
 * it is 0 and stays so, or if it is nothing that a factor can act on: a word, a switch, a count, a temperature. */
MUST_CHECK enum status field_scale(const struct field *field, void *base, double factor, struct error *error);

/* The row with this key, NULL if none. */
const struct field *field_find(const struct field *fields, size_t count, const char *key);

#endif
