#include "io/format/json.h"
#include "io/report/jobcard_report.h"

#include "car/caution.h"

#include <math.h>

enum { SHARE_DECIMALS = 4, VALUE_DECIMALS = 4 };

static void put_cautions(struct json *json, unsigned cautions) {
  json_open_array(json, "cautions"); // before what is done
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((cautions >> i) & 1u) json_put_text(json, NULL, caution_rows[i].name);
  json_close(json);
}

static void put_remedies(struct json *json, uint64_t remedies) {
  json_open_array(json, "remedies");
  for (size_t i = 0; i < REMEDY_COUNT; i++)
    if ((remedies >> i) & 1u) json_put_text(json, NULL, remedy_rows[i].name);
  json_close(json);
}

/* Whether a part is among them. */
static bool buys(uint64_t remedies) {
  bool part = false;
  for (size_t i = 0; i < REMEDY_COUNT; i++) part = part || (((remedies >> i) & 1u) && remedy_rows[i].kind == REMEDY_PART);
  return part;
}

static void put_decision(struct json *json, const struct visit_decision *decision) {
  json_open_object(json, "decision");
  put_cautions(json, decision->cautions);
  json_put_text(json, "kind", visit_decision_names[decision->kind]);
  json_put_text(json, "name", decision->name);
  json_put_text(json, "text", decision->text);
  json_put_real(json, "minutes", decision->minutes, 1);
  put_remedies(json, decision->remedies);
  json_put_flag(json, "buys", buys(decision->remedies));
  json_close(json);
}

static void put_causes(struct json *json, const struct visit_card *card) {
  json_open_array(json, "causes");
  for (size_t i = 0; i < card->estimate->count; i++) {
    char name[ESTIMATE_NAME_SIZE];
    visit_card_cause(card, card->estimate->order[i], name);
    json_open_object(json, NULL);
    json_put_text(json, "name", name);
    json_put_real(json, "probability", card->estimate->hypotheses[card->estimate->order[i]].probability, SHARE_DECIMALS);
    bool known;
    const uint64_t remedies = estimate_decide_remedies(&card->estimate->hypotheses[card->estimate->order[i]], &known);
    put_remedies(json, known ? remedies : 0);
    json_close(json);
  }
  json_close(json);
}

static void put_codes(struct json *json, const struct visit_card *card) {
  json_open_array(json, "codes");
  for (size_t i = 0; i < card->code_count; i++) {
    const struct visit_code *code = &card->codes[i];
    json_open_object(json, NULL);
    json_put_text(json, "code", monitor_rows[code->code].code);
    json_put_text(json, "text", monitor_rows[code->code].text);
    json_put_flag(json, "stored", code->stored);
    json_put_real(json, "film_um", code->film_um, 1);
    json_put_real(json, "film_most_um", code->film_most_um, 1);
    json_open_array(json, "causes");
    for (size_t k = 0; k < code->cause_count; k++) {
      char name[ESTIMATE_NAME_SIZE];
      visit_card_cause(card, code->causes[k], name);
      json_put_text(json, NULL, name);
    }
    json_close(json);
    json_close(json);
  }
  json_close(json);
}

static void put_box(struct json *json, const struct visit_card *card, size_t number) {
  const struct visit_box *box = &card->boxes[number];
  json_open_object(json, NULL);
  json_put_count(json, "box", (long long)number + 1);
  put_cautions(json, box->test.cautions);
  json_put_text(json, "name", box->test.name);
  json_put_text(json, "text", box->test.text);
  json_put_real(json, "minutes", box->test.minutes, 1);
  json_put_real(json, "gain_bits", box->test.gain_bits, SHARE_DECIMALS);
  json_open_array(json, "finds"); // causes that it says yes to
  for (size_t i = 0; i < CAUSE_COUNT; i++)
    if ((box->test.finds >> i) & 1u) json_put_text(json, NULL, cause_rows[i].name);
  json_close(json);
  json_open_array(json, "values");
  for (size_t i = 0; i < box->value_count; i++) {
    json_open_object(json, NULL);
    json_put_text(json, "name", estimate_quantities[box->values[i].reading.quantity].name);
    json_put_text(json, "condition", estimate_conditions[box->values[i].reading.condition].name);
    json_put_real(json, "good_low", box->values[i].low, VALUE_DECIMALS);
    json_put_real(json, "good_high", box->values[i].high, VALUE_DECIMALS);
    json_close(json);
  }
  json_close(json);
  json_open_array(json, "branches");
  for (size_t i = 0; i < box->branch_count; i++) {
    const struct visit_branch *branch = &box->branches[i];
    char name[ESTIMATE_NAME_SIZE];
    visit_card_cause(card, branch->cause, name);
    json_open_object(json, NULL);
    json_put_text(json, "result", visit_result_names[branch->result]);
    json_put_real(json, "probability", branch->probability, SHARE_DECIMALS);
    json_put_text(json, "cause", name);
    json_put_real(json, "cause_probability", branch->cause_probability, SHARE_DECIMALS);
    if (branch->box < VISIT_BOX_MAX)
      json_put_count(json, "go_to_box", (long long)branch->box + 1);
    else
      json_put_null(json, "go_to_box");
    json_close(json);
  }
  json_close(json);
  json_close(json);
}

static void put_after(struct json *json, const struct estimate_after *after) {
  json_open_array(json, "after_clean");
  for (size_t i = 0; after->applies && i < after->count; i++) {
    const struct estimate_after_reading *r = &after->readings[i];
    json_open_object(json, NULL);
    json_put_text(json, "name", estimate_quantities[r->quantity].name);
    json_put_text(json, "condition", estimate_conditions[r->condition].name);
    json_put_real(json, "stale_low", r->stale.low, VALUE_DECIMALS);
    json_put_real(json, "stale_high", r->stale.high, VALUE_DECIMALS);
    json_put_real(json, "relearned_low", r->relearned.low, VALUE_DECIMALS);
    json_put_real(json, "relearned_high", r->relearned.high, VALUE_DECIMALS);
    json_close(json);
  }
  json_close(json);
}

enum status jobcard_report_json(const struct jobcard_report *report, FILE *stream, struct error *error) {
  const struct visit_card *card = report->card;
  struct json *json = json_create();
  json_put_text(json, "engine", report->engine);
  json_put_text(json, "vehicle", card->visit->vehicle);
  json_put_text(json, "date", card->visit->date);
  json_put_text(json, "complaint", card->visit->complaint);
  json_put_count(json, "readings", (long long)card->visit->readings.count);
  put_decision(json, &card->decision);
  put_causes(json, card);
  put_codes(json, card);
  json_open_array(json, "boxes");
  for (size_t i = 0; i < card->box_count; i++) put_box(json, card, i);
  json_close(json);
  put_after(json, &card->findings.after);
  if (report->after)
    json_put_text(json, "verdict", compare_verdict_rows[report->after->verdict].name);
  else
    json_put_null(json, "verdict");
  json_put_text(json, "disclaimer", caution_disclaimer);
  const enum status status = json_print(json, stream, error);
  json_destroy(json);
  return status;
}
