/* Files of readings, as analysis/estimate/estimate_readings.h describes them. */
#ifndef IO_LOG_READINGS_FILE_H
#define IO_LOG_READINGS_FILE_H

#include "analysis/estimate/estimate_readings.h"

/* Adds what a file holds. Every fault is appended to the error, with file and line: STATUS_NO_INPUT if it cannot be read, else as
 * estimate_readings_add_table(). */
MUST_CHECK enum status readings_file_add(struct estimate_readings_input *input, const char *path, struct error *error);

#endif
