#include "base/curve.h"

#include <assert.h>
#include <math.h>

/* Slope at an end: three-point formula, limited so that the end piece stays monotone. h0, d0 belong to the end
 * interval, h1, d1 to its neighbour. */
static double end_slope(double h0, double h1, double d0, double d1) {
  const double slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
  if (slope * d0 <= 0.0) return 0.0;
  if (d0 * d1 <= 0.0 && fabs(slope) > 3.0 * fabs(d0)) return 3.0 * d0;
  return slope;
}

void curve_monotone_slopes(size_t count, const double *x, const double *y, double *slope) {
  if (count == 2) {
    slope[0] = slope[1] = (y[1] - y[0]) / (x[1] - x[0]);
    return;
  }
  for (size_t i = 1; i + 1 < count; i++) {
    const double h0 = x[i] - x[i - 1], h1 = x[i + 1] - x[i];
    const double d0 = (y[i] - y[i - 1]) / h0, d1 = (y[i + 1] - y[i]) / h1;
    if (d0 * d1 <= 0.0) {
      slope[i] = 0.0;
    } else {
      const double w0 = 2.0 * h1 + h0, w1 = h1 + 2.0 * h0;
      slope[i] = (w0 + w1) / (w0 / d0 + w1 / d1);
    }
  }
  const size_t n = count;
  slope[0] = end_slope(x[1] - x[0], x[2] - x[1], (y[1] - y[0]) / (x[1] - x[0]), (y[2] - y[1]) / (x[2] - x[1]));
  slope[n - 1] = end_slope(x[n - 1] - x[n - 2], x[n - 2] - x[n - 3], (y[n - 1] - y[n - 2]) / (x[n - 1] - x[n - 2]),
                           (y[n - 2] - y[n - 3]) / (x[n - 2] - x[n - 3]));
}

bool curve_init(struct curve *curve) {
  if (curve->count < 1 || curve->count > CURVE_POINT_MAX) return false;
  for (size_t i = 1; i < curve->count; i++)
    if (!(curve->x[i] > curve->x[i - 1])) return false;
  if (curve->count == 1)
    curve->slope[0] = 0.0;
  else
    curve_monotone_slopes(curve->count, curve->x, curve->y, curve->slope);
  for (size_t i = 0; i + 1 < curve->count; i++) {
    const double h = curve->x[i + 1] - curve->x[i], rise = (curve->y[i + 1] - curve->y[i]) / h;
    curve->square[i] = (3.0 * rise - 2.0 * curve->slope[i] - curve->slope[i + 1]) / h;
    curve->cube[i] = (curve->slope[i] + curve->slope[i + 1] - 2.0 * rise) / (h * h);
  }
  return true;
}

bool curve_is_smooth(const struct curve *curve) {
  for (size_t i = 0; i < curve->count; i++)
    if (!isfinite(curve->slope[i])) return false;
  return true;
}

double curve_value(const struct curve *curve, double x) {
  const size_t last = curve->count - 1;
  if (x <= curve->x[0]) return curve->y[0];
  if (x >= curve->x[last]) return curve->y[last];
  size_t i = 0;
  while (x >= curve->x[i + 1]) i++;
  const double dx = x - curve->x[i];
  return curve->y[i] + dx * (curve->slope[i] + dx * (curve->square[i] + dx * curve->cube[i]));
}

void curve_scale(struct curve *curve, double factor) {
  for (size_t i = 0; i < curve->count; i++) {
    curve->y[i] *= factor;
    curve->slope[i] *= factor;
    curve->square[i] *= factor;
    curve->cube[i] *= factor;
  }
}

void curve_renew(struct curve *curve) {
  const bool good = curve_init(curve);
  assert(good);
  (void)good;
}

void curve_bend(struct curve *curve, double from, double to, double factor, double amount) {
  if (factor == 1.0 && amount == 0.0) return;
  for (size_t i = 0; i < curve->count; i++) {
    const double share = fmin(fmax((curve->x[i] - from) / (to - from), 0.0), 1.0);
    curve->y[i] = curve->y[i] * (1.0 + share * (factor - 1.0)) + share * amount;
  }
  curve_renew(curve);
}

void curve_stretch(struct curve *curve, double from, double factor) {
  if (factor == 1.0) return;
  for (size_t i = 0; i < curve->count; i++) curve->y[i] = from + factor * (curve->y[i] - from);
  curve_renew(curve);
}

void curve_raise(struct curve *curve, double amount) {
  for (size_t i = 0; i < curve->count; i++) curve->y[i] += amount;
}
