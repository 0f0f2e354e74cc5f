#include "analysis/estimate/estimate.h"

#include "analysis/estimate/estimate_search.h"
#include "base/probability.h"
#include "base/units.h"
#include "physics/bore.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WORTH_FINE 60.0 // log of probability below the likeliest beyond which the coarse search is enough
#define SURELY_WORTH \
  6.0 // log of probability below the likeliest of the fine search within which a cause is searched in full first,
#define WORTH_FULL     14.0  // and beyond which the fine search is enough
#define ONE_FIT_ENOUGH 7.0   // the same below the likeliest that is searched in full, beyond which one severity fitted is
#define PAIR_ENOUGH    5.0   // the same for a pair, beyond which a quick answer is
#define LOST_P_VALUE   1e-4  // so poor a fit is chance in one car in ten thousand
#define FILM_MOST_UM   300.0 // more than any prior

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
  struct estimate_slopes steady_nothing;
  struct estimate_anchors *anchors;                // of each cause for pairs, else of each worker
  double best;                                     // log evidence times prior, of those known so far
  double fine[ESTIMATE_HYPOTHESIS_MAX], best_fine; // the same of the fine search, without load steps
  double within;                                   // how far below the best of the fine search a cause is still searched in full
  bool full[ESTIMATE_HYPOTHESIS_MAX];
  size_t single_count;
  struct film films[ESTIMATE_HYPOTHESIS_MAX * ESTIMATE_NODE_MAX];
};

static double gap_m2(const struct throttle_params *throttle, double film_m, double angle_rad) {
  const struct bore_film film = {film_m, 0.0};
  return bore_area_m2(&throttle->bore, &throttle->film_shape, &film, angle_rad);
}

double estimate_area_loss_ratio(const struct estimate *e, double film_m) {
  const struct throttle_params *throttle = &e->problem.engine->plant.throttle;
  return 1.0 - gap_m2(throttle, film_m, e->clean_idle_rad) / gap_m2(throttle, 0.0, e->clean_idle_rad);
}

static double clean_idle_rad(const struct engine *engine, struct estimate_forward *forward) {
  const double z[SCATTER_COUNT] = {0};
  const struct estimate_fault nothing = {0};
  struct estimate_setting setting;
  estimate_setting_init(&setting);
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_forward_predict(forward, &setting, z, &nothing, ESTIMATE_AT(idle), points);
  return engine->plant.throttle.bore.closed_angle_rad +
         points[ESTIMATE_CONDITION_idle].values[CHANNEL_blade_deg] * UNITS_RAD_PER_DEG;
}

/* ---- the hypotheses ---- */
/* Log of evidence times prior. */
static double weight_of(const struct estimate_hypothesis *h) { return h->log_evidence + log(h->prior); }

static void add_hypothesis(struct estimate *e, size_t count, enum cause first, enum cause second, double prior) {
  struct estimate_hypothesis *h = &e->hypotheses[e->count++];
  h->fault = (struct estimate_fault){.count = count, .cause = {first, second}};
  h->prior = prior;
}

static void list_singles(struct estimate *e) {
  const struct engine *engine = e->question->engine;
  add_hypothesis(e, 0, CAUSE_nothing, CAUSE_nothing, cause_prior(engine, CAUSE_nothing));
  for (int i = 0; i < CAUSE_COUNT; i++) {
    const double prior = cause_prior(engine, (enum cause)i);
    if (i != CAUSE_nothing && prior > 0.0) add_hypothesis(e, 1, (enum cause)i, CAUSE_nothing, prior);
  }
}

static void list_pairs(struct estimate *e) {
  const double film = cause_prior(e->question->engine, CAUSE_film);
  for (int i = 0; i < CAUSE_COUNT; i++) {
    const double prior = film * cause_prior(e->question->engine, (enum cause)i);
    if (i != CAUSE_nothing && i != CAUSE_film && prior > 0.0) add_hypothesis(e, 2, CAUSE_film, (enum cause)i, prior);
  }
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
  const bool pairs = w->estimate->question->pairs;
  const enum cause cause = h->fault.count ? h->fault.cause[0] : CAUSE_nothing;
  if (!pairs && !(weight_of(h) > w->best - WORTH_FINE)) return;
  estimate_search_fine(&w->steady, &w->workers[worker], &w->steady_nothing, h, &w->anchors[pairs ? (size_t)cause : worker]);
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

static void pose_steady(struct work *w) {
  const struct estimate_readings *all = w->estimate->problem.readings;
  for (size_t i = 0; i < all->count; i++) {
    if ((1u << all->readings[i].condition) & ESTIMATE_AT_STEPS) continue;
    memcpy(w->steady_nothing.by[w->steady_readings.count], w->nothing.by[i], sizeof w->nothing.by[i]);
    w->steady_readings.readings[w->steady_readings.count++] = all->readings[i];
  }
  w->steady = w->estimate->problem;
  w->steady.readings = &w->steady_readings;
  w->steady.conditions &= ~ESTIMATE_AT_STEPS;
}

static void pair_job(size_t index, size_t worker, void *user) {
  struct work *w = user;
  struct estimate_hypothesis *h = &w->estimate->hypotheses[w->single_count + index];
  const struct estimate_view whole = {&w->estimate->problem, &w->nothing}, steady = {&w->steady, &w->steady_nothing};
  estimate_search_pair(&whole, &steady, &w->workers[worker], &w->anchors[CAUSE_film], &w->anchors[h->fault.cause[1]],
                       w->best - log(h->prior) - PAIR_ENOUGH, h);
}

/* ---- probabilities ---- */
static void order_by_probability(struct estimate *e) {
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
    if (e->hypotheses[i].probability > 1e-6) e->p_value = fmax(e->p_value, e->hypotheses[i].p_value);
  }
  order_by_probability(e);
  mix_films(w);
  return STATUS_OK;
}

/* ---- the whole ---- */
static enum status take_baseline(struct work *w, struct error *error) {
  struct estimate *e = w->estimate;
  e->baseline_p_value = NAN;
  if (e->question->baseline.count == 0) return STATUS_OK;
  struct estimate_problem baseline;
  estimate_problem_init(&baseline, e->question->engine, &e->question->baseline_setting, &e->question->baseline);
  if (!estimate_fit_baseline(&baseline, w->workers[0].forward, &w->workers[0].slopes, &e->problem.prior, &e->baseline_p_value))
    return error_set(error, STATUS_BAD_DATA,
                     "the baseline's readings fit no good %s that runs: is it the same engine, and was it good?",
                     e->question->engine->name);
  return STATUS_OK;
}

static enum status ask(struct work *w, const struct for_each *for_each, struct error *error) {
  struct estimate *e = w->estimate;
  enum status status = take_baseline(w, error);
  if (status != STATUS_OK) return status;
  const struct estimate_problem *p = &e->problem;
  e->clean_idle_rad = clean_idle_rad(p->engine, w->workers[0].forward);
  const struct estimate_fault nothing = {0};
  double expected[ESTIMATE_READING_MAX];
  if (!estimate_fit_expect(p, w->workers[0].forward, p->prior.mean, &nothing, expected) ||
      !estimate_fit_slopes(p, w->workers[0].forward, p->prior.mean, &nothing, expected, ~0u, &w->nothing))
    return error_set(error, STATUS_BAD_DATA,
                     "a good %s does not run under the conditions of the readings: look at what --set and the cold readings say",
                     e->question->engine->name);
  list_singles(e);
  w->single_count = e->count;
  pose_steady(w);
  for_each->run(for_each, w->single_count, coarse_job, w);
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
  if (e->question->pairs) {
    list_pairs(e);
    for_each->run(for_each, e->count - w->single_count, pair_job, w);
  }
  return judge(w, error);
}

static void end_work(struct work *w) {
  if (!w) return;
  for (size_t i = 0; i < w->worker_count; i++) estimate_forward_destroy(w->workers[i].forward);
  free(w->workers);
  free(w->anchors);
  free(w);
}

static enum status begin_work(struct estimate *e, size_t worker_count, struct work **result, struct error *error) {
  struct work *w = calloc(1, sizeof *w);
  if (!w) return error_set(error, STATUS_NO_MEMORY, "out of memory for an estimate");
  *result = w;
  w->estimate = e;
  w->workers = calloc(worker_count, sizeof *w->workers);
  w->anchors = calloc(e->question->pairs ? CAUSE_COUNT : worker_count, sizeof *w->anchors);
  if (!w->workers || !w->anchors) return error_set(error, STATUS_NO_MEMORY, "out of memory for an estimate");
  enum status status = STATUS_OK;
  for (; status == STATUS_OK && w->worker_count < worker_count; w->worker_count++)
    status = estimate_forward_create(e->question->engine, &w->workers[w->worker_count].forward, error);
  return status;
}

enum status estimate_create(const struct estimate_question *question, const struct for_each *for_each, struct estimate **result,
                            struct error *error) {
  const size_t most = question->pairs ? ESTIMATE_HYPOTHESIS_MAX : CAUSE_COUNT;
  struct estimate *e = calloc(1, sizeof *e + most * sizeof e->hypotheses[0]);
  if (!e) return error_set(error, STATUS_NO_MEMORY, "out of memory for an estimate");
  e->question = question;
  estimate_problem_init(&e->problem, question->engine, &question->setting, &question->readings);
  struct work *w = NULL;
  enum status status = begin_work(e, for_each->worker_count, &w, error);
  if (status == STATUS_OK) status = ask(w, for_each, error);
  end_work(w);
  if (status == STATUS_OK)
    *result = e;
  else
    estimate_destroy(e);
  return status;
}

void estimate_destroy(struct estimate *e) { free(e); }
