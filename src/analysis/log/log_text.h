/* The text of a log as a recording: what an instrument has written, or a run's own run.csv. Nothing of it is a file, so that program, library
 * and page read alike.
 *
 * Delimiter, decimal mark, encoding, header and units are found (log_bytes.h, log_table.h, log_number.h); columns are recognised by their
 * names (sim/log_columns.h) or as somebody has said (log_map.h). Rows may be wide, one value each, or time, name, value; signals may each
 * have a time of their own. A channel that a row has no value of is NaN in it.
 *
 * Nothing is dropped in silence: rows and single values that cannot be used are counted and named by their line, and what was assumed
 * or not understood is told in notes, for whoever reads the log to print. */
#ifndef ANALYSIS_LOG_LOG_TEXT_H
#define ANALYSIS_LOG_LOG_TEXT_H

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

/* Reads it. name is for messages; setting: NULL for none. STATUS_BAD_DATA if it is empty, no text or has no header, if the time or every
 * other column is missing, or if no row can be used. log_text_destroy() in any case. */
MUST_CHECK enum status log_text_read(const char *name, const void *bytes, size_t size, const struct log_text_setting *setting,
                                     struct log_text *log, struct error *error);
void log_text_destroy(struct log_text *log);

/* Whether it is a log: a table in which some column tells time or counts rows. */
bool log_text_is_log(const void *bytes, size_t size);

/* The column that a channel comes from, NULL if none. */
const struct log_text_column *log_text_column_of(const struct log_text *log, enum channel channel);

#endif
