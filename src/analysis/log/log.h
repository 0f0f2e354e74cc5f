/* A log that has been read: what analysis/log/log_text.h makes of a text. */
#ifndef ANALYSIS_LOG_LOG_H
#define ANALYSIS_LOG_LOG_H

#include "analysis/log/log_map.h"
#include "analysis/log/log_said.h"
#include "sim/log_columns.h"
#include "sim/recording.h"

struct log_text_setting {
  const struct log_map *map; // NULL: none
  double rate_hz;            // rows a second, for logs that only count them; 0: not told
};

struct log_text_column {
  char *name;                                          // the header's, or that of a reading in a column of names; owned
  int channel;                                         // enum channel; -1: left out
  bool own;                                            // our own name
  bool assumed;                                        // unit assumed
  char unit[LOG_COLUMNS_UNIT_SIZE];                    // empty if it has none or is left out
  double factor, offset, least, most, lowest, highest; // as in struct log_columns_meaning
};

struct log_text {
  struct recording recording; // time_s rises from row to row
  size_t column_count;
  struct log_text_column *columns; // owned
  bool own;                        // all columns have our own names: a run wrote it
  size_t row_count;                // rows of the log, good and bad
  struct log_faults rows, values;  // left out; values: of rows that count
  char *notes;                     // lines, each begins with the log's name; owned
};

void log_text_destroy(struct log_text *log);

/* The column that a channel comes from, NULL if none. */
const struct log_text_column *log_text_column_of(const struct log_text *log, enum channel channel);

#endif
