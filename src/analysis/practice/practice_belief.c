#include "analysis/practice/practice_belief.h"

#include "analysis/estimate/estimate_symptoms_weigh.h"
#include "base/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define IMPOSSIBLE  (-12.0) // log likelihood of stalling where a node runs, and the other way: cars differ
#define NEGLIGIBLE  1e-9    // of all: a node that is not carried on
#define NINE_OF_TEN 1.6449  // standard deviations on either side that hold nine of ten: table of the normal distribution

struct practice_belief {
  const struct practice_bank *bank;
  size_t state_count;
  double *log_weight; // [node], -INFINITY: given up
  double *state;      // [node][state]
  double *covariance; // [node][state][state]
  double looked[PRACTICE_TEST_MAX];
};

enum status practice_belief_create(const struct practice_bank *bank, enum estimate_complaint complaint, uint64_t codes,
                                   struct practice_belief **result, struct error *error) {
  struct practice_belief *b = calloc(1, sizeof *b);
  *result = b;
  if (!b) return error_set(error, STATUS_NO_MEMORY, "out of memory for a practice case");
  const size_t n = b->state_count = bank->deviation_count + ESTIMATE_CAUSE_MAX;
  b->bank = bank;
  b->log_weight = calloc(bank->node_count, sizeof *b->log_weight);
  b->state = calloc(bank->node_count * n, sizeof *b->state);
  b->covariance = calloc(bank->node_count * n * n, sizeof *b->covariance);
  if (!b->log_weight || !b->state || !b->covariance) {
    practice_belief_destroy(b);
    *result = NULL;
    return error_set(error, STATUS_NO_MEMORY, "out of memory for a practice case");
  }
  struct estimate_symptoms symptoms;
  estimate_symptoms_init(&symptoms);
  symptoms.codes_given = true;
  symptoms.stored = codes;
  const unsigned possible = monitors_possible(engine_features(bank->tests->engine));
  for (size_t i = 0; i < bank->node_count; i++) {
    double code[MONITOR_CODE_COUNT];
    for (int c = 0; c < MONITOR_CODE_COUNT; c++)
      code[c] = monitor_rows[c].enable & ~possible ? NAN : (double)bank->nodes[i].code[c];
    b->log_weight[i] = bank->nodes[i].log_prior + estimate_symptoms_weigh_codes(&symptoms, code);
    if (complaint != ESTIMATE_COMPLAINT_COUNT)
      b->log_weight[i] += log(1.0 / ESTIMATE_SYMPTOMS_COMPLAINT_FACTOR +
                              (1.0 - 1.0 / ESTIMATE_SYMPTOMS_COMPLAINT_FACTOR) * (double)bank->nodes[i].says[complaint]);
    for (size_t k = 0; k < n; k++) b->covariance[(i * n + k) * n + k] = 1.0;
  }
  return STATUS_OK;
}

void practice_belief_destroy(struct practice_belief *b) {
  if (!b) return;
  free(b->log_weight);
  free(b->state);
  free(b->covariance);
  free(b);
}

const struct practice_bank *practice_belief_bank(const struct practice_belief *b) { return b->bank; }

/* Variance of the instrument, and of what is not straight; spread: NULL, or the variance by which cars differ. */
static double own_variance(const struct practice_belief *b, size_t node, size_t reading, double *spread) {
  double slope[PRACTICE_STATE_MAX], sum = 0.0;
  const size_t n = practice_bank_slopes(b->bank, node, reading, slope);
  const double sd = b->bank->tests->readings.readings[reading].sd;
  for (size_t i = 0; i < n; i++) sum += slope[i] * slope[i];
  if (spread) *spread = sum;
  return sd * sd + PRACTICE_BENT * PRACTICE_BENT * sum;
}

static double log_normal(double off, double variance) { return -0.5 * (log(2.0 * UNITS_PI * variance) + off * off / variance); }

static void take(struct practice_belief *b, size_t node, size_t reading, double y) {
  double slope[PRACTICE_STATE_MAX], turned[PRACTICE_STATE_MAX], spread;
  const size_t n = practice_bank_slopes(b->bank, node, reading, slope);
  double *x = b->state + node * n, *p = b->covariance + node * n * n;
  double s = own_variance(b, node, reading, &spread), off = y - practice_bank_mean(b->bank, node, reading);
  for (size_t i = 0; i < n; i++) {
    turned[i] = 0.0;
    for (size_t k = 0; k < n; k++) turned[i] += p[i * n + k] * slope[k];
    s += slope[i] * turned[i];
    off -= slope[i] * x[i];
  }
  const double wide = s + PRACTICE_FAR * PRACTICE_FAR * spread;
  const double logs[] = {log(1.0 - PRACTICE_ASTRAY) + log_normal(off, s), log(PRACTICE_ASTRAY) + log_normal(off, wide)};
  const double all = probability_log_sum_exp(2, logs);
  if (logs[1] > logs[0]) s = wide; // it says as much less of the car
  for (size_t i = 0; i < n; i++) {
    x[i] += turned[i] * off / s;
    for (size_t k = 0; k < n; k++) p[i * n + k] -= turned[i] * turned[k] / s;
  }
  b->log_weight[node] += all;
}

static void take_all(struct practice_belief *b, size_t node, const struct practice_test *test, const struct practice_result *r) {
  const bool runs = (b->bank->nodes[node].runs >> test->condition) & 1u;
  if (runs != (r->outcome == PRACTICE_READ)) b->log_weight[node] += IMPOSSIBLE;
  for (size_t i = 0; runs && r->outcome == PRACTICE_READ && i < test->count; i++)
    if (isfinite(r->values[i]) && isfinite(practice_bank_mean(b->bank, node, test->shown[i])))
      take(b, node, test->shown[i], r->values[i]);
}

/* Sums to 1; what is negligible is given up. */
static void normalise(struct practice_belief *b) {
  const double all = probability_log_sum_exp(b->bank->node_count, b->log_weight);
  for (size_t i = 0; i < b->bank->node_count; i++) {
    b->log_weight[i] -= all;
    if (b->log_weight[i] < log(NEGLIGIBLE)) b->log_weight[i] = -INFINITY;
  }
}

void practice_belief_add(struct practice_belief *b, const struct practice_result *r) {
  const struct practice_test *test = &b->bank->tests->tests[r->test];
  if (test->kind == PRACTICE_LOOK && b->looked[r->test] > 0.0) return; // it says the same again
  b->looked[r->test] = 1.0;
  for (size_t i = 0; i < b->bank->node_count; i++) {
    if (isinf(b->log_weight[i])) continue;
    if (test->kind == PRACTICE_LOOK) {
      const double yes = estimate_next_fault_yes(test->look, &b->bank->hypotheses[b->bank->nodes[i].hypothesis].fault);
      b->log_weight[i] += log(r->outcome == PRACTICE_YES ? yes : 1.0 - yes);
    } else {
      take_all(b, i, test, r);
    }
  }
  normalise(b);
}

double practice_belief_node(const struct practice_belief *b, size_t node) {
  const double all = probability_log_sum_exp(b->bank->node_count, b->log_weight);
  return exp(b->log_weight[node] - all);
}

void practice_belief_hypotheses(const struct practice_belief *b, double probability[PRACTICE_HYPOTHESIS_MAX]) {
  const double all = probability_log_sum_exp(b->bank->node_count, b->log_weight);
  memset(probability, 0, PRACTICE_HYPOTHESIS_MAX * sizeof *probability);
  for (size_t i = 0; i < b->bank->node_count; i++) probability[b->bank->nodes[i].hypothesis] += exp(b->log_weight[i] - all);
}

size_t practice_belief_likeliest(const double probability[PRACTICE_HYPOTHESIS_MAX], size_t count) {
  size_t most = 0;
  for (size_t i = 1; i < count; i++)
    if (probability[i] > probability[most]) most = i;
  return most;
}

void practice_belief_severity(const struct practice_belief *b, size_t hypothesis, size_t place, double *share, double *half) {
  const struct practice_hypothesis *h = &b->bank->hypotheses[hypothesis];
  const size_t n = b->state_count, at = b->bank->deviation_count + place;
  double sum = 0.0, mean = 0.0, square = 0.0;
  for (size_t i = h->first; i < h->first + h->count; i++) {
    const struct practice_node *node = &b->bank->nodes[i];
    const double w = practice_belief_node(b, i), here = node->share[place] + node->width[place] * b->state[i * n + at];
    sum += w;
    mean += w * here;
    square += w * (here * here + node->width[place] * node->width[place] * b->covariance[(i * n + at) * n + at]);
  }
  *share = sum > 0.0 ? mean / sum : NAN;
  *half = sum > 0.0 ? NINE_OF_TEN * sqrt(fmax(square / sum - *share * *share, 0.0)) : NAN;
}

void practice_belief_predict(const struct practice_belief *b, size_t node, size_t count, const size_t *readings, double *mean,
                             double *covariance) {
  double slope[PRACTICE_SHOWN_MAX][PRACTICE_STATE_MAX];
  const size_t n = b->state_count;
  const double *x = b->state + node * n, *p = b->covariance + node * n * n;
  for (size_t a = 0; a < count; a++) {
    double turned[PRACTICE_STATE_MAX];
    (void)practice_bank_slopes(b->bank, node, readings[a], slope[a]);
    mean[a] = practice_bank_mean(b->bank, node, readings[a]);
    for (size_t i = 0; i < n; i++) {
      mean[a] += slope[a][i] * x[i];
      turned[i] = 0.0;
      for (size_t k = 0; k < n; k++) turned[i] += p[i * n + k] * slope[a][k];
    }
    for (size_t c = 0; c <= a; c++) {
      double sum = a == c ? own_variance(b, node, readings[a], NULL) : 0.0;
      for (size_t i = 0; i < n; i++) sum += slope[c][i] * turned[i];
      covariance[a * count + c] = covariance[c * count + a] = sum;
    }
  }
}

bool practice_belief_expect(const struct practice_belief *b, size_t hypothesis, size_t reading, double *mean, double *sd) {
  const struct practice_hypothesis *h = &b->bank->hypotheses[hypothesis];
  double sum = 0.0, first = 0.0, square = 0.0;
  for (size_t i = h->first; i < h->first + h->count; i++) {
    double at, variance;
    const double w = practice_belief_node(b, i);
    if (!(w > 0.0) || !isfinite(practice_bank_mean(b->bank, i, reading))) continue;
    practice_belief_predict(b, i, 1, &reading, &at, &variance);
    sum += w;
    first += w * at;
    square += w * (at * at + variance);
  }
  if (!(sum > 0.0)) return false;
  *mean = first / sum;
  *sd = sqrt(fmax(square / sum - *mean * *mean, 0.0));
  return true;
}
