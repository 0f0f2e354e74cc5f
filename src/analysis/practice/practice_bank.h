/* All that may be behind a complaint at a level, and what each would read on cars of the kind: what a plan is weighed by.
 *
 * A node is a cause, or a film and another, at one severity: what is read there on the nominal car, its slopes by every deviation of
 * the car, and by the severity within the node's part of the range. So the readings of all cars and all severities are a mixture of
 * normals, and what readings say of the cause can be worked out in milliseconds (practice_belief.h). Severities within a node's part
 * are taken as normal with the variance that a uniform one has.
 *
 *   y = mean + J x + e ,   x ~ N(0, 1): deviations of car and day, then the severities within the node
 *
 * The case is drawn from the same model, so there are no errors of the model to allow for, but that of J being taken as straight. */
#ifndef ANALYSIS_PRACTICE_PRACTICE_BANK_H
#define ANALYSIS_PRACTICE_PRACTICE_BANK_H

#include "analysis/practice/practice_case.h"
#include "base/for_each.h"

enum {
  PRACTICE_SINGLE_NODES = 9,
  PRACTICE_PAIR_SIDE = 4, // nodes of a pair: so many times as many
  PRACTICE_HYPOTHESIS_MAX = 2 * CAUSE_COUNT,
  PRACTICE_NODE_MAX = 1 + CAUSE_COUNT * (PRACTICE_SINGLE_NODES + PRACTICE_PAIR_SIDE * PRACTICE_PAIR_SIDE),
  PRACTICE_STATE_MAX = SCATTER_COUNT + ESTIMATE_CAUSE_MAX
};

struct practice_hypothesis {
  struct estimate_fault fault; // severities at the middle of their range
  double prior;
  size_t first, count; // its nodes
};

struct practice_node {
  size_t hypothesis;
  double share[ESTIMATE_CAUSE_MAX], width[ESTIMATE_CAUSE_MAX]; // of each cause's range; standard deviation within the node
  double log_prior;                                            // -INFINITY: it does not idle
  unsigned runs;                                               // bits of conditions at which it can be read
  size_t slopes; // the node whose slopes by the car's deviations are its own as well
  float says[ESTIMATE_COMPLAINT_COUNT], code[MONITOR_CODE_COUNT]; // probabilities
};

struct practice_bank {
  const struct practice_tests *tests; // must outlive it, as the prior must
  const struct practice_prior *prior;
  size_t hypothesis_count, node_count;
  struct practice_hypothesis hypotheses[PRACTICE_HYPOTHESIS_MAX];
  struct practice_node nodes[PRACTICE_NODE_MAX];
  size_t deviation_count; // of the car, in use
  enum scatter scatter[SCATTER_COUNT];
  float *mean;     // [node][reading]
  float *slope;    // [node][reading][deviation]: of PRACTICE_LEVEL's spread
  float *severity; // [node][reading][place]: of one width
};

/* STATUS_NO_MEMORY. A second or less of one core. */
MUST_CHECK enum status practice_bank_create(const struct practice_tests *tests, const struct practice_prior *prior,
                                            const struct for_each *for_each, struct practice_bank **bank, struct error *error);
void practice_bank_destroy(struct practice_bank *bank);

/* Slopes of a reading at a node: deviations, then the node's own severities; returns how many. */
size_t practice_bank_slopes(const struct practice_bank *bank, size_t node, size_t reading, double slope[PRACTICE_STATE_MAX]);

static inline double practice_bank_mean(const struct practice_bank *bank, size_t node, size_t reading) {
  return bank->mean[node * bank->tests->readings.count + reading];
}

/* The hypothesis of these causes, in whatever order; hypothesis_count if there is none. */
size_t practice_bank_find(const struct practice_bank *bank, size_t count, const enum cause *causes);

#endif
