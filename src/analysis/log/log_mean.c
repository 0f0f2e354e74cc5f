#include "analysis/log/log_mean.h"

#include "analysis/log/log_blocks.h"

#include <math.h>

/* A longer series is taken in means of neighbours, so that the work is bounded; they are far from independent then anyway. */
enum { SERIES_MAX = 1024 };
#define LEAST_EFFECTIVE 2.0 // fewer independent values tell no spread of their own

/* 95 % point of Student's t over that of the normal distribution, 1.645, by the Cornish-Fisher expansion (Abramowitz and Stegun 26.7.5,
 * all four terms). Against scipy.stats.t.ppf: 5 % low at one degree of freedom, 0.3 % at two, below 0.1 % from three. */
static double student_ratio(double freedom) {
  const double x2 = 1.6448536269514722 * 1.6448536269514722, f = fmax(freedom, 1.0);
  const double g1 = (x2 + 1.0) / 4.0, g2 = ((5.0 * x2 + 16.0) * x2 + 3.0) / 96.0;
  const double g3 = (((3.0 * x2 + 19.0) * x2 + 17.0) * x2 - 15.0) / 384.0;
  const double g4 = ((((79.0 * x2 + 776.0) * x2 + 1482.0) * x2 - 1920.0) * x2 - 945.0) / 92160.0;
  return 1.0 + (g1 + (g2 + (g3 + g4 / f) / f) / f) / f;
}

/* Mean product of values this many places apart. */
static double covariance(const double *values, size_t count, double mean, size_t lag) {
  double sum = 0.0;
  for (size_t i = 0; i + lag < count; i++) sum += (values[i] - mean) * (values[i + lag] - mean);
  return sum / (double)count;
}

/* Integrated autocorrelation: 1 for independent values. Pairs of lags are summed while they are positive, none larger than the
 * one before; *freedom: count over the lags summed, degrees of freedom of a spectral estimate with a truncated window (M. B. Priestley,
 * Spectral Analysis and Time Series, 1981, table 6.2; from memory). */
static double integrated(const double *values, size_t count, double mean, double *freedom) {
  const double variance = covariance(values, count, mean, 0);
  *freedom = (double)count;
  if (!(variance > 0.0)) return 1.0;
  double sum = -1.0, last = INFINITY;
  for (size_t lag = 0; lag + 1 < count; lag += 2) {
    const double pair = (covariance(values, count, mean, lag) + covariance(values, count, mean, lag + 1)) / variance;
    if (pair <= 0.0) break;
    last = fmin(last, pair);
    sum += 2.0 * last;
    *freedom = (double)count / (double)(lag + 1);
  }
  return fmin(fmax(sum, 1.0), (double)count);
}

/* Sums as they come; the series, in means of `every` neighbours. */
struct gathering {
  size_t count, every, inside;
  double sum, previous;
  size_t size;
  double series[SERIES_MAX];
};

static void gather(struct gathering *g, double value, struct log_mean *mean) {
  if (g->count > 0 && fabs(value - g->previous) > 1e-9 * fmax(1.0, fabs(value))) {
    const double step = fabs(value - g->previous);
    mean->quantum = mean->quantum > 0.0 ? fmin(mean->quantum, step) : step;
  }
  mean->lowest = g->count ? fmin(mean->lowest, value) : value;
  mean->highest = g->count ? fmax(mean->highest, value) : value;
  g->previous = value;
  g->count++;
  g->sum += value;
  if (++g->inside < g->every) return;
  if (g->size == SERIES_MAX) return; // left over at the end: less than one more of the series
  g->series[g->size++] = g->sum / (double)g->inside;
  g->inside = 0;
  g->sum = 0.0;
}

static double rounding_left(const struct log_mean *mean) {
  const double q = mean->quantum, span = mean->highest - mean->lowest;
  if (!(q > 0.0)) return 0.0;
  if (span < 1.5 * q) return q / sqrt(12.0);
  const double variance = fmax(mean->sd * mean->sd - q * q / 12.0, 0.0);
  return q / sqrt(12.0) * exp(-2.0 * M_PI * M_PI * variance / (q * q));
}

/* From the gathered series. */
static void settle_error(const struct gathering *g, struct log_mean *mean) {
  double middle = 0.0, squares = 0.0;
  for (size_t i = 0; i < g->size; i++) middle += g->series[i];
  middle /= (double)g->size;
  for (size_t i = 0; i < g->size; i++) squares += (g->series[i] - middle) * (g->series[i] - middle);
  const double n = (double)g->size;
  double freedom;
  const double tau = integrated(g->series, g->size, middle, &freedom);
  mean->effective_count = n / tau;
  const double independent = fmax(mean->effective_count, LEAST_EFFECTIVE);
  // the spread about the series' own mean lacks what that mean itself is off by: one of the independent values
  const double variance = squares / n * independent / (independent - 1.0);
  const double of_mean = n < 2.0 ? 0.0 : sqrt(variance / independent) * student_ratio(fmin(independent - 1.0, freedom));
  mean->se = hypot(of_mean, rounding_left(mean));
}

static bool finish(const struct gathering *g, double total, double squares, struct log_mean *mean) {
  if (g->count == 0 || g->size == 0) return false;
  mean->count = g->count;
  mean->mean = total / (double)g->count;
  mean->sd = g->count > 1 ? sqrt(fmax(squares, 0.0) / (double)(g->count - 1)) : 0.0;
  settle_error(g, mean);
  return true;
}

/* What gives the values: of a series, or of a channel's rows. */
struct source {
  const double *values;
  size_t count, stride;
};

static bool mean_of(const struct source *source, struct log_mean *mean) {
  struct gathering g = {.every = 1};
  size_t finite = 0;
  double total = 0.0, squares = 0.0;
  *mean = (struct log_mean){0};
  for (size_t i = 0; i < source->count; i++) {
    const double value = source->values[i * source->stride];
    if (!isfinite(value)) continue;
    finite++;
    total += value;
  }
  if (finite == 0) return false;
  g.every = (finite + SERIES_MAX - 1) / SERIES_MAX;
  for (size_t i = 0; i < source->count; i++) {
    const double value = source->values[i * source->stride];
    if (!isfinite(value)) continue;
    squares += (value - total / (double)finite) * (value - total / (double)finite);
    gather(&g, value, mean);
  }
  return finish(&g, total, squares, mean);
}

bool log_mean_series(const double *values, size_t count, struct log_mean *mean) {
  return mean_of(&(struct source){values, count, 1}, mean);
}

/* Of a signal that makes but one kind of step in the window, or none: the least that it makes anywhere in the log. */
static double least_step(const struct recording *recording, enum channel channel) {
  double least = INFINITY, last = NAN;
  for (size_t row = 0; row < recording->row_count; row++) {
    const double value = recording_value(recording, row, channel);
    if (!isfinite(value)) continue;
    if (fabs(value - last) > 1e-9 * fmax(1.0, fabs(value))) least = fmin(least, fabs(value - last));
    last = value;
  }
  return isfinite(least) ? least : 0.0;
}

bool log_mean_of(const struct recording *recording, enum channel channel, double from_s, double to_s, struct log_mean *mean) {
  const size_t first = log_blocks_row_at(recording, from_s);
  size_t end = log_blocks_row_at(recording, to_s);
  while (end < recording->row_count && recording_value(recording, end, CHANNEL_time_s) <= to_s) end++;
  *mean = (struct log_mean){0};
  if (end <= first) return false;
  const bool any =
      mean_of(&(struct source){recording->values + first * CHANNEL_COUNT + (size_t)channel, end - first, CHANNEL_COUNT}, mean);
  if (any && mean->highest - mean->lowest < 1.5 * mean->quantum + 1e-9) {
    // it stood in one code, or two, but for a slip: nothing averages the rounding out
    const double with = rounding_left(mean), step = least_step(recording, channel);
    const double rest = mean->quantum > 1.5 * step || mean->quantum == 0.0 ? step / sqrt(12.0) : with;
    mean->quantum = step;
    mean->se = sqrt(fmax(mean->se * mean->se - with * with, 0.0) + rest * rest);
  }
  return any;
}
