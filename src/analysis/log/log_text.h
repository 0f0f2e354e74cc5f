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

#include "analysis/log/log.h"

/* Reads it. name is for messages; setting: NULL for none. STATUS_BAD_DATA if it is empty, no text or has no header, if the time or every
 * other column is missing, or if no row can be used. log_text_destroy() in any case. */
MUST_CHECK enum status log_text_read(const char *name, const void *bytes, size_t size, const struct log_text_setting *setting,
                                     struct log_text *log, struct error *error);

/* Whether it is a log: a table in which some column tells time or counts rows, or, where their rate is told by the setting or above the
 * header, in which some column is a signal. */
bool log_text_is_log(const void *bytes, size_t size, const struct log_text_setting *setting);

#endif
