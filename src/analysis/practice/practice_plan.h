/* The best plan for a case: always the test that is worth most next, taken on this very car, until the cause is told or nothing more
 * would tell it. It knows no more than whoever measures.
 *
 * Next is the test with which the case is expected to come to least, if that is less than acting now; else, while the cause is not told,
 * the one that tells most a minute. */
#ifndef ANALYSIS_PRACTICE_PRACTICE_PLAN_H
#define ANALYSIS_PRACTICE_PRACTICE_PLAN_H

#include "analysis/practice/practice_next.h"

enum { PRACTICE_PLAN_MAX = 14 };

/* One test of a plan, or of what somebody did. */
struct practice_step {
  struct practice_result result;
  double minutes, gain_bits, cost;  // expected before it was done
  size_t likeliest;                 // hypothesis after it
  double probability;               // of that
  double truth_before, truth_after; // probability of what is hidden
};

struct practice_plan {
  size_t count;
  struct practice_step steps[PRACTICE_PLAN_MAX];
  double minutes;
  bool told;        // else it ends at "not told"
  size_t likeliest; // hypothesis
  double probability;
  double share[ESTIMATE_CAUSE_MAX], half[ESTIMATE_CAUSE_MAX]; // of the likeliest, as practice_belief_severity() has it
};

/* STATUS_NO_MEMORY. */
MUST_CHECK enum status practice_plan_find(const struct practice_bank *bank, const struct practice_case *drawn,
                                          struct practice_plan *plan, struct error *error);

/* The hypothesis that holds. */
size_t practice_plan_truth(const struct practice_bank *bank, const struct practice_case *drawn);

#endif
