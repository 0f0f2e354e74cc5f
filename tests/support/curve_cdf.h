/* Probability below x of a curve (base/probability.h), as if it were normalised: what a quantile is checked with, and the rank of a
 * true value in a posterior. NAN if the curve holds no probability. */
#ifndef TESTS_SUPPORT_CURVE_CDF_H
#define TESTS_SUPPORT_CURVE_CDF_H

#include "base/probability.h"

double curve_cdf(const struct probability_curve *curve, double x);

#endif
