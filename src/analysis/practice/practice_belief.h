/* What is known of a case after some tests: how likely each hypothesis is, by the bank's mixture of normals.
 *
 * Each reading is taken in turn (R. E. Kalman, "A New Approach to Linear Filtering and Prediction Problems", J. Basic Eng. 82 (1960) 35):
 *
 *   s = J P J' + v ,  x += P J' (y - mean - J x) / s ,  P -= P J' J P / s ,  log w += -1/2 [ log(2 pi s) + (y - mean - J x)^2 / s ]
 *
 * v: the instrument's variance, and PRACTICE_BENT of what cars differ by, for what is not straight. A few readings are off by far more, where
 * a car meets a limit that the node's does not: PRACTICE_ASTRAY of them, by PRACTICE_FAR of what cars differ by; so N(0, s) has a second, wider
 * normal beside it. Figures measured on cars drawn at all levels and engines. */
#ifndef ANALYSIS_PRACTICE_PRACTICE_BELIEF_H
#define ANALYSIS_PRACTICE_PRACTICE_BELIEF_H

#include "analysis/practice/practice_bank.h"

#define PRACTICE_BENT \
  0.2 // standard deviation, of what cars differ by: nine of ten readings of drawn cars are within 1.6 times that
#define PRACTICE_ASTRAY 0.05 // share of the readings
#define PRACTICE_FAR    1.5
#define PRACTICE_TOLD   0.9 // probability from which a cause is called told; our own choice

struct practice_belief;

/* What the driver says and which codes are stored is known. STATUS_NO_MEMORY. */
MUST_CHECK enum status practice_belief_create(const struct practice_bank *bank, enum estimate_complaint complaint, uint64_t codes,
                                              struct practice_belief **belief, struct error *error);
void practice_belief_destroy(struct practice_belief *belief);

/* One more test. */
void practice_belief_add(struct practice_belief *belief, const struct practice_result *result);

/* Probability of each hypothesis of the bank; the likeliest. */
void practice_belief_hypotheses(const struct practice_belief *belief, double probability[PRACTICE_HYPOTHESIS_MAX]);
size_t practice_belief_likeliest(const double probability[PRACTICE_HYPOTHESIS_MAX], size_t count);

/* Share of a cause's range, by what is known, if the hypothesis holds: mean, and half of what holds it nine times of ten. */
void practice_belief_severity(const struct practice_belief *belief, size_t hypothesis, size_t place, double *share, double *half);

/* What a reading would be if the hypothesis holds, and its standard deviation. False: it cannot be read there. */
bool practice_belief_expect(const struct practice_belief *belief, size_t hypothesis, size_t reading, double *mean, double *sd);

/* ---- for practice_next.c ---- */

const struct practice_bank *practice_belief_bank(const struct practice_belief *belief);

/* Probability of a node, which sum to 1. */
double practice_belief_node(const struct practice_belief *belief, size_t node);

/* What some readings would be at a node: means, and their covariance, count x count, both triangles; the instrument included. */
void practice_belief_predict(const struct practice_belief *belief, size_t node, size_t count, const size_t *readings,
                             double *mean, double *covariance);

#endif
