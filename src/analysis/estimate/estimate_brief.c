#include "analysis/estimate/estimate_brief.h"

#include "base/attributes.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define TOLD        0.8 // probability from which a cause is named alone; our own choice
#define RIVAL       0.1 // and none beside it may be likelier than this
#define FEW         4 // from fewer readings no cause is named: those that were not tried, and other cars, read the same; our own choice
#define SELDOM      1e-6
#define LEARNED_PCT 1.0 // less is nothing learned
enum { EXPECTED_MAX = 3, SHORT_SIZE = 200, CAUSE_SIZE = 300 };

static const struct estimate_hypothesis *likeliest(const struct estimate *e, size_t place) {
  return &e->hypotheses[e->order[place]];
}

static bool fits(const struct estimate *e) { return e->p_value >= ESTIMATE_P_VALUE_LEAST; }

static bool are_few(const struct estimate *e) { return e->problem.readings->count < FEW; }

/* One cause is named: it fits readings enough, it is likely, and nothing beside it is. */
static bool is_told(const struct estimate *e) {
  return fits(e) && !are_few(e) && likeliest(e, 0)->probability >= TOLD &&
         (e->count < 2 || likeliest(e, 1)->probability <= RIVAL);
}

/* "98 %", never quite certain: other causes than those tried there always are. */
static void share_text(double probability, char text[SHORT_SIZE]) {
  if (probability > 0.99)
    snprintf(text, SHORT_SIZE, "over 99 %%");
  else if (probability < 0.01)
    snprintf(text, SHORT_SIZE, "below 1 %%");
  else
    snprintf(text, SHORT_SIZE, "%.0f %%", 100.0 * probability);
}

/* "deposit in the throttle bore, film_um 62 (50 to 75)". */
static void cause_text(const struct estimate_hypothesis *h, char *text, size_t size) {
  size_t used = 0;
  if (h->fault.count == 0) snprintf(text, size, "%s", estimate_is_unlisted(h) ? "something that is not listed" : "nothing wrong");
  for (size_t i = 0; i < h->fault.count && used < size; i++)
    used += (size_t)snprintf(text + used, size - used, "%s%s, %s %.3g (%.3g to %.3g)", i ? "; together with " : "",
                             cause_rows[h->fault.cause[i]].text, cause_rows[h->fault.cause[i]].condition, h->mean[i], h->low[i],
                             h->high[i]);
}

static void say_what(const struct estimate *e, char *text) {
  char first[CAUSE_SIZE], second[CAUSE_SIZE];
  cause_text(likeliest(e, 0), first, sizeof first);
  if (!fits(e)) {
    snprintf(text, ESTIMATE_BRIEF_SIZE, "Not told: none of the causes explains these readings.");
  } else if (is_told(e)) {
    snprintf(text, ESTIMATE_BRIEF_SIZE, "%s.", likeliest(e, 0)->fault.count ? first : "Nothing wrong that these readings show");
  } else {
    cause_text(likeliest(e, e->count > 1 ? 1 : 0), second, sizeof second);
    snprintf(text, ESTIMATE_BRIEF_SIZE, "Not told by these readings. First among what is possible: %s; then: %s.", first, second);
  }
}

static void say_sure(const struct estimate *e, char *text) {
  char first[SHORT_SIZE], second[SHORT_SIZE] = "";
  const size_t count = e->problem.readings->count;
  share_text(likeliest(e, 0)->probability, first);
  if (e->count > 1) share_text(likeliest(e, 1)->probability, second);
  if (!fits(e) && e->p_value < SELDOM)
    snprintf(text, ESTIMATE_BRIEF_SIZE,
             "Not at all: even the best of them would be so far off in less than one of a million cases.");
  else if (!fits(e))
    snprintf(text, ESTIMATE_BRIEF_SIZE, "Not at all: even the best of them would be so far off in %.2g of 100 cases.",
             100.0 * e->p_value);
  else if (are_few(e))
    snprintf(
        text, ESTIMATE_BRIEF_SIZE,
        "It rests on %zu reading%s. From fewer than %d no cause is told: those that were not tried, and other cars, can read "
        "the same. Do not change parts on that.",
        count, count == 1 ? "" : "s", FEW);
  else if (is_told(e))
    snprintf(text, ESTIMATE_BRIEF_SIZE, "%s among the causes tried; such cars lie further off in %.0f of 100 cases.", first,
             100.0 * e->p_value);
  else
    snprintf(text, ESTIMATE_BRIEF_SIZE, "%s against %s among the causes tried: do not change parts on that.", first, second);
}

static void say_test(const char *before, const struct estimate_next_test *test, struct estimate_brief *brief) {
  const char *end = test->text[strlen(test->text) - 1] == '?' ? "" : ".";
  brief->cautions = test->cautions;
  snprintf(brief->next, ESTIMATE_BRIEF_SIZE, "%s%s (%.0f minutes): %s%s", before, test->name, test->minutes, test->text, end);
}

/* The test that finds the cause by itself, before anything is taken apart for it. */
static bool say_confirm(const struct estimate_findings *f, struct estimate_brief *brief) {
  const struct estimate *e = f->estimate;
  const struct estimate_hypothesis *h = likeliest(e, 0);
  struct estimate_next_test test;
  if (!is_told(e) || h->fault.count == 0) return false;
  if (!estimate_next_confirm(e, h->fault.cause[h->fault.count - 1], &test)) return false;
  say_test("Confirm it, ", &test, brief);
  return true;
}

static void say_next(const struct estimate_findings *f, struct estimate_brief *brief) {
  const struct estimate *e = f->estimate;
  const unsigned features = engine_features(e->problem.engine);
  brief->cautions = 0;
  if (!fits(e)) {
    brief->cautions = caution_for(CAUTION_STEP_key_on | CAUTION_STEP_run, features);
    snprintf(
        brief->next, ESTIMATE_BRIEF_SIZE,
        "Read it all again: is it warm, at that condition, in that unit? What do closed stop (tp_pct@key_on) and idle target "
        "(target_rpm@idle) read on this car?");
  } else if (is_told(e) && likeliest(e, 0)->fault.count == 1 && likeliest(e, 0)->fault.cause[0] == CAUSE_film) {
    brief->cautions = estimate_findings_after_cautions(f) | caution_for(caution_torch_steps(features), features);
    snprintf(brief->next, ESTIMATE_BRIEF_SIZE, "Look first: %s. If it is dirty, clean it by the maker's method and relearn.",
             caution_torch(features));
  } else if (say_confirm(f, brief)) {
    return;
  } else if (f->next.count > 0) {
    say_test("", &f->next.tests[0], brief);
  } else {
    brief->cautions = caution_for(CAUTION_STEP_key_on | CAUTION_STEP_run, features);
    snprintf(
        brief->next, ESTIMATE_BRIEF_SIZE,
        "Read more: closed stop (tp_pct@key_on), idle target (target_rpm@idle), air flow, trims, with a load and at 2500 rpm.");
  }
}

/* What a good car shows at idle, for what was read there. */
static void say_good(const struct estimate_findings *f, char *text) {
  const struct estimate *e = f->estimate;
  size_t used = (size_t)snprintf(text, ESTIMATE_BRIEF_SIZE,
                                 "Cleaning the bore is not the cure. With that mended a good car of this kind shows");
  int count = 0;
  for (size_t i = 0; i < f->reading_count && count < EXPECTED_MAX; i++) {
    const struct estimate_reading *r = &e->problem.readings->readings[f->order[i]];
    const struct estimate_comparison *good = &f->comparisons[0][f->order[i]];
    const int d = estimate_findings_decimals(r->quantity);
    if (isnan(good->expected) || r->condition != ESTIMATE_CONDITION_idle) continue;
    used += (size_t)snprintf(text + used, ESTIMATE_BRIEF_SIZE - used, "%s %s@%s %.*f (give or take %.*f)", count++ ? "," : "",
                             estimate_quantities[r->quantity].name, estimate_conditions[r->condition].name, d,
                             estimate_reading_plain(good->expected, d), d, good->spread);
  }
  snprintf(text + used, ESTIMATE_BRIEF_SIZE - used, "%s.", count ? "" : " what its test sheet says");
}

static void say_cleaned(const struct estimate_findings *f, char *text) {
  const struct estimate_after *after = &f->after;
  for (size_t i = 0; i < after->count; i++) {
    const struct estimate_after_reading *r = &after->readings[i];
    if (r->quantity != ESTIMATE_QUANTITY_speed_rpm || r->condition != ESTIMATE_CONDITION_idle) continue;
    if (isnan(r->relearned.middle)) break;
    char first[SHORT_SIZE] = "";
    if (fabs(after->learned_now_pct) >= LEARNED_PCT && !isnan(r->stale.middle))
      snprintf(first, sizeof first, "%.0f rpm until it has relearned (%s%.0f minutes of idling), then ", r->stale.middle,
               isnan(after->relearn_s) ? "more than " : "", isnan(after->relearn_s) ? 60.0 : fmax(after->relearn_s / 60.0, 1.0));
    snprintf(text, ESTIMATE_BRIEF_SIZE, "Cleaned, it idles at %s%.0f rpm (%.0f to %.0f).", first, r->relearned.middle,
             r->relearned.low, r->relearned.high);
    return;
  }
  snprintf(text, ESTIMATE_BRIEF_SIZE, "Not told: with what was read it need not idle, cleaned or not.");
}

static void say_after(const struct estimate_findings *f, char *text) {
  const struct estimate *e = f->estimate;
  const struct estimate_hypothesis *h = likeliest(e, 0);
  if (!is_told(e))
    snprintf(text, ESTIMATE_BRIEF_SIZE, "Not told before the cause is.");
  else if (h->fault.count == 0)
    snprintf(text, ESTIMATE_BRIEF_SIZE, "What it reads now. If it is complained of, read where and when the complaint comes.");
  else if (h->fault.count == 1 && h->fault.cause[0] == CAUSE_film && f->after.applies)
    say_cleaned(f, text);
  else if (estimate_hypothesis_place(h, CAUSE_film) < 0)
    say_good(f, text);
  else
    snprintf(text, ESTIMATE_BRIEF_SIZE, "Cleaning alone does not cure this: %s stays.", cause_rows[h->fault.cause[1]].text);
}

void estimate_brief(const struct estimate_findings *findings, struct estimate_brief *brief) {
  say_what(findings->estimate, brief->what);
  say_sure(findings->estimate, brief->sure);
  say_next(findings, brief);
  say_after(findings, brief->after);
}
