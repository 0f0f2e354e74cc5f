#include "io/report/jobcard_report.h"

#include "analysis/estimate/estimate_brief.h"
#include "base/attributes.h"
#include "car/caution.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#define BLANK "____________"
enum { CAUSES_SHOWN = 4, LINE_SIZE = 1000 };

/* ---- Parts ---- */

/* Cautions come before what they protect. */
static void put_cautions(struct document *d, unsigned cautions) {
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((cautions >> i) & 1u) document_item(d, "Caution: %s", caution_rows[i].brief);
}

static const char *percent(double probability, char text[24]) {
  if (probability > 0.99)
    snprintf(text, 24, "over 99 %%");
  else if (probability < 0.01)
    snprintf(text, 24, "below 1 %%");
  else
    snprintf(text, 24, "%.0f %%", 100.0 * probability);
  return text;
}

static const char *cause_text(const struct visit_card *card, size_t hypothesis, char name[ESTIMATE_NAME_SIZE]) {
  const struct estimate_hypothesis *h = &card->estimate->hypotheses[hypothesis];
  visit_card_cause(card, hypothesis, name);
  return h->fault.count == 1 && !estimate_hypothesis_is_unlisted(h) ? cause_rows[h->fault.cause[0]].text : name;
}

static const char *complaint_text(const struct visit *visit) {
  const enum estimate_complaint complaint = estimate_complaint_find(visit->complaint);
  return complaint < ESTIMATE_COMPLAINT_COUNT ? estimate_complaints[complaint].text : "none given";
}

static void put_why(struct document *d, const struct visit *visit) {
  document_heading(d, "Why it is here");
  document_paragraph(d, "Complaint: %s. Codes: %s%s.%s%s", complaint_text(visit),
                     visit->codes[0] ? visit->codes : "not read yet; read them first, and note them before anything is unplugged",
                     visit->codes_unknown ? ", perhaps others" : "", visit->frame[0] ? " Freeze frame: " : "", visit->frame);
}

static void put_codes(struct document *d, const struct visit_card *card) {
  if (card->code_count == 0) return;
  document_heading(d, "What codes mean on this engine");
  for (size_t i = 0; i < card->code_count; i++) {
    const struct visit_code *code = &card->codes[i];
    char causes[LINE_SIZE] = "", name[ESTIMATE_NAME_SIZE], film[LINE_SIZE];
    size_t used = 0;
    for (size_t k = 0; k < code->cause_count && used < sizeof causes; k++)
      used += (size_t)snprintf(causes + used, sizeof causes - used, "%s%s",
                               k ? "; " : " Causes that set it: ", cause_text(card, code->causes[k], name));
    if (isnan(code->film_um))
      snprintf(film, sizeof film, "no film up to %.0f um sets it once its idle air is learned", code->film_most_um);
    else
      snprintf(film, sizeof film, "a film sets it from about %.0f um on, with its idle air learned", code->film_um);
    document_item(d, "%s%s: %s. At warm idle of the model's own car %s.%s%s", monitor_rows[code->code].code,
                  code->stored ? ", stored" : ", not given", monitor_rows[code->code].text, film, causes, causes[0] ? "." : "");
  }
}

static void put_causes(struct document *d, const struct visit_card *card) {
  struct estimate_brief brief;
  static const char *const headings[] = {"cause", "before the next test"};
  estimate_brief(&card->findings, &brief);
  document_heading(d, "What is known now");
  if (card->visit->look_count == 0)
    document_paragraph(d, "%s %c%s", brief.what.text, toupper((unsigned char)brief.sure.text[0]), brief.sure.text + 1);
  else
    document_paragraph(d, "By readings and looks together:");
  document_table_begin(d, ARRAY_COUNT(headings), headings);
  for (size_t i = 0, shown = 0; i < card->estimate->count && shown < CAUSES_SHOWN; i++) {
    char name[ESTIMATE_NAME_SIZE], share[24];
    const size_t hypothesis = card->estimate->order[i];
    if (card->estimate->hypotheses[hypothesis].fault.fresh) continue; // told with its cause
    document_cell(d, "%s", cause_text(card, hypothesis, name));
    document_cell(d, "%s", percent(estimate_compare_share(card->estimate, &card->estimate->hypotheses[hypothesis]), share));
    shown++;
  }
  document_table_end(d);
}

/* ---- Boxes ---- */

/* Its name, and of a sum what it is of: the card has one line for both, and takes either. */
static const char *reading_text(enum estimate_quantity quantity, char text[LINE_SIZE]) {
  snprintf(text, LINE_SIZE, "%s", estimate_quantities[quantity].name);
  for (size_t i = 0; i < ESTIMATE_WHOLE_COUNT; i++)
    if (estimate_wholes[i].whole == quantity)
      snprintf(text, LINE_SIZE, "%s (%s + %s)", estimate_quantities[quantity].name,
               estimate_quantities[estimate_wholes[i].parts[0]].name, estimate_quantities[estimate_wholes[i].parts[1]].name);
  return text;
}

static void put_values(struct document *d, const struct visit_box *box) {
  static const char *const headings[] = {DOCUMENT_READING, "a good car of this kind, 9 of 10", "this car"};
  document_table_begin(d, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < box->value_count; i++) {
    const struct visit_value *value = &box->values[i];
    const int decimals = estimate_findings_decimals(value->reading.quantity);
    char name[LINE_SIZE];
    document_cell(d, "%s", reading_text(value->reading.quantity, name));
    if (isnan(value->low))
      document_cell(d, "not told");
    else
      document_cell(d, "%.*f to %.*f", decimals, estimate_reading_plain(value->low, decimals), decimals,
                    estimate_reading_plain(value->high, decimals));
    document_cell(d, BLANK);
  }
  document_table_end(d);
}

static const char *result_text(const struct visit_box *box, const struct visit_branch *branch, char text[LINE_SIZE]) {
  if (strncmp(box->test.name, "closed_gap_mm2@", strlen("closed_gap_mm2@")) == 0) // dirty, or not
    snprintf(text, LINE_SIZE, "%s", branch->result == VISIT_YES ? "No light, or on one side only" : "Light all round");
  else if (branch->result == VISIT_YES || branch->result == VISIT_NO)
    snprintf(text, LINE_SIZE, "%s", branch->result == VISIT_YES ? "Yes" : "No");
  else
    snprintf(text, LINE_SIZE, "%s %s", estimate_quantities[box->values[0].reading.quantity].name,
             visit_result_names[branch->result]);
  return text;
}

static void put_branches(struct document *d, const struct visit_card *card, const struct visit_box *box) {
  for (size_t i = 0; i < box->branch_count; i++) {
    const struct visit_branch *branch = &box->branches[i];
    char name[ESTIMATE_NAME_SIZE], share[24], result[LINE_SIZE], on[LINE_SIZE];
    if (branch->box < VISIT_BOX_MAX)
      snprintf(on, sizeof on, "continue with box %zu", branch->box + 1);
    else
      snprintf(on, sizeof on, "fill in the card and take it back to the program for the decision");
    document_item(d, "[  ] %s: likeliest then %s (%s); %s.", result_text(box, branch, result),
                  cause_text(card, branch->cause, name), percent(branch->cause_probability, share), on);
  }
}

static void put_boxes(struct document *d, const struct visit_card *card) {
  if (card->decision.kind == VISIT_MEND || card->decision.kind == VISIT_READ_AGAIN) return;
  for (size_t i = 0; i < card->box_count; i++) {
    const struct visit_box *box = &card->boxes[i];
    char heading[LINE_SIZE];
    snprintf(heading, sizeof heading, "Box %zu: %s, %.0f minutes", i + 1, box->test.name, box->test.minutes);
    document_heading(d, heading);
    put_cautions(d, box->test.cautions);
    document_paragraph(d, "%c%s%s", toupper((unsigned char)box->test.text[0]), box->test.text + 1,
                       box->test.text[strlen(box->test.text) - 1] == '?' ? "" : ".");
    if (box->reads) put_values(d, box);
    put_branches(d, card, box);
  }
}

/* ---- Work ---- */

static void put_after(struct document *d, const struct estimate_after *after) {
  static const char *const headings[] = {DOCUMENT_READING, "cleaned, not yet relearned", "relearned: limits", "this car"};
  if (!after->applies) return;
  document_paragraph(d, "Readings to expect afterwards (9 of 10 such cars):");
  document_table_begin(d, ARRAY_COUNT(headings), headings);
  for (size_t i = 0; i < after->count; i++) {
    const struct estimate_after_reading *r = &after->readings[i];
    const int decimals = estimate_findings_decimals(r->quantity);
    if (r->condition != ESTIMATE_CONDITION_idle) continue;
    document_cell(d, "%s", estimate_quantities[r->quantity].name);
    document_cell(d, "%.*f to %.*f", decimals, estimate_reading_plain(r->stale.low, decimals), decimals,
                  estimate_reading_plain(r->stale.high, decimals));
    document_cell(d, "%.*f to %.*f", decimals, estimate_reading_plain(r->relearned.low, decimals), decimals,
                  estimate_reading_plain(r->relearned.high, decimals));
    document_cell(d, BLANK);
  }
  document_table_end(d);
}

/* For opening the intake and unplugging the drive. */
static unsigned open_cautions(const struct visit_card *card) {
  return caution_for(CAUTION_STEP_blade | CAUTION_STEP_unplug, engine_features(card->estimate->problem.engine));
}

/* Steps in general words: common practice, no source; the maker's come first. Each has its cautions above it, those of the first
 * above them all. */
static void put_cleaning(struct document *d, const struct visit_card *card) {
  const unsigned features = engine_features(card->estimate->problem.engine), open = open_cautions(card);
  const unsigned press = caution_for(CAUTION_STEP_press, features) & ~open;
  const unsigned clean = caution_for(CAUTION_STEP_clean_bore, features) & ~open;
  document_paragraph(d, "Read the maker's procedure first: where it differs, follow it.");
  document_item(d, features & FEATURE_electronic ? "[  ] 1. Key off, wait until the drive sleeps, unplug, intake pipe off."
                                                 : "[  ] 1. Key off, engine cool, intake pipe off.");
  put_cautions(d, clean);
  document_item(
      d, "[  ] 2. Look whether bore and blade are coated, and whether the maker allows cleaning at all. If not: stop here.");
  document_item(d, "[  ] 3. Solvent on a lint-free cloth, not sprayed into shaft or motor; wipe bore and edge, scrape nothing.");
  put_cautions(d, press);
  document_item(d, "[  ] 4. Inspect: light through the gap even all round; the blade returns freely and does not catch; the "
                   "coating is intact.");
  document_item(d, "[  ] 5. Let it dry; refit pipe and plug, with nothing left inside.");
  put_cautions(d, caution_for(CAUTION_STEP_run, features));
  document_item(d,
                "[  ] 6. Relearn closed stop and idle air by the maker's procedure. Before it has relearned the idle may race.");
}

static void put_decision(struct document *d, const struct visit_card *card) {
  const struct visit_decision *decision = &card->decision;
  char minutes[40] = "";
  document_frame_begin(d);
  document_heading(d, "Do now");
  // before anybody reaches for the blade; those of the cleaning's later steps stand at them
  if ((decision->kind == VISIT_MEASURE || decision->kind == VISIT_LOOK) && card->box_count > 0 &&
      strcmp(card->boxes[0].test.name, decision->name) == 0) { // its cautions stand in that box, before its step
    document_paragraph(d, "Begin with box 1: %s, %.0f minutes.", decision->name, decision->minutes);
    document_frame_end(d);
    return;
  }
  put_cautions(d, decision->cleans ? open_cautions(card) : decision->cautions);
  if (!isnan(decision->minutes)) snprintf(minutes, sizeof minutes, " %.0f minutes.", decision->minutes);
  document_paragraph(d, "%c%s%s%s", toupper((unsigned char)decision->text[0]), decision->text + 1,
                     decision->text[strlen(decision->text) - 1] == '?' ? "" : ".", minutes);
  if (decision->cleans) put_cleaning(d, card);
  if (decision->cleans) put_after(d, &card->findings.after);
  document_frame_end(d);
}

static void put_closing(struct document *d, const struct jobcard_report *report) {
  document_heading(d, "How it ended");
  if (!report->after) {
    document_paragraph(d, "Open. When something was done, read the same again and close it with --after.");
    return;
  }
  document_paragraph(d, "%s.", compare_verdict_rows[report->after->verdict].text);
  for (size_t i = 0; i < report->after->why.count; i++) document_item(d, "%s", report->after->why.text[i]);
  for (size_t i = 0; i < report->after->next.count; i++) document_item(d, "Next: %s", report->after->next.text[i]);
}

static const char *subject_of(const struct jobcard_report *report, char text[LINE_SIZE]) {
  const struct visit *visit = report->card->visit;
  snprintf(text, LINE_SIZE, "%s, %s; engine %s", visit->vehicle[0] ? visit->vehicle : "vehicle " BLANK,
           visit->date[0] ? visit->date : "date " BLANK, report->engine);
  return text;
}

enum status jobcard_report_print(const struct jobcard_report *report, enum document_form form, bool us, FILE *stream,
                                 struct error *error) {
  struct document document, *d = &document;
  char subject[LINE_SIZE];
  document_begin_tight(d, form, stream, "Job card", subject_of(report, subject));
  if (us) document_in_us_units(d);
  put_why(d, report->card->visit);
  put_decision(d, report->card);
  put_causes(d, report->card);
  put_boxes(d, report->card);
  put_codes(d, report->card);
  if (report->after || report->card->decision.kind == VISIT_MEND) put_closing(d, report);
  document_paragraph(d, "%s", caution_disclaimer);
  return document_finish(d, error);
}

/* ---- Customer ---- */

/* The proof is of readings before and after: without both there is none. */
enum status jobcard_report_customer(const struct jobcard_report *report, FILE *stream, struct error *error) {
  struct document document, *d = &document;
  const struct visit_card *card = report->card;
  char subject[LINE_SIZE];
  document_begin_tight(d, DOCUMENT_HTML, stream, "Your car in the workshop", subject_of(report, subject));
  document_heading(d, "Complaint");
  document_paragraph(d, "%s.", complaint_text(card->visit));
  document_heading(d, "Found");
  if (card->decision.kind == VISIT_MEND) {
    char name[ESTIMATE_NAME_SIZE], share[24];
    const size_t likeliest = card->estimate->order[0];
    document_paragraph(d, "%s, %s by readings and looks.", cause_text(card, likeliest, name),
                       percent(estimate_compare_share(card->estimate, &card->estimate->hypotheses[likeliest]), share));
  } else {
    document_paragraph(d, "Not yet told by the readings. " BLANK BLANK BLANK);
  }
  document_heading(d, "Done");
  if (card->decision.kind == VISIT_MEND) document_paragraph(d, "Advised: %s.", card->decision.text);
  document_paragraph(d, "Carried out: " BLANK BLANK BLANK BLANK);
  document_heading(d, "Proof");
  if (report->after) {
    document_paragraph(d, "%s.", compare_verdict_rows[report->after->verdict].text);
    for (size_t i = 0; i < report->after->why.count; i++) document_item(d, "%s", report->after->why.text[i]);
  } else {
    document_paragraph(d, "No readings after the work yet.");
  }
  document_heading(d, "Names");
  document_paragraph(d, "Customer " BLANK BLANK "   Workshop " BLANK BLANK "   Signature " BLANK BLANK);
  return document_finish(d, error);
}
