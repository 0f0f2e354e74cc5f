#include "analysis/estimate/estimate_unlisted.h"

#include "base/attributes.h"
#include "base/matrix.h"
#include "base/probability.h"
#include "base/units.h"

#include <math.h>

#define COMMON_SHARE 0.5 // of a variance, under all conditions alike

/* From faint to gross, and now and then beyond all use: one in ten, our own choice. Without that a leak beyond its usual most had over nine
 * tenths of an engine that races cold at 2400 rpm, on that number alone. */
static const struct { double scale, share; } scales[] = {{0.25, 0.3}, {1.0, 0.3}, {3.0, 0.3}, {8.0, 0.1}};

double estimate_unlisted_between(const struct estimate_reading *a, const struct estimate_reading *b) {
  if (a->quantity != b->quantity) return 0.0;
  const struct estimate_discrepancy_row *row = &estimate_discrepancy_rows[a->quantity];
  const double scale = estimate_discrepancy_scale(row, a->value) * estimate_discrepancy_scale(row, b->value);
  return scale * row->unlisted * row->unlisted * (a->condition == b->condition ? 1.0 : COMMON_SHARE);
}

/* The reading with the larger of what was read and what a good car shows: something that takes a flow to nothing is no faint fault. */
static struct estimate_reading of_larger(const struct estimate_problem *p, const double expected[ESTIMATE_READING_MAX],
                                         size_t j) {
  struct estimate_reading reading = p->readings->readings[j];
  reading.value = fmax(fabs(reading.value), fabs(expected[j]));
  return reading;
}

double estimate_unlisted_evidence(const struct estimate_problem *p, const double expected[ESTIMATE_READING_MAX],
                                  const struct estimate_slopes *slopes, struct estimate_unlisted_room *room) {
  const size_t m = p->readings->count;
  double logs[ARRAY_COUNT(scales)];
  estimate_fit_spread(p, slopes, p->prior->covariance, room->broad);
  for (size_t s = 0; s < ARRAY_COUNT(scales); s++) {
    double off[ESTIMATE_READING_MAX];
    estimate_fit_residuals(p, p->prior->mean, expected, off);
    for (size_t j = 0; j < m; j++)
      for (size_t l = 0; l <= j; l++) {
        const struct estimate_reading a = of_larger(p, expected, j), b = of_larger(p, expected, l);
        room->factor[j * m + l] = room->broad[j * m + l] + scales[s].scale * scales[s].scale * estimate_unlisted_between(&a, &b);
      }
    logs[s] = -INFINITY;
    if (!matrix_cholesky(m, room->factor)) continue;
    matrix_cholesky_forward(m, room->factor, off);
    double chi2 = 0.0;
    for (size_t j = 0; j < m; j++) chi2 += off[j] * off[j];
    logs[s] =
        log(scales[s].share) - 0.5 * estimate_fit_certainty(p) *
                                   (chi2 + matrix_cholesky_log_determinant(m, room->factor) + (double)m * log(2.0 * UNITS_PI));
  }
  return probability_log_sum_exp(ARRAY_COUNT(scales), logs);
}
