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

/* Stretches of a log that are one condition. */
struct estimate_log_windows {
  size_t count;
  struct estimate_log_window {
    double from_s, to_s;
  } windows[LOG_PHASES_MAX];
};

/* The condition that a phase is; ESTIMATE_CONDITION_COUNT for none. */
enum estimate_condition estimate_log_condition(enum log_phase_kind kind);

/* Where means may be taken of the phases of a kind: settled, and long enough for one. */
void estimate_log_windows_find(const struct log_phases *phases, enum log_phase_kind kind, struct estimate_log_windows *windows);

/* Mean of a channel over all windows together, and its standard deviation; false if none of them has a value. */
MUST_CHECK bool estimate_log_mean(const struct recording *recording, const struct estimate_log_windows *windows,
                                  enum channel channel, double *value, double *sd);

/* The channel that a log shows a quantity in; CHANNEL_time_s: none. */
enum channel estimate_log_channel(enum estimate_quantity quantity);

/* Adds what the log gives; notes and shown are set. STATUS_BAD_DATA, appended, if it gives nothing. */
MUST_CHECK enum status estimate_log_add(struct estimate_readings_input *input, struct estimate_log *log, struct error *error);

#endif
