/* What a column of a logged file means: the data names of SAE J1979 / ISO 15031-5 service 01, common plain
 * spellings, and our own names; with the unit the header gives, else the unit of the standard.
 *
 * Adding a spelling or a unit: one row in log_columns.c. */
#ifndef SIM_LOG_COLUMNS_H
#define SIM_LOG_COLUMNS_H

#include "sim/channels.h"
#include "sim/column_units.h"

#include <stdbool.h>
#include <stddef.h>

enum log_columns_answer {
  LOG_COLUMNS_UNKNOWN,   // no such name
  LOG_COLUMNS_KNOWN,     // all of *meaning is set
  LOG_COLUMNS_BAD_UNIT,  // the name is known, its unit is not: channel and units are set, unit is the header's
  LOG_COLUMNS_TWO_UNITS, // the name is known, and says another unit than what stands elsewhere
  LOG_COLUMNS_UNUSED,    // a name of the standard that nothing here has a use for; no channel
};

/* What a column is that holds no channel. */
enum log_columns_role {
  LOG_COLUMNS_NONE,
  LOG_COLUMNS_RUN_TIME, // of the engine: serves as the time where there is no other
  LOG_COLUMNS_SAMPLE,   // counts the rows
  LOG_COLUMNS_NAME,     // of the reading whose value stands in the row
  LOG_COLUMNS_VALUE,
  LOG_COLUMNS_UNIT,
  LOG_COLUMNS_DATE,
};

enum { LOG_COLUMNS_TEXT_SIZE = 160, LOG_COLUMNS_UNIT_SIZE = 32 };

struct log_columns_meaning {
  enum channel channel;
  enum column_units_quantity quantity; // COLUMN_UNITS_OWN of our own names
  bool own;                            // our own name, as a run writes it
  bool assumed;                        // the header names no unit, and there are several
  char unit[LOG_COLUMNS_UNIT_SIZE];    // as the header writes it, else the one assumed
  double factor, offset;               // channel's value = factor * cell + offset
  double least, most;                  // channel's values that can be true at all; infinite where nothing is known
  double lowest, highest;              // what no instrument tells is beyond these: it stands for "no value", or is a slip
  const char *remark;                  // what a reader of this column must know, NULL for nothing
  const char *units;                   // all that are understood, for messages
};

/* Reads a header's cell. A unit stands in brackets or after a comma, or is the last word after a blank or
 * `_`. Letter case, punctuation and a degree sign do not matter. */
enum log_columns_answer log_columns_find(const char *header, struct log_columns_meaning *meaning);

/* The same where the unit stands elsewhere, in a row or a column of units: it must be the name's own if that has one. */
enum log_columns_answer log_columns_find_in(const char *header, const char *unit, struct log_columns_meaning *meaning);

/* A header that somebody has said is this name: its unit counts, or the one that stands elsewhere, unless the name has one in brackets. */
enum log_columns_answer log_columns_find_as(const char *name, const char *header, const char *unit,
                                            struct log_columns_meaning *meaning);

/* The unit that a header sets off with brackets or a comma; of size 0 if it does not. */
const char *log_columns_unit_of(const char *header, size_t *size);

enum log_columns_role log_columns_role(const char *header);

/* How a value in this unit becomes that of our own name, by its suffix: ours = factor * value + offset. False if the unit is none of
 * its quantity. Pressures are absolute. */
bool log_columns_unit(const char *own, const char *unit, double *factor, double *offset);

/* A spelling within two slips of the header's name; NULL if none, or if the name is too short to tell. */
const char *log_columns_near(const char *header);

/* The spellings of a channel: 'a', 'b', ... */
void log_columns_list(enum channel channel, char text[LOG_COLUMNS_TEXT_SIZE]);

#endif
