#include "analysis/estimate/estimate_compare.h"

#include "base/attributes.h"
#include "base/units.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define LEADING 0.05 // probability from which a cause is spoken of by itself
enum { LEADING_MAX = 3, FOR_MAX = 3, AGAINST_MAX = 2 };
#define SPEAKS         1.0  // log of how many times likelier: less is not worth a word
#define ALIKE          0.1  // two causes both above this are not told apart
#define SMALL_FILM     0.15 // share of the gap: less is not felt before the controller has made it good
#define FILM_MENTIONED 0.2

static void say(struct estimate_why *why, const char *format, ...) PRINTF_LIKE(2, 3);
static void say(struct estimate_why *why, const char *format, ...) {
  if (why->count >= ESTIMATE_SENTENCE_MAX) return;
  va_list values;
  va_start(values, format);
  vsnprintf(why->text[why->count++], ESTIMATE_SENTENCE_SIZE, format, values);
  va_end(values);
}

/* Severity as people write it: "film_um 40 (35 to 44)". */
static void severity_text(const struct estimate_hypothesis *h, size_t place, char *text, size_t size) {
  snprintf(text, size, "%s %.3g (%.3g to %.3g)", cause_rows[h->fault.cause[place]].condition, h->mean[place], h->low[place],
           h->high[place]);
}

/* "98 %"; never quite certain. */
static void share_text(double probability, char text[16]) {
  if (probability > 0.99)
    snprintf(text, 16, "over 99 %%");
  else if (probability < 0.01)
    snprintf(text, 16, "below 1 %%");
  else
    snprintf(text, 16, "%.0f %%", 100.0 * probability);
}

static void say_likeliest(const struct estimate *e, struct estimate_why *why) {
  const struct estimate_hypothesis *h = &e->hypotheses[e->order[0]];
  char share[16];
  share_text(h->probability, share);
  if (estimate_is_unlisted(h)) {
    say(why, "Likeliest is something that is not listed: %s.", share);
    return;
  }
  if (h->fault.count == 0) {
    say(why, "Likeliest is that nothing is wrong: %s.", share);
    return;
  }
  char first[96], second[96] = "";
  severity_text(h, 0, first, sizeof first);
  if (h->fault.count == 2) severity_text(h, 1, second, sizeof second);
  say(why, "Likeliest is this: %s%s%s, %s; %s%s%s.", cause_rows[h->fault.cause[0]].text,
      h->fault.count == 2 ? " together with " : "", h->fault.count == 2 ? cause_rows[h->fault.cause[1]].text : "", share, first,
      second[0] ? ", " : "", second);
}

static void say_film(const struct estimate *e, struct estimate_why *why) {
  if (e->film_probability < FILM_MENTIONED) return;
  say(why,
      "A film of %.0f um takes %.0f %% of the gap's area where a clean engine of this kind idles (%.0f to %.0f %% for %.0f to "
      "%.0f um).",
      e->film_best_um, 100.0 * estimate_area_loss_ratio(e, e->film_best_um * UNITS_M_PER_UM),
      100.0 * estimate_area_loss_ratio(e, e->film_low_um * UNITS_M_PER_UM),
      100.0 * estimate_area_loss_ratio(e, e->film_high_um * UNITS_M_PER_UM), e->film_low_um, e->film_high_um);
}

static int decimals_of(enum estimate_quantity quantity) {
  const double resolution = estimate_quantities[quantity].resolution;
  return resolution >= 1.0 ? 0 : resolution >= 0.1 ? 1 : 2;
}

/* "tp_pct@idle is 12.9, 1.5 above expected (11.4, spread 0.5); an average car with film shows 13.0": not this car, whose own deviations
 * take part of what was read. */
static void say_reading(const struct estimate *e, size_t j, const char *name, const struct estimate_comparison *good,
                        const struct estimate_comparison *cause, bool speaks_for, struct estimate_why *why) {
  const struct estimate_reading *r = &e->problem.readings->readings[j];
  const struct estimate_quantity_row *row = &estimate_quantities[r->quantity];
  const int d = decimals_of(r->quantity);
  const double off = r->value - good->expected;
  char beside[96] = "as expected of a good car";
  if (fabs(off) > 0.3 * good->spread)
    snprintf(beside, sizeof beside, "%.*f %s expected", d, fabs(off), off > 0.0 ? "above" : "below");
  say(why, "%s %s: %s@%s is %.*f, %s (%.*f, spread %.*f); an average car with %s shows %.*f.", speaks_for ? "For" : "Against",
      name, row->name, estimate_conditions[r->condition].name, d, r->value, beside, d, estimate_reading_plain(good->expected, d),
      d + 1, good->spread, name, d, estimate_reading_plain(cause->expected, d));
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
    if (i > 0 && h->probability < LEADING / 5.0) break;
    char name[ESTIMATE_NAME_SIZE];
    estimate_hypothesis_name(h, name);
    status = estimate_compare(e, e->order[i], i == 0 ? first : cause, error);
    if (status != STATUS_OK || h->fault.count == 0) continue;
    const struct estimate_comparison *here = i == 0 ? first : cause;
    if (h->probability >= LEADING) say_side(e, name, good, here, none, 1, FOR_MAX, why);
    say_side(e, name, good, here, i == 0 ? none : first, -1, AGAINST_MAX, why);
  }
  return status;
}

static void say_alike(const struct estimate *e, struct estimate_why *why) {
  if (e->count < 2) return;
  const struct estimate_hypothesis *a = &e->hypotheses[e->order[0]], *b = &e->hypotheses[e->order[1]];
  if (b->probability < ALIKE) return;
  char first[ESTIMATE_NAME_SIZE], second[ESTIMATE_NAME_SIZE];
  estimate_hypothesis_name(a, first);
  estimate_hypothesis_name(b, second);
  say(why,
      "These readings do not tell %s from %s (%.0f against %.0f %%): do not change parts on them, measure what separates the "
      "two.",
      first, second, 100.0 * a->probability, 100.0 * b->probability);
}

/* The reading that the best-fitting cause explains worst. */
static void say_fit(const struct estimate *e, struct estimate_why *why) {
  if (e->p_value >= ESTIMATE_P_VALUE_LEAST) {
    say(why, "The readings fit: cars with the best-fitting cause would lie further off by chance in %.0f of 100 cases.",
        100.0 * e->p_value);
    return;
  }
  size_t fits = 0;
  for (size_t i = 1; i < e->count; i++)
    if (e->hypotheses[i].p_value > e->hypotheses[fits].p_value) fits = i;
  const struct estimate_hypothesis *h = &e->hypotheses[fits];
  const struct estimate_fit *fit = &h->nodes[h->best].fit;
  say(why,
      "None of these causes explains the readings: so bad a fit is chance in %.2g of 100 cases. Probabilities below are only of "
      "those that were tried.",
      100.0 * e->p_value);
  size_t worst = 0;
  double most = -1.0;
  for (size_t j = 0; j < e->problem.readings->count; j++) {
    const struct estimate_reading *r = &e->problem.readings->readings[j];
    const double off = fabs(r->value - fit->expected[j]) / r->sd;
    if (off <= most) continue;
    most = off;
    worst = j;
  }
  const struct estimate_reading *r = &e->problem.readings->readings[worst];
  const int d = decimals_of(r->quantity);
  say(why,
      "Furthest off is %s@%s: read %.*f where the rest of the readings leave room for %.*f. Read it again, and look at its "
      "condition.",
      estimate_quantities[r->quantity].name, estimate_conditions[r->condition].name, d, r->value, d, fit->expected[worst]);
}

/* Whether a film is small in all of its interval, or large in all of it: what lies across is not told. */
static bool surely_small(const struct estimate *e, const struct estimate_hypothesis *h, size_t place) {
  return estimate_area_loss_ratio(e, h->high[place] * UNITS_M_PER_UM) < SMALL_FILM;
}

static void say_cleaning(const struct estimate *e, struct estimate_why *why) {
  char share[16];
  const struct estimate_hypothesis *h = &e->hypotheses[e->order[0]];
  const int film = estimate_hypothesis_place(h, CAUSE_film);
  const size_t place = film < 0 ? 0 : (size_t)film;
  if (h->fault.count == 2 && film >= 0) {
    if (surely_small(e, h, place))
      say(why,
          "The film is there but small (at most %.0f %% of the gap): cleaning will not cure this; %s is what has to be mended.",
          100.0 * estimate_area_loss_ratio(e, h->high[place] * UNITS_M_PER_UM), cause_rows[h->fault.cause[1]].text);
    else
      say(why, "Cleaning alone will not cure this: %s stays.", cause_rows[h->fault.cause[1]].text);
  } else if (film >= 0) {
    if (surely_small(e, h, place))
      say(why,
          "The film is there but small (at most %.0f %% of the gap): the controller makes it good, and cleaning will not cure a "
          "complaint.",
          100.0 * estimate_area_loss_ratio(e, h->high[place] * UNITS_M_PER_UM));
  } else if (h->fault.count == 1 && e->film_probability < ALIKE) {
    share_text(e->film_probability, share);
    say(why, "No film is needed to explain this (%s): cleaning will not cure it.", share);
  }
}

static void say_baseline(const struct estimate *e, struct estimate_why *why) {
  if (isnan(e->baseline_p_value))
    say(why, "Without readings of this very car when it was good, how cars of a kind differ is part of every figure here.");
  else if (e->baseline_p_value < ESTIMATE_P_VALUE_LEAST)
    say(why,
        "The baseline does not look like a good car of this kind (chance of so bad a fit %.2g): was something wrong then "
        "already?",
        e->baseline_p_value);
}

enum status estimate_explain(const struct estimate *e, struct estimate_why *why, struct error *error) {
  why->count = 0;
  const bool fits = e->p_value >= ESTIMATE_P_VALUE_LEAST;
  if (!fits) say_fit(e, why);
  say_likeliest(e, why);
  say_film(e, why);
  const enum status status = say_leading(e, why, error);
  say_alike(e, why);
  if (fits) say_fit(e, why);
  say_cleaning(e, why);
  say_baseline(e, why);
  return status;
}
