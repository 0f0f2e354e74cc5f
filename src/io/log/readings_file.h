/* Files of readings, as analysis/estimate/estimate_readings.h describes them, and logs, from which means are taken
 * (analysis/estimate/estimate_log.h). A table with the columns name and value is a list of readings; one with a column that tells time is a log. */
#ifndef IO_LOG_READINGS_FILE_H
#define IO_LOG_READINGS_FILE_H

#include "analysis/estimate/estimate_log.h"
#include "analysis/log/log_text.h"

/* What goes with a log. Large: on the heap, from calloc(). */
struct readings_file_log {
  struct log_phases_setting by_hand;
  struct log_text_setting setting; // how it is read
  bool is_log;                     // the file was one; only then the rest is set
  struct log_phases phases;
  struct estimate_log log;
  char *file_notes; // of reading it; owned by the caller
};

/* Adds what a file holds, list or log. Every fault is appended to the error, with file and line: STATUS_NO_INPUT if it cannot be read, else as
 * estimate_readings_add_table() or log_file_read(). */
MUST_CHECK enum status readings_file_add_any(struct estimate_readings_input *input, const char *path,
                                             struct readings_file_log *log, struct error *error);

/* The same without phases by hand, and telling nothing. */
MUST_CHECK enum status readings_file_add(struct estimate_readings_input *input, const char *path, struct error *error);

#endif
