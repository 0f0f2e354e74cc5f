/* One or two inputs over their values: at each point the settled state of an engine, or what a whole run comes to.
 *
 * Every point is computed for itself, so the values do not depend on which
 * worker does it, in which order, or where the work was broken off and taken up again. */
#ifndef ANALYSIS_SWEEP_SWEEP_H
#define ANALYSIS_SWEEP_SWEEP_H

#include "analysis/settle/settle.h"
#include "analysis/sweep/sweep_grid.h"
#include "base/for_each.h"

/* STATUS_USAGE with the first point at which values of the engine contradict each other. */
MUST_CHECK enum status sweep_check(const struct sweep *sweep, struct error *error);

/* Memory of the workers that compute, one each. */
struct sweep_workers;
MUST_CHECK enum status sweep_workers_create(const struct sweep *sweep, size_t count, struct sweep_workers **workers,
                                            struct error *error);
void sweep_workers_destroy(struct sweep_workers *workers);

/* Computes points [first, first + count): values[count * column_count]. The first point that failed is the one told; an
 * engine that stalls, or does not idle at the start of a run, is an answer and no failure. */
MUST_CHECK enum status sweep_points(struct sweep_workers *workers, const struct for_each *for_each, size_t first, size_t count,
                                    double *values, struct error *error);

#endif
