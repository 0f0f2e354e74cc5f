#include "analysis/estimate/estimate_steps.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void insert(struct estimate_steps *steps, const struct estimate_step *step) {
  size_t place = steps->count++;
  for (; place > 0 && steps->steps[place - 1].cost > step->cost; place--) steps->steps[place] = steps->steps[place - 1];
  steps->steps[place] = *step;
}

/* Names and texts of all remedies of an action. */
static void name_mending(uint64_t remedies, struct estimate_step *step) {
  size_t name = 0, text = 0;
  for (size_t i = 0; i < REMEDY_COUNT; i++) {
    if (!((remedies >> i) & 1u)) continue;
    if (name < sizeof step->name)
      name += (size_t)snprintf(step->name + name, sizeof step->name - name, "%s%s", name ? "+" : "", remedy_rows[i].name);
    if (text < sizeof step->text)
      text += (size_t)snprintf(step->text + text, sizeof step->text - text, "%s%s", text ? "; and " : "", remedy_rows[i].text);
  }
}

static void add_actions(const struct estimate_decide *d, struct estimate_steps *steps) {
  for (size_t a = 0; a < d->action_count; a++) {
    struct estimate_step step = {.cost = estimate_decide_expected(d, d->probability, a), .own = d->actions[a].cost, .action = a};
    step.kind = a == ESTIMATE_DECIDE_BACK     ? ESTIMATE_STEP_BACK
                : a == ESTIMATE_DECIDE_SEARCH ? ESTIMATE_STEP_SEARCH
                                              : ESTIMATE_STEP_MEND;
    if (step.kind == ESTIMATE_STEP_MEND)
      name_mending(d->actions[a].remedies, &step);
    else if (step.kind == ESTIMATE_STEP_SEARCH) {
      snprintf(step.name, sizeof step.name, "search");
      snprintf(step.text, sizeof step.text, "search by hand, by the maker's fault tree");
    } else {
      snprintf(step.name, sizeof step.name, "hand_back");
      snprintf(step.text, sizeof step.text, "repair nothing");
    }
    insert(steps, &step);
  }
}

static struct estimate_step look_step(const struct estimate_decide *d, const struct estimate_next_test *test) {
  struct estimate_step step = {.kind = ESTIMATE_STEP_LOOK,
                               .cost = test->cost,
                               .own = d->costs.minute * test->minutes,
                               .minutes = test->minutes,
                               .cautions = test->cautions,
                               .action = ESTIMATE_DECIDE_ACTION_MAX};
  snprintf(step.name, sizeof step.name, "%s", test->name);
  snprintf(step.text, sizeof step.text, "%s", test->text);
  return step;
}

/* Bits of the causes that an action mends. */
static uint64_t mended(uint64_t remedies) {
  uint64_t causes = 0;
  for (size_t c = 0; c < CAUSE_COUNT; c++) {
    const size_t row = remedy_of_cause(cause_rows[c].name);
    if (row < REMEDY_COUNT && ((remedies >> row) & 1u)) causes |= (uint64_t)1 << c;
  }
  return causes;
}

/* The look that confirms what the action mends: of those worth a bit the cheapest, else the one that finds its likeliest cause. */
static bool find_confirming(const struct estimate *e, const struct estimate_decide *d, const struct estimate_next *next,
                            uint64_t remedies, struct estimate_step *step) {
  const uint64_t causes = mended(remedies);
  bool found = false;
  for (size_t i = 0; i < next->count; i++) {
    const struct estimate_next_test *test = &next->tests[i];
    if (!(test->finds & causes) || (found && test->cost >= step->cost)) continue;
    *step = look_step(d, test);
    found = true;
  }
  for (size_t i = 0; i < e->count && !found; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[e->order[i]];
    struct estimate_next_test test;
    for (size_t k = h->fault.count; k-- > 0 && !found;) {
      if (!((causes >> h->fault.cause[k]) & 1u) || !estimate_next_confirm(e, h->fault.cause[k], d, &test)) continue;
      *step = look_step(d, &test);
      found = true;
    }
  }
  return found;
}

static bool needs_look(uint64_t remedies) {
  for (size_t i = 0; i < REMEDY_COUNT; i++)
    if (((remedies >> i) & 1u) && remedy_needs_look(i)) return true;
  return false;
}

void estimate_steps_init(struct estimate_steps *steps, const struct estimate *e, const struct estimate_decide *d,
                         const struct estimate_next *next) {
  memset(steps, 0, sizeof *steps);
  add_actions(d, steps);
  for (size_t i = 0; i < next->count; i++) {
    const struct estimate_step step = look_step(d, &next->tests[i]);
    if (!isnan(step.cost)) insert(steps, &step);
  }
  steps->chosen = steps->steps[0];
  if (steps->chosen.kind != ESTIMATE_STEP_MEND) return;
  const uint64_t remedies = d->actions[steps->chosen.action].remedies;
  snprintf(steps->mend, sizeof steps->mend, "%s", steps->chosen.text);
  if (needs_look(remedies)) steps->confirms = find_confirming(e, d, next, remedies, &steps->chosen);
}
