#include "analysis/estimate/estimate_brief.h"

#include "base/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define TOLD        0.8 // probability from which a cause is named alone; our own choice
#define RIVAL       0.1 // and none beside it may be likelier than this
#define FEW         4 // from fewer readings no cause is named: those that were not tried, and other cars, read the same; our own choice
#define APART       0.2 // bits of the one that tells two apart, from which a test is named for that; our own choice
#define LEARNED_PCT 1.0 // less is nothing learned
enum { EXPECTED_MAX = 3 };

static const struct estimate_hypothesis *likeliest(const struct estimate *e, size_t place) {
  return &e->hypotheses[e->order[place]];
}

static const struct estimate_hypothesis *unlisted(const struct estimate *e) {
  for (size_t i = 0; i < e->count; i++)
    if (estimate_hypothesis_is_unlisted(&e->hypotheses[i])) return &e->hypotheses[i];
  return NULL;
}

static bool fits(const struct estimate *e) { return e->p_value >= ESTIMATE_P_VALUE_LEAST; }

static bool is_baseline_bad(const struct estimate *e) { return e->baseline_p_value < ESTIMATE_P_VALUE_LEAST; } // NaN: none

static bool are_few(const struct estimate *e) { return e->problem.readings->count < FEW; }

/* One cause is named: it fits readings enough, it is likely, and nothing beside it is. */
static bool is_told(const struct estimate *e) {
  const struct estimate_hypothesis *rival = estimate_compare_rival(e);
  return fits(e) && !is_baseline_bad(e) && !are_few(e) && estimate_compare_share(e, likeliest(e, 0)) >= TOLD &&
         !estimate_hypothesis_is_unlisted(likeliest(e, 0)) && (!rival || estimate_compare_share(e, rival) <= RIVAL);
}

static bool is_film_told(const struct estimate *e) {
  return is_told(e) && likeliest(e, 0)->fault.count == 1 && likeliest(e, 0)->fault.cause[0] == CAUSE_film;
}

static void say_probability(const struct estimate *e, const struct estimate_hypothesis *h, struct estimate_claim *c) {
  char name[ESTIMATE_NAME_SIZE];
  estimate_hypothesis_name(h, name);
  name[strcspn(name, ",")] = '\0'; // "film, offset fresh" is a film
  estimate_claim_share(c, estimate_compare_share(e, h), "share:%s", name);
}

/* ---- What ---- */

/* "deposit in the throttle bore: it takes 53 (45 to 60) % of the air's area ...". */
static void say_film(const struct estimate_findings *f, struct estimate_claim *c) {
  const struct estimate *e = f->estimate;
  estimate_claim_words(c, "%s: it takes ", cause_rows[CAUSE_film].text);
  estimate_claim_interval(c, f->area_loss_best_pct, f->area_loss_low_pct, f->area_loss_high_pct, "area_loss_pct");
  estimate_claim_words(c, " %% of the air's area where it idles now; some ");
  estimate_claim_interval(c, e->film_best_um, e->film_low_um, e->film_high_um, "film_um");
  estimate_claim_words(c, " um if its ring is some ");
  estimate_claim_number(c, 2e3 * e->problem.engine->plant.throttle.film_shape.band_half_width_m, 0, "rule:band_mm");
  estimate_claim_words(c, " mm wide");
}

/* "vacuum leak, leak_mm2 2.98 (2.75 to 3.25)". */
static void say_cause(const struct estimate_findings *f, const struct estimate_hypothesis *h, struct estimate_claim *c) {
  char name[ESTIMATE_NAME_SIZE];
  estimate_hypothesis_name(h, name);
  if (estimate_hypothesis_is_unlisted(h))
    estimate_claim_words(c, "something that is not listed here");
  else if (h->fault.count == 0)
    estimate_claim_words(c, "nothing wrong");
  else if (h->fault.count == 1 && h->fault.cause[0] == CAUSE_film)
    say_film(f, c);
  else
    for (size_t i = 0; i < h->fault.count; i++) {
      if (i) estimate_claim_words(c, "; together with ");
      estimate_claim_text(c, cause_rows[h->fault.cause[i]].text, "text:cause");
      estimate_claim_words(c, ", %s ", cause_rows[h->fault.cause[i]].condition);
      estimate_claim_interval(c, h->mean[i], h->low[i], h->high[i], "causes[%s].%s", name, i ? "second_severity" : "severity");
    }
  if (h->fault.fresh) estimate_claim_words(c, ", what was learned for it just forgotten");
}

static void say_what(const struct estimate_findings *f, struct estimate_claim *c) {
  const struct estimate *e = f->estimate;
  const struct estimate_hypothesis *rival = estimate_compare_rival(e);
  if (!fits(e)) {
    estimate_claim_words(c, "Not told: none of the causes explains these readings.");
  } else if (is_told(e) && likeliest(e, 0)->fault.count == 0) {
    estimate_claim_words(c, "Nothing wrong that these readings show.");
  } else if (is_told(e)) {
    say_cause(f, likeliest(e, 0), c);
    c->text[0] = (char)toupper((unsigned char)c->text[0]);
    estimate_claim_words(c, ".");
  } else {
    estimate_claim_words(c, "Not told by these readings. First among what is possible: ");
    say_cause(f, likeliest(e, 0), c);
    if (rival) estimate_claim_words(c, "; then: ");
    if (rival) say_cause(f, rival, c);
    estimate_claim_words(c, ".");
  }
}

/* ---- How sure ---- */

static void say_chance(struct estimate_claim *c, double pct, const char *source) {
  estimate_claim_number(c, pct, 0, "%s", source);
  estimate_claim_words(c, " of ");
  estimate_claim_number(c, 100.0, 0, "rule:hundred");
  estimate_claim_words(c, " cases");
}

/* What most tells the two likeliest apart for the time. */
static void say_apart(const struct estimate_next *next, struct estimate_claim *c) {
  const struct estimate_next_test *test = NULL;
  for (size_t i = 0; i < next->count; i++) {
    const struct estimate_next_test *here = &next->tests[i];
    if (here->apart_bits < APART) continue;
    if (!test || here->apart_bits * test->minutes > test->apart_bits * here->minutes) test = here;
  }
  if (!test) {
    estimate_claim_words(c, " No test listed here tells the two well apart.");
    return;
  }
  estimate_claim_words(c, " What most tells the two apart for the time is %s (", test->name);
  estimate_claim_number(c, test->minutes, 0, "next[%s].minutes", test->name);
  estimate_claim_words(c, " minutes).");
}

static void say_sure(const struct estimate_findings *f, struct estimate_claim *c) {
  const struct estimate *e = f->estimate;
  const size_t count = e->problem.readings->count;
  const struct estimate_hypothesis *other = unlisted(e), *rival = estimate_compare_rival(e);
  if (!fits(e)) {
    estimate_claim_words(c, "Not at all: even with the best of them a car would read so far off in less than ");
    say_chance(c, 100.0 * ESTIMATE_P_VALUE_LEAST, "rule:fit_least_pct");
    estimate_claim_words(c, ".");
  } else if (are_few(e)) {
    estimate_claim_words(c, "It rests on ");
    if (count > 0)
      estimate_claim_number(c, (double)count, 0, "count:readings");
    else
      estimate_claim_words(c, "what brought the car in alone, on no");
    estimate_claim_words(c, " reading%s. From fewer than ", count < 2 ? "" : "s");
    estimate_claim_number(c, FEW, 0, "rule:few");
    estimate_claim_words(
        c, " no cause is told: those that were not tried, and other cars, can read the same. Do not change parts on "
           "that.");
  } else if (is_told(e)) {
    say_probability(e, likeliest(e, 0), c);
    estimate_claim_words(c, other ? "; that it is something not listed, " : " among the causes tried");
    if (other) say_probability(e, other, c);
    estimate_claim_words(c, "; such cars lie further off in ");
    say_chance(c, 100.0 * e->p_value, "fit.p_value");
    estimate_claim_words(c, ".");
  } else {
    say_probability(e, likeliest(e, 0), c);
    if (rival) {
      estimate_claim_words(c, " against ");
      say_probability(e, rival, c);
    }
    estimate_claim_words(c, "%s: do not change parts on that.%s", other ? "" : " among the causes tried",
                         is_baseline_bad(e) ? " The baseline looks like no good car, so that none is told." : "");
    if (rival && rival->probability >= RIVAL && likeliest(e, 0)->probability >= RIVAL) say_apart(&f->next, c);
  }
}

/* ---- Next ---- */

static bool has_reading(const struct estimate *e, enum estimate_quantity quantity, unsigned conditions) {
  for (size_t i = 0; i < e->problem.readings->count; i++)
    if (e->problem.readings->readings[i].quantity == quantity &&
        ((1u << e->problem.readings->readings[i].condition) & conditions))
      return true;
  return false;
}

static bool can_show(const struct estimate_findings *f, enum estimate_quantity quantity) {
  return !f->listed || f->wish.shown[quantity];
}

/* An opening tells nothing by itself where the closed stop is not known, nor a speed where the target is not: both are cheap. */
static bool lacks_stop(const struct estimate_findings *f) {
  const struct estimate *e = f->estimate;
  return !estimate_knows_car(e) && can_show(f, ESTIMATE_QUANTITY_tp_pct) &&
         has_reading(e, ESTIMATE_QUANTITY_tp_pct, ESTIMATE_AT_STEADY) &&
         !has_reading(e, ESTIMATE_QUANTITY_tp_pct, ESTIMATE_AT_REST);
}

static bool lacks_target(const struct estimate_findings *f) {
  const struct estimate *e = f->estimate;
  return !estimate_knows_car(e) && can_show(f, ESTIMATE_QUANTITY_target_rpm) &&
         has_reading(e, ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_AT_WARM) && !has_reading(e, ESTIMATE_QUANTITY_target_rpm, ~0u);
}

static void say_again(const struct estimate_findings *f, struct estimate_claim *c) {
  const struct estimate *e = f->estimate;
  estimate_claim_words(c, "Read it all again%s", f->odd_count ? ", most of all " : "");
  for (size_t i = 0; i < f->odd_count; i++) {
    const struct estimate_reading *r = &e->problem.readings->readings[f->odds[i].reading];
    const char *quantity = estimate_quantities[r->quantity].name, *condition = estimate_conditions[r->condition].name;
    const int d = estimate_claim_decimals_apart(r->value, f->odds[i].expected, estimate_findings_decimals(r->quantity));
    estimate_claim_words(c, "%s%s@%s (", i ? ", " : "", quantity, condition);
    estimate_claim_number(c, r->value, d, "readings[%s@%s].value", quantity, condition);
    estimate_claim_words(c, ", where the rest leaves room for ");
    estimate_claim_number(c, f->odds[i].expected, d, "at_odds[%s@%s].expected", quantity, condition);
    estimate_claim_words(c, ")");
  }
  estimate_claim_words(c, ". Was it warm, in P or neutral, nothing switched on, at that condition, in that unit?");
  const bool stop = !has_reading(e, ESTIMATE_QUANTITY_tp_pct, ESTIMATE_AT_REST) && can_show(f, ESTIMATE_QUANTITY_tp_pct);
  const bool target = !has_reading(e, ESTIMATE_QUANTITY_target_rpm, ~0u) && can_show(f, ESTIMATE_QUANTITY_target_rpm);
  if (stop || target)
    estimate_claim_words(c, " How %s%s%s%s read on this car?", stop && target ? "do " : "does ",
                         stop ? "the closed stop (tp_pct@key_on)" : "", stop && target ? " and " : "",
                         target ? "the idle target (target_rpm@idle)" : "");
}

static void say_what_car(bool stop, bool target, struct estimate_claim *c) {
  estimate_claim_words(c, "First what this car reads at%s%s%s (", stop ? " its closed stop: tp_pct@key_on" : "",
                       stop && target ? ", and" : "",
                       target ? " its idle target: target_rpm@idle, if the scan tool shows it" : "");
  estimate_claim_number(c, estimate_conditions[stop ? ESTIMATE_CONDITION_key_on : ESTIMATE_CONDITION_idle].minutes, 0,
                        "rule:minutes");
  estimate_claim_words(c, " minutes). %s without %s: a sound car with another one reads as if something were wrong.",
                       stop ? "An opening says little" : "A speed says little", stop && target ? "them" : "it");
}

static void say_test(const char *before, const char *name, const char *text, double minutes, const char *source,
                     struct estimate_claim *c) {
  const char *end = text[strlen(text) - 1] == '?' ? "" : ".";
  estimate_claim_words(c, "%s%s (", before, name);
  estimate_claim_number(c, minutes, 0, "%s.minutes", source);
  estimate_claim_words(c, " minutes): ");
  estimate_claim_text(c, text, "text:%s", name);
  estimate_claim_words(c, "%s", end);
}

/* The step that comes to least. */
static void say_step(const struct estimate_findings *f, struct estimate_brief *brief) {
  const struct estimate *e = f->estimate;
  const struct estimate_step *step = &f->steps.chosen;
  const unsigned features = engine_features(e->problem.engine);
  struct estimate_claim *c = &brief->next;
  brief->cautions = step->cautions;
  if (is_film_told(e) && f->steps.confirms && step->kind == ESTIMATE_STEP_LOOK) {
    brief->cautions |= estimate_findings_after_cautions(f) | caution_for(caution_torch_steps(features), features);
    estimate_claim_words(c, "Look first: ");
    estimate_claim_text(c, caution_torch(features), "text:torch");
    estimate_claim_words(c, ". If it is dirty, %s.", f->steps.mend);
  } else if (step->kind == ESTIMATE_STEP_LOOK) {
    say_test(f->steps.confirms ? "Look first, " : "", step->name, step->text, step->minutes, "decision.chosen", c);
    if (f->steps.confirms) estimate_claim_words(c, " If that shows it: %s.", f->steps.mend);
  } else if (step->kind == ESTIMATE_STEP_MEND) {
    brief->cautions = estimate_findings_after_cautions(f) | caution_for(CAUTION_STEP_unplug | CAUTION_STEP_relearn, features);
    estimate_claim_words(c, "%c%s.", toupper((unsigned char)step->text[0]), step->text + 1);
  } else if (step->kind == ESTIMATE_STEP_SEARCH) {
    brief->cautions = caution_for(CAUTION_STEP_run, features);
    estimate_claim_words(
        c, "Search by hand, by the maker's fault tree: nothing listed here is likely enough to repair it or look for it.");
  } else {
    const struct estimate_hypothesis *h = likeliest(e, 0);
    const size_t row = h->fault.count ? remedy_of_cause(cause_rows[h->fault.cause[0]].name) : REMEDY_COUNT;
    brief->cautions = caution_for(CAUTION_STEP_run, features);
    if (row < REMEDY_COUNT && remedy_rows[row].kind == REMEDY_NONE)
      estimate_claim_words(c, "%c%s.", toupper((unsigned char)remedy_rows[row].text[0]), remedy_rows[row].text + 1);
    else
      estimate_claim_words(
          c, "Repair nothing on the strength of that. If there is a complaint, take readings where and when it occurs.");
  }
}

static void say_next(const struct estimate_findings *f, struct estimate_brief *brief) {
  const struct estimate *e = f->estimate;
  const unsigned features = engine_features(e->problem.engine);
  const bool stop = lacks_stop(f), target = lacks_target(f);
  if (!fits(e)) {
    brief->cautions = caution_for(CAUTION_STEP_key_on | CAUTION_STEP_run, features);
    say_again(f, &brief->next);
  } else if (stop || target) {
    brief->cautions = caution_for(CAUTION_STEP_key_on | CAUTION_STEP_run, features);
    say_what_car(stop, target, &brief->next);
  } else if (are_few(e) && f->next.count > 0) {
    char source[ESTIMATE_NAME_SIZE + 8];
    snprintf(source, sizeof source, "next[%s]", f->next.tests[0].name);
    brief->cautions = f->next.tests[0].cautions;
    say_test("", f->next.tests[0].name, f->next.tests[0].text, f->next.tests[0].minutes, source, &brief->next);
  } else {
    say_step(f, brief);
  }
}

/* ---- After ---- */

/* What a good car shows at idle, for what was read there. */
static void say_good(const struct estimate_findings *f, struct estimate_claim *c) {
  const struct estimate *e = f->estimate;
  estimate_claim_words(c, "Cleaning the bore is not the cure. Once that is repaired, a good car of this kind shows");
  int count = 0;
  for (size_t i = 0; i < f->reading_count && count < EXPECTED_MAX; i++) {
    const struct estimate_reading *r = &e->problem.readings->readings[f->order[i]];
    const struct estimate_comparison *good = &f->comparisons[0][f->order[i]];
    const char *quantity = estimate_quantities[r->quantity].name, *condition = estimate_conditions[r->condition].name;
    const int d = estimate_findings_decimals(r->quantity);
    if (isnan(good->expected) || r->condition != ESTIMATE_CONDITION_idle) continue;
    estimate_claim_words(c, "%s %s@%s ", count++ ? "," : "", quantity, condition);
    estimate_claim_number(c, good->expected, d, "readings[%s@%s].expected[nothing].value", quantity, condition);
    estimate_claim_words(c, " (plus or minus ");
    estimate_claim_number(c, good->spread, d, "readings[%s@%s].expected[nothing].spread", quantity, condition);
    estimate_claim_words(c, ")");
  }
  estimate_claim_words(c, "%s.", count ? "" : " what its test sheet says");
}

static void say_cleaned(const struct estimate_findings *f, struct estimate_claim *c) {
  const struct estimate_after *after = &f->after;
  for (size_t i = 0; i < after->count; i++) {
    const struct estimate_after_reading *r = &after->readings[i];
    if (r->quantity != ESTIMATE_QUANTITY_speed_rpm || r->condition != ESTIMATE_CONDITION_idle) continue;
    if (isnan(r->relearned.middle)) break;
    estimate_claim_words(c, "Cleaned, it idles at ");
    if (fabs(after->learned_now_pct) >= LEARNED_PCT && !isnan(r->stale.middle)) {
      estimate_claim_number(c, r->stale.middle, 0, "after_clean.readings[speed_rpm@idle].cleaned.best");
      estimate_claim_words(c, " rpm until it has relearned (%s", isnan(after->relearn_s) ? "more than " : "");
      if (isnan(after->relearn_s))
        estimate_claim_number(c, 60.0, 0, "rule:relearn_most_min");
      else
        estimate_claim_number(c, fmax(after->relearn_s / 60.0, 1.0), 0, "after_clean.relearn_s/60");
      estimate_claim_words(c, " minutes of idling), then ");
    }
    estimate_claim_number(c, r->relearned.middle, 0, "after_clean.readings[speed_rpm@idle].relearned.best");
    estimate_claim_words(c, " rpm (");
    estimate_claim_number(c, r->relearned.low, 0, "after_clean.readings[speed_rpm@idle].relearned.low");
    estimate_claim_words(c, " to ");
    estimate_claim_number(c, r->relearned.high, 0, "after_clean.readings[speed_rpm@idle].relearned.high");
    estimate_claim_words(c, ").");
    return;
  }
  estimate_claim_words(c, "Not told: with these readings the engine may not idle, cleaned or not.");
}

static void say_after(const struct estimate_findings *f, struct estimate_claim *c) {
  const struct estimate *e = f->estimate;
  const struct estimate_hypothesis *h = likeliest(e, 0);
  if (!is_told(e))
    estimate_claim_words(c, "Not told until the cause is.");
  else if (h->fault.count == 0)
    estimate_claim_words(c, "What it reads now. If it is complained of, read where and when the complaint comes.");
  else if (is_film_told(e) && f->after.applies)
    say_cleaned(f, c);
  else if (estimate_hypothesis_place(h, CAUSE_film) < 0)
    say_good(f, c);
  else {
    estimate_claim_words(c, "Cleaning alone does not cure this: ");
    estimate_claim_text(c, cause_rows[h->fault.cause[estimate_hypothesis_place(h, CAUSE_film) == 0 ? 1 : 0]].text, "text:cause");
    estimate_claim_words(c, " stays.");
  }
}

void estimate_brief(const struct estimate_findings *findings, struct estimate_brief *brief) {
  memset(brief, 0, sizeof *brief);
  say_what(findings, &brief->what);
  say_sure(findings, &brief->sure);
  say_next(findings, brief);
  say_after(findings, &brief->after);
}
