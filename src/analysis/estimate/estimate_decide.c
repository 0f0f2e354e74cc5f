#include "analysis/estimate/estimate_decide.h"

#include <math.h>
#include <string.h>

_Static_assert(REMEDY_COUNT <= 64, "a set of remedies is 64 bits");

static double cost_of(const struct remedy_costs *costs, uint64_t remedies) {
  double sum = 0.0;
  for (size_t i = 0; i < REMEDY_COUNT; i++)
    if ((remedies >> i) & 1u) sum += remedy_cost(costs, i);
  return sum;
}

void estimate_decide_begin(struct estimate_decide *d, const struct remedy_costs *costs) {
  memset(d, 0, sizeof *d);
  d->costs = *costs;
  d->action_count = 2;
  d->actions[ESTIMATE_DECIDE_SEARCH].cost = costs->minute * costs->search;
}

void estimate_decide_add(struct estimate_decide *d, double probability, uint64_t remedies, bool known) {
  size_t action = ESTIMATE_DECIDE_BACK;
  if (d->state_count == ESTIMATE_HYPOTHESIS_MAX) return;
  while (known && remedies && action < d->action_count && (action < 2 || d->actions[action].remedies != remedies)) action++;
  if (known && action == d->action_count && action < ESTIMATE_DECIDE_ACTION_MAX)
    d->actions[d->action_count++] = (struct estimate_action){remedies, cost_of(&d->costs, remedies)};
  d->probability[d->state_count] = probability;
  d->state[d->state_count++] = (struct estimate_state){remedies, known};
}

void estimate_decide_finish(struct estimate_decide *d) {
  const double missed = d->costs.comeback + d->costs.minute * d->costs.search;
  for (size_t a = 0; a < d->action_count; a++)
    for (size_t s = 0; s < d->state_count; s++) {
      const struct estimate_state *state = &d->state[s];
      const double mending = cost_of(&d->costs, state->remedies);
      const bool mends = state->known && (state->remedies & ~d->actions[a].remedies) == 0;
      if (a == ESTIMATE_DECIDE_SEARCH)
        d->cost[a][s] = d->actions[a].cost + mending;
      else
        d->cost[a][s] = d->actions[a].cost + (mends ? 0.0 : missed + mending);
    }
}

uint64_t estimate_decide_remedies(const struct estimate_hypothesis *h, bool *known) {
  uint64_t remedies = 0;
  *known = !estimate_hypothesis_is_unlisted(h);
  for (size_t i = 0; i < h->fault.count; i++) {
    const size_t row = h->fault.cause[i] == CAUSE_nothing ? REMEDY_COUNT : remedy_of_cause(cause_rows[h->fault.cause[i]].name);
    if (row == REMEDY_COUNT)
      *known = *known && h->fault.cause[i] == CAUSE_nothing;
    else if (remedy_rows[row].kind != REMEDY_NONE)
      remedies |= (uint64_t)1 << row;
  }
  return remedies;
}

void estimate_decide_init(struct estimate_decide *d, const struct estimate *e, const struct remedy_costs *costs) {
  estimate_decide_begin(d, costs);
  for (size_t i = 0; i < e->count; i++) { // actions for the likeliest first, as there is room for so many
    bool known;
    const uint64_t remedies = estimate_decide_remedies(&e->hypotheses[e->order[i]], &known);
    estimate_decide_add(d, 0.0, remedies, known);
  }
  for (size_t i = 0; i < e->count; i++) {
    bool known;
    const uint64_t remedies = estimate_decide_remedies(&e->hypotheses[i], &known);
    d->state[i] = (struct estimate_state){remedies, known};
    d->probability[i] = e->hypotheses[i].probability;
  }
  estimate_decide_finish(d);
}

double estimate_decide_expected(const struct estimate_decide *d, const double *weight, size_t action) {
  double sum = 0.0;
  for (size_t s = 0; s < d->state_count; s++) sum += weight[s] * d->cost[action][s];
  return sum;
}

double estimate_decide_least(const struct estimate_decide *d, const double *weight, size_t *action) {
  double least = INFINITY;
  for (size_t a = 0; a < d->action_count; a++) {
    const double sum = estimate_decide_expected(d, weight, a);
    if (!(sum < least)) continue;
    least = sum;
    if (action) *action = a;
  }
  return least;
}

double estimate_decide_after_look(const struct estimate_decide *d, const double *yes) {
  double if_yes[ESTIMATE_HYPOTHESIS_MAX], if_no[ESTIMATE_HYPOTHESIS_MAX];
  for (size_t s = 0; s < d->state_count; s++) {
    if_yes[s] = d->probability[s] * yes[s];
    if_no[s] = d->probability[s] * (1.0 - yes[s]);
  }
  return estimate_decide_least(d, if_yes, NULL) + estimate_decide_least(d, if_no, NULL);
}
