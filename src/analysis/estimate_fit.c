#include "analysis/estimate_fit.h"

#include "base/matrix.h"
#include "base/probability.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

#define DIFFERENCE_SD   0.5   // how far a departure is moved for its slope
#define STEP_ENOUGH     0.02  // chi-squared still to be gained: far below what tells two faults apart
#define LINEAR_ENOUGH   0.2   // chi-squared by which a linear step may be misjudged
enum { STEP_MAX = 8, HALVING_MAX = 4, CHORD_MAX = 3 };

void estimate_problem_init(struct estimate_problem *p, const struct engine *engine, const struct estimate_setting *setting,
                           const struct estimate_readings *readings) {
  memset(p, 0, sizeof *p);
  p->engine = engine;
  p->setting = setting;
  p->readings = readings;
  for (size_t i = 0; i < readings->count; i++) p->conditions |= 1u << readings->readings[i].condition;
  for (int i = 0; i < SCATTER_COUNT; i++)
    if (scatter_applies(engine, (enum scatter)i)) p->scatter[p->count++] = (enum scatter)i;
  for (size_t i = 0; i < p->count; i++) p->prior.precision[i * p->count + i] = 1.0;
}

static bool expect_at(const struct estimate_problem *p, struct estimate_forward *forward, const double *z,
                      const struct estimate_fault *fault, unsigned conditions, double expected[ESTIMATE_READING_MAX]) {
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_forward_predict(forward, p->setting, z, fault, conditions, points);
  for (size_t j = 0; j < p->readings->count; j++) {
    const struct estimate_reading *reading = &p->readings->readings[j];
    if (!(conditions & (1u << reading->condition))) continue;
    const struct estimate_point *point = &points[reading->condition];
    if (!point->runs) return false;
    expected[j] = estimate_quantities[reading->quantity].value(point);
  }
  return true;
}

bool estimate_fit_expect(const struct estimate_problem *p, struct estimate_forward *forward, const double *z,
                         const struct estimate_fault *fault, double expected[ESTIMATE_READING_MAX]) {
  return expect_at(p, forward, z, fault, p->conditions, expected);
}

static unsigned felt_at(unsigned conditions, enum scatter scatter) {
  unsigned felt = 0;
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    if ((conditions & (1u << c)) && estimate_forward_feels(scatter, (enum estimate_condition)c)) felt |= 1u << c;
  return felt;
}

bool estimate_fit_slopes(const struct estimate_problem *p, struct estimate_forward *forward, const double *z,
                         const struct estimate_fault *fault, const double expected[ESTIMATE_READING_MAX], unsigned conditions,
                         struct estimate_slopes *slopes) {
  for (size_t i = 0; i < p->count; i++) {
    const unsigned felt = felt_at(conditions & p->conditions, p->scatter[i]);
    double moved[SCATTER_COUNT], there[ESTIMATE_READING_MAX];
    memcpy(moved, z, sizeof moved);
    memcpy(there, expected, sizeof there);
    double step = DIFFERENCE_SD;
    moved[p->scatter[i]] += step;
    if (felt && !expect_at(p, forward, moved, fault, felt, there)) {
      step = -DIFFERENCE_SD; // the other way it may still run
      moved[p->scatter[i]] = z[p->scatter[i]] + step;
      if (!expect_at(p, forward, moved, fault, felt, there)) return false;
    }
    for (size_t j = 0; j < p->readings->count; j++)
      if (conditions & (1u << p->readings->readings[j].condition)) slopes->by[j][i] = (there[j] - expected[j]) / step;
  }
  return true;
}

/* (z - m)' P (z - m) over the departures in use. */
static double prior_chi2(const struct estimate_problem *p, const double *z) {
  const size_t n = p->count;
  double sum = 0.0;
  for (size_t i = 0; i < n; i++)
    for (size_t k = 0; k < n; k++)
      sum += (z[p->scatter[i]] - p->prior.mean[p->scatter[i]]) * p->prior.precision[i * n + k] *
             (z[p->scatter[k]] - p->prior.mean[p->scatter[k]]);
  return sum;
}

static double reading_chi2(const struct estimate_problem *p, const double expected[ESTIMATE_READING_MAX]) {
  double sum = 0.0;
  for (size_t j = 0; j < p->readings->count; j++) {
    const double off = (p->readings->readings[j].value - expected[j]) / p->readings->readings[j].sd;
    sum += off * off;
  }
  return sum;
}

/* H = P + J' S^-1 J, and minus half the gradient of chi-squared at z. */
static void normal_equations(const struct estimate_problem *p, const double *z, const double expected[ESTIMATE_READING_MAX],
                             const struct estimate_slopes *slopes, double *h, double *g) {
  const size_t n = p->count;
  memcpy(h, p->prior.precision, n * n * sizeof *h);
  for (size_t i = 0; i < n; i++) {
    g[i] = 0.0;
    for (size_t k = 0; k < n; k++)
      g[i] -= p->prior.precision[i * n + k] * (z[p->scatter[k]] - p->prior.mean[p->scatter[k]]);
  }
  for (size_t j = 0; j < p->readings->count; j++) {
    const struct estimate_reading *reading = &p->readings->readings[j];
    const double weight = 1.0 / (reading->sd * reading->sd), off = reading->value - expected[j];
    for (size_t i = 0; i < n; i++) {
      const double weighted = weight * slopes->by[j][i];
      g[i] += weighted * off;
      for (size_t k = 0; k <= i; k++) h[i * n + k] += weighted * slopes->by[j][k];
    }
  }
}

/* log p(y | fault) from the least chi-squared and H's factor. */
static double log_likelihood(const struct estimate_problem *p, double chi2, const double *factor) {
  double log_sd = 0.0;
  for (size_t j = 0; j < p->readings->count; j++) log_sd += log(p->readings->readings[j].sd);
  return -0.5 * (chi2 + matrix_cholesky_log_determinant(p->count, factor) - p->prior.log_determinant) - log_sd -
         0.5 * (double)p->readings->count * log(2.0 * UNITS_PI);
}

static void impossible(struct estimate_fit *fit) {
  fit->possible = false;
  fit->log_likelihood = -INFINITY;
  fit->chi2 = INFINITY;
}

/* The linear step from fit->z, where fit->expected is known; H's factor goes into h. */
static bool linear_step(const struct estimate_problem *p, const struct estimate_slopes *slopes, double *h, struct estimate_fit *fit) {
  double g[SCATTER_COUNT], step[SCATTER_COUNT];
  normal_equations(p, fit->z, fit->expected, slopes, h, g);
  if (!matrix_cholesky(p->count, h)) return false;
  memcpy(step, g, sizeof step);
  matrix_cholesky_solve(p->count, h, step);
  fit->chi2 = reading_chi2(p, fit->expected) + prior_chi2(p, fit->z);
  for (size_t i = 0; i < p->count; i++) {
    fit->chi2 -= g[i] * step[i];
    fit->z[p->scatter[i]] += step[i];
  }
  fit->log_likelihood = log_likelihood(p, fit->chi2, h);
  return true;
}

void estimate_fit_quick(const struct estimate_problem *p, struct estimate_forward *forward, const struct estimate_fault *fault,
                        const double *start, const struct estimate_slopes *slopes, struct estimate_fit *fit) {
  double h[SCATTER_COUNT * SCATTER_COUNT];
  memcpy(fit->z, start ? start : p->prior.mean, sizeof fit->z);
  fit->possible = estimate_fit_expect(p, forward, fit->z, fault, fit->expected) && linear_step(p, slopes, h, fit);
  if (!fit->possible) impossible(fit);
}

bool estimate_fit_near(const struct estimate_problem *p, struct estimate_forward *forward, const struct estimate_fault *fault,
                       const double *start, const struct estimate_slopes *slopes, struct estimate_fit *fit) {
  double h[SCATTER_COUNT * SCATTER_COUNT];
  memcpy(fit->z, start, sizeof fit->z);
  if (!estimate_fit_expect(p, forward, fit->z, fault, fit->expected)) return false;
  for (int i = 0; i < CHORD_MAX; i++) {
    const double before = reading_chi2(p, fit->expected) + prior_chi2(p, fit->z);
    if (!linear_step(p, slopes, h, fit)) return false;
    const double hoped = fit->chi2;
    if (!estimate_fit_expect(p, forward, fit->z, fault, fit->expected)) return false;
    fit->chi2 = reading_chi2(p, fit->expected) + prior_chi2(p, fit->z);
    if (fit->chi2 > before + LINEAR_ENOUGH) return false;
    if (fabs(fit->chi2 - hoped) > LINEAR_ENOUGH) continue; // from here the same slopes may still do
    fit->log_likelihood = log_likelihood(p, fit->chi2, h);
    matrix_cholesky_inverse(p->count, h, fit->covariance);
    fit->possible = true;
    return true;
  }
  return false;
}

/* Along a step, halved until chi-squared falls. False if it never does. */
static bool go(const struct estimate_problem *p, struct estimate_forward *forward, const struct estimate_fault *fault,
               const double *step, struct estimate_fit *fit) {
  double share = 1.0;
  for (int i = 0; i < HALVING_MAX; i++, share *= 0.5) {
    double z[SCATTER_COUNT], expected[ESTIMATE_READING_MAX];
    memcpy(z, fit->z, sizeof z);
    for (size_t k = 0; k < p->count; k++) z[p->scatter[k]] += share * step[k];
    if (!estimate_fit_expect(p, forward, z, fault, expected)) continue;
    const double chi2 = reading_chi2(p, expected) + prior_chi2(p, z);
    if (!(chi2 < fit->chi2)) continue;
    memcpy(fit->z, z, sizeof z);
    memcpy(fit->expected, expected, sizeof expected);
    fit->chi2 = chi2;
    return true;
  }
  return false;
}

void estimate_fit_full(const struct estimate_problem *p, struct estimate_forward *forward, const struct estimate_fault *fault,
                       const double *start, struct estimate_slopes *slopes, struct estimate_fit *fit) {
  memcpy(fit->z, start ? start : p->prior.mean, sizeof fit->z);
  bool runs = estimate_fit_expect(p, forward, fit->z, fault, fit->expected);
  if (!runs && start) {
    memcpy(fit->z, p->prior.mean, sizeof fit->z);
    runs = estimate_fit_expect(p, forward, fit->z, fault, fit->expected);
  }
  if (!runs) {
    impossible(fit);
    return;
  }
  fit->chi2 = reading_chi2(p, fit->expected) + prior_chi2(p, fit->z);
  double h[SCATTER_COUNT * SCATTER_COUNT], g[SCATTER_COUNT], step[SCATTER_COUNT];
  for (int i = 0; i < STEP_MAX; i++) {
    fit->possible = estimate_fit_slopes(p, forward, fit->z, fault, fit->expected, ~ESTIMATE_AT_STEPS, slopes);
    if (fit->possible) {
      normal_equations(p, fit->z, fit->expected, slopes, h, g);
      fit->possible = matrix_cholesky(p->count, h);
    }
    if (!fit->possible) {
      impossible(fit);
      return;
    }
    memcpy(step, g, sizeof step);
    matrix_cholesky_solve(p->count, h, step);
    double gain = 0.0;
    for (size_t k = 0; k < p->count; k++) gain += g[k] * step[k];
    if (gain < STEP_ENOUGH || !go(p, forward, fault, step, fit)) break;
  }
  fit->log_likelihood = log_likelihood(p, fit->chi2, h);
  matrix_cholesky_inverse(p->count, h, fit->covariance);
}

bool estimate_fit_baseline(const struct estimate_problem *baseline, struct estimate_forward *forward,
                           struct estimate_car_prior *prior, double *p_value) {
  const struct estimate_fault nothing = {0};
  const size_t n = baseline->count;
  struct estimate_fit fit;
  struct estimate_slopes slopes;
  if (!estimate_fit_expect(baseline, forward, baseline->prior.mean, &nothing, fit.expected)) return false;
  if (!estimate_fit_slopes(baseline, forward, baseline->prior.mean, &nothing, fit.expected, ESTIMATE_AT_STEPS, &slopes)) return false;
  estimate_fit_full(baseline, forward, &nothing, NULL, &slopes, &fit);
  if (!fit.possible) return false;
  *p_value = probability_chi2_tail(fit.chi2, (double)baseline->readings->count);
  // a day passes: covariances with its departures go, and those become standard normal again
  double covariance[SCATTER_COUNT * SCATTER_COUNT];
  for (size_t i = 0; i < n; i++)
    for (size_t k = 0; k < n; k++) {
      const bool lasts = scatter_rows[baseline->scatter[i]].kind == SCATTER_UNIT && scatter_rows[baseline->scatter[k]].kind == SCATTER_UNIT;
      covariance[i * n + k] = lasts ? fit.covariance[i * n + k] : i == k ? 1.0 : 0.0;
    }
  if (!matrix_cholesky(n, covariance)) return false;
  prior->log_determinant = -matrix_cholesky_log_determinant(n, covariance);
  matrix_cholesky_inverse(n, covariance, prior->precision);
  for (int i = 0; i < SCATTER_COUNT; i++) prior->mean[i] = scatter_rows[i].kind == SCATTER_UNIT ? fit.z[i] : 0.0;
  return true;
}
