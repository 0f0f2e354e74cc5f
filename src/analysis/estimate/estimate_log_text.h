/* Readings from text, whether it is a list of readings or a log: what program, library and page take alike. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_LOG_TEXT_H
#define ANALYSIS_ESTIMATE_ESTIMATE_LOG_TEXT_H

#include "analysis/estimate/estimate_readings.h"

/* Adds what it gives: a list as estimate_readings_add_csv(), of a log the means of its phases as estimate_log_add(). *notes: lines of
 * what was noticed, and taken from where, in a log; NULL for a list; free() it in any case. Faults are appended: STATUS_BAD_DATA. */
MUST_CHECK enum status estimate_log_text_add(struct estimate_readings_input *input, const char *name, const char *text,
                                             size_t size, char **notes, struct error *error);

#endif
