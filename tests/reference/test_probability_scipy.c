/* base/probability and base/matrix against scipy: gamma function, normal distribution, quadrature of densities with a
 * piecewise linear log, information, and Cholesky's method against LAPACK.
 *
 * probability_oracle.py, run with Debian's own interpreter, prints scipy's answers; see its head for the rows. Where
 * scipy is missing every test here is reported as skipped, with the reason: a skipped test says nothing about the
 * code. Any other failure of the script is a failure of the test. */
#include "support/check.h"
#include "support/curve_cdf.h"
#include "support/oracle.h"

#include "base/matrix.h"
#include "base/probability.h"

#include <stdbool.h>
#include <string.h>

#define COMMAND "/usr/bin/python3 tests/reference/probability_oracle.py" // ctest runs in the source folder
enum { MATRIX_MAX = 24 };

static int read_oracle(void **state) { return oracle_read(state, COMMAND, "python3-scipy"); }

/* 1e-10 is what the header promises, down to results of 1e-300. The largest difference, 4e-11 at a = 1e6, x = 995496,
 * is scipy's: 40-digit arithmetic (mpmath, the same series) gives 0.999996765432208443 there, and ours that to 1e-16. */
static void check_gamma(const struct oracle_row *row) {
  if (row->value > 1e-300)
    check_relative_at(row->a, probability_gamma_q(row->a, row->b), row->value, 1e-10);
  else
    check_below_at(row->a, probability_gamma_q(row->a, row->b), 1e-299);
}

static void check_chi2(const struct oracle_row *row) {
  check_relative_at(row->b, probability_chi2_tail(row->a, row->b), row->value, 1e-10);
}

static void check_cdf(const struct oracle_row *row) {
  check_relative_at(row->a, probability_normal_cdf(row->a), row->value, 1e-15 * (1.0 + row->a * row->a));
}

/* quad is asked for 1e-12. */
static void check_linear(const struct oracle_row *row) {
  check_close_at(row->d, probability_loglinear_integral(row->a, row->b, row->c, row->d), row->value, 2e-12);
}

/* The same curve as in probability_oracle.py. */
static const struct probability_curve curve = {
    .count = 6, .x = {-3.0, -1.0, 0.5, 0.75, 2.0, 6.0}, .log_density = {-9.0, -0.5, 1.0, 1.0, -0.25, -30.0}};
enum { CURVE_LOG_INTEGRAL, CURVE_MEAN, CURVE_CDF, CURVE_QUANTILE };

static void check_curve(const struct oracle_row *row) {
  double value = NAN;
  switch ((int)row->a) {
  case CURVE_LOG_INTEGRAL:
    value = probability_curve_log_integral(&curve);
    break;
  case CURVE_MEAN:
    value = probability_curve_mean(&curve);
    break;
  case CURVE_CDF:
    value = curve_cdf(&curve, row->b);
    break;
  case CURVE_QUANTILE:
    value = probability_curve_quantile(&curve, row->b);
    break;
  }
  check_close_at(row->b, value, row->value, row->a < CURVE_QUANTILE ? 2e-12 : 2e-11);
}

/* At a step of a quarter of a standard deviation the header promises 1e-8, at half of one 1e-5. */
static void check_normals(const struct oracle_row *row) {
  enum { POINT_MAX = 200 };
  static const double p[] = {0.5, 0.5};
  for (double step = 0.25; step < 0.6; step *= 2.0) {
    const size_t points = 1 + (size_t)((16.0 + row->a) / step);
    double densities[2 * POINT_MAX];
    assert_true(points <= POINT_MAX);
    for (size_t i = 0; i < points; i++) {
      const double x = step * (double)i - 8.0, other = x - row->a;
      densities[i] = exp(-0.5 * x * x);
      densities[points + i] = exp(-0.5 * other * other);
    }
    const double bits = probability_information_bits(2, p, points, densities, step);
    check_close_at(row->a, bits, row->value, step < 0.3 ? 1e-8 : 1e-5);
  }
}

/* The covariance of n rows that the oracle printed; the upper triangle holds zeros. Returns its factor in a. */
static void factor_of(const struct oracle *oracle, size_t n, double a[MATRIX_MAX * MATRIX_MAX]) {
  memset(a, 0, MATRIX_MAX * MATRIX_MAX * sizeof *a);
  for (size_t i = 0; i < oracle->count; i++) {
    const struct oracle_row *row = &oracle->rows[i];
    if (!strcmp(row->kind, "entry") && (size_t)row->a == n) a[(size_t)row->b * n + (size_t)row->c] = row->value;
  }
  assert_true(matrix_cholesky(n, a));
}

/* Condition numbers of the covariances are up to 260 (numpy.linalg.cond): rounding makes some 1e-13. */
static void cholesky(void **state) {
  const struct oracle *oracle = oracle_or_skip(state);
  double a[MATRIX_MAX * MATRIX_MAX], inverse[MATRIX_MAX * MATRIX_MAX], x[MATRIX_MAX];
  size_t n = 0, checked = 0;
  for (size_t i = 0; i < oracle->count; i++) {
    const struct oracle_row *row = &oracle->rows[i];
    const bool solution = !strcmp(row->kind, "solution"), log_determinant = !strcmp(row->kind, "logdet");
    if (!solution && !log_determinant && strcmp(row->kind, "inverse")) continue;
    if ((size_t)row->a != n) {
      n = (size_t)row->a;
      assert_true(n <= MATRIX_MAX);
      factor_of(oracle, n, a);
      for (size_t j = 0; j < n; j++) x[j] = (double)j + 1.0;
      matrix_cholesky_solve(n, a, x);
      matrix_cholesky_inverse(n, a, inverse);
    }
    const size_t at = solution ? (size_t)row->b : (size_t)row->b * n + (size_t)row->c;
    const double value = log_determinant ? matrix_cholesky_log_determinant(n, a) : solution ? x[at] : inverse[at];
    check_close_at(row->a, value, row->value, 1e-12 * (1.0 + fabs(row->value)));
    checked++;
  }
  assert_int_equal(checked, 44 + 5 + 750); // for n = 1, 2, 5, 12, 24
}

static void gamma_function(void **state) { oracle_for_each(oracle_or_skip(state), "gamma", 597, check_gamma); }
static void chi2_tail(void **state) { oracle_for_each(oracle_or_skip(state), "chi", 7 * 7, check_chi2); }
static void normal_cdf(void **state) { oracle_for_each(oracle_or_skip(state), "cdf", 91, check_cdf); }
static void loglinear_quadrature(void **state) { oracle_for_each(oracle_or_skip(state), "linear", 3 * 3 * 10, check_linear); }
static void curve_quadrature(void **state) { oracle_for_each(oracle_or_skip(state), "curve", 2 + 35 + 19, check_curve); }
static void normals_information(void **state) { oracle_for_each(oracle_or_skip(state), "normals", 6, check_normals); }

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(gamma_function),   cmocka_unit_test(chi2_tail),
      cmocka_unit_test(normal_cdf),       cmocka_unit_test(loglinear_quadrature),
      cmocka_unit_test(curve_quadrature), cmocka_unit_test(normals_information),
      cmocka_unit_test(cholesky),
  };
  return cmocka_run_group_tests(tests, read_oracle, oracle_free);
}
