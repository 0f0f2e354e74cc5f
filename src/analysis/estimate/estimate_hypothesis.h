/* One cause, or two, that readings may have: the severities at which it was fitted, and what came of that. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_HYPOTHESIS_H
#define ANALYSIS_ESTIMATE_ESTIMATE_HYPOTHESIS_H

#include "analysis/estimate/estimate_fit.h"

#define ESTIMATE_INTERVAL 0.9 // probability inside the intervals told

enum { ESTIMATE_NODE_MAX = 64 };

/* One severity, or pair of severities, of a hypothesis. */
struct estimate_node {
  double share[ESTIMATE_CAUSE_MAX];
  double mass; // share of the hypothesis' posterior, sums to 1 over the nodes
  bool full;   // fitted with slopes of its own
  struct estimate_fit fit;
};

/* One cause, or two. */
struct estimate_hypothesis {
  struct estimate_fault fault; // severities: the likeliest
  double prior;                // probability before the readings
  double log_evidence;         // -INFINITY: cannot be
  double probability;
  double low[ESTIMATE_CAUSE_MAX], high[ESTIMATE_CAUSE_MAX],
      mean[ESTIMATE_CAUSE_MAX]; // severity, ESTIMATE_INTERVAL; mean within it
  double chi2, p_value;         // at the likeliest severity: how often so bad a fit is mere chance
  size_t node_count, best;      // index of the likeliest node
  struct estimate_node nodes[ESTIMATE_NODE_MAX];
  struct estimate_slopes slopes; // at the likeliest node
  // of the deviations in use, at the likeliest of the nodes that are full, and that node's log likelihood; -INFINITY: none yet
  double covariance[SCATTER_COUNT * SCATTER_COUNT];
  double covariance_of;
};

/* The severity at a share for the cause of this place in the hypothesis. */
double estimate_node_severity(const struct estimate_hypothesis *hypothesis, const struct estimate_node *node, size_t place);

/* The fault that a node stands for. */
struct estimate_fault estimate_node_fault(const struct estimate_hypothesis *hypothesis, const struct estimate_node *node);

/* What it is called after: the last of its causes; "nothing wrong" or what is not listed, if it has none. */
enum cause estimate_hypothesis_cause(const struct estimate_hypothesis *hypothesis);

/* True for what is not listed. */
bool estimate_hypothesis_is_unlisted(const struct estimate_hypothesis *hypothesis);

/* Place of a cause in a hypothesis, -1 if it is not there. */
int estimate_hypothesis_place(const struct estimate_hypothesis *hypothesis, enum cause cause);

/* "film", "film and drag", "nothing". */
enum { ESTIMATE_NAME_SIZE = 80 };
void estimate_hypothesis_name(const struct estimate_hypothesis *hypothesis, char name[ESTIMATE_NAME_SIZE]);

#endif
