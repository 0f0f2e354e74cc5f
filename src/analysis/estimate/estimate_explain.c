#include "analysis/estimate/estimate_compare.h"

#include "analysis/estimate/estimate_symptoms_words.h"
#include "base/attributes.h"
#include "base/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEADING 0.05 // probability from which a cause is spoken of by itself
enum { LEADING_MAX = 3, FOR_MAX = 3, AGAINST_MAX = 2 };
#define SPEAKS         1.0  // log of how many times likelier: less is not worth a word
#define ALIKE          0.1  // two causes both above this are not told apart
#define SMALL_FILM     0.15 // share of the gap: less is not felt before the controller has made it good
#define FILM_MENTIONED 0.2
#define AT_ODDS        2.0 // standard deviations of a reading from which it is at odds

/* The next sentence; the last one again where there is no room. */
static struct estimate_claim *begin(struct estimate_why *why) {
  if (why->count < ESTIMATE_SENTENCE_MAX) why->count++;
  struct estimate_claim *claim = &why->claims[why->count - 1];
  estimate_claim_begin(claim);
  return claim;
}

static int decimals_of(enum estimate_quantity quantity) {
  const double resolution = estimate_quantities[quantity].resolution;
  return resolution >= 1.0 ? 0 : resolution >= 0.1 ? 1 : 2;
}

static void say_likeliest(const struct estimate *e, struct estimate_why *why) {
  const struct estimate_hypothesis *h = &e->hypotheses[e->order[0]];
  struct estimate_claim *c = begin(why);
  char name[ESTIMATE_NAME_SIZE];
  estimate_hypothesis_name(h, name);
  if (h->fault.count == 0)
    estimate_claim_words(c, estimate_hypothesis_is_unlisted(h) ? "Likeliest is something that is not listed here: "
                                                               : "Likeliest is that nothing is wrong: ");
  else {
    estimate_claim_words(c, "Likeliest is this: ");
    for (size_t i = 0; i < h->fault.count; i++) {
      if (i) estimate_claim_words(c, " together with ");
      estimate_claim_text(c, cause_rows[h->fault.cause[i]].text, "text:cause");
    }
    estimate_claim_words(c, ", ");
  }
  estimate_claim_share(c, h->probability, "causes[%s].probability", name);
  for (size_t i = 0; i < h->fault.count && !estimate_hypothesis_is_unlisted(h); i++) {
    estimate_claim_words(c, "%s%s ", i ? ", " : "; ", cause_rows[h->fault.cause[i]].condition);
    estimate_claim_interval(c, h->mean[i], h->low[i], h->high[i], "causes[%s].%s", name, i ? "second_severity" : "severity");
  }
  estimate_claim_words(c, ".");
}

static void say_film(const struct estimate *e, struct estimate_why *why) {
  if (e->film_probability < FILM_MENTIONED) return;
  struct estimate_claim *c = begin(why);
  estimate_claim_words(c, "The film takes ");
  estimate_claim_interval(c, 100.0 * e->area.best_ratio, 100.0 * e->area.low_ratio, 100.0 * e->area.high_ratio, "area_loss_pct");
  estimate_claim_words(c, " %% of the air's area where the engine idles now, if there is one; that is ");
  estimate_claim_interval(c, e->film_best_um, e->film_low_um, e->film_high_um, "film_um");
  estimate_claim_words(c, " um if its ring is some ");
  estimate_claim_number(c, 2e3 * e->problem.engine->plant.throttle.film_shape.band_half_width_m, 0, "rule:band_mm");
  estimate_claim_words(c, " mm wide.");
}

/* "tp_pct@idle is 12.9, 1.5 above expected (11.4, spread 0.5); an average car with film shows 13.0": not this car, whose own deviations
 * take part of what was read. */
static void say_reading(const struct estimate *e, size_t j, const char *name, const struct estimate_comparison *good,
                        const struct estimate_comparison *cause, bool speaks_for, struct estimate_why *why) {
  const struct estimate_reading *r = &e->problem.readings->readings[j];
  const char *quantity = estimate_quantities[r->quantity].name, *condition = estimate_conditions[r->condition].name;
  const int d = decimals_of(r->quantity);
  struct estimate_claim *c = begin(why);
  estimate_claim_words(c, "%s %s: %s@%s is ", speaks_for ? "For" : "Against", name, quantity, condition);
  estimate_claim_number(c, r->value, d, "readings[%s@%s].value", quantity, condition);
  estimate_claim_words(c, "; a good car shows ");
  estimate_claim_number(c, good->expected, d, "readings[%s@%s].expected[nothing].value", quantity, condition);
  estimate_claim_words(c, ", plus or minus ");
  estimate_claim_number(c, good->spread, d + 1, "readings[%s@%s].expected[nothing].spread", quantity, condition);
  estimate_claim_words(c, ", an average one with %s ", name);
  estimate_claim_number(c, cause->expected, d, "readings[%s@%s].expected[%s].value", quantity, condition, name);
  estimate_claim_words(c, ".");
}

/* The readings that speak most for a cause (sign 1) or against it (-1). */
static void say_side(const struct estimate *e, const char *name, const struct estimate_comparison *good,
                     const struct estimate_comparison *cause, const struct estimate_comparison *rival, int sign, int most,
                     struct estimate_why *why) {
  bool told[ESTIMATE_READING_MAX] = {false};
  for (int i = 0; i < most; i++) {
    size_t best = e->problem.readings->count;
    double weight = SPEAKS;
    for (size_t j = 0; j < e->problem.readings->count; j++) {
      // against: what the leading cause explains better
      const double here = sign > 0 ? cause[j].weight : rival[j].weight - cause[j].weight;
      if (told[j] || !(here > weight)) continue;
      weight = here;
      best = j;
    }
    if (best == e->problem.readings->count) return;
    told[best] = true;
    say_reading(e, best, name, &good[best], &cause[best], sign > 0, why);
  }
}

static enum status say_leading(const struct estimate *e, struct estimate_why *why, struct error *error) {
  static const struct estimate_comparison none[ESTIMATE_READING_MAX]; // weight 0: nothing speaks
  struct estimate_comparison good[ESTIMATE_READING_MAX], first[ESTIMATE_READING_MAX], cause[ESTIMATE_READING_MAX];
  enum status status = estimate_compare(e, 0, good, error);
  for (size_t i = 0; status == STATUS_OK && i < LEADING_MAX && i < e->count; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[e->order[i]];
    if (i > 0 && h->probability <= ESTIMATE_COMPARED_LEAST) break;
    if (h->fault.count == 0 || estimate_hypothesis_is_unlisted(h)) continue;
    char name[ESTIMATE_NAME_SIZE];
    estimate_hypothesis_name(h, name);
    status = estimate_compare(e, e->order[i], i == 0 ? first : cause, error);
    if (status != STATUS_OK) continue;
    const struct estimate_comparison *here = i == 0 ? first : cause;
    const bool has_first =
        i > 0 && e->hypotheses[e->order[0]].fault.count > 0 && !estimate_hypothesis_is_unlisted(&e->hypotheses[e->order[0]]);
    if (h->probability >= LEADING) say_side(e, name, good, here, none, 1, FOR_MAX, why);
    say_side(e, name, good, here, has_first ? first : none, -1, AGAINST_MAX, why);
  }
  return status;
}

static void say_alike(const struct estimate *e, struct estimate_why *why) {
  const struct estimate_hypothesis *a = &e->hypotheses[e->order[0]], *b = estimate_compare_rival(e);
  if (!b || b->probability < ALIKE) return;
  char first[ESTIMATE_NAME_SIZE], second[ESTIMATE_NAME_SIZE];
  estimate_hypothesis_name(a, first);
  estimate_hypothesis_name(b, second);
  struct estimate_claim *c = begin(why);
  estimate_claim_words(c, "These readings do not tell %s from %s (", first, second);
  estimate_claim_share(c, a->probability, "causes[%s].probability", first);
  estimate_claim_words(c, " against ");
  estimate_claim_share(c, b->probability, "causes[%s].probability", second);
  estimate_claim_words(c, "): do not change parts on them, measure what separates the two.");
}

size_t estimate_explain_odds(const struct estimate *e, struct estimate_odd odds[ESTIMATE_ODD_MAX]) {
  size_t fits = 0, count = 0;
  for (size_t i = 1; i < e->count; i++)
    if (!estimate_hypothesis_is_unlisted(&e->hypotheses[i]) && e->hypotheses[i].p_value > e->hypotheses[fits].p_value) fits = i;
  const struct estimate_hypothesis *h = &e->hypotheses[fits];
  const struct estimate_fit *fit = &h->nodes[h->best].fit;
  const size_t readings = e->problem.readings->count;
  double residual[ESTIMATE_READING_MAX];
  if (fit->possible) estimate_fit_residuals(&e->problem, fit->z, fit->expected, residual);
  for (size_t j = 0; fit->possible && j < readings; j++) {
    const struct estimate_reading *r = &e->problem.readings->readings[j];
    const double sd = e->problem.discrepancy ? sqrt(e->problem.discrepancy->covariance[j * readings + j]) : r->sd;
    const struct estimate_odd odd = {j, r->value - residual[j], residual[j] / sd};
    if (!(fabs(odd.off) > AT_ODDS)) continue;
    size_t place = count < ESTIMATE_ODD_MAX ? count++ : ESTIMATE_ODD_MAX;
    for (; place > 0 && fabs(odds[place - 1].off) < fabs(odd.off); place--)
      if (place < ESTIMATE_ODD_MAX) odds[place] = odds[place - 1];
    if (place < ESTIMATE_ODD_MAX) odds[place] = odd;
  }
  return count;
}

/* "Likeliest" of what does not explain anything would be told as a finding: only the fit is, and what speaks against it. */
static void say_misfit(const struct estimate *e, struct estimate_why *why) {
  struct estimate_odd odds[ESTIMATE_ODD_MAX];
  struct estimate_claim *c = begin(why);
  estimate_claim_words(
      c, "None of these causes explains the readings: a car with the best of them would lie so far off by chance in "
         "less than ");
  estimate_claim_number(c, 100.0 * ESTIMATE_P_VALUE_LEAST, 0, "rule:fit_least_pct");
  estimate_claim_words(c, " of ");
  estimate_claim_number(c, 100.0, 0, "rule:hundred");
  estimate_claim_words(c, " cases. So none has a probability.");
  const size_t count = estimate_explain_odds(e, odds);
  for (size_t i = 0; i < count; i++) {
    const struct estimate_reading *r = &e->problem.readings->readings[odds[i].reading];
    const char *quantity = estimate_quantities[r->quantity].name, *condition = estimate_conditions[r->condition].name;
    const int d = estimate_claim_decimals_apart(r->value, odds[i].expected, decimals_of(r->quantity));
    c = begin(why);
    estimate_claim_words(c, "%s at odds is %s@%s: read ", i ? "Also" : "Most", quantity, condition);
    estimate_claim_number(c, r->value, d, "readings[%s@%s].value", quantity, condition);
    estimate_claim_words(c, " where the rest of the readings leave room for ");
    estimate_claim_number(c, odds[i].expected, d, "at_odds[%s@%s].expected", quantity, condition);
    estimate_claim_words(c, ". Read it again, and look at its condition.");
  }
}

static void say_fit(const struct estimate *e, struct estimate_why *why) {
  if (e->problem.readings->count == 0) return;
  struct estimate_claim *c = begin(why);
  estimate_claim_words(c, "The readings fit: cars with the best-fitting cause would lie further off by chance in ");
  estimate_claim_number(c, 100.0 * e->p_value, 0, "fit.p_value");
  estimate_claim_words(c, " of ");
  estimate_claim_number(c, 100.0, 0, "rule:hundred");
  estimate_claim_words(c, " cases.");
}

/* Whether a film is small in all of its interval: what lies across is not told. */
static bool surely_small(const struct estimate *e) { return e->area.high_ratio < SMALL_FILM; }

static void say_cleaning(const struct estimate *e, struct estimate_why *why) {
  const struct estimate_hypothesis *h = &e->hypotheses[e->order[0]];
  const int film = estimate_hypothesis_place(h, CAUSE_film);
  if (estimate_compare_share(e, h) < 1.0 - ALIKE) return; // nothing is told of a cure before the cause is
  const bool small = film >= 0 && surely_small(e);
  if (film >= 0 && (h->fault.count == 2 || small)) {
    struct estimate_claim *c = begin(why);
    if (small) {
      estimate_claim_words(c, "The film is there but small (at most ");
      estimate_claim_number(c, 100.0 * e->area.high_ratio, 0, "area_loss_pct.high");
      estimate_claim_words(c, " %% of the gap): ");
    }
    if (h->fault.count == 2)
      estimate_claim_words(c,
                           small ? "cleaning will not cure this; %s is what has to be repaired."
                                 : "Cleaning alone will not cure this: %s stays.",
                           cause_rows[h->fault.cause[film == 0 ? 1 : 0]].text);
    else
      estimate_claim_words(c, "the controller compensates for it, and cleaning will not cure a complaint.");
  } else if (film < 0 && h->fault.count == 1 && !estimate_hypothesis_is_unlisted(h) && e->film_probability < ALIKE) {
    struct estimate_claim *c = begin(why);
    estimate_claim_words(c, "No film is needed to explain this (");
    estimate_claim_share(c, e->film_probability, "film_um.probability");
    estimate_claim_words(c, "): cleaning will not cure it.");
  }
}

static void say_baseline(const struct estimate *e, struct estimate_why *why) {
  if (isnan(e->baseline_p_value) && estimate_knows_car(e)) return;
  if (!isnan(e->baseline_p_value) && e->baseline_p_value >= ESTIMATE_P_VALUE_LEAST) return;
  struct estimate_claim *c = begin(why);
  if (isnan(e->baseline_p_value)) {
    estimate_claim_words(
        c, "Without readings of this car from when it was good, how cars of a kind differ is part of every figure here.");
    return;
  }
  estimate_claim_words(c, "The baseline does not look like a good car of this kind (so bad a fit is chance in less than ");
  estimate_claim_number(c, 100.0 * ESTIMATE_P_VALUE_LEAST, 0, "rule:fit_least_pct");
  estimate_claim_words(c, " of ");
  estimate_claim_number(c, 100.0, 0, "rule:hundred");
  estimate_claim_words(c, " cases): was something wrong then already?");
}

enum status estimate_explain(const struct estimate *e, struct estimate_why *why, struct error *error) {
  memset(why, 0, sizeof *why);
  estimate_symptoms_words(e, why);
  why->symptom_count = why->count;
  enum status status = STATUS_OK;
  if (e->p_value >= ESTIMATE_P_VALUE_LEAST) {
    say_likeliest(e, why);
    say_film(e, why);
    status = say_leading(e, why, error);
    say_alike(e, why);
    say_fit(e, why);
    say_cleaning(e, why);
  } else
    say_misfit(e, why);
  say_baseline(e, why);
  return status;
}
