/* From readings to causes: how likely each is, how severe, and how well it explains what was read.
 *
 *   p(cause | y)            ~  rate(cause) * evidence(cause)
 *   evidence(cause)         =  integral over severity of p(y | severity) p(severity), numerically
 *   p(y | severity)            estimate_fit.h: the car's deviations integrated out
 *
 * Severity is integrated over its prior share, 0 to 1, on nodes that are added where the posterior is: its log is taken as
 * linear between nodes. Pairs are a film and one other cause, as if the two came independently: the product of their rates. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_H
#define ANALYSIS_ESTIMATE_ESTIMATE_H

#include "analysis/estimate/estimate_fit.h"
#include "base/for_each.h"

#define ESTIMATE_INTERVAL 0.9 // probability inside the intervals told

enum { ESTIMATE_NODE_MAX = 64, ESTIMATE_HYPOTHESIS_MAX = 2 * CAUSE_COUNT };

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

struct estimate_question {
  const struct engine *engine;
  struct estimate_setting setting;
  struct estimate_readings readings;
  struct estimate_setting baseline_setting;
  struct estimate_readings baseline; // of the same car when it was good; empty for none
  bool pairs;
};

struct estimate {
  const struct estimate_question *question;
  struct estimate_problem problem;
  double baseline_p_value; // NaN without a baseline
  size_t count;
  size_t order[ESTIMATE_HYPOTHESIS_MAX]; // of hypotheses, likeliest first
  double p_value;                        // of the hypothesis that fits best
  // the film, whatever stands beside it
  double film_probability;
  double film_best_um, film_low_um, film_high_um; // if there is one; best is the mean, within the two
  double clean_idle_rad;                          // blade angle at which the nominal clean engine idles
  struct estimate_hypothesis hypotheses[];        // [0] is "nothing wrong"; 0.1 MB each, as many as the question has
};

#define ESTIMATE_P_VALUE_LEAST 0.01 // below it, nothing here explains the readings

/* Large, so on the heap. STATUS_NO_MEMORY; STATUS_BAD_DATA if the baseline fits no good car, if an engine without prior rates is
 * asked about, or if no cause at all lets the engine do what was read. The question must outlive the answer. */
MUST_CHECK enum status estimate_create(const struct estimate_question *question, const struct for_each *for_each,
                                       struct estimate **estimate, struct error *error);
void estimate_destroy(struct estimate *estimate);

/* The severity at a share for the cause of this place in the hypothesis. */
double estimate_node_severity(const struct estimate_hypothesis *hypothesis, const struct estimate_node *node, size_t place);

/* The fault that a node stands for. */
struct estimate_fault estimate_node_fault(const struct estimate_hypothesis *hypothesis, const struct estimate_node *node);

/* Place of a cause in a hypothesis, -1 if it is not there. */
int estimate_hypothesis_place(const struct estimate_hypothesis *hypothesis, enum cause cause);

/* "film", "film and drag", "nothing". */
enum { ESTIMATE_NAME_SIZE = 80 };
void estimate_hypothesis_name(const struct estimate_hypothesis *hypothesis, char name[ESTIMATE_NAME_SIZE]);

/* Share of the gap's area that a film takes where the nominal clean engine idles, 0 to 1. */
double estimate_area_loss_ratio(const struct estimate *estimate, double film_m);

#endif
