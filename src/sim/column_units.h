/* Units as the headers of logged files write them, and what turns a value in one into the unit of our own names. */
#ifndef SIM_COLUMN_UNITS_H
#define SIM_COLUMN_UNITS_H

#include "base/attributes.h"

#include <stdbool.h>
#include <stddef.h>

/* What is beyond is no reading: all bits set of a speed (16383.75 or 65535 rpm), or a number of nothing. */
#define COLUMN_UNITS_SPEED_MOST_RPM 16383.0
#define COLUMN_UNITS_ANY_MOST       1e9

/* What kind of quantity a column holds, and so which units its header may name. */
enum column_units_quantity {
  COLUMN_UNITS_TIME,
  COLUMN_UNITS_SPEED,
  COLUMN_UNITS_PRESSURE,
  COLUMN_UNITS_FLOW,
  COLUMN_UNITS_TEMPERATURE,
  COLUMN_UNITS_SHARE,
  COLUMN_UNITS_ANGLE,
  COLUMN_UNITS_RATIO,
  COLUMN_UNITS_VOLTAGE,
  COLUMN_UNITS_COUNT,
  COLUMN_UNITS_SWITCH,
  COLUMN_UNITS_ROAD, // speed of the vehicle
  COLUMN_UNITS_OWN,  // of our own names
  COLUMN_UNITS_QUANTITY_COUNT
};

struct column_units_row {
  const char *standard;   // the unit that is assumed
  const char *units;      // all that are understood, for messages
  double least, most;     // what can be true, in the channel's unit; only raises a question about an assumed unit
  double lowest, highest; // beyond them nothing is a reading, whatever the unit
};
extern const struct column_units_row column_units_rows[COLUMN_UNITS_QUANTITY_COUNT];

/* Channel's value = factor * value + offset. False if the unit is none of the quantity. Letter case, blanks and a degree sign, garbled
 * or not, do not matter. */
MUST_CHECK bool column_units_find(enum column_units_quantity quantity, const char *unit, size_t size, double *factor,
                                  double *offset);

/* The quantity of one of our own names, by its suffix; COLUMN_UNITS_OWN if that names no unit. */
enum column_units_quantity column_units_of(const char *own);

#endif
