#include "analysis/estimate/estimate_fit.h"

#include "analysis/estimate/estimate_place.h"
#include "base/matrix.h"
#include "base/probability.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

/* What a likelihood counts for where the model is not the car: a power of it, as P. Gruenwald and T. van Ommen (Bayesian Analysis 12, 2017)
 * and J. W. Miller and D. B. Dunson (JASA 114, 2019) propose for models that are wrong in ways nobody has put into them; cited from memory.
 * Set on 135 cases of tests/alien drawn with other seeds than the garage's: from 0.6 to 0.8 what was said came true as often as said. */
#define CERTAINTY     0.7
#define DIFFERENCE_SD 0.5 // how far a deviation is moved for its slope
#define OWN_START_SD  1.2 // so that of a normal unknown each of three starts has some third of it nearest
#define STEP_ENOUGH   0.1 // chi-squared still to be gained: 5 % of a likelihood, far below what tells two faults apart
#define LINEAR_ENOUGH 0.6 // what a linear model from next door may still promise when its steps gain no more
#define STEPS_TRUSTED 0.3 // chi-squared by which load steps' slopes may be off before they are formed anew
enum { STEP_SLOPES_MAX = 3, STEP_MAX = 10, DAMPING_MAX = 5, CHORD_MAX = 4 };

/* Precision and its determinant from the covariance; false if it is none. */
OWN_FRAME static bool invert_covariance(size_t n, struct estimate_car_prior *prior) {
  double factor[SCATTER_COUNT * SCATTER_COUNT];
  memcpy(factor, prior->covariance, n * n * sizeof *factor);
  if (!matrix_cholesky(n, factor)) return false;
  prior->log_determinant = -matrix_cholesky_log_determinant(n, factor);
  matrix_cholesky_inverse(n, factor, prior->precision);
  return true;
}

bool estimate_problem_init(struct estimate_problem *p, const struct engine *engine, const struct estimate_setting *setting,
                           const struct estimate_readings *readings, struct estimate_car_prior *prior) {
  memset(p, 0, sizeof *p);
  memset(prior, 0, sizeof *prior);
  p->prior = prior;
  p->engine = engine;
  p->setting = setting;
  p->readings = readings;
  p->steps_most = STEP_MAX;
  for (size_t i = 0; i < readings->count; i++) p->conditions |= 1u << readings->readings[i].condition;
  for (int i = 0; i < SCATTER_COUNT; i++)
    if (scatter_applies(engine, (enum scatter)i)) p->scatter[p->count++] = (enum scatter)i;
  for (size_t i = 0; i < p->count; i++)
    for (size_t k = 0; k <= i; k++) {
      const double tie = i == k ? 1.0 : (double)engine->scatter.ties[scatter_tie(p->scatter[i], p->scatter[k])];
      prior->covariance[i * p->count + k] = prior->covariance[k * p->count + i] = tie;
    }
  return invert_covariance(p->count, prior);
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

/* The same somewhere else: steady conditions anew, load steps along their slopes from where they are known, since each costs a run. */
static bool expect_moved(const struct estimate_problem *p, struct estimate_forward *forward, const double *z,
                         const struct estimate_fault *fault, const struct estimate_fit *from,
                         const struct estimate_slopes *slopes, double expected[ESTIMATE_READING_MAX]) {
  if (!expect_at(p, forward, z, fault, p->conditions & ~ESTIMATE_AT_STEPS, expected)) return false;
  for (size_t j = 0; j < p->readings->count; j++) {
    if (!((1u << p->readings->readings[j].condition) & ESTIMATE_AT_STEPS)) continue;
    expected[j] = from->expected[j];
    for (size_t i = 0; i < p->count; i++) expected[j] += slopes->by[j][i] * (z[p->scatter[i]] - from->z[p->scatter[i]]);
  }
  return true;
}

static unsigned felt_at(unsigned conditions, const struct estimate_fault *fault, enum scatter scatter) {
  unsigned felt = 0;
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    if ((conditions & (1u << c)) && estimate_forward_feels(scatter, fault, (enum estimate_condition)c)) felt |= 1u << c;
  return felt;
}

bool estimate_fit_slopes(const struct estimate_problem *p, struct estimate_forward *forward, const double *z,
                         const struct estimate_fault *fault, const double expected[ESTIMATE_READING_MAX], unsigned conditions,
                         struct estimate_slopes *slopes) {
  for (size_t i = 0; i < p->count; i++) {
    const unsigned felt = felt_at(conditions & p->conditions, fault, p->scatter[i]);
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
      // expected has them all. NOLINTNEXTLINE(clang-analyzer-core.UndefinedBinaryOperatorResult)
      if (conditions & (1u << p->readings->readings[j].condition)) slopes->by[j][i] = (there[j] - expected[j]) / step;
  }
  return true;
}

/* (z - m)' P (z - m) over the deviations in use. */
static double prior_chi2(const struct estimate_problem *p, const double *z) {
  const size_t n = p->count;
  double sum = 0.0;
  for (size_t i = 0; i < n; i++)
    for (size_t k = 0; k < n; k++)
      sum += (z[p->scatter[i]] - p->prior->mean[p->scatter[i]]) * p->prior->precision[i * n + k] *
             (z[p->scatter[k]] - p->prior->mean[p->scatter[k]]);
  return sum;
}

double estimate_fit_slope(const struct estimate_problem *p, const struct estimate_slopes *slopes, size_t j, size_t i) {
  return p->discrepancy ? slopes->by[j][i] + p->discrepancy->tie[j][i] : slopes->by[j][i];
}

void estimate_fit_residuals(const struct estimate_problem *p, const double *z, const double expected[ESTIMATE_READING_MAX],
                            double residual[ESTIMATE_READING_MAX]) {
  for (size_t j = 0; j < p->readings->count; j++) {
    residual[j] = p->readings->readings[j].value - expected[j];
    if (!p->discrepancy) continue;
    residual[j] -= p->discrepancy->offset[j];
    for (size_t i = 0; i < p->count; i++)
      residual[j] -= p->discrepancy->tie[j][i] * (z[p->scatter[i]] - p->prior->mean[p->scatter[i]]);
  }
}

/* S^-1 times a vector over the readings. */
static void weigh_vector(const struct estimate_problem *p, const double *vector, double *weighted) {
  const size_t n = p->readings->count;
  for (size_t j = 0; j < n; j++) {
    if (!p->discrepancy) {
      weighted[j] = vector[j] / (p->readings->readings[j].sd * p->readings->readings[j].sd);
      continue;
    }
    const double *weight = &p->discrepancy->weight[j * n];
    double sum = 0.0;
    for (size_t l = 0; l < n; l++) sum += weight[l] * vector[l];
    weighted[j] = sum;
  }
}

static double reading_chi2(const struct estimate_problem *p, const double *z, const double expected[ESTIMATE_READING_MAX]) {
  double residual[ESTIMATE_READING_MAX], weighted[ESTIMATE_READING_MAX], sum = 0.0;
  estimate_fit_residuals(p, z, expected, residual);
  weigh_vector(p, residual, weighted);
  for (size_t j = 0; j < p->readings->count; j++) sum += residual[j] * weighted[j];
  return sum;
}

static double chi2_at(const struct estimate_problem *p, const double *z, const double expected[ESTIMATE_READING_MAX]) {
  return reading_chi2(p, z, expected) + prior_chi2(p, z);
}

/* H = P + (J + T)' S^-1 (J + T), and minus half the gradient of chi-squared at z. */
static void normal_equations(const struct estimate_problem *p, const double *z, const double expected[ESTIMATE_READING_MAX],
                             const struct estimate_slopes *slopes, double *h, double *g) {
  const size_t n = p->count, m = p->readings->count;
  double residual[ESTIMATE_READING_MAX], column[ESTIMATE_READING_MAX], weighted[ESTIMATE_READING_MAX];
  estimate_fit_residuals(p, z, expected, residual);
  memcpy(h, p->prior->precision, n * n * sizeof *h);
  for (size_t i = 0; i < n; i++) {
    g[i] = 0.0;
    for (size_t k = 0; k < n; k++) g[i] -= p->prior->precision[i * n + k] * (z[p->scatter[k]] - p->prior->mean[p->scatter[k]]);
    for (size_t j = 0; j < m; j++) column[j] = estimate_fit_slope(p, slopes, j, i);
    weigh_vector(p, column, weighted);
    for (size_t j = 0; j < m; j++) {
      if (weighted[j] == 0.0) continue;
      g[i] += weighted[j] * residual[j];
      for (size_t k = 0; k <= i; k++) h[i * n + k] += weighted[j] * estimate_fit_slope(p, slopes, j, k);
    }
  }
}

double estimate_fit_certainty(const struct estimate_problem *p) { return p->discrepancy ? CERTAINTY : 1.0; }

/* log p(y | fault) from the least chi-squared and H's factor, as far as it counts. */
static double log_likelihood(const struct estimate_problem *p, double chi2, const double *factor) {
  double log_sd = 0.0;
  if (p->discrepancy)
    log_sd = p->discrepancy->log_sd;
  else
    for (size_t j = 0; j < p->readings->count; j++) log_sd += log(p->readings->readings[j].sd);
  const double log_density = -0.5 * (chi2 + matrix_cholesky_log_determinant(p->count, factor) - p->prior->log_determinant) -
                             log_sd - 0.5 * (double)p->readings->count * log(2.0 * UNITS_PI);
  return estimate_fit_certainty(p) * log_density;
}

double estimate_fit_variance(const struct estimate_problem *p, const struct estimate_slopes *slopes, const double *cars,
                             size_t j) {
  double variance = 0.0;
  for (size_t i = 0; i < p->count; i++)
    for (size_t k = 0; k < p->count; k++)
      variance += estimate_fit_slope(p, slopes, j, i) * cars[i * p->count + k] * estimate_fit_slope(p, slopes, j, k);
  return variance;
}

void estimate_fit_spread(const struct estimate_problem *p, const struct estimate_slopes *slopes, const double *cars,
                         double *covariance) {
  const size_t n = p->count, m = p->readings->count;
  for (size_t j = 0; j < m; j++) {
    double row[SCATTER_COUNT] = {0.0};
    for (size_t i = 0; i < n; i++)
      for (size_t k = 0; k < n; k++) row[k] += estimate_fit_slope(p, slopes, j, i) * cars[i * n + k];
    for (size_t l = 0; l <= j; l++) {
      double sum = p->discrepancy ? p->discrepancy->covariance[j * m + l]
                   : j == l       ? p->readings->readings[j].sd * p->readings->readings[j].sd
                                  : 0.0;
      for (size_t k = 0; k < n; k++) sum += row[k] * estimate_fit_slope(p, slopes, l, k);
      covariance[j * m + l] = covariance[l * m + j] = sum;
    }
  }
}

static void impossible(struct estimate_fit *fit) {
  fit->possible = false;
  fit->log_likelihood = -INFINITY;
  fit->chi2 = INFINITY;
}

/* The linear step from fit->z, where fit->expected is known; H's factor goes into h. */
static bool linear_step(const struct estimate_problem *p, const struct estimate_slopes *slopes, double *h,
                        struct estimate_fit *fit) {
  double g[SCATTER_COUNT], step[SCATTER_COUNT];
  normal_equations(p, fit->z, fit->expected, slopes, h, g);
  if (!matrix_cholesky(p->count, h)) return false;
  memcpy(step, g, sizeof step);
  matrix_cholesky_solve(p->count, h, step);
  fit->chi2 = chi2_at(p, fit->z, fit->expected);
  for (size_t i = 0; i < p->count; i++) {
    fit->chi2 -= g[i] * step[i];
    fit->z[p->scatter[i]] += step[i];
  }
  fit->log_likelihood = log_likelihood(p, fit->chi2, h);
  return true;
}

/* ---- The errors of a fault's effect ---- */

/* The problem with the errors of a fault whose readings at the prior's mean are `expected`, load steps' left as they are. */
static struct estimate_problem with_effect(const struct estimate_problem *p, struct estimate_forward *forward,
                                           const double expected[ESTIMATE_READING_MAX]) {
  struct estimate_problem wide = *p;
  double moved[ESTIMATE_READING_MAX];
  for (size_t j = 0; j < p->readings->count; j++) {
    const bool step = (1u << p->readings->readings[j].condition) & ESTIMATE_AT_STEPS;
    moved[j] = step ? 0.0 : expected[j] - p->good[j];
  }
  struct estimate_discrepancy *room = estimate_forward_room(forward);
  if (estimate_discrepancy_widen(p->discrepancy, p->readings->count, moved, room)) wide.discrepancy = room;
  return wide;
}

static bool has_effect(const struct estimate_problem *p, const struct estimate_fault *fault) {
  return p->discrepancy && p->good && (fault->count > 0 || fault->fresh);
}

static struct estimate_problem with_fault(const struct estimate_problem *p, struct estimate_forward *forward,
                                          const struct estimate_fault *fault) {
  double expected[ESTIMATE_READING_MAX];
  if (!has_effect(p, fault) || !expect_at(p, forward, p->prior->mean, fault, p->conditions & ~ESTIMATE_AT_STEPS, expected))
    return *p;
  return with_effect(p, forward, expected);
}

void estimate_fit_start(const struct estimate_problem *p, enum cause cause, int start, double z[SCATTER_COUNT]) {
  memcpy(z, p->prior->mean, sizeof p->prior->mean);
  const enum scatter own = estimate_forward_own(cause);
  if (own == SCATTER_COUNT || start == ESTIMATE_START_MEAN || !scatter_applies(p->engine, own)) return;
  z[own] += start == ESTIMATE_START_LESS ? -OWN_START_SD : OWN_START_SD;
}

/* One step from fit->z; mean: that this is the prior's, where the effect's errors are seen. */
static void step_from(const struct estimate_problem *p, struct estimate_forward *forward, const struct estimate_fault *fault,
                      bool mean, const struct estimate_slopes *slopes, struct estimate_fit *fit) {
  fit->possible = estimate_fit_expect(p, forward, fit->z, fault, fit->expected);
  if (fit->possible) {
    const struct estimate_problem wide = !mean                  ? with_fault(p, forward, fault)
                                         : has_effect(p, fault) ? with_effect(p, forward, fit->expected)
                                                                : *p;
    fit->possible = linear_step(&wide, slopes, estimate_forward_matrix(forward, 0), fit);
  }
  if (!fit->possible) impossible(fit);
}

void estimate_fit_quick(const struct estimate_problem *p, struct estimate_forward *forward, const struct estimate_fault *fault,
                        const double *start, const struct estimate_slopes *slopes, struct estimate_fit *fit) {
  memset(fit->start, 0, sizeof fit->start);
  memcpy(fit->z, start ? start : p->prior->mean, sizeof fit->z);
  step_from(p, forward, fault, !start, slopes, fit);
  if (start) return;
  for (size_t i = 0; i < fault->count; i++) {
    if (estimate_forward_own(fault->cause[i]) == SCATTER_COUNT) continue;
    for (int s = ESTIMATE_START_LESS; s < ESTIMATE_START_COUNT; s++) {
      struct estimate_fit other;
      memset(other.start, 0, sizeof other.start);
      other.start[i] = s;
      estimate_fit_start(p, fault->cause[i], s, other.z);
      step_from(p, forward, fault, false, slopes, &other);
      if (other.possible && other.log_likelihood > fit->log_likelihood) *fit = other;
    }
  }
}

bool estimate_fit_near(const struct estimate_problem *narrow, struct estimate_forward *forward,
                       const struct estimate_fault *fault, const double *start, const struct estimate_slopes *slopes,
                       struct estimate_fit *fit, double *covariance) {
  const struct estimate_problem wide = with_fault(narrow, forward, fault), *p = &wide;
  double *h = estimate_forward_matrix(forward, 0);
  memcpy(fit->z, start, sizeof fit->z);
  if (!estimate_fit_expect(p, forward, fit->z, fault, fit->expected)) return false;
  fit->chi2 = chi2_at(p, fit->z, fit->expected);
  for (int i = 0; i < CHORD_MAX; i++) {
    struct estimate_fit next = *fit;
    if (!linear_step(p, slopes, h, &next)) return false;
    const double hoped = next.chi2;
    if (!expect_moved(p, forward, next.z, fault, fit, slopes, next.expected)) return false;
    next.chi2 = chi2_at(p, next.z, next.expected);
    const double gained = fit->chi2 - next.chi2;
    if (gained > 0.0) *fit = next;
    if (gained > STEP_ENOUGH) continue; // from here the same slopes may gain more
    if (fit->chi2 - hoped > LINEAR_ENOUGH) return false;
    if (p->conditions & ESTIMATE_AT_STEPS) {
      const double along = fit->chi2;
      if (!estimate_fit_expect(p, forward, fit->z, fault, fit->expected)) return false;
      fit->chi2 = chi2_at(p, fit->z, fit->expected);
      if (fabs(fit->chi2 - along) > LINEAR_ENOUGH) return false;
    }
    fit->log_likelihood = log_likelihood(p, fit->chi2, h);
    matrix_cholesky_inverse(p->count, h, covariance);
    fit->possible = true;
    return true;
  }
  return false;
}

/* A step of Levenberg and Marquardt: the stronger the damping, the shorter and the nearer to steepest descent; damping rises until
 * chi-squared falls, and is lower for the next step. Beside a limit of the controller, where the slopes change at once, plain steps
 * would jump to and fro. False if none gains. */
OWN_FRAME static bool go(const struct estimate_problem *p, struct estimate_forward *forward, const struct estimate_fault *fault,
                         const double *h, const double *g, const struct estimate_slopes *slopes, double *damping,
                         struct estimate_fit *fit) {
  const size_t n = p->count;
  for (int i = 0; i < DAMPING_MAX; i++) {
    double step[SCATTER_COUNT], z[SCATTER_COUNT], expected[ESTIMATE_READING_MAX], *damped = estimate_forward_matrix(forward, 1);
    memcpy(damped, h, n * n * sizeof *h);
    memcpy(step, g, sizeof step);
    for (size_t k = 0; k < n; k++) damped[k * n + k] *= 1.0 + *damping;
    if (!matrix_cholesky(n, damped)) return false;
    matrix_cholesky_solve(n, damped, step);
    memcpy(z, fit->z, sizeof z);
    for (size_t k = 0; k < n; k++) z[p->scatter[k]] += step[k];
    if (expect_moved(p, forward, z, fault, fit, slopes, expected)) {
      const double chi2 = chi2_at(p, z, expected);
      if (chi2 < fit->chi2) {
        memcpy(fit->z, z, sizeof z);
        memcpy(fit->expected, expected, sizeof expected);
        fit->chi2 = chi2;
        *damping *= 0.2;
        return true;
      }
    }
    *damping = fmax(*damping * 10.0, 0.1);
  }
  return false;
}

/* Steps until there is no more to gain, load steps along their slopes. h: room for H; factor: of H at the last z. False if there are
 * no slopes. */
static bool walk(const struct estimate_problem *p, struct estimate_forward *forward, const struct estimate_fault *fault,
                 struct estimate_slopes *slopes, double *h, double *factor, struct estimate_fit *fit) {
  double g[SCATTER_COUNT], step[SCATTER_COUNT], damping = 0.0;
  for (int i = 0; i < p->steps_most; i++) {
    if (!estimate_fit_slopes(p, forward, fit->z, fault, fit->expected, ~ESTIMATE_AT_STEPS, slopes)) return false;
    normal_equations(p, fit->z, fit->expected, slopes, h, g);
    memcpy(factor, h, p->count * p->count * sizeof *h);
    if (!matrix_cholesky(p->count, factor)) return false;
    memcpy(step, g, sizeof step);
    matrix_cholesky_solve(p->count, factor, step);
    double gain = 0.0;
    for (size_t k = 0; k < p->count; k++) gain += g[k] * step[k];
    const double before = fit->chi2;
    if (gain < STEP_ENOUGH || !go(p, forward, fault, h, g, slopes, &damping, fit) || before - fit->chi2 < STEP_ENOUGH) break;
  }
  return true;
}

void estimate_fit_full(const struct estimate_problem *narrow, struct estimate_forward *forward,
                       const struct estimate_fault *fault, const double *start, struct estimate_slopes *slopes,
                       struct estimate_fit *fit, double *covariance) {
  const struct estimate_problem wide = with_fault(narrow, forward, fault), *p = &wide;
  memcpy(fit->z, start ? start : p->prior->mean, sizeof fit->z);
  bool runs = estimate_fit_expect(p, forward, fit->z, fault, fit->expected);
  if (!runs && start) {
    memcpy(fit->z, p->prior->mean, sizeof fit->z);
    runs = estimate_fit_expect(p, forward, fit->z, fault, fit->expected);
  }
  if (!runs) {
    impossible(fit);
    return;
  }
  fit->chi2 = chi2_at(p, fit->z, fit->expected);
  double *factor = estimate_forward_matrix(forward, 0);
  struct estimate_fit before = *fit;
  for (int round = 0; round < STEP_SLOPES_MAX; round++) {
    if (!walk(p, forward, fault, slopes, covariance, factor, fit)) {
      impossible(fit);
      return;
    }
    if (!(p->conditions & ESTIMATE_AT_STEPS)) break;
    const double hoped = fit->chi2;
    const bool stands = estimate_fit_expect(p, forward, fit->z, fault, fit->expected);
    fit->chi2 = stands ? chi2_at(p, fit->z, fit->expected) : INFINITY;
    if (fabs(fit->chi2 - hoped) < STEPS_TRUSTED) break;
    if (fit->chi2 > before.chi2) *fit = before; // led astray: from where it was, with slopes of there
    before = *fit;
    if (!estimate_fit_slopes(p, forward, fit->z, fault, fit->expected, ESTIMATE_AT_STEPS, slopes)) break;
  }
  if (fit->chi2 > before.chi2) *fit = before;
  fit->possible = true;
  fit->log_likelihood = log_likelihood(p, fit->chi2, factor);
  matrix_cholesky_inverse(p->count, factor, covariance);
}

bool estimate_fit_good(const struct estimate_problem *p, struct estimate_forward *forward, const double *start,
                       struct estimate_slopes *slopes, struct estimate_fit *fit, double *covariance) {
  const struct estimate_fault nothing = {0};
  if (!estimate_fit_expect(p, forward, p->prior->mean, &nothing, fit->expected) ||
      !estimate_fit_slopes(p, forward, p->prior->mean, &nothing, fit->expected, ESTIMATE_AT_STEPS, slopes))
    return false;
  estimate_fit_full(p, forward, &nothing, start, slopes, fit, covariance);
  return fit->possible;
}

enum status estimate_fit_refuse_ties(const struct engine *engine, struct error *error) {
  return error_set(error, STATUS_BAD_DATA, "%s: the correlations of its group scatter contradict each other", engine->name);
}

/* y_b - f_b as the likeliest car would read on a usual day. */
static void past_residual(const struct estimate_problem *p, const struct estimate_fit *fit, const struct estimate_slopes *slopes,
                          const double *lasts, double residual[ESTIMATE_READING_MAX]) {
  for (size_t j = 0; j < p->readings->count; j++) {
    residual[j] = p->readings->readings[j].value - fit->expected[j];
    for (size_t i = 0; i < p->count; i++) // what has passed of the deviation
      residual[j] += (1.0 - lasts[i] * lasts[i]) * slopes->by[j][i] * fit->z[p->scatter[i]];
  }
}

bool estimate_fit_baseline(const struct estimate_problem *baseline, struct estimate_forward *forward,
                           struct estimate_slopes *slopes, struct estimate_car_prior *prior, struct estimate_past *past,
                           double *p_value) {
  const size_t n = baseline->count;
  struct estimate_fit fit;
  double covariance[SCATTER_COUNT * SCATTER_COUNT];
  if (!estimate_fit_good(baseline, forward, NULL, slopes, &fit, covariance)) return false;
  *p_value = probability_chi2_tail(fit.chi2, (double)baseline->readings->count);
  // a day passes: its deviations become as they were before, as far as they do not last
  double lasts[SCATTER_COUNT];
  for (size_t i = 0; i < n; i++) lasts[i] = estimate_place_lasts(baseline->engine, baseline->scatter[i]);
  for (size_t i = 0; i < n; i++)
    for (size_t k = 0; k < n; k++)
      prior->covariance[i * n + k] = lasts[i] * lasts[k] * covariance[i * n + k] + (i == k ? 1.0 - lasts[i] * lasts[i] : 0.0);
  if (!invert_covariance(n, prior)) return false;
  for (int i = 0; i < SCATTER_COUNT; i++) prior->mean[i] = estimate_place_lasts(baseline->engine, (enum scatter)i) * fit.z[i];
  if (!past) return true;
  double residual[ESTIMATE_READING_MAX];
  past_residual(baseline, &fit, slopes, lasts, residual);
  return estimate_past_take(baseline->readings, residual, slopes, n, lasts, past);
}

bool estimate_fit_past(const struct estimate_problem *then, struct estimate_forward *forward, struct estimate_slopes *slopes,
                       struct estimate_past *past) {
  const struct estimate_fault nothing = {0};
  double expected[ESTIMATE_READING_MAX], residual[ESTIMATE_READING_MAX], lasts[SCATTER_COUNT];
  if (!estimate_fit_expect(then, forward, then->prior->mean, &nothing, expected) ||
      !estimate_fit_slopes(then, forward, then->prior->mean, &nothing, expected, ~0u, slopes))
    return false;
  // expected has them all. NOLINTNEXTLINE(clang-analyzer-core.UndefinedBinaryOperatorResult)
  for (size_t j = 0; j < then->readings->count; j++) residual[j] = then->readings->readings[j].value - expected[j];
  for (size_t i = 0; i < then->count; i++) lasts[i] = estimate_place_lasts(then->engine, then->scatter[i]);
  return estimate_past_take(then->readings, residual, slopes, then->count, lasts, past);
}
