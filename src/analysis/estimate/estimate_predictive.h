/* The predictive distribution: what would be read, were it measured. A mixture of normals for one hypothesis, from the posterior of its severity and of the
 * car's deviations. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_PREDICTIVE_H
#define ANALYSIS_ESTIMATE_ESTIMATE_PREDICTIVE_H

#include "analysis/estimate/estimate.h"

enum { ESTIMATE_PREDICTIVE_NODE_MAX = 7 };

/* What becomes of the car before it is read. */
enum estimate_change {
  ESTIMATE_AS_IT_IS,
  ESTIMATE_CLEANED_STALE, // film gone, learned offset still what it was
  ESTIMATE_CLEANED_RELEARNED,
};

struct estimate_predictive {
  bool possible;
  size_t node_count;
  double mass[ESTIMATE_PREDICTIVE_NODE_MAX]; // sums to 1
  double mean[ESTIMATE_PREDICTIVE_NODE_MAX][ESTIMATE_READING_MAX];
  double learned_pct[ESTIMATE_PREDICTIVE_NODE_MAX];               // before the change
  bool runs[ESTIMATE_PREDICTIVE_NODE_MAX];                        // it can be read there
  struct estimate_slopes slopes;                                  // at the likeliest node
  double covariance[ESTIMATE_READING_MAX * ESTIMATE_READING_MAX]; // of what is read, given a node; count x count
};

/* wanted: what is to be read; values are ignored, sds are those of the readings to come. step_slopes: slopes of load steps are
 * computed too, which takes long. */
void estimate_predictive(const struct estimate *estimate, size_t hypothesis, struct estimate_forward *forward,
                         const struct estimate_readings *wanted, enum estimate_change change, bool step_slopes,
                         struct estimate_predictive *predictive);

/* Every quantity that this engine has at a condition, each with its own sd at the size it has on a good car. */
void estimate_predictive_everything(const struct estimate *estimate, struct estimate_forward *forward,
                                    struct estimate_readings *wanted);

/* How much one reading tells of which of the two it is, if both are alike likely; bits, 0 where either does not show it. Each is taken for a normal. */
double estimate_predictive_apart_bits(const struct estimate_predictive *a, const struct estimate_predictive *b, size_t reading,
                                      size_t wanted_count);

#endif
