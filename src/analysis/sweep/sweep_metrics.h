/* What one run of a dynamic sweep comes to: some twenty numbers, and when each code came. */
#ifndef ANALYSIS_SWEEP_SWEEP_METRICS_H
#define ANALYSIS_SWEEP_SWEEP_METRICS_H

#include "sim/recording.h"
#include "sim/scenario.h"

/* METRIC(name, decimals, what it is); NaN where it has no answer */
#define SWEEP_METRICS_LIST(METRIC) \
  METRIC(ran, 0, "1; 0 where the engine does not idle under the conditions at the start") \
  METRIC(stalled, 0, "1 if it stalled at any time") \
  METRIC(stalled_s, 2, "when it first did") \
  METRIC(lowest_rpm, 1, "lowest speed after any load came on, 0 if it stalled then") \
  METRIC(settling_s, 2, "from the last change until speed, mean of 2 s, stays within 25 rpm of its target") \
  METRIC(relearn_s, 1, "from the last change until the learned offset stays within 1 % of where it comes to rest") \
  METRIC(end_speed_rpm, 2, "engine speed, mean of the last 5 s; so are those below") \
  METRIC(end_target_rpm, 1, "idle target") \
  METRIC(end_speed_sd_rpm, 2, "standard deviation of speed over 10 s") \
  METRIC(end_blade_deg, 3, "blade opening") \
  METRIC(end_bypass_steps, 1, "idle bypass valve") \
  METRIC(end_learned_pct, 2, "learned air offset") \
  METRIC(end_effort_pct, 2, "air the idle controller adds") \
  METRIC(end_spark_reserve_pct, 2, "torque that earlier spark could still add") \
  METRIC(end_airflow_gps, 4, "all air into the manifold") \
  METRIC(end_manifold_kpa, 2, "manifold absolute pressure")

enum sweep_metric {
#define METRIC(name, decimals, text) SWEEP_METRIC_##name,
  SWEEP_METRICS_LIST(METRIC)
#undef METRIC
      SWEEP_METRIC_COUNT
};

struct sweep_metric_row {
  const char *name;
  int decimals;
  const char *text;
};
extern const struct sweep_metric_row sweep_metric_rows[SWEEP_METRIC_COUNT];

enum { SWEEP_METRICS_ALL = SWEEP_METRIC_COUNT + MONITOR_CODE_COUNT };

/* The metrics, then for each code when it was first stored. */
void sweep_metrics_find(const struct recording *recording, const struct scenario *scenario, double values[SWEEP_METRICS_ALL]);

/* Those of a run that could not begin. */
void sweep_metrics_none(double values[SWEEP_METRICS_ALL]);

#endif
