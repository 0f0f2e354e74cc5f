#include "analysis/compare/compare_outlook.h"

#include "analysis/compare/compare_effects.h"

#include <math.h>

#define FILM_PROBABILITY 0.5  // of a film before, from which on its outlook is held against the readings
#define WHOLE            0.85 // share won back that counts as all of it; invented
#define DOUBTFUL_SD      0.35 // of that share: beyond, it tells nothing
#define WIDER            0.55 // from the 90 % interval of the outlook to 99 %, half widths: 2.58 / 1.645 - 1

const struct estimate_after_reading *compare_outlook_find(const struct compare_model *model, enum estimate_quantity quantity) {
  if (!model->known || !model->explained || !model->after.applies || model->film_probability < FILM_PROBABILITY) return NULL;
  for (size_t i = 0; i < model->after.count; i++)
    if (model->after.readings[i].quantity == quantity && model->after.readings[i].condition == ESTIMATE_CONDITION_idle)
      return &model->after.readings[i];
  return NULL;
}

static const enum estimate_quantity held[] = {ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_QUANTITY_tp_pct,
                                              ESTIMATE_QUANTITY_bypass_steps, ESTIMATE_QUANTITY_maf_gps,
                                              ESTIMATE_QUANTITY_idle_air_pct};

static void add_expected(const struct compare_model *model, bool stale, const struct compare_effect *e,
                         struct compare_result *result) {
  const struct estimate_after_reading *reading = compare_outlook_find(model, e->quantity);
  if (!reading) return;
  const struct estimate_range *range = stale ? &reading->stale : &reading->relearned;
  const double day = COMPARE_EFFECTS_90 * hypot(hypot(compare_rows_day_sd(e->quantity, e->after, true),
                                                      compare_rows_load_sd(e->condition, e->quantity, e->after)),
                                                e->unequal);
  const double wider = WIDER * 0.5 * (range->high - range->low) + day;
  struct compare_expected *x = &result->expected[result->expected_count++];
  *x = (struct compare_expected){e->quantity, range->low - wider, range->high + wider, e->after, false};
  x->met = x->after >= x->low && x->after <= x->high;
}

/* Share of what the film took that came back, by one reading: what changed over what relearning a clean bore lets change. */
static void add_share(const struct compare_model *model, const struct compare_effect *e, double *weight, double *sum) {
  const struct estimate_after_reading *reading = compare_outlook_find(model, e->quantity);
  if (!reading || !(compare_rows_opening_least(e->quantity) > 0.0)) return;
  const double change = reading->relearned.middle - reading->now.middle;
  if (!(fabs(change) > compare_rows_opening_least(e->quantity))) return;
  const double film = (model->lost_high_ratio - model->lost_low_ratio) / (2.0 * COMPARE_EFFECTS_90 * model->lost_ratio);
  const double share = e->change / change, sd = hypot(e->sd / change, share * film);
  if (!isfinite(share) || !isfinite(sd)) return;
  *weight += 1.0 / (sd * sd);
  *sum += share / (sd * sd);
}

enum compare_outlook_answer compare_outlook_hold(const struct compare_model *model, bool stale, struct compare_result *result) {
  double weight = 0.0, sum = 0.0, film = 0.0;
  result->expects_stale = stale;
  for (size_t i = 0; i < sizeof held / sizeof held[0]; i++) {
    const struct compare_effect *e = compare_effect_find(result, ESTIMATE_CONDITION_idle, held[i]);
    if (!e) continue;
    add_expected(model, stale, e, result);
    add_share(model, e, &weight, &sum);
  }
  result->expects = result->expected_count > 0;
  if (!result->expects) return COMPARE_OUTLOOK_NONE;
  film = (model->lost_high_ratio - model->lost_low_ratio) / (2.0 * COMPARE_EFFECTS_90 * model->lost_ratio);
  bool above = false, all = true;
  for (size_t i = 0; i < result->expected_count; i++) {
    const struct compare_expected *x = &result->expected[i];
    above = above || (compare_rows_opening_least(x->quantity) > 0.0 && x->after > x->high);
    all = all && x->met;
  }
  if (stale || !(weight > 0.0)) return all ? COMPARE_OUTLOOK_MET : COMPARE_OUTLOOK_NONE;
  // readings of one car share the doubt about its film
  const double share = sum / weight, sd = fmax(sqrt(1.0 / weight), fabs(share) * film);
  result->won_ratio = share;
  result->won_low_ratio = share - COMPARE_EFFECTS_90 * sd;
  result->won_high_ratio = share + COMPARE_EFFECTS_90 * sd;
  result->won_known = sd < DOUBTFUL_SD;
  if (above || result->won_high_ratio < WHOLE) {
    compare_effects_say(
        &result->why, "Less air came back than expected from the film before: part of it is still there, or it was not a film.");
    return COMPARE_OUTLOOK_SHORT;
  }
  if (!result->won_known || share < WHOLE - sd) return COMPARE_OUTLOOK_NONE;
  if (all) compare_effects_say(&result->why, "The readings after are as expected of this car, cleaned and relearned.");
  return all ? COMPARE_OUTLOOK_MET : COMPARE_OUTLOOK_NONE;
}
