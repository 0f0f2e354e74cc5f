/* From a stretch of a log to readings at a condition: means, and how sure they are.
 *
 * The standard error is that of means of blocks long enough to be independent of each other: idle speed swings within a second or two,
 * and values polled in turn are held for about two (a real car: every 1.8 s). A reading that shows one code throughout is as unsure as that
 * code is wide. */
#ifndef ANALYSIS_COMPARE_COMPARE_LOG_H
#define ANALYSIS_COMPARE_COMPARE_LOG_H

#include "analysis/compare/compare.h"
#include "sim/recording.h"

struct compare_window {
  enum estimate_condition condition;
  double from_s, to_s;
};

/* The longest stretch of warm idle with the pedal released, its first seconds left out; false if none lasts 10 s. */
MUST_CHECK bool compare_log_find_idle(const struct recording *log, struct compare_window *window);

/* Adds what the log shows in the window to the side's readings; those that the side has are left. */
void compare_log_add(const struct recording *log, const struct compare_window *window, struct compare_side *side);

/* Mean and standard error of a channel within the window; false if it has no value there. */
MUST_CHECK bool compare_log_mean(const struct recording *log, enum channel channel, double from_s, double to_s, double *mean,
                                 double *error_of_mean);

#endif
