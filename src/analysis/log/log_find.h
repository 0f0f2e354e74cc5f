/* Which columns of a log are its signals, and which tell their times. */
#ifndef ANALYSIS_LOG_LOG_FIND_H
#define ANALYSIS_LOG_LOG_FIND_H

#include "analysis/log/log_reader.h"

/* Sets the log's columns and the reader's groups, and notes what is left out. STATUS_BAD_DATA if no column tells the time, or nothing else is
 * understood; STATUS_NO_MEMORY. */
MUST_CHECK enum status log_find_signals(struct log_reader *reader);

/* Another column of the log, for a reading that a row names; with its own group. Its index, LOG_READER_NONE if there is no memory left. */
size_t log_find_named(struct log_reader *reader, const char *name, const char *unit);

#endif
