#include "analysis/sweep/sweep_metrics.h"

#include "analysis/run/load_steps.h"
#include "analysis/run/window.h"

#include <math.h>

#define END_S       5.0
#define MEAN_S      2.0  // takes the cycle scatter out of the speed: its mean of 2 s stays within some 6 rpm
#define SETTLED_RPM 25.0 // a quarter of what P0506 takes for a fault
#define REST_S      20.0 // the learned offset is at rest if it kept still for so long
#define REST_PCT    0.2
#define LEARNED_PCT 1.0 // nothing smaller is felt
enum { LOAD_MAX = 96 };

const struct sweep_metric_row sweep_metric_rows[SWEEP_METRIC_COUNT] = {
#define METRIC(name, decimals, text) {#name, decimals, text},
    SWEEP_METRICS_LIST(METRIC)
#undef METRIC
};

void sweep_metrics_none(double values[SWEEP_METRICS_ALL]) {
  for (int i = 0; i < SWEEP_METRICS_ALL; i++) values[i] = NAN;
  values[SWEEP_METRIC_ran] = 0.0;
}

/* When the timeline last changed anything. */
static double last_change_s(const struct scenario *scenario) {
  double last_s = 0.0;
  for (size_t i = 0; i < scenario->step_count; i++) {
    const struct scenario_step *step = &scenario->steps[i];
    const bool changes = step->set_count > 0 || step->key >= 0 || step->action != SCENARIO_ACTION_NONE;
    if (changes) last_s = fmax(last_s, step->at_s + (step->set_count > 0 ? step->ramp_s : 0.0));
  }
  return last_s;
}

static double row_s(const struct recording *r, size_t row) { return recording_value(r, row, CHANNEL_time_s); }

/* Mean of the rows of MEAN_S before this one less the target; a window that slides with the rows. */
static double settling_s(const struct recording *r, double from_s) {
  double sum = 0.0;
  size_t first = 0, outside = 0;
  bool any_outside = false;
  for (size_t row = 0; row < r->row_count; row++) {
    sum += recording_value(r, row, CHANNEL_speed_rpm) - recording_value(r, row, CHANNEL_target_rpm);
    while (row_s(r, row) - row_s(r, first) >= MEAN_S) {
      sum -= recording_value(r, first, CHANNEL_speed_rpm) - recording_value(r, first, CHANNEL_target_rpm);
      first++;
    }
    if (row_s(r, row) < from_s) continue;
    if (fabs(sum / (double)(row - first + 1)) <= SETTLED_RPM) continue;
    outside = row;
    any_outside = true;
  }
  if (!any_outside) return 0.0;
  return outside + 1 < r->row_count ? row_s(r, outside + 1) - from_s : NAN;
}

static double relearn_s(const struct recording *r, double from_s) {
  const double end_s = row_s(r, r->row_count - 1);
  const struct window rest = window_between(r, end_s - REST_S, end_s);
  if (window_most(r, rest, CHANNEL_learned_pct) - window_least(r, rest, CHANNEL_learned_pct) > REST_PCT) return NAN;
  const double last = recording_value(r, r->row_count - 1, CHANNEL_learned_pct);
  for (size_t row = r->row_count; row-- > 0;) {
    if (row_s(r, row) < from_s) break;
    if (fabs(recording_value(r, row, CHANNEL_learned_pct) - last) > LEARNED_PCT) return row_s(r, row) - from_s;
  }
  return 0.0;
}

static double lowest_rpm(const struct recording *recording, const struct scenario *scenario) {
  struct load_step loads[LOAD_MAX];
  const size_t count = load_steps_find(recording, scenario, loads, LOAD_MAX);
  double lowest = NAN;
  for (size_t i = 0; i < count; i++)
    if (loads[i].on) lowest = fmin(lowest, loads[i].lowest_rpm); // fmin passes over NaN
  return lowest;
}

static void find_ends(const struct recording *r, double *values) {
  static const struct {
    enum sweep_metric metric;
    enum channel channel;
  } ends[] = {
      {SWEEP_METRIC_end_speed_rpm, CHANNEL_speed_rpm},       {SWEEP_METRIC_end_target_rpm, CHANNEL_target_rpm},
      {SWEEP_METRIC_end_speed_sd_rpm, CHANNEL_speed_sd_rpm}, {SWEEP_METRIC_end_blade_deg, CHANNEL_blade_deg},
      {SWEEP_METRIC_end_bypass_steps, CHANNEL_bypass_steps}, {SWEEP_METRIC_end_learned_pct, CHANNEL_learned_pct},
      {SWEEP_METRIC_end_effort_pct, CHANNEL_effort_pct},     {SWEEP_METRIC_end_spark_reserve_pct, CHANNEL_spark_reserve_pct},
      {SWEEP_METRIC_end_airflow_gps, CHANNEL_airflow_gps},   {SWEEP_METRIC_end_manifold_kpa, CHANNEL_manifold_kpa},
  };
  const double end_s = row_s(r, r->row_count - 1);
  const struct window window = window_between(r, end_s - END_S, end_s);
  for (size_t i = 0; i < ARRAY_COUNT(ends); i++) values[ends[i].metric] = window_mean(r, window, ends[i].channel);
}

static void find_events(const struct recording *r, double *values) {
  for (size_t i = r->event_count; i-- > 0;) { // backwards, so that the first of its kind stays
    const struct recording_event *event = &r->events[i];
    if (event->kind == RECORDING_CODE && event->value != CODE_NONE) values[SWEEP_METRIC_COUNT + event->code] = event->time_s;
    if (event->kind == RECORDING_ENGINE && event->value == RECORDING_VALUE_STALL) values[SWEEP_METRIC_stalled_s] = event->time_s;
  }
  values[SWEEP_METRIC_stalled] = isfinite(values[SWEEP_METRIC_stalled_s]);
}

void sweep_metrics_find(const struct recording *recording, const struct scenario *scenario, double values[SWEEP_METRICS_ALL]) {
  sweep_metrics_none(values);
  if (recording->row_count == 0) return;
  values[SWEEP_METRIC_ran] = 1.0;
  find_events(recording, values);
  find_ends(recording, values);
  values[SWEEP_METRIC_lowest_rpm] = lowest_rpm(recording, scenario);
  if (!(values[SWEEP_METRIC_end_speed_rpm] > 0.0)) return; // at the end it stands: nothing settles
  const double from_s = last_change_s(scenario);
  values[SWEEP_METRIC_settling_s] = settling_s(recording, from_s);
  values[SWEEP_METRIC_relearn_s] = relearn_s(recording, from_s);
}
