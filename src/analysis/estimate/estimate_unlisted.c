#include "analysis/estimate/estimate_unlisted.h"

#include "base/attributes.h"
#include "base/matrix.h"
#include "base/probability.h"
#include "base/units.h"

#include <math.h>

#define COMMON_SHARE 0.5 // of a variance, under all conditions alike

static const double scales[] = {0.25, 1.0, 3.0};

double estimate_unlisted_between(const struct estimate_reading *a, const struct estimate_reading *b) {
  if (a->quantity != b->quantity) return 0.0;
  const struct estimate_discrepancy_row *row = &estimate_discrepancy_rows[a->quantity];
  const double scale = estimate_discrepancy_scale(row, a->value) * estimate_discrepancy_scale(row, b->value);
  return scale * row->unlisted * row->unlisted * (a->condition == b->condition ? 1.0 : COMMON_SHARE);
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
      for (size_t l = 0; l <= j; l++)
        room->factor[j * m + l] =
            room->broad[j * m + l] +
            scales[s] * scales[s] * estimate_unlisted_between(&p->readings->readings[j], &p->readings->readings[l]);
    logs[s] = -INFINITY;
    if (!matrix_cholesky(m, room->factor)) continue;
    matrix_cholesky_forward(m, room->factor, off);
    double chi2 = 0.0;
    for (size_t j = 0; j < m; j++) chi2 += off[j] * off[j];
    logs[s] = -0.5 * estimate_fit_certainty(p) *
                  (chi2 + matrix_cholesky_log_determinant(m, room->factor) + (double)m * log(2.0 * UNITS_PI)) -
              log((double)ARRAY_COUNT(scales));
  }
  return probability_log_sum_exp(ARRAY_COUNT(scales), logs);
}
