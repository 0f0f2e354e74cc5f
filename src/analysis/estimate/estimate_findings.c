#include "analysis/estimate/estimate_findings.h"

#include "base/attributes.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

enum { TEST_MAX = 8, SEEN_ENOUGH = 5 }; // from fewer signals nobody can say what a scan tool does not show; our own choice

/* What a scan tool shows: what the wish says, else what it has shown so far, once it has shown enough to judge by. */
static void find_shown(const struct estimate *e, const struct estimate_findings_wish *wish, struct estimate_next_wish *next) {
  if (wish && wish->limited) {
    next->limited = true;
    memcpy(next->shown, wish->shown, sizeof next->shown);
    return;
  }
  size_t count = 0;
  for (size_t i = 0; i < e->problem.readings->count; i++) {
    const enum estimate_quantity quantity = e->problem.readings->readings[i].quantity;
    if (estimate_quantities[quantity].instrument != ESTIMATE_STREAM || next->shown[quantity]) continue;
    next->shown[quantity] = true;
    count++;
  }
  next->limited = count >= SEEN_ENOUGH;
}

enum status estimate_findings_init(struct estimate_findings *findings, const struct estimate *e,
                                   const struct estimate_findings_wish *wish, struct error *error) {
  memset(findings, 0, sizeof *findings);
  findings->estimate = e;
  findings->curve = wish ? wish->curve : NULL;
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    for (size_t i = 0; i < e->problem.readings->count; i++)
      if ((int)e->problem.readings->readings[i].condition == c) findings->order[findings->reading_count++] = i;
  findings->leading[findings->leading_count++] = 0;
  for (size_t i = 0; i < e->count && findings->leading_count < ESTIMATE_FINDINGS_LEADING_MAX; i++)
    if (e->order[i] != 0 && (findings->leading_count == 1 || e->hypotheses[e->order[i]].probability > ESTIMATE_COMPARED_LEAST))
      findings->leading[findings->leading_count++] = e->order[i];
  enum status status = estimate_explain(e, &findings->why, error);
  struct remedy_costs costs;
  remedy_costs_default(&costs);
  estimate_decide_init(&findings->decide, e, wish && wish->costs ? wish->costs : &costs);
  findings->wish.decide = &findings->decide;
  find_shown(e, wish, &findings->wish);
  findings->wish.for_each = wish ? wish->for_each : NULL;
  findings->listed = wish && wish->limited;
  if (status == STATUS_OK) status = estimate_next(e, &findings->wish, &findings->next, error);
  if (status == STATUS_OK) estimate_steps_init(&findings->steps, e, &findings->decide, &findings->next);
  findings->odd_count = e->p_value < ESTIMATE_P_VALUE_LEAST ? estimate_explain_odds(e, findings->odds) : 0;
  if (status == STATUS_OK) status = estimate_after(e, &findings->after, error);
  for (size_t i = 0; status == STATUS_OK && i < findings->leading_count; i++)
    status = estimate_compare(e, findings->leading[i], findings->comparisons[i], error);
  findings->area_loss_best_pct = 100.0 * e->area.best_ratio;
  findings->area_loss_low_pct = 100.0 * e->area.low_ratio;
  findings->area_loss_high_pct = 100.0 * e->area.high_ratio;
  return status;
}

int estimate_findings_decimals(enum estimate_quantity quantity) {
  const struct estimate_quantity_row *row = &estimate_quantities[quantity];
  return row->resolution >= 1.0 || row->flicker >= 4.0 ? 0 : row->resolution >= 0.1 ? 1 : 2;
}

size_t estimate_findings_next_count(const struct estimate_findings *findings) {
  return findings->next.count < TEST_MAX ? findings->next.count : TEST_MAX;
}

static bool was_read(const struct estimate *e, unsigned conditions) { return (e->problem.conditions & conditions) != 0; }

static bool has_reading(const struct estimate *e, enum estimate_quantity quantity) {
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    if (estimate_readings_find(e->problem.readings, quantity, (enum estimate_condition)c)) return true;
  return false;
}

size_t estimate_findings_limits(const struct estimate *e, const char *limits[ESTIMATE_FINDINGS_LIMIT_MAX]) {
  size_t count = 0;
  if (e->problem.readings->left_out > 0)
    limits[count++] =
        "Calculated load, relative position or the position with the key on were left out: what this car's scan tool means by "
        "them is not known (group 'scan' of the engine file, load_means and the like on a card).";
  if (!estimate_knows_car(e) && !has_reading(e, ESTIMATE_QUANTITY_closed_gap_mm2))
    limits[count++] =
        "A film and a blade that shuts further than those of most cars look alike from outside: readings of this car "
        "when it was good (--baseline), or light through the closed gap, tell them apart.";
  if (!was_read(e, ~(unsigned)(ESTIMATE_AT(idle) | ESTIMATE_AT(key_on))))
    limits[count++] =
        "Read at idle alone, causes that take or bring the same air look alike; the same readings at 2500 rpm and with "
        "a load tell more of them apart.";
  if (!e->pairs_tried)
    limits[count++] = "One cause at a time was tried, as one explains the readings; --pairs tries two together as well.";
  limits[count++] =
      "A vacuum leak stands for hoses, gaskets and brake booster alike, and a film for deposit on wall and blade: nothing "
      "read from outside tells those apart.";
  limits[count++] =
      "Only the causes in the list were tried, as steady faults of a running engine. Faults that come and go, or that "
      "set their own code, are not among them.";
  limits[count++] = "The car is taken as one of the kind that the engine file describes, within the differences in its group "
                    "'scatter'. It is a model, and not this car.";
  return count;
}

unsigned estimate_findings_after_cautions(const struct estimate_findings *findings) {
  const unsigned steps = CAUTION_STEP_clean_bore | CAUTION_STEP_blade | CAUTION_STEP_unplug | CAUTION_STEP_relearn;
  return findings->after.applies ? caution_for(steps, engine_features(findings->estimate->problem.engine)) : 0;
}

unsigned estimate_findings_cautions(const struct estimate_findings *findings, size_t test_count) {
  unsigned cautions = caution_for(CAUTION_STEP_run, engine_features(findings->estimate->problem.engine));
  for (size_t i = 0; i < test_count; i++) cautions |= findings->next.tests[i].cautions;
  return cautions | estimate_findings_after_cautions(findings);
}
