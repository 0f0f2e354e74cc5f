#include "base/matrix.h"

#include <float.h>
#include <math.h>

static double dot(size_t count, const double *a, const double *b) {
  double sum = 0.0;
  for (size_t i = 0; i < count; i++) sum += a[i] * b[i];
  return sum;
}

bool matrix_cholesky(size_t n, double *a) {
  for (size_t i = 0; i < n; i++) {
    double *row = a + i * n;
    for (size_t j = 0; j < i; j++) {
      const double *above = a + j * n;
      row[j] = (row[j] - dot(j, row, above)) / above[j];
    }
    const double pivot = row[i] - dot(i, row, row);
    // The subtraction above rounds by up to so much: a smaller pivot is a zero or a negative one in disguise.
    const double noise = (double)n * DBL_EPSILON * row[i];
    if (!(pivot > noise) || !isfinite(pivot)) return false;
    row[i] = sqrt(pivot);
  }
  return true;
}

void matrix_cholesky_forward(size_t n, const double *factor, double *x) {
  for (size_t i = 0; i < n; i++) {
    const double *row = factor + i * n;
    x[i] = (x[i] - dot(i, row, x)) / row[i];
  }
}

/* Solves L^T x = b; x holds b on entry. Row i of L is column i of L^T, so each x found is taken from those above. */
static void solve_backward(size_t n, const double *factor, double *x) {
  for (size_t i = n; i-- > 0;) {
    const double *row = factor + i * n;
    x[i] /= row[i];
    for (size_t j = 0; j < i; j++) x[j] -= row[j] * x[i];
  }
}

void matrix_cholesky_solve(size_t n, const double *factor, double *x) {
  matrix_cholesky_forward(n, factor, x);
  solve_backward(n, factor, x);
}

double matrix_cholesky_log_determinant(size_t n, const double *factor) {
  double sum = 0.0;
  for (size_t i = 0; i < n; i++) sum += log(factor[i * n + i]);
  return 2.0 * sum;
}

void matrix_cholesky_inverse(size_t n, const double *factor, double *inverse) {
  for (size_t i = 0; i < n; i++) { // row i of the inverse is also its column i: the answer to a unit vector
    double *row = inverse + i * n;
    for (size_t j = 0; j < n; j++) row[j] = i == j ? 1.0 : 0.0;
    matrix_cholesky_solve(n, factor, row);
  }
  for (size_t i = 0; i < n; i++)
    for (size_t j = 0; j < i; j++) inverse[j * n + i] = inverse[i * n + j]; // they differ in the last digits only
}
