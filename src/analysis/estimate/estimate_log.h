/* Readings out of a log: means of what it shows in the phases that are conditions of readings (analysis/log/log_phases.h).
 *
 * Several windows of one condition are one reading. Its standard deviation is that of the means, or, where the windows differ by more than
 * that, how much they do; and never less than that of the usual instrument (estimate_reading.h). */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_LOG_H
#define ANALYSIS_ESTIMATE_ESTIMATE_LOG_H

#include "analysis/estimate/estimate_readings.h"
#include "analysis/log/log_phases.h"

enum { ESTIMATE_LOG_NOTES_SIZE = 4096 };

struct estimate_log {
  const struct recording *recording;
  const struct log_phases *phases;
  const char *name;                    // of the file, for places and notes
  char notes[ESTIMATE_LOG_NOTES_SIZE]; // lines: what was taken from where, and what not and why
  bool shown[ESTIMATE_QUANTITY_COUNT]; // what the log has columns for
};

/* The channel that a log shows a quantity in; CHANNEL_time_s: none. */
enum channel estimate_log_channel(enum estimate_quantity quantity);

/* Adds what the log gives; notes and shown are set. STATUS_BAD_DATA, appended, if it gives nothing. */
MUST_CHECK enum status estimate_log_add(struct estimate_readings_input *input, struct estimate_log *log, struct error *error);

#endif
