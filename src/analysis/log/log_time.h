/* The times of rows, put right: clocks that pass midnight, times that stand in several rows, times that run back. */
#ifndef ANALYSIS_LOG_LOG_TIME_H
#define ANALYSIS_LOG_LOG_TIME_H

#include "analysis/log/log_reader.h"

/* The time that a cell tells, s, with what its clock has run through before; NaN if it tells none. */
double log_time_of(struct log_group *group, const struct log_table_column *column, double factor, double offset, const char *cell,
                   size_t line);

/* Leaves rows in order of time only. Rows of one time are put together if no signal stands in two of them; if every fifth row or more repeats
 * the time before it, a coarse clock is spread over its rows; else the later ones are left out. */
void log_time_settle(struct log_reader *reader, struct log_group *group);

#endif
