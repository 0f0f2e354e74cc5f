#include "base/probability.h"

#include <assert.h>
#include <float.h>
#include <math.h>

/* ---- distributions ---- */

double probability_normal_cdf(double x) { return 0.5 * erfc(-x * M_SQRT1_2); }

enum { RATIONAL_DEGREE = 7 };

/* Numerator over denominator, lowest power first. */
static double rational(const double above[RATIONAL_DEGREE + 1], const double below[RATIONAL_DEGREE + 1], double r) {
  double top = 0.0, bottom = 0.0;
  for (size_t i = RATIONAL_DEGREE + 1; i-- > 0;) {
    top = top * r + above[i];
    bottom = bottom * r + below[i];
  }
  return top / bottom;
}

/* Wichura's coefficients: the middle, the shoulders (down to e^-25, 1.4e-11) and the tails. */
static const double middle_above[] = {3.3871328727963666080,   1.3314166789178437745e2, 1.9715909503065514427e3,
                                      1.3731693765509461125e4, 4.5921953931549871457e4, 6.7265770927008700853e4,
                                      3.3430575583588128105e4, 2.5090809287301226727e3};
static const double middle_below[] = {1.0,
                                      4.2313330701600911252e1,
                                      6.8718700749205790830e2,
                                      5.3941960214247511077e3,
                                      2.1213794301586595867e4,
                                      3.9307895800092710610e4,
                                      2.8729085735721942674e4,
                                      5.2264952788528545610e3};
static const double shoulder_above[] = {1.42343711074968357734,    4.63033784615654529590,   5.76949722146069140550,
                                        3.64784832476320460504,    1.27045825245236838258,   2.41780725177450611770e-1,
                                        2.27238449892691845833e-2, 7.74545014278341407640e-4};
static const double shoulder_below[] = {1.0,
                                        2.05319162663775882187,
                                        1.67638483018380384940,
                                        6.89767334985100004550e-1,
                                        1.48103976427480074590e-1,
                                        1.51986665636164571966e-2,
                                        5.47593808499534494600e-4,
                                        1.05075007164441684324e-9};
static const double tail_above[] = {6.65790464350110377720,    5.46378491116411436990,    1.78482653991729133580,
                                    2.96560571828504891230e-1, 2.65321895265761230930e-2, 1.24266094738807843860e-3,
                                    2.71155556874348757815e-5, 2.01033439929228813265e-7};
static const double tail_below[] = {1.0,
                                    5.99832206555887937690e-1,
                                    1.36929880922735805310e-1,
                                    1.48753612908506148525e-2,
                                    7.86869131145613259100e-4,
                                    1.84631831751005468180e-5,
                                    1.42151175831644588870e-7,
                                    2.04426310338993978564e-15};

double probability_normal_quantile(double p) {
  if (!(p >= 0.0 && p <= 1.0)) return NAN;
  if (p <= 0.0) return -INFINITY; // the formula below would make it infinity over infinity
  if (p >= 1.0) return INFINITY;
  const double q = p - 0.5;
  if (fabs(q) <= 0.425) return q * rational(middle_above, middle_below, 0.180625 - q * q); // 0.425 squared
  const double r = sqrt(-log(q < 0.0 ? p : 1.0 - p));
  const double size = r <= 5.0 ? rational(shoulder_above, shoulder_below, r - 1.6) : rational(tail_above, tail_below, r - 5.0);
  return q < 0.0 ? -size : size;
}

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

/* Share of the piece left of u: (e^(s u) - 1) / (e^s - 1), without overflow for a steep rise. */
static double piece_cdf(double s, double u) {
  if (fabs(s) < flat_s) return u;
  if (s > 0.0) return exp(-s * (1.0 - u)) * expm1(-s * u) / expm1(-s);
  return expm1(s * u) / expm1(s);
}

/* The u with share q left of it; the inverse of piece_cdf. */
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

bool probability_curve_normalise(struct probability_curve *curve) {
  const double log_integral = probability_curve_log_integral(curve);
  if (!isfinite(log_integral)) return false;
  for (size_t i = 0; i < curve->count; i++) curve->log_density[i] -= log_integral;
  return true;
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

double probability_curve_cdf(const struct probability_curve *curve, double x) {
  double share[PROBABILITY_CURVE_MAX];
  if (!isfinite(piece_shares(curve, share)) || isnan(x)) return NAN;
  double below = 0.0;
  for (size_t i = 0; i < piece_count(curve); i++) {
    const double u = (x - curve->x[i]) / piece_width(curve, i);
    if (share[i] > 0.0 && u > 0.0) below += u < 1.0 ? share[i] * piece_cdf(piece_rise(curve, i), u) : share[i];
  }
  return fmin(below, 1.0);
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
