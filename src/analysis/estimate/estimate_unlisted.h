/* Something that is not listed: a cause whose readings nobody can compute, so they are broad.
 *
 *   y ~ mixture over s of N( f(good car), S + D + J C J' + s^2 U )
 *
 * U has the widths of estimate_discrepancy_rows, half of each variance common to all conditions; s from a faint fault to a gross one, seldom beyond that. A scale
 * mixture of normals has heavy tails: no reading is beyond it. Its rate is a row of car/fault_rows.h. All of it invented: it is there so that a
 * listed cause must explain readings better than ignorance does. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_UNLISTED_H
#define ANALYSIS_ESTIMATE_ESTIMATE_UNLISTED_H

#include "analysis/estimate/estimate_fit.h"

/* U between two readings, at s = 1. */
double estimate_unlisted_between(const struct estimate_reading *a, const struct estimate_reading *b);

/* Room for one question. */
struct estimate_unlisted_room {
  double broad[ESTIMATE_READING_MAX * ESTIMATE_READING_MAX]; // all but U
  double factor[ESTIMATE_READING_MAX * ESTIMATE_READING_MAX];
};

/* Log evidence. expected, slopes: of a good car at the prior's mean. */
double estimate_unlisted_evidence(const struct estimate_problem *problem, const double expected[ESTIMATE_READING_MAX],
                                  const struct estimate_slopes *slopes, struct estimate_unlisted_room *room);

#endif
