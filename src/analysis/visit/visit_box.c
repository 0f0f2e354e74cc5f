#include "analysis/visit/visit_box.h"

#include "analysis/estimate/estimate_predictive.h"
#include "base/probability.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GOOD_SD 1.6448536269514722 // of the normal distribution: ESTIMATE_INTERVAL lies within
#define TELLING 0.003              // probability of a cause that counts, as in estimate_next.c
#define FINDS   0.5                // probability from which a branch goes on to the look that finds the cause; our own choice
enum { STREAM_LENGTH = 12 };       // of "data_stream@"

bool visit_box_reads(const struct estimate_next_test *test) {
  return strchr(test->name, '@') != NULL && strncmp(test->name, "closed_gap_mm2@", strlen("closed_gap_mm2@")) != 0;
}

/* What the layout needs beside the card. */
struct layout {
  struct visit_card *card;
  struct estimate_forward *forward;
  struct estimate_readings wanted;
  struct estimate_predictive predictive;
  bool good_known;
  double low[ESTIMATE_READING_MAX], high[ESTIMATE_READING_MAX];            // of a good car
  double result[VISIT_BOX_MAX][ESTIMATE_HYPOTHESIS_MAX][VISIT_BRANCH_MAX]; // probability of each, given the cause
  bool counts[ESTIMATE_HYPOTHESIS_MAX];
};

/* ---- Which boxes ---- */

static bool is_there(const struct visit_card *card, const char *name) {
  for (size_t i = 0; i < card->box_count; i++)
    if (strcmp(card->boxes[i].test.name, name) == 0) return true;
  return false;
}

static void add_box(struct visit_card *card, const struct estimate_next_test *test) {
  if (card->box_count == VISIT_BOX_MAX || is_there(card, test->name)) return;
  card->boxes[card->box_count++] = (struct visit_box){.test = *test, .reads = visit_box_reads(test)};
}

static void add_decided(struct visit_card *card) {
  const struct estimate_next *next = &card->findings.next;
  for (size_t i = 0; i < next->count; i++)
    if (strcmp(next->tests[i].name, card->decision.name) == 0) {
      add_box(card, &next->tests[i]);
      return;
    }
  struct estimate_next_test test;
  for (size_t i = 0; i < card->estimate->count; i++) {
    const struct estimate_hypothesis *h = &card->estimate->hypotheses[card->estimate->order[i]];
    for (size_t k = 0; k < h->fault.count; k++)
      if (estimate_next_confirm(card->estimate, h->fault.cause[k], &card->findings.decide, &test) &&
          strcmp(test.name, card->decision.name) == 0) {
        add_box(card, &test);
        return;
      }
  }
}

/* The decision's own, then by worth; the looks of the likeliest causes must be among them, as branches lead there. */
static void choose_boxes(struct visit_card *card) {
  const struct estimate *e = card->estimate;
  enum { LOOKS_KEPT = 2 };
  add_decided(card);
  for (size_t i = 0; i < card->findings.next.count && card->box_count + LOOKS_KEPT < VISIT_BOX_MAX; i++)
    add_box(card, &card->findings.next.tests[i]);
  for (size_t i = 0; i < e->count; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[e->order[i]];
    struct estimate_next_test test;
    if (h->fault.count != 1 || h->probability < TELLING) continue;
    if (!estimate_next_confirm(e, h->fault.cause[0], &card->findings.decide, &test)) continue;
    if (!visit_find_look(card->visit, test.name) && !visit_skips(card->visit, test.name)) add_box(card, &test);
  }
}

/* ---- Values ---- */

static double sd_of(const struct layout *l, size_t reading) {
  return sqrt(l->predictive.covariance[reading * l->wanted.count + reading]);
}

static void find_good(struct layout *l) {
  const struct estimate_predictive *p = &l->predictive;
  for (size_t r = 0; r < l->wanted.count; r++) {
    double mean = 0.0, square = 0.0;
    for (size_t k = 0; k < p->node_count; k++) mean += p->mass[k] * p->mean[k][r];
    for (size_t k = 0; k < p->node_count; k++) square += p->mass[k] * (p->mean[k][r] - mean) * (p->mean[k][r] - mean);
    const double sd = sqrt(square + sd_of(l, r) * sd_of(l, r));
    l->low[r] = mean - GOOD_SD * sd;
    l->high[r] = mean + GOOD_SD * sd;
  }
  l->good_known = true;
}

/* Those of a data stream at a condition, or the one of this name. */
static bool belongs(const struct visit_box *box, const struct estimate_reading *reading) {
  const char *at = strchr(box->test.name, '@');
  if (strcmp(at + 1, estimate_conditions[reading->condition].name) != 0) return false;
  const struct estimate_quantity_row *row = &estimate_quantities[reading->quantity];
  if (strncmp(box->test.name, "data_stream@", STREAM_LENGTH) == 0) return row->instrument == ESTIMATE_STREAM;
  return strlen(row->name) == (size_t)(at - box->test.name) && strncmp(row->name, box->test.name, strlen(row->name)) == 0;
}

static bool is_most_telling(const struct visit_box *box, const struct estimate_reading *reading) {
  const char *telling = strstr(box->test.text, "most telling: ");
  return telling && strcmp(telling + strlen("most telling: "), estimate_quantities[reading->quantity].name) == 0;
}

static size_t find_wanted(const struct layout *l, const struct estimate_reading *reading) {
  for (size_t r = 0; r < l->wanted.count; r++)
    if (l->wanted.readings[r].quantity == reading->quantity && l->wanted.readings[r].condition == reading->condition) return r;
  return l->wanted.count;
}

/* Whether a sum that it is a part of is wanted too: one line for both. */
static bool is_part(const struct layout *l, const struct estimate_reading *reading) {
  for (size_t i = 0; i < ESTIMATE_WHOLE_COUNT; i++) {
    if (estimate_wholes[i].parts[0] != reading->quantity && estimate_wholes[i].parts[1] != reading->quantity) continue;
    const struct estimate_reading whole = {.quantity = estimate_wholes[i].whole, .condition = reading->condition};
    if (find_wanted(l, &whole) < l->wanted.count) return true;
  }
  return false;
}

static void fill_box(struct layout *l, struct visit_box *box) {
  for (size_t r = 0; r < l->wanted.count; r++) {
    const struct estimate_reading *reading = &l->wanted.readings[r];
    if (!belongs(box, reading) || box->value_count == VISIT_VALUE_MAX || is_part(l, reading)) continue;
    if (estimate_readings_find(l->card->estimate->problem.readings, reading->quantity, reading->condition)) continue;
    if (l->good_known && isnan(l->low[r])) continue; // not read then
    struct visit_value value = {*reading, l->good_known ? l->low[r] : NAN, l->good_known ? l->high[r] : NAN};
    size_t place = box->value_count++;
    if (is_most_telling(box, reading)) {
      memmove(box->values + 1, box->values, place * sizeof *box->values);
      place = 0;
    }
    box->values[place] = value;
  }
}

/* ---- Branches ---- */

/* Results of a hypothesis whose predictive distribution is at hand. */
static void find_results(struct layout *l, size_t hypothesis) {
  for (size_t b = 0; b < l->card->box_count; b++) {
    const struct visit_box *box = &l->card->boxes[b];
    if (!box->reads || box->value_count == 0) continue;
    const size_t r = find_wanted(l, &box->values[0].reading);
    double *result = l->result[b][hypothesis];
    for (size_t k = 0; k < l->predictive.node_count; k++) {
      if (!l->predictive.runs[k] || isnan(l->predictive.mean[k][r])) continue; // it cannot be read there
      const double under = probability_normal_cdf((box->values[0].low - l->predictive.mean[k][r]) / sd_of(l, r));
      const double to = probability_normal_cdf((box->values[0].high - l->predictive.mean[k][r]) / sd_of(l, r));
      result[0] += l->predictive.mass[k] * under;
      result[1] += l->predictive.mass[k] * (to - under);
      result[2] += l->predictive.mass[k] * (1.0 - to);
    }
  }
}

static void find_look_results(struct layout *l, size_t b) {
  const struct estimate *e = l->card->estimate;
  const struct visit_box *box = &l->card->boxes[b];
  for (size_t i = 0; i < e->count; i++) {
    const double yes = estimate_next_look_yes(box->test.name, &e->hypotheses[i]);
    l->result[b][i][0] = yes;
    l->result[b][i][1] = 1.0 - yes;
  }
}

/* The box further on whose test finds the cause; else the next of the card: never back, so that nobody goes in circles. */
static size_t box_after(const struct visit_card *card, size_t b, size_t hypothesis, double probability) {
  const struct estimate_hypothesis *h = &card->estimate->hypotheses[hypothesis];
  for (size_t i = b + 1; i < card->box_count && probability >= FINDS && h->fault.count > 0; i++)
    if ((card->boxes[i].test.finds >> h->fault.cause[h->fault.count - 1]) & 1u) return i;
  return b + 1 < card->box_count ? b + 1 : VISIT_BOX_MAX;
}

static void add_branch(struct layout *l, size_t b, size_t place, enum visit_result result) {
  const struct estimate *e = l->card->estimate;
  struct visit_branch branch = {.result = result};
  double most = -1.0;
  for (size_t i = 0; i < e->count; i++) {
    const bool counts = l->counts[i] || !l->card->boxes[b].reads; // no reading has to be foretold for a look
    const double joint = counts ? e->hypotheses[i].probability * l->result[b][i][place] : 0.0;
    branch.probability += joint;
    if (joint <= most) continue;
    most = joint;
    branch.cause = i;
  }
  if (!(branch.probability > 0.0)) return;
  branch.cause_probability = most / branch.probability;
  branch.box = box_after(l->card, b, branch.cause, branch.cause_probability);
  // the look that finds it has just said yes: that is for the decision
  if (result == VISIT_YES && (l->card->boxes[b].test.finds >> estimate_hypothesis_cause(&e->hypotheses[branch.cause])) & 1u &&
      branch.cause_probability >= FINDS)
    branch.box = VISIT_BOX_MAX;
  l->card->boxes[b].branches[l->card->boxes[b].branch_count++] = branch;
}

static void lay_out(struct layout *l) {
  struct visit_card *card = l->card;
  const struct estimate *e = card->estimate;
  estimate_predictive_everything(e, l->forward, &l->wanted);
  for (size_t i = 0; i < e->count; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[i];
    if ((i > 0 && h->probability < TELLING) || !h->nodes[h->best].full) continue;
    estimate_predictive(e, i, l->forward, &l->wanted, ESTIMATE_AS_IT_IS, false, &l->predictive);
    if (!l->predictive.possible) continue;
    l->counts[i] = true;
    if (i == 0) {
      find_good(l);
      for (size_t b = 0; b < card->box_count; b++)
        if (card->boxes[b].reads) fill_box(l, &card->boxes[b]);
    }
    if (l->good_known) find_results(l, i);
  }
  for (size_t b = 0; b < card->box_count; b++) {
    if (card->boxes[b].reads && !l->good_known) fill_box(l, &card->boxes[b]);
    if (card->boxes[b].reads && l->good_known && card->boxes[b].value_count > 0)
      for (size_t i = 0; i < VISIT_BRANCH_MAX; i++) add_branch(l, b, i, (enum visit_result)(VISIT_BELOW + i));
    if (card->boxes[b].reads) continue;
    find_look_results(l, b);
    add_branch(l, b, 0, VISIT_YES);
    add_branch(l, b, 1, VISIT_NO);
  }
}

enum status visit_box_lay_out(struct visit_card *card, struct error *error) {
  struct layout *l = calloc(1, sizeof *l);
  if (!l) return error_set(error, STATUS_NO_MEMORY, "out of memory for the boxes of a card");
  l->card = card;
  choose_boxes(card);
  const enum status status = estimate_forward_create(card->estimate->problem.engine, &l->forward, error);
  if (status == STATUS_OK) lay_out(l);
  if (status == STATUS_OK) estimate_forward_destroy(l->forward);
  free(l);
  return status;
}
