#include "analysis/estimate/estimate.h"

#include "analysis/estimate/estimate_known.h"
#include "analysis/estimate/estimate_screen.h"
#include "analysis/estimate/estimate_search.h"
#include "analysis/estimate/estimate_symptoms_weigh.h"
#include "analysis/estimate/estimate_unlisted.h"
#include "base/probability.h"
#include "base/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WORTH_FINE 150.0 // log of probability below the likeliest beyond which the coarse search is enough
#define SURELY_WORTH \
  6.0 // log of probability below the likeliest of the fine search within which a cause is searched in full first,
#define WORTH_FULL     14.0  // and beyond which the fine search is enough
#define ONE_FIT_ENOUGH 7.0   // the same below the likeliest that is searched in full, beyond which one severity fitted is
#define PAIR_ENOUGH    5.0   // the same for a pair, beyond which a quick answer is
#define PAIRS_P_VALUE  0.05  // where no single cause fits better, pairs are tried unasked
#define LOST_P_VALUE   1e-4  // so poor a fit is chance in one car in ten thousand
#define FILM_MOST_UM   300.0 // more than any prior
#define CHANGED_SHARE \
  0.1 // of states that a baseline has seen otherwise, how many are left: somebody turned the stop screw; invented
#define FRESH_SHARE 0.06 // of filmed cars, those whose computer was reset before they were read; invented

/* A severity of the film and how much of all probability stands there. */
struct film {
  double um, mass;
};

/* What is needed on the way; most of it too large for a stack. */
struct work {
  struct estimate *estimate;
  size_t worker_count;
  struct estimate_worker *workers; // one a worker
  struct estimate_slopes nothing;
  struct estimate_readings steady_readings; // all but load steps, which cost a run each
  struct estimate_problem steady;
  struct estimate_discrepancy steady_discrepancy;
  struct estimate_slopes steady_nothing;
  struct estimate_unlisted_room unlisted;
  struct estimate_anchors *anchors;  // of each single cause, as far as they were needed
  struct estimate_hypothesis *looks; // pairs that are looked at before some are fitted
  struct estimate_effect *effects;   // of each single cause
  size_t effect_count;
  double good[ESTIMATE_READING_MAX];               // what a good car is expected to read, load steps left out
  size_t single_of[CAUSE_COUNT];                   // where a cause alone is
  double best;                                     // log evidence times prior, of those known so far
  double fine[ESTIMATE_HYPOTHESIS_MAX], best_fine; // the same of the fine search, without load steps
  double within;                                   // how far below the best of the fine search a cause is still searched in full
  bool full[ESTIMATE_HYPOTHESIS_MAX];
  size_t single_count;
  struct film films[ESTIMATE_HYPOTHESIS_MAX * ESTIMATE_NODE_MAX];
};

/* ---- the hypotheses ---- */
/* Log of evidence times prior. */
static double weight_of(const struct estimate_hypothesis *h) { return h->log_evidence + log(h->prior); }

static struct estimate_hypothesis *add_hypothesis(struct estimate *e, size_t count, enum cause first, enum cause second,
                                                  double prior) {
  struct estimate_hypothesis *h = &e->hypotheses[e->count++];
  h->fault = (struct estimate_fault){.count = count, .cause = {first, second}};
  h->prior = prior;
  return h;
}

/* A computer that was reset is set apart from its film only where it learns again what the film takes. */
static bool can_be_fresh(const struct estimate *e, enum cause cause) {
  return (cause == CAUSE_film || cause == CAUSE_bypass_film) && !e->question->setting.stale;
}

static void list_single(struct work *w, enum cause cause, double prior) {
  struct estimate *e = w->estimate;
  w->single_of[cause] = e->count;
  const bool fresh = can_be_fresh(e, cause);
  add_hypothesis(e, 1, cause, CAUSE_nothing, fresh ? prior * (1.0 - FRESH_SHARE) : prior);
  if (fresh) add_hypothesis(e, 1, cause, CAUSE_nothing, prior * FRESH_SHARE)->fault.fresh = true;
}

/* Whether a baseline of the car has seen that it is not so. */
static bool seen_otherwise(enum cause cause) { return cause == CAUSE_stop_other || cause == CAUSE_target_other; }

/* Probability before the readings, after the baseline. */
static double prior_of(const struct estimate *e, enum cause cause) {
  const struct engine *engine = e->question->engine;
  const double prior = cause_prior(engine, cause);
  if (!estimate_knows_car(e)) return prior;
  const double others = cause_prior(engine, CAUSE_stop_other) + cause_prior(engine, CAUSE_target_other);
  return prior * (seen_otherwise(cause) ? CHANGED_SHARE : 1.0) / (1.0 - (1.0 - CHANGED_SHARE) * others);
}

static void list_singles(struct work *w) {
  struct estimate *e = w->estimate;
  add_hypothesis(e, 0, CAUSE_nothing, CAUSE_nothing, prior_of(e, CAUSE_nothing));
  for (int i = 0; i < CAUSE_COUNT; i++) {
    const enum cause cause = (enum cause)i;
    const double prior = prior_of(e, cause);
    if (cause == CAUSE_nothing || cause == CAUSE_unlisted || !(prior > 0.0)) continue;
    if (cause_place(cause) == CAUSE_IN_MEMORY && e->question->setting.stale) continue; // the setting says what is remembered
    list_single(w, cause, prior);
  }
}

/* It has one node, the good car: what it would be like is not known. */
static void add_unlisted(struct work *w, const double expected[ESTIMATE_READING_MAX]) {
  struct estimate *e = w->estimate;
  const double prior = prior_of(e, CAUSE_unlisted);
  if (!(prior > 0.0)) return;
  struct estimate_hypothesis *h = add_hypothesis(e, 0, CAUSE_unlisted, CAUSE_nothing, prior);
  h->log_evidence = estimate_unlisted_evidence(&e->problem, expected, &w->nothing, &w->unlisted);
  h->node_count = 1;
  h->nodes[0].mass = 1.0;
  h->nodes[0].full = h->nodes[0].fit.possible = true;
  memcpy(h->nodes[0].fit.z, e->problem.prior->mean, sizeof h->nodes[0].fit.z);
  memcpy(h->nodes[0].fit.expected, expected, sizeof h->nodes[0].fit.expected);
  h->nodes[0].fit.log_likelihood = h->log_evidence;
  h->slopes = w->nothing;
  memcpy(h->covariance, e->problem.prior->covariance, sizeof h->covariance);
  h->chi2 = h->p_value = NAN; // it fits anything
}

static void coarse_job(size_t index, size_t worker, void *user) {
  struct work *w = user;
  struct estimate_hypothesis *h = &w->estimate->hypotheses[index];
  h->slopes = w->nothing;
  estimate_search_coarse(&w->steady, &w->workers[worker], &w->steady_nothing, h);
  estimate_search_weigh(&w->steady, h);
}

static void fine_job(size_t index, size_t worker, void *user) {
  struct work *w = user;
  struct estimate_hypothesis *h = &w->estimate->hypotheses[index];
  if (!(weight_of(h) > w->best - WORTH_FINE)) return;
  estimate_search_fine(&w->steady, &w->workers[worker], &w->steady_nothing, h, &w->anchors[index]);
  estimate_search_weigh(&w->steady, h);
}

static void full_job(size_t index, size_t worker, void *user) {
  struct work *w = user;
  struct estimate_hypothesis *h = &w->estimate->hypotheses[index];
  if (w->full[index] || !(w->fine[index] > w->best_fine - w->within)) return;
  w->full[index] = true;
  const double enough = w->best - log(h->prior) - ONE_FIT_ENOUGH;
  estimate_search_full(&w->estimate->problem, &w->workers[worker], &w->nothing, enough, h);
  estimate_search_weigh(&w->estimate->problem, h);
}

static void search_within(struct work *w, const struct for_each *for_each, double within) {
  w->within = within;
  for_each->run(for_each, w->single_count, full_job, w);
  for (size_t i = 0; i < w->single_count; i++)
    if (w->full[i]) w->best = fmax(w->best, weight_of(&w->estimate->hypotheses[i]));
}

/* The fine search takes the car for linear. Far from a good one, as with a leak at which it races, that misleads: where nothing that was
 * searched in full explains the readings, everything is. */
static void search_where_lost(struct work *w, const struct for_each *for_each) {
  for (size_t i = 0; i < w->single_count; i++)
    if (w->full[i] && w->estimate->hypotheses[i].p_value > LOST_P_VALUE) return;
  search_within(w, for_each, INFINITY);
}

/* The fine search knows no load steps: what was not searched in full is moved by as much as the best was. */
static void move_fine(struct work *w) {
  double moved = 0.0;
  for (size_t i = 0; i < w->single_count; i++)
    if (w->fine[i] >= w->best_fine) moved = weight_of(&w->estimate->hypotheses[i]) - w->fine[i];
  for (size_t i = 0; i < w->single_count; i++)
    if (!w->full[i] && isfinite(moved)) w->estimate->hypotheses[i].log_evidence += moved;
}

static bool pose_steady(struct work *w) {
  const struct estimate_readings *all = w->estimate->problem.readings;
  for (size_t i = 0; i < all->count; i++) {
    if ((1u << all->readings[i].condition) & ESTIMATE_AT_STEPS) continue;
    memcpy(w->steady_nothing.by[w->steady_readings.count], w->nothing.by[i], sizeof w->nothing.by[i]);
    w->good[w->steady_readings.count] = w->estimate->good[i];
    w->steady_readings.readings[w->steady_readings.count++] = all->readings[i];
  }
  w->steady = w->estimate->problem;
  w->steady.readings = &w->steady_readings;
  w->steady.good = w->good;
  w->steady.conditions &= ~ESTIMATE_AT_STEPS;
  if (!w->steady.discrepancy) return true;
  w->steady.discrepancy = &w->steady_discrepancy;
  return estimate_discrepancy_of(&w->steady_readings, &w->estimate->past, w->steady.count, &w->steady_discrepancy);
}

/* ---- pairs ---- */
/* What a cause alone does at the severities of the coarse search: at the prior's mean, where a quick fit leaves what it expects; of one that
 * has an unknown of its own, at a start. */
static void keep_effect(struct work *w, const struct estimate_hypothesis *h, bool own, int start) {
  struct estimate_effect *effect = &w->effects[w->effect_count++];
  const enum cause cause = h->fault.cause[0];
  *effect = (struct estimate_effect){.cause = cause,
                                     .start = start,
                                     .log_prior = log(own ? h->prior / ESTIMATE_START_COUNT : h->prior),
                                     .log_evidence = h->log_evidence,
                                     .count = h->node_count};
  double z[SCATTER_COUNT];
  estimate_fit_start(&w->steady, cause, start, z);
  for (size_t i = 0; i < h->node_count; i++) {
    const struct estimate_fault fault = estimate_node_fault(h, &h->nodes[i]);
    effect->severity[i] = fault.severity[0];
    effect->runs[i] =
        own ? estimate_fit_expect(&w->steady, w->workers[0].forward, z, &fault, effect->moved[i]) : h->nodes[i].fit.possible;
    if (!own) memcpy(effect->moved[i], h->nodes[i].fit.expected, sizeof effect->moved[i]);
    for (size_t j = 0; j < w->steady_readings.count; j++) effect->moved[i][j] -= w->good[j];
  }
}

static void keep_effects(struct work *w) {
  const struct estimate *e = w->estimate;
  for (size_t i = 0; i < w->single_count; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[i];
    if (h->fault.count != 1 || h->fault.fresh || cause_rows[h->fault.cause[0]].state) continue;
    const bool own = estimate_forward_own(h->fault.cause[0]) != SCATTER_COUNT;
    for (int start = 0; start < (own ? ESTIMATE_START_COUNT : 1); start++) keep_effect(w, h, own, start);
  }
}

static void anchor_job(size_t index, size_t worker, void *user) {
  struct work *w = user;
  if (w->anchors[index].count == 0)
    estimate_search_anchor(&w->steady, &w->workers[worker], &w->steady_nothing, &w->estimate->hypotheses[index],
                           &w->anchors[index]);
}

static void look_job(size_t index, size_t worker, void *user) {
  struct work *w = user;
  struct estimate_hypothesis *h = &w->looks[index];
  const struct estimate_view steady = {&w->steady, &w->steady_nothing};
  estimate_search_look(&steady, &w->workers[worker], &w->anchors[w->single_of[h->fault.cause[0]]],
                       &w->anchors[w->single_of[h->fault.cause[1]]], h);
}

static void pair_job(size_t index, size_t worker, void *user) {
  struct work *w = user;
  struct estimate_hypothesis *h = &w->estimate->hypotheses[w->single_count + index];
  const struct estimate_view whole = {&w->estimate->problem, &w->nothing};
  estimate_search_pair(&whole, &w->workers[worker], w->best - log(h->prior) - PAIR_ENOUGH, h);
}

/* The likeliest of those that were looked at become hypotheses; how many. */
static size_t take_best_looks(struct work *w, size_t count) {
  struct estimate *e = w->estimate;
  size_t taken = 0;
  bool gone[ESTIMATE_LOOK_MAX] = {false};
  for (; taken < ESTIMATE_PAIR_MAX; taken++) {
    size_t best = count;
    for (size_t i = 0; i < count; i++)
      if (!gone[i] && isfinite(w->looks[i].log_evidence) &&
          (best == count || weight_of(&w->looks[i]) > weight_of(&w->looks[best])))
        best = i;
    if (best == count) break;
    gone[best] = true;
    e->hypotheses[e->count++] = w->looks[best];
  }
  return taken;
}

static bool singles_explain(const struct work *w) {
  for (size_t i = 0; i < w->single_count; i++)
    if (w->full[i] && w->estimate->hypotheses[i].p_value > PAIRS_P_VALUE) return true;
  return false;
}

static void try_pairs(struct work *w, const struct for_each *for_each) {
  struct estimate *e = w->estimate;
  e->pairs_tried = e->question->pairs || !singles_explain(w);
  if (!e->pairs_tried) return;
  double residual[ESTIMATE_READING_MAX];
  estimate_fit_residuals(&w->steady, w->steady.prior->mean, w->good, residual);
  struct estimate_pair pairs[ESTIMATE_LOOK_MAX];
  const size_t count = estimate_screen(&w->steady, w->workers[0].forward, w->good, residual, &w->steady_nothing, w->effect_count,
                                       w->effects, &w->unlisted, pairs);
  for (size_t i = 0; i < count; i++) {
    w->looks[i].fault = (struct estimate_fault){.count = 2, .cause = {pairs[i].first, pairs[i].second}};
    w->looks[i].prior = prior_of(e, pairs[i].first) * prior_of(e, pairs[i].second);
  }
  for_each->run(for_each, w->single_count, anchor_job, w);
  for_each->run(for_each, count, look_job, w);
  for_each->run(for_each, take_best_looks(w, count), pair_job, w);
}

/* ---- probabilities ---- */
void estimate_order(struct estimate *e) {
  for (size_t i = 0; i < e->count; i++) {
    size_t place = i;
    for (; place > 0 && e->hypotheses[e->order[place - 1]].probability < e->hypotheses[i].probability; place--)
      e->order[place] = e->order[place - 1];
    e->order[place] = i;
  }
}

/* The thickness with so much mass below it, by bisection on the masses. */
static double film_quantile_um(const struct film *films, size_t count, double mass) {
  double low = 0.0, high = FILM_MOST_UM;
  for (int step = 0; step < 40; step++) {
    const double middle = 0.5 * (low + high);
    double below = 0.0;
    for (size_t k = 0; k < count; k++)
      if (films[k].um <= middle) below += films[k].mass;
    *(below < mass ? &low : &high) = middle;
  }
  return high;
}

/* The film over all hypotheses that have one: their marginals, mixed, from the nodes' masses. */
static void mix_films(struct work *w) {
  struct estimate *e = w->estimate;
  const struct estimate_hypothesis *alone = NULL;
  size_t count = 0;
  double mean = 0.0;
  e->film_probability = 0.0;
  for (size_t i = 0; i < e->count; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[i];
    const int place = estimate_hypothesis_place(h, CAUSE_film);
    if (place < 0 || !(h->probability > 0.0)) continue;
    if (h->fault.count == 1) alone = h;
    e->film_probability += h->probability;
    mean += h->probability * h->mean[place];
    for (size_t k = 0; k < h->node_count; k++)
      w->films[count++] =
          (struct film){estimate_node_severity(h, &h->nodes[k], (size_t)place), h->probability * h->nodes[k].mass};
  }
  e->film_best_um = e->film_low_um = e->film_high_um = NAN;
  if (!(e->film_probability > 0.0)) return;
  e->film_best_um = mean / e->film_probability;
  if (alone && alone->probability > 0.999 * e->film_probability) { // one density: its own exact quantiles
    e->film_low_um = alone->low[0];
    e->film_high_um = alone->high[0];
    return;
  }
  e->film_low_um = film_quantile_um(w->films, count, 0.5 * (1.0 - ESTIMATE_INTERVAL) * e->film_probability);
  e->film_high_um = film_quantile_um(w->films, count, 0.5 * (1.0 + ESTIMATE_INTERVAL) * e->film_probability);
  e->film_best_um = fmin(fmax(e->film_best_um, e->film_low_um), e->film_high_um);
}

static enum status judge(struct work *w, struct error *error) {
  struct estimate *e = w->estimate;
  double logs[ESTIMATE_HYPOTHESIS_MAX];
  for (size_t i = 0; i < e->count; i++) logs[i] = weight_of(&e->hypotheses[i]);
  const double all = probability_log_sum_exp(e->count, logs);
  if (!isfinite(all))
    return error_set(error, STATUS_BAD_DATA,
                     "no cause lets %s do what was read: with each of them it stalls or cannot hold the speed under one of the "
                     "conditions; look at the conditions of the readings again",
                     e->question->engine->name);
  e->p_value = 0.0;
  for (size_t i = 0; i < e->count; i++) {
    e->hypotheses[i].probability = exp(logs[i] - all);
    if (e->hypotheses[i].probability > 1e-6 && !estimate_hypothesis_is_unlisted(&e->hypotheses[i]))
      e->p_value = fmax(e->p_value, e->hypotheses[i].p_value);
  }
  estimate_order(e);
  mix_films(w);
  estimate_area_mix(&e->problem, e->count, e->hypotheses, e->film_probability, &e->area);
  return STATUS_OK;
}

/* ---- the whole ---- */
static enum status ask(struct work *w, const struct for_each *for_each, struct error *error) {
  struct estimate *e = w->estimate;
  const struct estimate_question *question = e->question;
  const struct estimate_known_question then = {question->engine, &question->baseline_setting, &question->baseline,
                                               &question->fitted_to, question->model_is_car};
  struct estimate_known known = {&e->prior, &e->past, NAN};
  enum status status = estimate_known_take(&then, w->workers[0].forward, &w->workers[0].slopes, &known, error);
  e->baseline_p_value = known.p_value;
  if (status != STATUS_OK) return status;
  struct estimate_problem *p = &e->problem;
  if (!e->question->model_is_car) {
    if (!estimate_discrepancy_of(&e->question->readings, &e->past, p->count, &e->discrepancy))
      return estimate_known_refuse_singular(error);
    p->discrepancy = &e->discrepancy;
  }
  estimate_area_find_clean(p->engine, w->workers[0].forward, &e->area);
  const struct estimate_fault nothing = {0};
  double expected[ESTIMATE_READING_MAX];
  if (!estimate_fit_expect(p, w->workers[0].forward, p->prior->mean, &nothing, expected) ||
      !estimate_fit_slopes(p, w->workers[0].forward, p->prior->mean, &nothing, expected, ~0u, &w->nothing))
    return error_set(error, STATUS_BAD_DATA,
                     "a good %s does not run under the conditions of the readings: look at what --set and the cold readings say",
                     e->question->engine->name);
  memcpy(e->good, expected, sizeof e->good);
  p->good = e->good;
  list_singles(w);
  w->single_count = e->count;
  if (!pose_steady(w)) return estimate_known_refuse_singular(error);
  for_each->run(for_each, w->single_count, coarse_job, w);
  keep_effects(w);
  w->best = -INFINITY;
  for (size_t i = 0; i < e->count; i++) w->best = fmax(w->best, weight_of(&e->hypotheses[i]));
  for_each->run(for_each, w->single_count, fine_job, w);
  w->best = w->best_fine = -INFINITY;
  for (size_t i = 0; i < e->count; i++) {
    w->fine[i] = weight_of(&e->hypotheses[i]);
    w->best_fine = fmax(w->best_fine, w->fine[i]);
  }
  search_within(w, for_each, SURELY_WORTH);
  search_within(w, for_each, WORTH_FULL);
  search_where_lost(w, for_each);
  move_fine(w);
  try_pairs(w, for_each);
  add_unlisted(w, expected);
  const struct estimate_symptoms_case with = {e->question->symptoms, p, e->count, e->hypotheses, e->told};
  if (!estimate_symptoms_weigh(&with, w->workers, for_each))
    return error_set(error, STATUS_NO_MEMORY, "out of memory for an estimate");
  return judge(w, error);
}

static void end_work(struct work *w) {
  if (!w) return;
  for (size_t i = 0; i < w->worker_count; i++) estimate_forward_destroy(w->workers[i].forward);
  free(w->workers);
  free(w->anchors);
  free(w->looks);
  free(w->effects);
  free(w);
}

static enum status begin_work(struct estimate *e, size_t worker_count, struct work **result, struct error *error) {
  struct work *w = calloc(1, sizeof *w);
  if (!w) return error_set(error, STATUS_NO_MEMORY, "out of memory for an estimate");
  *result = w;
  w->estimate = e;
  w->workers = calloc(worker_count, sizeof *w->workers);
  w->anchors = calloc(ESTIMATE_HYPOTHESIS_MAX, sizeof *w->anchors);
  w->looks = calloc(ESTIMATE_LOOK_MAX, sizeof *w->looks);
  w->effects = calloc((size_t)CAUSE_COUNT * ESTIMATE_START_COUNT, sizeof *w->effects);
  if (!w->workers || !w->anchors || !w->looks || !w->effects)
    return error_set(error, STATUS_NO_MEMORY, "out of memory for an estimate");
  enum status status = STATUS_OK;
  for (; status == STATUS_OK && w->worker_count < worker_count; w->worker_count++)
    status = estimate_forward_create(e->question->engine, &w->workers[w->worker_count].forward, error);
  return status;
}

enum status estimate_create(const struct estimate_question *question, const struct for_each *for_each, struct estimate **result,
                            struct error *error) {
  struct estimate *e = calloc(1, sizeof *e + ESTIMATE_HYPOTHESIS_MAX * sizeof e->hypotheses[0]);
  if (!e) return error_set(error, STATUS_NO_MEMORY, "out of memory for an estimate");
  e->question = question;
  struct work *w = NULL;
  enum status status = STATUS_OK;
  if (!estimate_problem_init(&e->problem, question->engine, &question->setting, &question->readings, &e->prior))
    status = estimate_fit_refuse_ties(question->engine, error);
  if (status == STATUS_OK) status = begin_work(e, for_each->worker_count, &w, error);
  if (status == STATUS_OK) status = ask(w, for_each, error);
  end_work(w);
  if (status == STATUS_OK)
    *result = e;
  else
    estimate_destroy(e);
  return status;
}

bool estimate_knows_car(const struct estimate *e) { return e->question->baseline.count > 0 || e->question->fitted_to.count > 0; }

void estimate_destroy(struct estimate *e) { free(e); }
