/* The rows of a log: from cells to values, and from values to a recording. */
#ifndef ANALYSIS_LOG_LOG_ROWS_H
#define ANALYSIS_LOG_LOG_ROWS_H

#include "analysis/log/log_reader.h"

/* Reads the rows into the reader's groups. */
MUST_CHECK enum status log_rows_read(struct log_reader *reader);

/* Lays the groups beside each other in order of time: the recording, and the line that each of its rows comes from. */
MUST_CHECK enum status log_rows_join(struct log_reader *reader);

#endif
