/* The shapes in which instruments write what they have logged: one row a shape. All are our own; none is any instrument's format. */
#ifndef IO_SCANTOOL_LOG_SHAPES_H
#define IO_SCANTOOL_LOG_SHAPES_H

#include <stdbool.h>
#include <stddef.h>

/* What becomes a line. A round asks every signal that is due, one after the other. */
enum log_layout {
  LOG_LAYOUT_ROUND, // a round: all columns filled, those not asked with what they were
  LOG_LAYOUT_DUE,   // a round: columns not asked in it stay empty
  LOG_LAYOUT_ONE,   // an answer: all other columns stay empty
  LOG_LAYOUT_HELD,  // an answer: the other columns hold what they were
  LOG_LAYOUT_LONG,  // an answer: time, name, value, unit
  LOG_LAYOUT_TIMES, // the n-th answer of each signal, with its own time before it
};

enum log_clock {
  LOG_CLOCK_S,      // seconds
  LOG_CLOCK_MS,     // milliseconds
  LOG_CLOCK_RUN,    // whole seconds since the engine started, the same in several lines
  LOG_CLOCK_DAY,    // 23:59:40.250, over midnight
  LOG_CLOCK_ISO,    // 2024-12-31T23:59:40.250, over new year
  LOG_CLOCK_SAMPLE, // number of the line; the rate stands above the header
};

enum log_header {
  LOG_HEADER_BRACKETS, // Engine RPM (rpm)
  LOG_HEADER_ROW,      // Engine RPM, and units in a row below
  LOG_HEADER_SHORT,    // RPM, and no unit
};

enum log_encoding { LOG_ENCODING_UTF8, LOG_ENCODING_UTF8_BOM, LOG_ENCODING_UTF16, LOG_ENCODING_LATIN1 };

enum log_units { LOG_UNITS_STANDARD, LOG_UNITS_US, LOG_UNITS_OTHER };

struct log_shape {
  const char *name, *text;
  enum log_layout layout;
  enum log_clock clock;
  enum log_header header;
  enum log_encoding encoding;
  enum log_units units;
  char separator; // 0: comma
  bool decimal_comma, thousands, quoted, crlf, preamble;
  bool ragged;  // empty cells at a line's end are not written, and there are blank lines
  bool invalid; // now and then all bits of an answer are set
};

extern const struct log_shape log_shapes[];
extern const size_t log_shapes_count;

/* The same in other units: value = factor * standard + offset. */
struct log_unit {
  const char *standard, *unit;
  enum log_units units;
  double factor, offset;
  int more_decimals;
};

/* NULL where the standard's unit stays. */
const struct log_unit *log_shapes_unit(const struct log_shape *shape, const char *standard);

/* Index of a shape, log_shapes_count if there is none. */
size_t log_shapes_find(const char *name);

#endif
