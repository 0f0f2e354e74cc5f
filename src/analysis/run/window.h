/* Means and extremes of a stretch of a recording. */
#ifndef ANALYSIS_RUN_WINDOW_H
#define ANALYSIS_RUN_WINDOW_H

#include "sim/recording.h"

/* Rows [first, last). */
struct window {
  size_t first, last;
};

/* The rows whose time lies in [from_s, to_s]. */
struct window window_between(const struct recording *recording, double from_s, double to_s);

static inline size_t window_rows(struct window window) { return window.last - window.first; }

/* NaN for an empty window. */
double window_mean(const struct recording *recording, struct window window, enum channel channel);
double window_least(const struct recording *recording, struct window window, enum channel channel);
double window_most(const struct recording *recording, struct window window, enum channel channel);

#endif
