#include "analysis/estimate/estimate_compare.h"

#include <math.h>

/* What one hypothesis expects, and the spread of cars about it. False where it does not run. */
static bool expectation(const struct estimate *e, size_t hypothesis, struct estimate_forward *forward,
                        double expected[ESTIMATE_READING_MAX], double spread[ESTIMATE_READING_MAX]) {
  const struct estimate_problem *p = &e->problem;
  const struct estimate_hypothesis *h = &e->hypotheses[hypothesis];
  const size_t m = p->readings->count;
  if (!estimate_fit_expect(p, forward, p->prior->mean, &h->fault, expected)) return false;
  for (size_t j = 0; j < m; j++) {
    const double sd = p->readings->readings[j].sd;
    double variance = sd * sd;
    if (p->discrepancy) {
      expected[j] += p->discrepancy->offset[j];
      variance = p->discrepancy->covariance[j * m + j];
    }
    spread[j] = sqrt(variance + estimate_fit_variance(p, &h->slopes, p->prior->covariance, j));
  }
  return true;
}

enum status estimate_compare(const struct estimate *e, size_t hypothesis,
                             struct estimate_comparison comparisons[ESTIMATE_READING_MAX], struct error *error) {
  const struct estimate_problem *p = &e->problem;
  struct estimate_forward *forward;
  const enum status status = estimate_forward_create(p->engine, &forward, error);
  if (status != STATUS_OK) return status;
  double expected[ESTIMATE_READING_MAX], spread[ESTIMATE_READING_MAX];
  double good[ESTIMATE_READING_MAX], good_spread[ESTIMATE_READING_MAX];
  const bool known = expectation(e, hypothesis, forward, expected, spread);
  const bool good_known = known && expectation(e, 0, forward, good, good_spread);
  for (size_t j = 0; j < p->readings->count; j++) {
    const double value = p->readings->readings[j].value;
    comparisons[j] = (struct estimate_comparison){NAN, NAN, NAN, NAN};
    if (!known) continue;
    const double off = (value - expected[j]) / spread[j];
    comparisons[j] = (struct estimate_comparison){expected[j], spread[j], off, NAN};
    if (!good_known) continue;
    const double good_off = (value - good[j]) / good_spread[j];
    comparisons[j].weight = -0.5 * (off * off - good_off * good_off) - log(spread[j] / good_spread[j]);
  }
  estimate_forward_destroy(forward);
  return STATUS_OK;
}

bool estimate_compare_alike(const struct estimate_hypothesis *a, const struct estimate_hypothesis *b) {
  if (a->fault.count != b->fault.count) return false;
  for (size_t i = 0; i < a->fault.count; i++)
    if (a->fault.cause[i] != b->fault.cause[i]) return false;
  return a->fault.count > 0 || a->fault.cause[0] == b->fault.cause[0];
}

double estimate_compare_share(const struct estimate *e, const struct estimate_hypothesis *h) {
  double sum = 0.0;
  for (size_t i = 0; i < e->count; i++)
    if (estimate_compare_alike(&e->hypotheses[i], h)) sum += e->hypotheses[i].probability;
  return sum;
}

const struct estimate_hypothesis *estimate_compare_rival(const struct estimate *e) {
  for (size_t i = 1; i < e->count; i++)
    if (!estimate_compare_alike(&e->hypotheses[e->order[i]], &e->hypotheses[e->order[0]])) return &e->hypotheses[e->order[i]];
  return NULL;
}
