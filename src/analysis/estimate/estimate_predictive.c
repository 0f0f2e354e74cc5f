#include "analysis/estimate/estimate_predictive.h"

#include "analysis/estimate/estimate_unlisted.h"
#include "base/probability.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

#define APART_REACH_SD 5.0
enum { APART_POINTS = 128 };

/* The likeliest node, and others so that each stands for about the same mass. */
static size_t choose_nodes(const struct estimate_hypothesis *h, size_t chosen[ESTIMATE_PREDICTIVE_NODE_MAX],
                           double mass[ESTIMATE_PREDICTIVE_NODE_MAX]) {
  size_t count = 0;
  double gathered = 0.0, passed = 0.0;
  for (size_t i = 0; i < h->node_count; i++) {
    gathered += h->nodes[i].mass;
    const double due = (double)(count + 1) / ESTIMATE_PREDICTIVE_NODE_MAX;
    const bool last = passed + gathered > 1.0 - 1e-9;
    if (!(h->nodes[i].mass > 0.0) || (passed + gathered < due - 0.5 / ESTIMATE_PREDICTIVE_NODE_MAX && !last)) continue;
    if (count == ESTIMATE_PREDICTIVE_NODE_MAX) { // what is left goes to the last
      mass[count - 1] += gathered;
    } else {
      chosen[count] = i;
      mass[count++] = gathered;
    }
    passed += gathered;
    gathered = 0.0;
  }
  if (count == 0) {
    chosen[0] = h->best;
    mass[count++] = 1.0;
  }
  return count;
}

/* What the computer has learned, idling as it is now. */
static double learned_now_ratio(const struct estimate *e, struct estimate_forward *forward, const double *z,
                                const struct estimate_fault *fault) {
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_forward_predict(forward, &e->question->setting, z, fault, ESTIMATE_AT(idle), points);
  return points[ESTIMATE_CONDITION_idle].values[CHANNEL_learned_pct] * UNITS_RATIO_PER_PCT;
}

/* The problem of what is wanted, after the change at a node. setting: written, and pointed to. */
static void pose(const struct estimate *e, const struct estimate_readings *wanted, enum estimate_change change,
                 double learned_ratio, struct estimate_setting *setting, struct estimate_problem *problem,
                 struct estimate_fault *fault) {
  *setting = e->question->setting;
  if (change != ESTIMATE_AS_IT_IS) {
    *fault = estimate_forward_without(fault, CAUSE_film);
    setting->stale = change == ESTIMATE_CLEANED_STALE;
    setting->learned_ratio = learned_ratio;
  }
  *problem = e->problem;
  problem->setting = setting;
  problem->readings = wanted;
  problem->discrepancy = NULL;
  problem->conditions = 0;
  for (size_t i = 0; i < wanted->count; i++) problem->conditions |= 1u << wanted->readings[i].condition;
}

/* What cars of the hypothesis, errors and what is not listed spread a reading by. */
static void spread(const struct estimate *e, const struct estimate_hypothesis *h, const struct estimate_readings *wanted,
                   const struct estimate_discrepancy *errors, struct estimate_predictive *o) {
  struct estimate_problem problem = e->problem;
  problem.readings = wanted;
  problem.discrepancy = errors;
  estimate_fit_spread(&problem, &o->slopes, h->covariance, o->covariance);
  for (size_t j = 0; estimate_hypothesis_is_unlisted(h) && j < wanted->count; j++)
    for (size_t l = 0; l < wanted->count; l++)
      o->covariance[j * wanted->count + l] += estimate_unlisted_between(&wanted->readings[j], &wanted->readings[l]);
}

/* What the model is off by at a node's car. */
static void shift(const struct estimate *e, const struct estimate_readings *wanted, const struct estimate_discrepancy *errors,
                  const double *z, double mean[ESTIMATE_READING_MAX]) {
  for (size_t j = 0; j < wanted->count; j++) {
    mean[j] += errors->offset[j];
    for (size_t i = 0; i < e->problem.count; i++) {
      const enum scatter scatter = e->problem.scatter[i];
      mean[j] += errors->tie[j][i] * (z[scatter] - e->prior.mean[scatter]);
    }
  }
}

/* The model's errors in what is wanted, in the thread's room, which no fit wants meanwhile; NULL if the model is the car. */
static struct estimate_discrepancy *errors_of(const struct estimate *e, struct estimate_forward *forward,
                                              const struct estimate_readings *wanted) {
  struct estimate_discrepancy *errors = e->question->model_is_car ? NULL : estimate_forward_room(forward);
  if (errors) estimate_discrepancy_expect(wanted, &e->past, e->problem.count, errors);
  return errors;
}

void estimate_predictive(const struct estimate *e, size_t hypothesis, struct estimate_forward *forward,
                         const struct estimate_readings *wanted, enum estimate_change change, bool step_slopes,
                         struct estimate_predictive *o) {
  const struct estimate_hypothesis *h = &e->hypotheses[hypothesis];
  size_t chosen[ESTIMATE_PREDICTIVE_NODE_MAX];
  o->node_count = choose_nodes(h, chosen, o->mass);
  o->possible = false;
  memset(&o->slopes, 0, sizeof o->slopes);
  struct estimate_discrepancy *errors = errors_of(e, forward, wanted);
  size_t likeliest = 0;
  for (size_t i = 1; i < o->node_count; i++)
    if (h->nodes[chosen[i]].fit.log_likelihood > h->nodes[chosen[likeliest]].fit.log_likelihood) likeliest = i;
  for (size_t i = 0; i < o->node_count; i++) {
    // choose_nodes() fills as many as it counts. NOLINTNEXTLINE(clang-analyzer-core.uninitialized.ArraySubscript)
    const struct estimate_node *node = &h->nodes[chosen[i]];
    struct estimate_fault fault = estimate_node_fault(h, node);
    struct estimate_setting setting;
    struct estimate_problem problem;
    const double learned = learned_now_ratio(e, forward, node->fit.z, &fault);
    o->learned_pct[i] = learned / UNITS_RATIO_PER_PCT;
    pose(e, wanted, change, learned, &setting, &problem, &fault);
    o->runs[i] = estimate_fit_expect(&problem, forward, node->fit.z, &fault, o->mean[i]);
    o->possible = o->possible || o->runs[i];
    const unsigned which = step_slopes ? ~0u : ~ESTIMATE_AT_STEPS;
    if (i == likeliest && o->runs[i] &&
        !estimate_fit_slopes(&problem, forward, node->fit.z, &fault, o->mean[i], which, &o->slopes))
      memset(&o->slopes, 0, sizeof o->slopes);
    if (errors) shift(e, wanted, errors, node->fit.z, o->mean[i]);
  }
  spread(e, h, wanted, errors, o);
}

/* Mean and standard deviation of a reading over all nodes; false if one does not show it. */
static bool moments(const struct estimate_predictive *o, size_t reading, size_t count, double *mean, double *sd) {
  double sum = 0.0, first = 0.0, second = 0.0;
  for (size_t k = 0; k < o->node_count; k++) {
    if (!o->runs[k] || isnan(o->mean[k][reading])) return false;
    sum += o->mass[k];
    first += o->mass[k] * o->mean[k][reading];
    second += o->mass[k] * o->mean[k][reading] * o->mean[k][reading];
  }
  if (!(sum > 0.0)) return false;
  *mean = first / sum;
  *sd = sqrt(fmax(second / sum - *mean * *mean, 0.0) + o->covariance[reading * count + reading]);
  return *sd > 0.0;
}

double estimate_predictive_apart_bits(const struct estimate_predictive *a, const struct estimate_predictive *b, size_t reading,
                                      size_t wanted_count) {
  const struct estimate_predictive *both[] = {a, b};
  const double alike[] = {0.5, 0.5};
  double mean[2], sd[2], densities[2 * APART_POINTS];
  for (size_t i = 0; i < 2; i++)
    if (!moments(both[i], reading, wanted_count, &mean[i], &sd[i])) return 0.0;
  const double low = fmin(mean[0] - APART_REACH_SD * sd[0], mean[1] - APART_REACH_SD * sd[1]);
  const double high = fmax(mean[0] + APART_REACH_SD * sd[0], mean[1] + APART_REACH_SD * sd[1]);
  const double step = (high - low) / (APART_POINTS - 1);
  if (step > fmin(sd[0], sd[1])) return 1.0; // far apart on the scale of the narrower
  for (size_t i = 0; i < 2; i++)
    for (size_t x = 0; x < APART_POINTS; x++) {
      const double off = (low + step * (double)x - mean[i]) / sd[i];
      densities[i * APART_POINTS + x] = exp(-0.5 * off * off) / (sd[i] * sqrt(2.0 * UNITS_PI));
    }
  const double bits = probability_information_bits(2, alike, APART_POINTS, densities, step);
  return isnan(bits) ? 0.0 : fmin(fmax(bits, 0.0), 1.0);
}

void estimate_predictive_everything(const struct estimate *e, struct estimate_forward *forward,
                                    struct estimate_readings *wanted) {
  const struct estimate_fault nothing = {0};
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  unsigned conditions = 0;
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    if (estimate_forward_has(e->question->engine, (enum estimate_condition)c)) conditions |= 1u << c;
  if (e->problem.readings->count == 0)
    conditions &= ESTIMATE_AT_REST | ESTIMATE_AT(idle); // from symptoms alone: first whether it idles
  estimate_forward_predict(forward, &e->question->setting, e->problem.prior->mean, &nothing, conditions, points);
  wanted->count = 0;
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    for (int q = 0; q < ESTIMATE_QUANTITY_COUNT && wanted->count < ESTIMATE_READING_MAX; q++) {
      if (!(conditions & estimate_quantities[q].conditions & (1u << c)) || !points[c].runs) continue;
      const double value = estimate_quantities[q].value(&points[c]);
      if (isnan(value) || estimate_quantities[q].instrument == ESTIMATE_LOG) continue; // it takes a clean log of before
      wanted->readings[wanted->count++] =
          (struct estimate_reading){(enum estimate_quantity)q, (enum estimate_condition)c, value,
                                    estimate_reading_sd((enum estimate_quantity)q, value, NAN, NAN)};
    }
}
