/* What each test would be worth now: the bits it is expected to tell about the cause, and what the case is expected to come to if it
 * is done first (estimate_decide.h). Readings by sampling with fixed seeds, looks exactly. */
#ifndef ANALYSIS_PRACTICE_PRACTICE_NEXT_H
#define ANALYSIS_PRACTICE_PRACTICE_NEXT_H

#include "analysis/estimate/estimate_decide.h"
#include "analysis/practice/practice_belief.h"

/* A decision over the hypotheses, the likeliest by themselves, the others together as what only a search finds. */
struct practice_decision {
  struct estimate_decide decide;
  size_t hypothesis[ESTIMATE_HYPOTHESIS_MAX]; // of each state; the last state is all others
  size_t state[PRACTICE_HYPOTHESIS_MAX];      // of each hypothesis
};
void practice_next_decide(struct practice_decision *decision, const struct practice_bank *bank,
                          const double probability[PRACTICE_HYPOTHESIS_MAX]);

/* The remedies that mend a fault, bits of rows. */
uint64_t practice_next_remedies(const struct estimate_fault *fault);

struct practice_worth {
  double gain_bits;
  double cost; // minutes of the workshop, all it is expected to come to; NaN where it is not worked out
};

/* Large, so on the heap. */
struct practice_next {
  double probability[PRACTICE_HYPOTHESIS_MAX];
  double entropy_bits;
  double cost_now; // of acting without another test
  size_t action;   // that would be taken
  struct practice_decision decision;
  struct practice_worth worth[PRACTICE_TEST_MAX];
};

/* only: PRACTICE_TEST_MAX for all tests, else that one. done: bits of tests that are not looked at again; NULL: none. STATUS_NO_MEMORY. */
MUST_CHECK enum status practice_next_find(const struct practice_belief *belief, size_t only, const bool *done,
                                          struct practice_next *next, struct error *error);

#endif
