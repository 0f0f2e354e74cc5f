#include "support/curve_cdf.h"

#include <float.h>
#include <math.h>

/* Share of the piece left of u: (e^(s u) - 1) / (e^s - 1), without overflow for a steep rise. */
static double piece_cdf(double s, double u) {
  if (fabs(s) < DBL_EPSILON) return u;
  if (s > 0.0) return exp(-s * (1.0 - u)) * expm1(-s * u) / expm1(-s);
  return expm1(s * u) / expm1(s);
}

double curve_cdf(const struct probability_curve *curve, double x) {
  const double whole = probability_curve_log_integral(curve);
  if (!isfinite(whole) || isnan(x)) return NAN;
  double below = 0.0;
  for (size_t i = 0; i + 1 < curve->count; i++) {
    const double a = curve->x[i], b = curve->x[i + 1], la = curve->log_density[i], lb = curve->log_density[i + 1];
    const double share = exp(probability_loglinear_integral(a, la, b, lb) - whole), u = (x - a) / (b - a);
    if (share > 0.0 && u > 0.0) below += u < 1.0 ? share * piece_cdf(lb - la, u) : share;
  }
  return fmin(below, 1.0);
}
