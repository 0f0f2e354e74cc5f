#include "analysis/visit/visit_lay_out.h"

#include "analysis/visit/visit_box.h"
#include "base/attributes.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FEW = 4 };         // as in estimate_brief.c: from fewer readings no cause is told
#define FILM_STEP_UM 5.0  // in which a film is tried
#define LIKELY       0.01 // probability of a cause that is named beside a code
#define SETS         0.1  // probability with which it sets that code
#define SOUND_P      0.05 // so well at the least a good car explains the readings of one that is handed back; our own choice
#define MEND_LEAST   0.5  // probability from which something is cleaned or bought, its look having said yes; our own choice

/* ---- Looks that were done ---- */

static void weigh_looks(const struct visit *visit, struct estimate *e) {
  double sum = 0.0;
  if (visit->look_count == 0) return;
  for (size_t i = 0; i < e->count; i++) {
    for (size_t k = 0; k < visit->look_count; k++) {
      const double yes = estimate_next_look_yes(visit->looks[k].name, &e->hypotheses[i]);
      e->hypotheses[i].probability *= visit->looks[k].yes ? yes : 1.0 - yes;
    }
    sum += e->hypotheses[i].probability;
  }
  e->film_probability = 0.0;
  for (size_t i = 0; i < e->count; i++) {
    e->hypotheses[i].probability /= sum; // above 0: no look is certain
    if (estimate_hypothesis_place(&e->hypotheses[i], CAUSE_film) >= 0) e->film_probability += e->hypotheses[i].probability;
  }
  estimate_order(e);
}

static void forget_done(const struct visit *visit, struct estimate_next *next) {
  size_t kept = 0;
  for (size_t i = 0; i < next->count; i++)
    if (!visit_find_look(visit, next->tests[i].name) && !visit_skips(visit, next->tests[i].name))
      next->tests[kept++] = next->tests[i];
  next->count = kept;
}

static const struct estimate_next_test *find_test(const struct estimate_next *next, const char *name) {
  for (size_t i = 0; i < next->count; i++)
    if (strcmp(next->tests[i].name, name) == 0) return &next->tests[i];
  return NULL;
}

static bool is_read(const struct visit_card *card, enum estimate_condition condition) {
  const struct estimate_readings *readings = card->estimate->problem.readings;
  for (size_t i = 0; i < readings->count; i++)
    if (readings->readings[i].condition == condition) return true;
  return false;
}

/* Where nothing is known yet nothing can be foretold, and the first set of readings is taken all the same: warm idle, then the closed
 * stop. Common practice, no source. */
static void add_plain_streams(const struct visit_card *card, struct estimate_next *next) {
  static const enum estimate_condition plain[] = {ESTIMATE_CONDITION_key_on, ESTIMATE_CONDITION_idle}; // the last comes first
  const unsigned features = engine_features(card->estimate->problem.engine);
  if (card->estimate->problem.readings->count >= FEW) return;
  for (size_t i = 0; i < ARRAY_COUNT(plain); i++) {
    const struct estimate_condition_row *at = &estimate_conditions[plain[i]];
    const unsigned step = plain[i] == ESTIMATE_CONDITION_key_on ? CAUTION_STEP_key_on : CAUTION_STEP_run;
    struct estimate_next_test test = {
        .minutes = at->minutes, .gain_bits = NAN, .cost = NAN, .cautions = caution_for(step, features)};
    snprintf(test.name, sizeof test.name, "data_stream@%s", at->name);
    snprintf(test.text, sizeof test.text, "all of the data stream: %s", at->text);
    if (find_test(next, test.name) || visit_skips(card->visit, test.name) || is_read(card, plain[i]) ||
        next->count == ESTIMATE_NEXT_MAX)
      continue;
    memmove(next->tests + 1, next->tests, next->count * sizeof *next->tests);
    next->tests[0] = test;
    next->count++;
  }
}

/* ---- Codes ---- */

static enum status find_codes(struct visit_card *card, const struct estimate_question *q, struct error *error) {
  const double z[SCATTER_COUNT] = {0.0};
  const double most = cause_severity(CAUSE_film, CAUSE_MOST_SHARE);
  double from[MONITOR_CODE_COUNT];
  struct estimate_forward *forward;
  enum status status = estimate_forward_create(q->engine, &forward, error);
  if (status != STATUS_OK) return status;
  for (int c = 0; c < MONITOR_CODE_COUNT; c++) from[c] = NAN;
  // whole steps of a number that binary has. NOLINTNEXTLINE(cert-flp30-c)
  for (double film = 0.0; film <= most; film += FILM_STEP_UM) {
    struct estimate_point points[ESTIMATE_CONDITION_COUNT];
    const struct estimate_fault fault = {.count = 1, .cause = {CAUSE_film}, .severity = {film}};
    uint64_t codes = 0;
    estimate_forward_predict(forward, &q->setting, z, &fault, ESTIMATE_AT(idle), points);
    (void)monitors_rest(estimate_forward_measures(forward), &codes);
    for (int c = 0; c < MONITOR_CODE_COUNT; c++)
      if (isnan(from[c]) && (codes & monitors_bit((enum monitor_code)c))) from[c] = film;
  }
  estimate_forward_destroy(forward);
  const uint64_t stored = q->symptoms ? q->symptoms->stored : 0;
  for (int c = 0; c < MONITOR_CODE_COUNT; c++) {
    const bool is_stored = (stored & monitors_bit((enum monitor_code)c)) != 0;
    if (is_stored || !isnan(from[c]))
      card->codes[card->code_count++] =
          (struct visit_code){.code = (enum monitor_code)c, .stored = is_stored, .film_um = from[c], .film_most_um = most};
  }
  return STATUS_OK;
}

/* The likeliest causes that set each, by what is known now. */
static void find_code_causes(struct visit_card *card) {
  const struct estimate *e = card->estimate;
  for (size_t i = 0; i < card->code_count; i++) {
    struct visit_code *code = &card->codes[i];
    for (size_t k = 0; k < e->count && code->cause_count < VISIT_CODE_CAUSE_MAX; k++) {
      const struct estimate_hypothesis *h = &e->hypotheses[e->order[k]];
      const struct estimate_symptoms_told *told = &e->told[e->order[k]];
      if (h->fault.count == 0 || estimate_hypothesis_is_unlisted(h) || !told->looked || h->fault.fresh || h->probability < LIKELY)
        continue;
      if (told->code[code->code] >= SETS) code->causes[code->cause_count++] = e->order[k];
    }
  }
}

/* ---- Decision ---- */

static bool has(const struct visit_card *card, enum estimate_quantity quantity, enum estimate_condition condition) {
  return estimate_readings_find(card->estimate->problem.readings, quantity, condition) != NULL;
}

/* Reads what is wanted before anything is told: a few readings, and the closed stop that an opening is held against. */
static const struct estimate_next_test *find_first(const struct visit_card *card) {
  const struct estimate_next *next = &card->findings.next;
  const bool answered = card->visit->look_count > 0 && card->estimate->problem.readings->count > 0;
  const struct estimate_next_test *test = NULL;
  if (has(card, ESTIMATE_QUANTITY_tp_pct, ESTIMATE_CONDITION_idle) &&
      !has(card, ESTIMATE_QUANTITY_tp_pct, ESTIMATE_CONDITION_key_on))
    test = find_test(next, "data_stream@key_on");
  for (size_t i = 0; !test && i < next->count && card->estimate->problem.readings->count < FEW && !answered; i++)
    if (visit_box_reads(&next->tests[i])) test = &next->tests[i];
  return test;
}

static void decide_test(struct visit_decision *d, const char *name, const char *text, double minutes, unsigned cautions) {
  d->kind =
      estimate_next_is_look(name) || strncmp(name, "closed_gap_mm2", strlen("closed_gap_mm2")) == 0 ? VISIT_LOOK : VISIT_MEASURE;
  snprintf(d->name, sizeof d->name, "%s", name);
  snprintf(d->text, sizeof d->text, "%s", text);
  d->minutes = minutes;
  d->cautions = cautions;
}

/* Causes that these remedies mend. */
static bool mends(uint64_t remedies, const struct estimate_hypothesis *h) {
  bool known;
  const uint64_t wanted = estimate_decide_remedies(h, &known);
  return known && wanted != 0 && (wanted & ~remedies) == 0;
}

static double mended_probability(const struct visit_card *card, uint64_t remedies) {
  double sum = 0.0;
  for (size_t i = 0; i < card->estimate->count; i++)
    if (mends(remedies, &card->estimate->hypotheses[i])) sum += card->estimate->hypotheses[i].probability;
  return sum;
}

/* Whether any of the causes explains what was read. */
static bool is_explained(const struct visit_card *card) { return card->estimate->p_value >= ESTIMATE_P_VALUE_LEAST; }

/* Whether something that finds a cause of these remedies has said yes. Where no cause explains the readings, none is taken at its word. */
static bool is_confirmed(const struct visit_card *card, uint64_t remedies) {
  const struct estimate *e = card->estimate;
  const struct estimate_hypothesis *nothing = &e->hypotheses[0];
  bool look = !is_explained(card);
  for (size_t i = 0; i < REMEDY_COUNT; i++) look = look || (((remedies >> i) & 1u) && remedy_needs_look(i));
  if (!look) return true;
  for (size_t i = 0; i < e->count; i++) {
    if (!mends(remedies, &e->hypotheses[i]) || e->hypotheses[i].fault.count == 0) continue;
    if (estimate_hypothesis_place(&e->hypotheses[i], CAUSE_film) >= 0 &&
        has(card, ESTIMATE_QUANTITY_closed_gap_mm2, ESTIMATE_CONDITION_key_on))
      return true; // that reading is among those the probability rests on
    for (size_t k = 0; k < card->visit->look_count; k++)
      if (card->visit->looks[k].yes && estimate_next_look_yes(card->visit->looks[k].name, &e->hypotheses[i]) >
                                           estimate_next_look_yes(card->visit->looks[k].name, nothing))
        return true;
  }
  return false;
}

static unsigned mend_cautions(const struct visit_card *card, uint64_t remedies, bool *cleans) {
  unsigned steps = CAUTION_STEP_unplug | CAUTION_STEP_relearn | CAUTION_STEP_run;
  *cleans = (remedies >> remedy_of_cause(cause_rows[CAUSE_film].name)) & 1u;
  if (*cleans) steps |= CAUTION_STEP_clean_bore | CAUTION_STEP_blade;
  for (size_t i = 0; i < REMEDY_COUNT; i++)
    if (((remedies >> i) & 1u) && strcmp(remedy_rows[i].name, "clean_bypass_valve") == 0)
      steps |= CAUTION_STEP_valve | CAUTION_STEP_clean_valve;
    else if (((remedies >> i) & 1u) && strcmp(remedy_rows[i].name, "throttle_unit") == 0)
      steps |= CAUTION_STEP_blade;
  return caution_for(steps, engine_features(card->estimate->problem.engine));
}

static bool take(struct visit_card *card, const struct estimate_step *step) {
  struct visit_decision *d = &card->decision;
  const unsigned features = engine_features(card->estimate->problem.engine);
  if (step->kind == ESTIMATE_STEP_LOOK) {
    if (visit_find_look(card->visit, step->name) || visit_skips(card->visit, step->name)) return false;
    decide_test(d, step->name, step->text, step->minutes, step->cautions);
    return true;
  }
  if (step->kind == ESTIMATE_STEP_BACK && !is_explained(card)) return false; // something is wrong with it, or with the readings
  const uint64_t remedies = step->kind == ESTIMATE_STEP_MEND ? card->findings.decide.actions[step->action].remedies : 0;
  if (step->kind == ESTIMATE_STEP_MEND && (!is_confirmed(card, remedies) || mended_probability(card, remedies) < MEND_LEAST))
    return false;
  decide_test(d, step->name, step->text, NAN, caution_for(CAUTION_STEP_run, features));
  d->kind = step->kind == ESTIMATE_STEP_MEND ? VISIT_MEND : step->kind == ESTIMATE_STEP_SEARCH ? VISIT_SEARCH : VISIT_HAND_BACK;
  d->remedies = remedies;
  if (remedies) d->cautions = mend_cautions(card, remedies, &d->cleans);
  return true;
}

/* Whether nobody complains, no code is stored, no look has found anything, and a good car explains best what was read, warm idle among it. The
 * rates of causes are those of cars that come with a complaint: for such a car the likeliest cause has one third of the truth at most, so
 * that a search by hand comes cheapest, for a car that nobody has asked to be searched. */
static bool is_sound(const struct visit_card *card, const struct estimate_symptoms *symptoms) {
  const struct estimate *e = card->estimate;
  const bool symptom = symptoms && (symptoms->stored || symptoms->strange_count || symptoms->frame_given ||
                                    symptoms->complaint < ESTIMATE_COMPLAINT_COUNT);
  for (size_t i = 0; i < card->visit->look_count; i++)
    if (card->visit->looks[i].yes) return false;
  return !symptom && e->problem.readings->count >= FEW && has(card, ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_CONDITION_idle) &&
         e->order[0] == 0 && e->hypotheses[0].p_value >= SOUND_P;
}

static void hand_back(struct visit_card *card, bool codes_read) {
  struct visit_decision *d = &card->decision;
  decide_test(d, "hand_back",
              codes_read
                  ? "repair nothing: nobody complains, no code is stored, and everything that was read is what a good car reads"
                  : "repair nothing: nobody complains, and everything that was read is what a good car reads; read the codes "
                    "before it leaves",
              NAN, caution_for(CAUTION_STEP_run, engine_features(card->estimate->problem.engine)));
  d->kind = VISIT_HAND_BACK;
}

static void decide(struct visit_card *card) {
  const struct estimate_steps *steps = &card->findings.steps;
  const struct estimate_next_test *first = find_first(card);
  const unsigned features = engine_features(card->estimate->problem.engine);
  if (!is_explained(card) && !card->visit->stands) {
    decide_test(
        &card->decision, "read_again",
        "read it all again, warm, in P or neutral, nothing switched on: none of the causes explains these readings; if they "
        "are the same again, go on with --stands",
        NAN, caution_for(CAUTION_STEP_key_on | CAUTION_STEP_run, features));
    card->decision.kind = VISIT_READ_AGAIN;
    return;
  }
  if (first) {
    decide_test(&card->decision, first->name, first->text, first->minutes, first->cautions);
    return;
  }
  if (take(card, &steps->chosen)) return;
  for (size_t i = 0; i < steps->count; i++)
    if (take(card, &steps->steps[i])) return;
}

/* ---- All of it ---- */

enum status visit_lay_out(const struct visit *visit, const struct estimate_question *question,
                          const struct estimate_findings_wish *wish, const struct for_each *for_each, struct visit_card **card,
                          struct error *error) {
  struct visit_card *c = *card = calloc(1, sizeof **card);
  if (!c) return error_set(error, STATUS_NO_MEMORY, "out of memory for a job card");
  c->visit = visit;
  enum status status = estimate_create(question, for_each, &c->estimate, error);
  if (status == STATUS_OK) weigh_looks(visit, c->estimate);
  if (status == STATUS_OK) status = estimate_findings_init(&c->findings, c->estimate, wish, error);
  if (status == STATUS_OK) status = find_codes(c, question, error);
  if (status != STATUS_OK) return status;
  forget_done(visit, &c->findings.next);
  add_plain_streams(c, &c->findings.next);
  find_code_causes(c);
  decide(c);
  if (c->decision.kind == VISIT_SEARCH && is_sound(c, question->symptoms))
    hand_back(c, question->symptoms && question->symptoms->codes_given);
  return visit_box_lay_out(c, error);
}
