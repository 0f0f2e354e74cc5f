#include "io/report/estimate_report.h"

#include "analysis/estimate/estimate_brief.h"
#include "base/attributes.h"

#include <math.h>
#include <string.h>

#define LEARNED_LEAST_PCT 1.0  // less is nothing learned
#define LEAST_TOLD        0.01 // probability of a cause from which it has a row of its own
#define LEAST_SHORT       0.02 // the same in short
enum { TEXT_SIZE = 200, STEP_MAX = 12, SHORT_TEST_MAX = 3, SHORT_CAUSE_MAX = 8 };

/* ---- Words for numbers ---- */

/* "93 %", "0.4 %", "less than 0.1 %". */
static const char *percent(double probability, char text[TEXT_SIZE]) {
  const double pct = 100.0 * probability;
  if (pct < 0.1)
    snprintf(text, TEXT_SIZE, "< 0.1 %%");
  else if (pct > 99.9)
    snprintf(text, TEXT_SIZE, "> 99.9 %%");
  else
    snprintf(text, TEXT_SIZE, "%.*f %%", pct < 10.0 || pct > 99.0 ? 1 : 0, pct);
  return text;
}

static const char *severity(const struct estimate_hypothesis *h, char text[TEXT_SIZE]) {
  text[0] = '\0';
  for (size_t i = 0; i < h->fault.count; i++) {
    const size_t used = strlen(text);
    const double low = fmin(h->low[i], h->high[i]), high = fmax(h->low[i], h->high[i]);
    const int decimals = estimate_claim_decimals(high - low);
    snprintf(text + used, TEXT_SIZE - used, "%s%s %.*f (%.*f to %.*f)", i ? ", " : "", cause_rows[h->fault.cause[i]].condition,
             decimals, fmin(fmax(h->mean[i], low), high), decimals, low, decimals, high);
  }
  return text;
}

/* What it is: one cause, or two that came together. */
static const char *cause_text(const struct estimate_hypothesis *h, char text[TEXT_SIZE]) {
  snprintf(text, TEXT_SIZE, "%s%s%s%s", cause_rows[h->fault.cause[0]].text, h->fault.count == 2 ? "; and: " : "",
           h->fault.count == 2 ? cause_rows[h->fault.cause[1]].text : "",
           h->fault.fresh ? ", what was learned just forgotten" : "");
  return text;
}

/* "1,3": places of some cautions in the list of all that appear, from 1; "-" for none. */
static const char *caution_numbers(unsigned appear, unsigned cautions, char text[TEXT_SIZE]) {
  size_t used = 0;
  int number = 0;
  snprintf(text, TEXT_SIZE, "-");
  for (int i = 0; i < CAUTION_COUNT; i++) {
    if ((appear >> i) & 1u) number++;
    if ((cautions >> i) & 1u) used += (size_t)snprintf(text + used, TEXT_SIZE - used, "%s%d", used ? "," : "", number);
  }
  return text;
}

static unsigned told_cautions(const struct estimate_findings *findings) {
  return estimate_findings_cautions(findings, estimate_findings_next_count(findings));
}

static const char *duration(double seconds, char text[TEXT_SIZE]) {
  if (isnan(seconds))
    snprintf(text, TEXT_SIZE, "more than an hour");
  else if (seconds < 90.0)
    snprintf(text, TEXT_SIZE, "%.0f seconds", seconds);
  else
    snprintf(text, TEXT_SIZE, "%.0f minutes", seconds / 60.0);
  return text;
}

/* ---- Sections ---- */

/* Cautions in a few words each. */
static const char *caution_briefs(unsigned cautions, char text[8 * TEXT_SIZE]) {
  text[0] = '\0';
  for (int i = 0; i < CAUTION_COUNT; i++) {
    const size_t used = strlen(text);
    if ((cautions >> i) & 1u) snprintf(text + used, 8 * TEXT_SIZE - used, "%s%s", used ? "; " : "", caution_rows[i].brief);
  }
  return text;
}

/* The four statements, cautions before what is to be done. */
static void put_brief(const struct estimate_findings *findings, struct document *d) {
  struct estimate_brief brief;
  char cautions[8 * TEXT_SIZE];
  estimate_brief(findings, &brief);
  caution_briefs(brief.cautions, cautions);
  document_item(d, "What: %s", brief.what.text);
  document_item(d, "How sure: %s", brief.sure.text);
  if (*cautions) document_item(d, "Care: %s.", cautions);
  document_item(d, "Next: %s", brief.next.text);
  document_item(d, "After: %s", brief.after.text);
  if (findings->curve) document_item(d, "Opening curve: %s", findings->curve->text);
}

static void put_read(const struct estimate_findings *findings, struct document *d) {
  static const char *const headings[] = {DOCUMENT_READING, "at", "value", DOCUMENT_OFF_BY, "what it is"};
  const struct estimate_readings *readings = findings->estimate->problem.readings;
  document_heading(d, "What was read");
  document_table_begin(d, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < findings->reading_count; i++) {
    const struct estimate_reading *r = &readings->readings[findings->order[i]];
    const int decimals = estimate_findings_decimals(r->quantity);
    document_cell(d, "%s", estimate_quantities[r->quantity].name);
    document_cell(d, "%s", estimate_conditions[r->condition].name);
    document_cell(d, "%.*f", decimals, estimate_reading_plain(r->value, decimals));
    document_cell(d, "%.2g", r->sd);
    document_cell(d, "%s", estimate_quantities[r->quantity].text);
  }
  document_table_end(d);
  if (!isnan(findings->estimate->baseline_p_value))
    document_paragraph(d,
                       "In addition %zu readings of this car from when it was good; a good car of this kind fits those worse by "
                       "chance in %.0f of 100 cases.",
                       findings->estimate->question->baseline.count, 100.0 * findings->estimate->baseline_p_value);
  else if (estimate_knows_car(findings->estimate))
    document_paragraph(d,
                       "Also the %zu readings of this car from when it was good, to which its engine file was fitted: they show "
                       "what the model gets wrong on this car.",
                       findings->estimate->question->fitted_to.count);
}

static void put_film(const struct estimate_findings *findings, struct document *d) {
  const struct estimate *e = findings->estimate;
  char text[TEXT_SIZE];
  document_heading(d, "How much film");
  if (e->p_value < ESTIMATE_P_VALUE_LEAST)
    document_paragraph(
        d, "None of the causes explains these readings (see below); until that is cleared up they say nothing about a film.");
  if (e->p_value < ESTIMATE_P_VALUE_LEAST) return;
  if (!(cause_prior(e->problem.engine, CAUSE_film) > 0.0)) {
    document_paragraph(d, "No film was looked for: its rate is 0.");
    return;
  }
  if (e->film_probability < 0.001) {
    document_paragraph(d, "These readings speak against a film: %s.", percent(e->film_probability, text));
    return;
  }
  document_paragraph(d, "A film is there with a probability of %s.", percent(e->film_probability, text));
  document_paragraph(d,
                     "If there is one, it takes %.0f %% (%.0f to %.0f %% with 90 %%) of the air area where it idles now; that is "
                     "%.0f um (%.0f to %.0f um) if its ring is some %.0f mm wide.",
                     findings->area_loss_best_pct, findings->area_loss_low_pct, findings->area_loss_high_pct, e->film_best_um,
                     e->film_low_um, e->film_high_um, 2e3 * e->problem.engine->plant.throttle.film_shape.band_half_width_m);
}

/* short: without the causes' names, and only those worth a row. */
static void put_causes(const struct estimate_findings *findings, bool in_short, struct document *d) {
  static const char *const headings[] = {"probability", "cause", "what it is", "how severe (90 %)", "fit"};
  static const char *const short_headings[] = {"probability", "what it is", "how severe (90 %)", "fit"};
  const struct estimate *e = findings->estimate;
  char text[TEXT_SIZE];
  const bool fits = e->p_value >= ESTIMATE_P_VALUE_LEAST;
  document_heading(d, "Causes");
  if (!fits) document_paragraph(d, "None fits, so none is given a probability. In the order in which they would come:");
  document_table_begin(d, in_short ? ARRAY_COUNT(short_headings) : ARRAY_COUNT(headings), in_short ? short_headings : headings);
  double rest = 0.0;
  size_t rest_count = 0;
  for (size_t i = 0; i < e->count; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[e->order[i]];
    if (h->probability < (in_short ? LEAST_SHORT : LEAST_TOLD) || (in_short && i >= SHORT_CAUSE_MAX)) {
      rest += h->probability;
      rest_count++;
      continue;
    }
    char name[ESTIMATE_NAME_SIZE];
    estimate_hypothesis_name(h, name);
    document_cell(d, "%s", fits ? percent(h->probability, text) : "not told");
    if (!in_short) document_cell(d, "%s", name);
    document_cell(d, "%s", cause_text(h, text));
    document_cell(d, "%s", severity(h, text));
    if (isnan(h->p_value))
      document_cell(d, "any");
    else
      document_cell(d, h->p_value < ESTIMATE_P_VALUE_LEAST ? "bad (%.2g)" : "%.2f", h->p_value);
  }
  document_table_end(d);
  document_paragraph(d,
                     "%zu other causes together: %s. Fit: how often a car with this cause would be further off by chance; below "
                     "%g the cause does not explain the readings.",
                     rest_count, fits ? percent(rest, text) : "not told", ESTIMATE_P_VALUE_LEAST);
}

/* Each reading beside what a good car and the leading causes let expect of it. */
static void put_comparisons(const struct estimate_findings *findings, struct document *d) {
  const struct estimate *e = findings->estimate;
  char names[ESTIMATE_FINDINGS_LEADING_MAX][ESTIMATE_NAME_SIZE];
  const char *headings[2 + ESTIMATE_FINDINGS_LEADING_MAX] = {DOCUMENT_READING, "read"};
  for (size_t k = 0; k < findings->leading_count; k++) {
    estimate_hypothesis_name(&e->hypotheses[findings->leading[k]], names[k]);
    headings[2 + k] = k == 0 ? "nothing wrong" : names[k];
  }
  document_heading(d, "What each cause predicts");
  document_paragraph(d, "In brackets: how far off the reading is, in standard deviations of the differences between cars, days "
                        "and instruments; more than 2 speaks against the cause.");
  document_table_begin(d, 2 + findings->leading_count, headings);
  for (size_t i = 0; i < findings->reading_count; i++) {
    const struct estimate_reading *r = &e->problem.readings->readings[findings->order[i]];
    const int decimals = estimate_findings_decimals(r->quantity);
    document_cell(d, "%s@%s", estimate_quantities[r->quantity].name, estimate_conditions[r->condition].name);
    document_cell(d, "%.*f", decimals, estimate_reading_plain(r->value, decimals));
    for (size_t k = 0; k < findings->leading_count; k++) {
      const struct estimate_comparison *c = &findings->comparisons[k][findings->order[i]];
      if (isnan(c->expected))
        document_cell(d, "stalls");
      else
        document_cell(d, "%.*f (%+.1f)", decimals, estimate_reading_plain(c->expected, decimals),
                      estimate_reading_plain(c->off, 1));
    }
  }
  document_table_end(d);
}

static void put_symptoms(const struct estimate_findings *findings, struct document *d) {
  if (findings->why.symptom_count == 0) return;
  document_heading(d, "What brought it in");
  for (size_t i = 0; i < findings->why.symptom_count; i++) document_item(d, "%s", findings->why.claims[i].text);
}

static void put_why(const struct estimate_findings *findings, struct document *d) {
  document_heading(d, "Why");
  for (size_t i = findings->why.symptom_count; i < findings->why.count; i++) document_item(d, "%s", findings->why.claims[i].text);
}

static void put_next(const struct estimate_findings *findings, struct document *d) {
  static const char *const headings[] = {"next", "caution", "what to do", "gain, bits", "minutes"};
  const size_t count = estimate_findings_next_count(findings);
  char text[TEXT_SIZE];
  document_heading(d, "What to measure next");
  if (findings->estimate->p_value < ESTIMATE_P_VALUE_LEAST) {
    document_paragraph(d, "Read the same again: nothing else helps until these readings are explained.");
    return;
  }
  if (count == 0) {
    document_paragraph(d, "Nothing known here would tell much more about the cause (%.2f bits are open).",
                       findings->next.entropy_bits);
    return;
  }
  document_paragraph(
      d, "%.2f bits are open (1 bit: two equally likely causes). Ordered by gain per minute:", findings->next.entropy_bits);
  document_table_begin(d, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < count; i++) {
    const struct estimate_next_test *test = &findings->next.tests[i];
    document_cell(d, "%s", test->name);
    document_cell(d, "%s", caution_numbers(told_cautions(findings), test->cautions, text));
    document_cell(d, "%s", test->text);
    document_cell(d, "%.2f", test->gain_bits);
    document_cell(d, "%.0f", test->minutes);
  }
  document_table_end(d);
}

/* What each step comes to, in the money of the costs. */
static void put_decision(const struct estimate_findings *findings, struct document *d) {
  static const char *const headings[] = {"step", "comes to", "itself", "what it is"};
  const struct estimate_steps *steps = &findings->steps;
  if (findings->estimate->p_value < ESTIMATE_P_VALUE_LEAST) return;
  document_heading(d, "What each step costs");
  document_table_begin(d, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < steps->count && i < STEP_MAX; i++) {
    document_cell(d, "%s", steps->steps[i].name);
    document_cell(d, "%.0f", steps->steps[i].cost);
    document_cell(d, "%.0f", steps->steps[i].own);
    document_cell(d, "%s", steps->steps[i].text);
  }
  document_table_end(d);
  document_paragraph(d,
                     "Expected cost, in money of which a minute in the workshop costs %g: the step itself, the best step after "
                     "its answer, and if the cause is not repaired, a comeback (%g), a search by hand (%g minutes) and the "
                     "repair then. Common practice, no source; give your own with --costs FILE. Whatever costs least: before "
                     "anything is cleaned or bought comes the look that confirms it.",
                     findings->decide.costs.minute, findings->decide.costs.comeback, findings->decide.costs.search);
}

static void put_range(struct document *d, const struct estimate_range *range, int decimals) {
  if (isnan(range->middle))
    document_cell(d, "does not run");
  else
    document_cell(d, "%.*f (%.*f to %.*f)", decimals, estimate_reading_plain(range->middle, decimals), decimals,
                  estimate_reading_plain(range->low, decimals), decimals, estimate_reading_plain(range->high, decimals));
}

static void put_after(const struct estimate_findings *findings, struct document *d) {
  static const char *const headings[] = {DOCUMENT_READING, "now", "cleaned, not relearned", "cleaned and relearned"};
  char text[TEXT_SIZE];
  document_heading(d, "After cleaning");
  if (findings->estimate->p_value < ESTIMATE_P_VALUE_LEAST) {
    document_paragraph(d, "Not told: none of the causes explains the readings.");
    return;
  }
  if (!findings->after.applies) {
    document_paragraph(d, "Cleaning is not worth predicting: a film is too unlikely.");
    return;
  }
  document_paragraph(d, "If it is a film and it is cleaned off (in brackets: 90 %%):");
  document_table_begin(d, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < findings->after.count; i++) {
    const struct estimate_after_reading *r = &findings->after.readings[i];
    const int decimals = estimate_findings_decimals(r->quantity);
    document_cell(d, "%s@%s", estimate_quantities[r->quantity].name, estimate_conditions[r->condition].name);
    put_range(d, &r->now, decimals);
    put_range(d, &r->stale, decimals);
    put_range(d, &r->relearned, decimals);
  }
  document_table_end(d);
  const unsigned cautions = estimate_findings_after_cautions(findings);
  document_paragraph(d, "Before a clean: cautions %s.", caution_numbers(told_cautions(findings), cautions, text));
  if (fabs(findings->after.learned_now_pct) < LEARNED_LEAST_PCT) {
    document_paragraph(d, "The computer has learned nothing for the film that it would have to unlearn.");
  } else
    document_paragraph(
        d,
        "The computer has learned %.0f %% of idle air for the film; idling, it takes %s to unlearn that, if the maker has "
        "no quicker way.",
        findings->after.learned_now_pct, duration(findings->after.relearn_s, text));
  if (!isnan(findings->after.cure_probability))
    document_paragraph(d, "Probability that it then idles at its target, with nothing else wrong: %s.",
                       percent(findings->after.cure_probability, text));
}

static void put_limits(const struct estimate_findings *findings, struct document *d) {
  const char *limits[ESTIMATE_FINDINGS_LIMIT_MAX];
  const size_t count = estimate_findings_limits(findings->estimate, limits);
  document_heading(d, "What this cannot know");
  for (size_t i = 0; i < count; i++) document_item(d, "%s", limits[i]);
}

/* How often each cause stands behind a complaint, before anything is read. */
static void put_priors(const struct estimate_findings *findings, struct document *d) {
  const struct estimate *e = findings->estimate;
  char list[4 * TEXT_SIZE] = "";
  for (size_t i = 0; i < e->count && e->hypotheses[i].fault.count < 2; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[i];
    char name[ESTIMATE_NAME_SIZE];
    estimate_hypothesis_name(h, name);
    const size_t used = strlen(list);
    snprintf(list + used, sizeof list - used, "%s%s %.2g %%", used ? ", " : "", i == 0 ? "nothing wrong" : name,
             100.0 * h->prior);
  }
  document_heading(d, "What was assumed before reading");
  document_paragraph(d,
                     "%s. These are the rates of the engine file's group 'cause_rates'; if you know better, edit them or give "
                     "--rate CAUSE=PARTS.",
                     list);
}

static void put_cautions(const struct estimate_findings *findings, struct document *d) {
  const unsigned cautions = told_cautions(findings);
  document_frame_begin(d);
  int number = 0;
  document_heading(d, "Cautions");
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((cautions >> i) & 1u) document_item(d, "%d. %s", ++number, caution_rows[i].text);
  document_paragraph(d, "%s", caution_disclaimer);
  document_frame_end(d);
}

/* The first few tests, each with its cautions before it. */
static void put_next_short(const struct estimate_findings *findings, struct document *d) {
  const size_t count = estimate_findings_next_count(findings);
  char cautions[8 * TEXT_SIZE];
  if (findings->estimate->p_value < ESTIMATE_P_VALUE_LEAST || count == 0) return;
  document_heading(d, "What tells most per minute");
  unsigned told = 0;
  for (size_t i = 0; i < count && i < SHORT_TEST_MAX; i++) told |= findings->next.tests[i].cautions;
  document_item(d, "Care: %s.", caution_briefs(told, cautions));
  for (size_t i = 0; i < count && i < SHORT_TEST_MAX; i++)
    document_item(d, "%s (%.0f minutes, %.2f of %.2f bits): %s", findings->next.tests[i].name, findings->next.tests[i].minutes,
                  findings->next.tests[i].gain_bits, findings->next.entropy_bits, findings->next.tests[i].text);
}

static const char *title_of(const struct estimate_findings *findings) {
  return findings->reading_count > 0 ? "What the readings imply" : "What codes and complaint imply";
}

enum status estimate_report_short(const struct estimate_findings *findings, bool us, FILE *stream, struct error *error) {
  struct document document, *d = &document;
  document_begin(d, DOCUMENT_TEXT, stream, title_of(findings), findings->estimate->problem.engine->title);
  if (us) document_in_us_units(d);
  put_brief(findings, d);
  put_causes(findings, true, d);
  put_symptoms(findings, d);
  const char *limits[ESTIMATE_FINDINGS_LIMIT_MAX];
  if (findings->estimate->problem.readings->left_out > 0 && estimate_findings_limits(findings->estimate, limits) > 0)
    document_paragraph(d, "%s", limits[0]); // which were left out, and why
  put_next_short(findings, d);
  document_heading(d, "More");
  document_paragraph(d, "--all: why, each reading beside what each cause predicts, what each step costs, what to expect after a "
                        "clean, what this cannot know.");
  document_paragraph(d, "%s", caution_disclaimer);
  return document_finish(d, error);
}

enum status estimate_report_print(const struct estimate_findings *findings, enum document_form form, bool us, const char *svg,
                                  size_t svg_size, FILE *stream, struct error *error) {
  struct document document, *d = &document;
  document_begin(d, form, stream, title_of(findings), findings->estimate->problem.engine->title);
  if (us) document_in_us_units(d);
  put_brief(findings, d);
  if (form == DOCUMENT_HTML) put_cautions(findings, d); // on the first page
  put_symptoms(findings, d);
  if (findings->reading_count > 0) put_read(findings, d);
  put_film(findings, d);
  put_causes(findings, false, d);
  document_drawing(d, svg, svg_size,
                   "Top left: how thick a film would be. Top right: how likely each cause is. Below: how far each reading is "
                   "from what the leading causes predict, in standard deviations.");
  put_why(findings, d);
  if (findings->reading_count > 0) put_comparisons(findings, d);
  if (form == DOCUMENT_TEXT) put_cautions(findings, d); // before what they are for
  put_next(findings, d);
  put_decision(findings, d);
  put_after(findings, d);
  put_limits(findings, d);
  put_priors(findings, d);
  return document_finish(d, error);
}
