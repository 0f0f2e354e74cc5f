/* Logged data as a recording: a scan tool's CSV, or a run's own run.csv.
 *
 * Columns are recognised by their names (sim/log_columns.h); a channel without a column is NaN in every row.
 * A row that cannot be used is left out, counted and named; so is a single value that cannot be a reading (65535 rpm, 1,234 with its
 * thousands parted), and the rest of its row counts. What was assumed or left out is told in notes,
 * for whoever reads the file to print. */
#ifndef IO_LOG_LOG_FILE_H
#define IO_LOG_LOG_FILE_H

#include "io/format/csv_read.h"
#include "sim/recording.h"

struct log_file_column {
  char *name;                                          // the header's; owned
  int channel;                                         // enum channel; -1: left out
  bool own;                                            // our own name
  bool assumed;                                        // unit assumed
  char unit[32];                                       // empty if it has none or is left out
  double factor, offset, least, most, lowest, highest; // as in struct log_columns_meaning
};

struct log_file {
  struct recording recording; // time_s rises from row to row; events of a run's own file
  size_t column_count;
  struct log_file_column *columns; // owned
  bool own;                        // all columns have our own names: a run wrote it
  size_t row_count;                // rows of the file, good and bad
  size_t left_out_count;
  size_t fault_count; // described ones, in order of lines
  struct csv_fault faults[CSV_TABLE_FAULT_MAX];
  size_t cell_fault_count; // values left out of rows that count, described or not
  struct csv_fault cell_faults[CSV_TABLE_FAULT_MAX];
  char *notes; // lines, each begins with the file's name; owned
};

/* Reads a file. If all its columns are our own and an events.csv stands beside it, its events are read too.
 * What csv_read_file() and events_file_read() give; STATUS_BAD_DATA also if the time or every other column
 * is missing, or no row can be used. log_file_destroy() in any case. */
MUST_CHECK enum status log_file_read(const char *path, struct log_file *log, struct error *error);
void log_file_destroy(struct log_file *log);

/* The column that a channel comes from, NULL if none. */
const struct log_file_column *log_file_column_of(const struct log_file *log, enum channel channel);

#endif
