/* Probability: the normal and the chi-squared distribution, densities given by their logarithms, and how much a
 * measurement tells about its cause.
 *
 * Everything is a pure number, but x of a curve and the step of a grid, which have the unit of what is measured; a
 * density has one over that unit. Logarithms are natural unless a name says bits; log 0 is -INFINITY and allowed.
 * Nothing is allocated. An argument outside its range gives NAN. */
#ifndef BASE_PROBABILITY_H
#define BASE_PROBABILITY_H

#include "base/attributes.h"

#include <stdbool.h>
#include <stddef.h>

/* ---- distributions ---- */

/* Probability that a standard normal number is below x. Relative error: some 1e-16 (1 + x^2), also far down. */
double probability_normal_cdf(double x);

/* The regularised upper incomplete gamma function Q(a, x), integral of t^(a-1) e^-t dt from x to infinity over
 * Gamma(a). 1e-3 <= a <= 1e6 and x >= 0, which may be INFINITY; NAN outside. Relative error 1e-10 while the result is
 * above 1e-300. Source: power series and continued fraction of NIST's Digital Library of Mathematical Functions,
 * https://dlmf.nist.gov/8.11.E4 and https://dlmf.nist.gov/8.9.E2. */
double probability_gamma_q(double a, double x);

/* Probability that a chi-squared number of dof degrees of freedom (2e-3 to 2e6) is above chi2 >= 0. Errors as
 * probability_gamma_q. */
double probability_chi2_tail(double chi2, double dof);

/* ---- densities by their logarithms ---- */

/* log of the sum of e^logs[i]: no overflow, no underflow of the largest; -INFINITY for an empty list. No NAN. */
double probability_log_sum_exp(size_t count, const double *logs);

/* log of the integral from a to b >= a of the density whose log is linear between (a, la) and (b, lb). Exact to
 * rounding, also for la == lb. An end at -INFINITY is the limit of ever lower ones: the density is gone everywhere but
 * at the other end, and the answer is -INFINITY. */
double probability_loglinear_integral(double a, double la, double b, double lb);

enum { PROBABILITY_CURVE_MAX = 128 };

/* A density whose log is linear between its points and which is zero outside them. Formulas are exact for it. */
struct probability_curve {
  size_t count;                              // up to PROBABILITY_CURVE_MAX; fewer than 2 hold no probability
  double x[PROBABILITY_CURVE_MAX];           // rising strictly
  double log_density[PROBABILITY_CURVE_MAX]; // -INFINITY allowed: the pieces on both sides then weigh nothing
};

/* log of the integral; -INFINITY if it holds no probability. */
double probability_curve_log_integral(const struct probability_curve *curve);

/* The next two serve any curve as if it were normalised; NAN if it holds no probability. */

/* The x with probability p below it, 0 <= p <= 1. */
double probability_curve_quantile(const struct probability_curve *curve, double p);

double probability_curve_mean(const struct probability_curve *curve);

/* ---- information ---- */

enum { PROBABILITY_CAUSE_MAX = 256 };

/* Entropy of probabilities p, which sum to 1: how many bits a full answer is worth.
 * Source, also of the next two: T. M. Cover, J. A. Thomas, "Elements of Information Theory", 2nd ed. (2006), ch. 2. */
double probability_entropy_bits(size_t count, const double *p);

/* Mutual information in bits between a cause, of probability p[cause] before the measurement (they sum to 1), and a
 * measured number: how many of the entropy's bits the measurement takes away on average.
 * densities[cause * points + point] is the density given the cause on a grid `step` apart, points >= 2. Integrals are
 * trapezia, and each density is brought to integral 1 by them, so the answer stays between 0 and the entropy. Two
 * normal densities of standard deviation s come out within 1e-5 at a step of s / 2, within 1e-8 at s / 4 (measured), if
 * the grid reaches 8 s beyond them. A cause of p = 0 is passed over.
 * NAN for more causes than PROBABILITY_CAUSE_MAX, or if the density of a cause with p > 0 has no finite integral above
 * zero. */
double probability_information_bits(size_t causes, const double *p, size_t points, const double *densities, double step);

/* The same for a test that answers yes or no; positive[cause] is the probability of yes given the cause. */
double probability_information_binary_bits(size_t causes, const double *p, const double *positive);

#endif
