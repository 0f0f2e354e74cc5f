/* Mean of a logged signal over a stretch, and how sure it is.
 *
 * Rows of a log are no independent readings: speed swings within a second or two, and a value that is polled in turn stands
 * in all rows until its next turn. So the standard error is that of the mean of an autocorrelated series:
 *
 *   se^2 = s^2 tau / n,   tau = 1 + 2 sum rho(k),   s^2 = sum (x - mean)^2 / (n - tau)
 *
 * with the sum of the autocorrelation taken by the initial monotone sequence estimator (C. J. Geyer, Practical Markov Chain
 * Monte Carlo, Statistical Science 7 (1992) 473-483, section 3.3), widened by Student's t for the fewer of the n / tau values that it rests on and the n / lags
 * that tau does. What an instrument rounds cannot be known better than its step, unless the signal moves over several steps and
 * so averages the rounding out; what is left of it then is step / sqrt 12 exp(-2 pi^2 sd^2 / step^2) (the first term of the
 * characteristic function: B. Widrow, I. Kollar, Quantization Noise, Cambridge 2008, chapter 4; from memory). */
#ifndef ANALYSIS_LOG_LOG_MEAN_H
#define ANALYSIS_LOG_LOG_MEAN_H

#include "sim/recording.h"

#include <stdbool.h>

struct log_mean {
  size_t count;           // values that count
  double mean, sd;        // edge unit of the channel; sd of single values
  double se;              // mean +- 1.645 se holds the mean of a longer stretch in about 90 of 100 cases
  double effective_count; // as many independent values would make the mean as sure
  double quantum;         // least step between two values, there or else anywhere in the log; 0 if it never steps
  double lowest, highest;
};

/* Of the finite values within [from_s, to_s]; false if there is none. */
MUST_CHECK bool log_mean_of(const struct recording *recording, enum channel channel, double from_s, double to_s,
                            struct log_mean *mean);

/* The same of a series in equal steps of time; values that are not finite are passed over. */
MUST_CHECK bool log_mean_series(const double *values, size_t count, struct log_mean *mean);

#endif
