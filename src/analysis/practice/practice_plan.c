#include "analysis/practice/practice_plan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_BITS 0.03 // a gain nobody would go for

size_t practice_plan_truth(const struct practice_bank *bank, const struct practice_case *drawn) {
  return practice_bank_find(bank, drawn->fault.count, drawn->fault.cause);
}

/* PRACTICE_TEST_MAX: none is worth it. */
static size_t choose(const struct practice_tests *tests, const struct practice_next *next, bool told) {
  size_t cheapest = PRACTICE_TEST_MAX, telling = PRACTICE_TEST_MAX;
  for (size_t i = 0; i < tests->count; i++) {
    const struct practice_worth *worth = &next->worth[i];
    if (isnan(worth->cost) || worth->gain_bits < LEAST_BITS) continue;
    if (cheapest == PRACTICE_TEST_MAX || worth->cost < next->worth[cheapest].cost) cheapest = i;
    if (telling == PRACTICE_TEST_MAX ||
        worth->gain_bits / tests->tests[i].what.minutes > next->worth[telling].gain_bits / tests->tests[telling].what.minutes)
      telling = i;
  }
  if (told) return PRACTICE_TEST_MAX;
  return cheapest < PRACTICE_TEST_MAX && next->worth[cheapest].cost < next->cost_now ? cheapest : telling;
}

static enum status go(const struct practice_case *drawn, struct practice_belief *belief, struct practice_next *next,
                      struct practice_plan *plan, struct error *error) {
  const struct practice_bank *bank = practice_belief_bank(belief);
  const size_t truth = practice_plan_truth(bank, drawn);
  bool done[PRACTICE_TEST_MAX] = {false};
  enum status status = STATUS_OK;
  for (;;) {
    practice_belief_hypotheses(belief, next->probability);
    plan->likeliest = practice_belief_likeliest(next->probability, bank->hypothesis_count);
    plan->probability = next->probability[plan->likeliest];
    plan->told = plan->count > 0 && plan->probability >= PRACTICE_TOLD; // nobody answers without a look at the car
    if (plan->count > 0) {
      struct practice_step *last = &plan->steps[plan->count - 1];
      last->likeliest = plan->likeliest;
      last->probability = plan->probability;
      last->truth_after = next->probability[truth];
    }
    if (plan->told || plan->count == PRACTICE_PLAN_MAX) return status;
    status = practice_next_find(belief, PRACTICE_TEST_MAX, done, next, error);
    const size_t test = status == STATUS_OK ? choose(bank->tests, next, plan->told) : PRACTICE_TEST_MAX;
    if (test == PRACTICE_TEST_MAX) return status;
    struct practice_step *step = &plan->steps[plan->count++];
    *step = (struct practice_step){.minutes = bank->tests->tests[test].what.minutes,
                                   .gain_bits = next->worth[test].gain_bits,
                                   .cost = next->worth[test].cost,
                                   .truth_before = next->probability[truth]};
    practice_case_measure(drawn, bank->tests, test, 0, &step->result);
    practice_belief_add(belief, &step->result);
    plan->minutes += step->minutes;
    done[test] = true;
  }
}

enum status practice_plan_find(const struct practice_bank *bank, const struct practice_case *drawn, struct practice_plan *plan,
                               struct error *error) {
  struct practice_belief *belief = NULL;
  struct practice_next *next = calloc(1, sizeof *next);
  memset(plan, 0, sizeof *plan);
  enum status status = next ? practice_belief_create(bank, drawn->complaint, drawn->codes, &belief, error)
                            : error_set(error, STATUS_NO_MEMORY, "out of memory for a practice case");
  if (status == STATUS_OK) status = go(drawn, belief, next, plan, error);
  for (size_t i = 0; status == STATUS_OK && i < bank->hypotheses[plan->likeliest].fault.count; i++)
    practice_belief_severity(belief, plan->likeliest, i, &plan->share[i], &plan->half[i]);
  practice_belief_destroy(belief);
  free(next);
  return status;
}
