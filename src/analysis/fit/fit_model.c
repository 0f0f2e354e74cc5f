#include "analysis/fit/fit_model.h"

#include "base/matrix.h"

#include <math.h>
#include <string.h>

#define LEAST_SHARE 0.02 // of the road's width: a deviation that is the same on all cars of a model, or on all models, nearly

void fit_model_begin(struct fit_model *m, const struct engine *start, const struct engine *nominal, size_t count,
                     const enum scatter *scatter) {
  memset(m, 0, sizeof *m);
  m->all = count;
  for (size_t i = 0; i < count; i++) {
    if (scatter_rows[scatter[i]].kind != SCATTER_UNIT) continue;
    const double share = start->scatter.sd[scatter[i]] / nominal->scatter.sd[scatter[i]];
    m->scatter[m->n] = scatter[i];
    m->place[m->n] = i;
    m->car_variance[m->n] = fmax(share * share, LEAST_SHARE * LEAST_SHARE);
    // what the card says of one car says less of its model
    m->model_variance[m->n] = share < 1.0 ? fmax(1.0 - share * share, LEAST_SHARE * LEAST_SHARE) : 1.0;
    m->n++;
  }
}

/* Inverse of a matrix into another; false if it is not positive definite. */
static bool invert(size_t n, const double *matrix, double *factor, double *inverse) {
  memcpy(factor, matrix, n * n * sizeof *factor);
  if (!matrix_cholesky(n, factor)) return false;
  matrix_cholesky_inverse(n, factor, inverse);
  return true;
}

bool fit_model_add(struct fit_model *m, const double *z, const double *covariance) {
  const size_t n = m->n;
  double *c = m->room[0], *factor = m->room[1], *alone = m->room[2], h[SCATTER_COUNT] = {0}, u_h[SCATTER_COUNT] = {0};
  for (size_t i = 0; i < n; i++)
    for (size_t k = 0; k < n; k++) c[i * n + k] = covariance[m->place[i] * m->all + m->place[k]];
  if (!invert(n, c, factor, alone)) return false; // C^-1
  for (size_t i = 0; i < n; i++)
    for (size_t k = 0; k < n; k++) h[i] += alone[i * n + k] * z[m->scatter[k]];
  for (size_t i = 0; i < n; i++) alone[i * n + i] -= 1.0; // L
  if (m->car_count++ == 0) {
    memcpy(m->own_precision, alone, n * n * sizeof *alone);
    memcpy(m->own_moment, h, sizeof h);
  }
  for (size_t i = 0; i < n; i++) alone[i * n + i] += 1.0 / m->car_variance[i];
  if (!invert(n, alone, factor, c)) return false; // (U^-1 + L)^-1
  for (size_t i = 0; i < n; i++)
    for (size_t k = 0; k < n; k++) u_h[i] += c[i * n + k] * h[k];
  for (size_t i = 0; i < n; i++) {
    m->moment[i] += u_h[i] / m->car_variance[i];
    for (size_t k = 0; k < n; k++)
      m->precision[i * n + k] +=
          (i == k ? 1.0 / m->car_variance[i] : 0.0) - c[i * n + k] / (m->car_variance[i] * m->car_variance[k]);
  }
  return true;
}

/* Normal from precision and moment: mean and covariance. */
static bool resolve(size_t n, const double *precision, const double *moment, double *factor, double *mean, double *covariance) {
  if (!invert(n, precision, factor, covariance)) return false;
  for (size_t i = 0; i < n; i++) {
    mean[i] = 0.0;
    for (size_t k = 0; k < n; k++) mean[i] += covariance[i * n + k] * moment[k];
  }
  return true;
}

/* The first car alone: its own readings on the road's prior. */
static bool first_alone(struct fit_model *m, double *mean, double *covariance) {
  const size_t n = m->n;
  double *precision = m->room[0];
  memcpy(precision, m->own_precision, n * n * sizeof *precision);
  for (size_t i = 0; i < n; i++) precision[i * n + i] += 1.0;
  return resolve(n, precision, m->own_moment, m->room[1], mean, covariance);
}

/* The first car's part out of the sum, so that the rest is what the others say of the model. */
static bool without_first(struct fit_model *m, double *precision, double *moment) {
  const size_t n = m->n;
  double *alone = m->room[0], *inverse = m->room[2];
  memcpy(alone, m->own_precision, n * n * sizeof *alone);
  for (size_t i = 0; i < n; i++) alone[i * n + i] += 1.0 / m->car_variance[i];
  if (!invert(n, alone, m->room[1], inverse)) return false;
  for (size_t i = 0; i < n; i++) {
    double u_h = 0.0;
    for (size_t k = 0; k < n; k++) u_h += inverse[i * n + k] * m->own_moment[k];
    moment[i] -= u_h / m->car_variance[i];
    for (size_t k = 0; k < n; k++)
      precision[i * n + k] -=
          (i == k ? 1.0 / m->car_variance[i] : 0.0) - inverse[i * n + k] / (m->car_variance[i] * m->car_variance[k]);
  }
  return true;
}

static bool of_model(struct fit_model *m, double *mean, double *covariance) {
  const size_t n = m->n;
  for (size_t i = 0; i < n; i++) m->precision[i * n + i] += 1.0 / m->model_variance[i];
  return resolve(n, m->precision, m->moment, m->room[1], mean, covariance);
}

/* The first car, with what the others say of its model as prior. */
static bool first_among(struct fit_model *m, double *mean, double *covariance) {
  const size_t n = m->n;
  double *precision = m->room[2], moment[SCATTER_COUNT] = {0};
  if (!without_first(m, m->precision, m->moment) || !of_model(m, mean, covariance)) return false;
  for (size_t i = 0; i < n; i++) covariance[i * n + i] += m->car_variance[i];
  if (!invert(n, covariance, m->room[1], precision)) return false;
  for (size_t i = 0; i < n; i++) {
    moment[i] = m->own_moment[i];
    for (size_t k = 0; k < n; k++) moment[i] += precision[i * n + k] * mean[k];
  }
  for (size_t i = 0; i < n * n; i++) precision[i] += m->own_precision[i];
  return resolve(n, precision, moment, m->room[1], mean, covariance);
}

bool fit_model_end(struct fit_model *m, bool this_car, double *mean, double *left, double *share, double *covariance) {
  const size_t n = m->n;
  double means[SCATTER_COUNT] = {0}, *of_unit = m->room[0];
  const bool own = this_car && m->car_count > 0;
  const bool good = !own                ? of_model(m, means, of_unit)
                    : m->car_count == 1 ? (first_alone(m, means, m->room[2]) && (of_unit = m->room[2]))
                                        : first_among(m, means, of_unit);
  if (!good) return false;
  for (int i = 0; i < SCATTER_COUNT; i++) {
    mean[i] = 0.0;
    left[i] = share[i] = 1.0;
  }
  for (size_t i = 0; i < m->all * m->all; i++) covariance[i] = i % (m->all + 1) == 0 ? 1.0 : 0.0; // days are as on the road
  for (size_t i = 0; i < n; i++) {
    mean[m->scatter[i]] = means[i];
    left[m->scatter[i]] = sqrt(of_unit[i * n + i]);
    share[m->scatter[i]] = left[m->scatter[i]] / (own ? 1.0 : sqrt(m->model_variance[i]));
    for (size_t k = 0; k < n; k++)
      covariance[m->place[i] * m->all + m->place[k]] = of_unit[i * n + k] + (i == k && !own ? m->car_variance[i] : 0.0);
  }
  return true;
}
