/* What to do of least expected cost: mend something, look first, search by hand, or hand the car back.
 *
 *   cost(action, cause)   = cost of the action, and unless it mends the cause: a comeback, a search by hand, and the mending then
 *   expected(action)      = sum over causes of p(cause | y) cost(action, cause)
 *   expected(look, then)  = cost of the look + sum over its answers of p(answer) least over actions of expected(action | answer)
 *
 * One look ahead (H. Raiffa and R. Schlaifer, "Applied Statistical Decision Theory", 1961: preposterior analysis). "Something not
 * listed" is mended by a search alone. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_DECIDE_H
#define ANALYSIS_ESTIMATE_ESTIMATE_DECIDE_H

#include "analysis/estimate/estimate.h"
#include "car/remedy.h"

#include <stdint.h>

enum { ESTIMATE_DECIDE_ACTION_MAX = 24, ESTIMATE_DECIDE_BACK = 0, ESTIMATE_DECIDE_SEARCH = 1 };

/* One thing that can be done without looking further. */
struct estimate_action {
  uint64_t remedies; // bits of remedy rows; none: hand the car back, or search by hand
  double cost;       // of the action itself, money
};

/* What may be the case. */
struct estimate_state {
  uint64_t remedies; // that mend it; none: nothing is wrong with the car
  bool known;        // false: only a search finds it
};

struct estimate_decide {
  struct remedy_costs costs;
  size_t state_count; // hypotheses of the estimate, in its order of them
  double probability[ESTIMATE_HYPOTHESIS_MAX];
  struct estimate_state state[ESTIMATE_HYPOTHESIS_MAX];
  size_t action_count;
  struct estimate_action actions[ESTIMATE_DECIDE_ACTION_MAX];
  double cost[ESTIMATE_DECIDE_ACTION_MAX][ESTIMATE_HYPOTHESIS_MAX]; // all it comes to, money
};

/* No states yet; and one more. */
void estimate_decide_begin(struct estimate_decide *decide, const struct remedy_costs *costs);
void estimate_decide_add(struct estimate_decide *decide, double probability, uint64_t remedies, bool known);

/* To be called when all are in: actions, and what each comes to. */
void estimate_decide_finish(struct estimate_decide *decide);

/* All of that from an estimate. */
void estimate_decide_init(struct estimate_decide *decide, const struct estimate *estimate, const struct remedy_costs *costs);

/* Remedies of a hypothesis; known: false if it has a cause without one. */
uint64_t estimate_decide_remedies(const struct estimate_hypothesis *hypothesis, bool *known);

/* Sum over states of weight times the cost of an action. */
double estimate_decide_expected(const struct estimate_decide *decide, const double *weight, size_t action);

/* Least over actions of the sum over states of weight times cost, and which action that is (may be NULL). */
double estimate_decide_least(const struct estimate_decide *decide, const double *weight, size_t *action);

/* What it comes to if a look that says yes with these probabilities comes first, its own cost not counted. */
double estimate_decide_after_look(const struct estimate_decide *decide, const double *yes);

#endif
