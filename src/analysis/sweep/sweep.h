/* One or two inputs over their values: at each point the settled state of an engine, or what a whole run comes to.
 *
 * Points are numbered with the first axis slowest. Every point is computed for itself, so the values do not depend on which
 * worker does it, in which order, or where the work was broken off and taken up again. */
#ifndef ANALYSIS_SWEEP_SWEEP_H
#define ANALYSIS_SWEEP_SWEEP_H

#include "analysis/settle/settle.h"
#include "analysis/sweep/sweep_axis.h"
#include "analysis/sweep/sweep_metrics.h"
#include "base/for_each.h"

enum { SWEEP_AXIS_MAX = 2, SWEEP_COLUMN_MAX = SWEEP_AXIS_MAX + CHANNEL_COUNT + SWEEP_METRICS_ALL };

/* Codes that a settled point answers for. */
extern const enum monitor_code sweep_settled_codes[];
extern const size_t sweep_settled_code_count;

enum sweep_source { SWEEP_AXIS, SWEEP_OUTCOME, SWEEP_CHANNEL, SWEEP_CODE, SWEEP_METRIC };

struct sweep_column {
  char name[SETTING_NAME_SIZE];
  int decimals;
  enum sweep_source source;
  int index; // of the axis, channel, code or metric
};

struct sweep {
  struct engine engine;
  const struct scenario *scenario; // NULL: settled points; not owned
  struct settle_query query;       // the conditions serve runs too
  bool learned_given;              // runs start with query.learned_ratio
  size_t axis_count;
  struct sweep_axis axes[SWEEP_AXIS_MAX];
  size_t column_count;
  struct sweep_column columns[SWEEP_COLUMN_MAX];
};

/* How many points; SIZE_MAX if that is more than can be counted. */
size_t sweep_point_count(const struct sweep *sweep);

/* Value of an axis at a point, user's unit. */
double sweep_axis_value(const struct sweep *sweep, size_t axis, size_t point);

/* Puts the axes' values of a point into a copy of sweep->engine and into the query. */
void sweep_place(const struct sweep *sweep, size_t point, struct engine *engine, struct settle_query *query);

/* STATUS_USAGE with the first point at which values of the engine contradict each other. */
MUST_CHECK enum status sweep_check(const struct sweep *sweep, struct error *error);

/* Makes the columns: axes, then what is computed. A channel of an axis' name is left out. */
void sweep_columns_make(struct sweep *sweep);

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
