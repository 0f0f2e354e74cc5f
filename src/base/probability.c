#include "base/probability.h"

#include <assert.h>
#include <float.h>
#include <math.h>

/* ---- distributions ---- */

double probability_normal_cdf(double x) { return 0.5 * erfc(-x * M_SQRT1_2); }

/* x^a e^-x / Gamma(a + 1). From a = 20 on it is written as a small departure from Stirling's formula,
 * e^(-a (m - log(1 + m))) / (sqrt(2 pi a) e^error), m = x / a - 1, so that a large a costs no digits; error is
 * Stirling's series, https://dlmf.nist.gov/5.11.E1, whose first term left out is below 2e-15 there. */
static double gamma_front(double a, double x) {
  if (a < 20.0) return exp(a * log(x) - x) / tgamma(a + 1.0);
  const double m = (x - a) / a, s = 1.0 / (a * a);
  const double error = (1.0 / 12.0 - s * (1.0 / 360.0 - s * (1.0 / 1260.0 - s / 1680.0))) / a;
  return exp(-a * (m - log1p(m)) - error) / sqrt(2.0 * M_PI * a);
}

/* Both sums end after some ten times sqrt(a) terms at the worst, x near a: 1e4 of them for the largest a. */
static const double gamma_a_min = 1e-3, gamma_a_max = 1e6;
enum { GAMMA_TERM_MAX = 100000 };

/* Sum of x^k / ((a + 1) ... (a + k)), k from 0: times the front it is 1 - Q. For x < a + 1. */
static double gamma_series(double a, double x) {
  double term = 1.0, sum = 1.0;
  for (int k = 1; k < GAMMA_TERM_MAX && term > DBL_EPSILON * sum; k++) {
    term *= x / (a + k);
    sum += term;
  }
  return sum;
}

/* 1 / (x + 1 - a - 1 (1 - a) / (x + 3 - a - 2 (2 - a) / (x + 5 - a - ...))): times a and the front it is Q. For
 * x >= a + 1, where no denominator comes near zero. From above down by Lentz's method (W. J. Lentz, Applied Optics 15
 * (1976) 668-671): each step multiplies by the ratio of two successive fractions. */
static double gamma_fraction(double a, double x) {
  double b = x + 1.0 - a;
  double below = 1.0 / b, above = INFINITY, value = below;
  for (int k = 1; k < GAMMA_TERM_MAX; k++) {
    const double c = -k * (k - a);
    b += 2.0;
    below = 1.0 / (b + c * below);
    above = b + c / above;
    const double ratio = above * below;
    value *= ratio;
    if (fabs(ratio - 1.0) <= DBL_EPSILON) break;
  }
  return value;
}

double probability_gamma_q(double a, double x) {
  if (!(a >= gamma_a_min && a <= gamma_a_max && x >= 0.0)) return NAN;
  if (x <= 0.0) return 1.0;
  if (isinf(x)) return 0.0;
  if (x < a + 1.0) return 1.0 - gamma_front(a, x) * gamma_series(a, x);
  return a * gamma_front(a, x) * gamma_fraction(a, x);
}

double probability_chi2_tail(double chi2, double dof) { return probability_gamma_q(0.5 * dof, 0.5 * chi2); }

/* ---- densities by their logarithms ---- */

static double largest(size_t count, const double *values) {
  double top = -INFINITY;
  for (size_t i = 0; i < count; i++) top = fmax(top, values[i]);
  return top;
}

double probability_log_sum_exp(size_t count, const double *logs) {
  const double top = largest(count, logs);
  if (isinf(top)) return top;
  double sum = 0.0;
  for (size_t i = 0; i < count; i++) sum += exp(logs[i] - top);
  return top + log(sum);
}

/* (b - a) (e^lb - e^la) / (lb - la), written with the higher end in front and the difference d of the logs. */
double probability_loglinear_integral(double a, double la, double b, double lb) {
  const double top = fmax(la, lb);
  if (isinf(top)) return top;
  const double d = fabs(lb - la);
  const double mean = d <= 0.0 ? 1.0 : -expm1(-d) / d; // with the higher end as unit; NAN goes through
  return top + log(b - a) + log(mean);
}

/* A piece between two points seen from its left end: u from 0 to 1, density proportional to e^(s u). Below this s,
 * either way, the piece is flat to rounding. */
static const double flat_s = DBL_EPSILON;

/* The u with share q of the piece left of it: the inverse of (e^(s u) - 1) / (e^s - 1), without overflow for a steep rise. */
static double piece_quantile(double s, double q) {
  double u = q;
  if (s > 1.0)
    u = 1.0 + log(exp(-s) - q * expm1(-s)) / s;
  else if (fabs(s) >= flat_s)
    u = log1p(q * expm1(s)) / s;
  return fmin(fmax(u, 0.0), 1.0);
}

/* Mean of u: 1 / (1 - e^-s) - 1 / s. Near s = 0 both grow without bound, and the power series takes over; at 0.1 its
 * first term left out is 2e-17. */
static double piece_mean(double s) {
  if (fabs(s) > 0.1) return -1.0 / expm1(-s) - 1.0 / s;
  const double s2 = s * s;
  return 0.5 + s * (1.0 / 12.0 - s2 * (1.0 / 720.0 - s2 * (1.0 / 30240.0 - s2 / 1209600.0)));
}

/* Piece i lies between the points i and i + 1. */
static size_t piece_count(const struct probability_curve *curve) {
  assert(curve->count <= PROBABILITY_CURVE_MAX);
  return curve->count < 2 ? 0 : curve->count - 1;
}

static double piece_width(const struct probability_curve *curve, size_t i) { return curve->x[i + 1] - curve->x[i]; }

static double piece_rise(const struct probability_curve *curve, size_t i) {
  return curve->log_density[i + 1] - curve->log_density[i];
}

/* The share of the probability that each piece holds; they sum to 1. Returns the log of the whole integral, and shares of
 * no meaning where that is not finite. */
static double piece_shares(const struct probability_curve *curve, double share[PROBABILITY_CURVE_MAX]) {
  const size_t count = piece_count(curve);
  const double *x = curve->x, *log_density = curve->log_density;
  for (size_t i = 0; i < count; i++)
    share[i] = probability_loglinear_integral(x[i], log_density[i], x[i + 1], log_density[i + 1]);
  const double log_integral = probability_log_sum_exp(count, share);
  for (size_t i = 0; i < count; i++) share[i] = exp(share[i] - log_integral);
  return log_integral;
}

double probability_curve_log_integral(const struct probability_curve *curve) {
  double share[PROBABILITY_CURVE_MAX];
  return piece_shares(curve, share);
}

double probability_curve_quantile(const struct probability_curve *curve, double p) {
  double share[PROBABILITY_CURVE_MAX];
  if (!isfinite(piece_shares(curve, share)) || !(p >= 0.0 && p <= 1.0)) return NAN;
  double wanted = p, end = NAN;
  for (size_t i = 0; i < piece_count(curve); i++) {
    if (share[i] <= 0.0) continue;
    if (wanted <= share[i]) return curve->x[i] + piece_width(curve, i) * piece_quantile(piece_rise(curve, i), wanted / share[i]);
    wanted -= share[i];
    end = curve->x[i + 1];
  }
  return end; // p = 1 and shares that round below it: nothing is left to the right
}

double probability_curve_mean(const struct probability_curve *curve) {
  double share[PROBABILITY_CURVE_MAX];
  if (!isfinite(piece_shares(curve, share))) return NAN;
  double mean = 0.0;
  for (size_t i = 0; i < piece_count(curve); i++)
    if (share[i] > 0.0) mean += share[i] * (curve->x[i] + piece_width(curve, i) * piece_mean(piece_rise(curve, i)));
  return mean;
}

/* ---- information ---- */

/* p log2(p / q), which is 0 for p = 0. */
static double bits_against(double p, double q) {
  if (p > 0.0) return p * log2(p / q);
  return p < 0.0 ? NAN : p;
}

double probability_entropy_bits(size_t count, const double *p) {
  double bits = 0.0;
  for (size_t i = 0; i < count; i++) bits -= bits_against(p[i], 1.0);
  return bits;
}

/* Rounding may leave some -1e-17 where nothing is learned. */
static double not_negative(double bits) { return bits > 0.0 || isnan(bits) ? bits : 0.0; }

/* The trapezium rule's weight of a point. */
static double trapezium_weight(size_t point, size_t points, double step) {
  return point == 0 || point == points - 1 ? 0.5 * step : step;
}

/* Sum over causes and points of p f log2(f / mixture), f the density brought to integral 1. */
double probability_information_bits(size_t causes, const double *p, size_t points, const double *densities, double step) {
  if (causes > PROBABILITY_CAUSE_MAX || points < 2 || !(step > 0.0)) return NAN;
  double scale[PROBABILITY_CAUSE_MAX];
  for (size_t cause = 0; cause < causes; cause++) {
    double area = 0.0;
    for (size_t point = 0; point < points; point++)
      area += trapezium_weight(point, points, step) * densities[cause * points + point];
    if (!(p[cause] >= 0.0) || (p[cause] > 0.0 && !(area > 0.0 && isfinite(area)))) return NAN;
    scale[cause] = p[cause] > 0.0 ? 1.0 / area : 0.0;
  }
  double bits = 0.0;
  for (size_t point = 0; point < points; point++) {
    double mixture = 0.0, gain = 0.0;
    for (size_t cause = 0; cause < causes; cause++)
      if (p[cause] > 0.0) mixture += p[cause] * scale[cause] * densities[cause * points + point];
    for (size_t cause = 0; cause < causes; cause++)
      if (p[cause] > 0.0) gain += p[cause] * bits_against(scale[cause] * densities[cause * points + point], mixture);
    bits += trapezium_weight(point, points, step) * gain;
  }
  return not_negative(bits);
}

double probability_information_binary_bits(size_t causes, const double *p, const double *positive) {
  double yes = 0.0, no = 0.0;
  for (size_t cause = 0; cause < causes; cause++) {
    if (!(p[cause] >= 0.0)) return NAN;
    yes += p[cause] * positive[cause];
    no += p[cause] * (1.0 - positive[cause]);
  }
  double bits = 0.0;
  for (size_t cause = 0; cause < causes; cause++)
    if (p[cause] > 0.0) bits += p[cause] * (bits_against(positive[cause], yes) + bits_against(1.0 - positive[cause], no));
  return not_negative(bits);
}
