/* How well one fault explains the readings, the car's deviations integrated out.
 *
 *   y = f(z, fault) + o + T (z - m) + e        e ~ N(0, S), z ~ N(m, P^-1)
 *   log p(y | fault) = log integral of p(y | z, fault) p(z) dz
 *                    = -1/2 [ chi2(z^) + log det H - log det P + log det (2 pi S) ]
 *   chi2(z) = r' S^-1 r + (z - m)' P (z - m),  r = y - f - o - T (z - m),  z^ its least,  H = P + (J + T)' S^-1 (J + T)
 *
 * S, o and T are the errors of readings and model (estimate_discrepancy.h); without, S is the readings' variances and o and T are zero.
 *
 * Laplace's approximation: exact where f is linear in z, as it nearly is over a car's deviations (D. J. C. MacKay, "Information
 * Theory, Inference, and Learning Algorithms", 2003, ch. 27). z^ by Gauss and Newton with step halving, J by differences of half
 * a standard deviation, so that a kink is averaged over what cars differ by. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_FIT_H
#define ANALYSIS_ESTIMATE_ESTIMATE_FIT_H

#include "analysis/estimate/estimate_discrepancy.h"
#include "analysis/estimate/estimate_forward.h"

/* What is known of a car's deviations before these readings: normal. */
struct estimate_car_prior {
  double mean[SCATTER_COUNT];
  double precision[SCATTER_COUNT * SCATTER_COUNT];  // of the deviations in use, row by row, see estimate_problem
  double covariance[SCATTER_COUNT * SCATTER_COUNT]; // its inverse
  double log_determinant;                           // of the precision
};

/* The question, the same for every fault. */
struct estimate_problem {
  const struct engine *engine;
  const struct estimate_setting *setting;
  const struct estimate_readings *readings;
  unsigned conditions; // where something was read
  size_t count;        // deviations in use
  enum scatter scatter[SCATTER_COUNT];
  const struct estimate_car_prior *prior;         // not owned
  const struct estimate_discrepancy *discrepancy; // NULL: the model is the car
  const double *good; // what a good car is expected to read at the prior's mean, to tell what a fault moves; NULL: no matter
  int steps_most;     // of a full fit; fewer where many fits stand side by side and mend each other
};

/* Deviations in use, and as prior that of cars in general, which is written: standard normal, tied as the engine says. Readings may be
 * empty. False if those ties are no correlations. */
MUST_CHECK bool estimate_problem_init(struct estimate_problem *problem, const struct engine *engine,
                                      const struct estimate_setting *setting, const struct estimate_readings *readings,
                                      struct estimate_car_prior *prior);

/* What power of a likelihood counts: 1 where the model is the car, less where it is not. */
double estimate_fit_certainty(const struct estimate_problem *problem);

/* Starts of a quick fit: the prior's mean, and from there an unknown of the cause itself (estimate_forward_own()) either way. */
enum { ESTIMATE_START_MEAN, ESTIMATE_START_LESS, ESTIMATE_START_MORE, ESTIMATE_START_COUNT };

/* The deviations at such a start; of a cause without an unknown of its own, the prior's mean. */
void estimate_fit_start(const struct estimate_problem *problem, enum cause cause, int start, double z[SCATTER_COUNT]);

/* An answer for one fault. */
struct estimate_fit {
  bool possible;         // false: the engine does not do what the readings say it did
  double log_likelihood; // times estimate_fit_certainty()
  double chi2;
  int start[ESTIMATE_CAUSE_MAX];         // of a quick fit without a start of its own, a cause each
  double z[SCATTER_COUNT];               // likeliest deviations, all of them (those not in use 0)
  double expected[ESTIMATE_READING_MAX]; // of each reading at z
};

/* What each reading should be; false where the engine does not run. */
bool estimate_fit_expect(const struct estimate_problem *problem, struct estimate_forward *forward, const double *z,
                         const struct estimate_fault *fault, double expected[ESTIMATE_READING_MAX]);

/* Slopes at z of what is read at the conditions whose bits are set; the others are left alone. False where the engine does not
 * run. expected: those of estimate_fit_expect() at z. */
bool estimate_fit_slopes(const struct estimate_problem *problem, struct estimate_forward *forward, const double *z,
                         const struct estimate_fault *fault, const double expected[ESTIMATE_READING_MAX], unsigned conditions,
                         struct estimate_slopes *slopes);

/* Slope of reading j by deviation i of those in use, the model's error with it: J + T. */
double estimate_fit_slope(const struct estimate_problem *problem, const struct estimate_slopes *slopes, size_t j, size_t i);

/* (J + T) C (J + T)' of one reading: variance from deviations whose covariance is C, of those in use, row by row. */
double estimate_fit_variance(const struct estimate_problem *problem, const struct estimate_slopes *slopes, const double *cars,
                             size_t j);

/* S + (J + T) C (J + T)': the covariance of readings of cars whose deviations have C; count x count, both triangles. */
void estimate_fit_spread(const struct estimate_problem *problem, const struct estimate_slopes *slopes, const double *cars,
                         double *covariance);

/* r: what is read less what is expected, the model's error included. */
void estimate_fit_residuals(const struct estimate_problem *problem, const double *z, const double expected[ESTIMATE_READING_MAX],
                            double residual[ESTIMATE_READING_MAX]);

/* One step from `start` (SCATTER_COUNT numbers; NULL: the prior's mean) with slopes from elsewhere: quick, to see whether a fault
 * is worth more. The chi-squared is that of the linear model. Without a start, an unknown of the cause itself is tried either way as well. */
void estimate_fit_quick(const struct estimate_problem *problem, struct estimate_forward *forward,
                        const struct estimate_fault *fault, const double *start, const struct estimate_slopes *slopes,
                        struct estimate_fit *fit);

/* The same, and the step is then looked at, and up to two more are made. False if the linear model still misjudges the last: then
 * a full fit is needed. covariance: of the deviations in use, SCATTER_COUNT squared numbers, row by row; left alone where it is false. */
MUST_CHECK bool estimate_fit_near(const struct estimate_problem *problem, struct estimate_forward *forward,
                                  const struct estimate_fault *fault, const double *start, const struct estimate_slopes *slopes,
                                  struct estimate_fit *fit, double *covariance);

/* The whole way to z^. slopes: in, those of load steps, which are kept while they serve, since they cost a run each; out, all at the
 * last z. covariance: as above; without meaning where the fit is not possible. */
void estimate_fit_full(const struct estimate_problem *problem, struct estimate_forward *forward,
                       const struct estimate_fault *fault, const double *start, struct estimate_slopes *slopes,
                       struct estimate_fit *fit, double *covariance);

/* The whole way for a good car, load steps' slopes first. False if it does not run under the conditions. start, slopes, covariance: as
 * above. */
MUST_CHECK bool estimate_fit_good(const struct estimate_problem *problem, struct estimate_forward *forward, const double *start,
                                  struct estimate_slopes *slopes, struct estimate_fit *fit, double *covariance);

/* That the correlations of an engine's group scatter are none: STATUS_BAD_DATA, set. */
enum status estimate_fit_refuse_ties(const struct engine *engine, struct error *error);

/* What readings of the same car when it was good say of it: the prior for the readings of now, and what they say of the model's errors.
 * Deviations of the day are left as they were. False, and nothing changed, if they do not fit a good car that runs. p_value: of their
 * fit; slopes: room to work in; past: NULL if it is not wanted. */
MUST_CHECK bool estimate_fit_baseline(const struct estimate_problem *baseline, struct estimate_forward *forward,
                                      struct estimate_slopes *slopes, struct estimate_car_prior *prior,
                                      struct estimate_past *past, double *p_value);

/* What such readings say of the model's errors alone, where the engine and its deviations are already what they have left: the residuals are
 * those of the engine itself on a usual day. False if it does not run where they were taken. */
MUST_CHECK bool estimate_fit_past(const struct estimate_problem *then, struct estimate_forward *forward,
                                  struct estimate_slopes *slopes, struct estimate_past *past);

#endif
