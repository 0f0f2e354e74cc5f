/* base/matrix: factors worked by hand, and the invariants of an inverse. */
#include "support/check.h"

#include "base/attributes.h"
#include "base/matrix.h"

enum { N = 3, BIG = 30 };

/* By hand: L = (2 0 0; 1 3 0; -2 1 5), so A = L L^T = (4 2 -4; 2 10 1; -4 1 30); the determinant is (2 3 5)^2 = 900. */
static const double by_hand[N * N] = {4, 2, -4, 2, 10, 1, -4, 1, 30};
static const double factor_by_hand[N * N] = {2, 0, 0, 1, 3, 0, -2, 1, 5};

static void copy(size_t count, double *to, const double *from) {
  for (size_t i = 0; i < count; i++) to[i] = from[i];
}

static void factor_of_hand_example(void **state) {
  (void)state;
  double a[N * N];
  copy(N * N, a, by_hand);
  a[1] = a[2] = a[5] = NAN; // above the diagonal: neither read nor written
  assert_true(matrix_cholesky(N, a));
  for (size_t i = 0; i < N; i++)
    for (size_t j = 0; j <= i; j++) check_close_at((double)i, a[i * N + j], factor_by_hand[i * N + j], 1e-15);
  assert_true(isnan(a[1]) && isnan(a[2]) && isnan(a[5]));
  check_close(matrix_cholesky_log_determinant(N, a), log(900.0), 1e-15);
}

/* A (1 2 3) = (4 + 4 - 12, 2 + 20 + 3, -4 + 2 + 90) = (-4, 25, 88). Forward alone: y1 = -4 / 2 = -2,
 * y2 = (25 + 2) / 3 = 9, y3 = (88 - 4 - 9) / 5 = 15; and 4 + 81 + 225 = 310 = (1 2 3) . (-4 25 88). */
static void solves_hand_example(void **state) {
  (void)state;
  double x[N] = {-4, 25, 88}, y[N] = {-4, 25, 88};
  matrix_cholesky_solve(N, factor_by_hand, x);
  matrix_cholesky_forward(N, factor_by_hand, y);
  static const double expected_x[N] = {1, 2, 3}, expected_y[N] = {-2, 9, 15};
  for (size_t i = 0; i < N; i++) {
    check_close_at((double)i, x[i], expected_x[i], 1e-14);
    check_close_at((double)i, y[i], expected_y[i], 1e-14);
  }
  check_close(y[0] * y[0] + y[1] * y[1] + y[2] * y[2], 310.0, 1e-12);
}

/* Adjugate of the hand example over 900, cofactor by cofactor: 10 30 - 1 = 299, -(2 30 + 4) = -64, 2 + 40 = 42,
 * 4 30 - 16 = 104, -(4 + 8) = -12, 40 - 4 = 36. */
static void inverse_of_hand_example(void **state) {
  (void)state;
  static const double adjugate[N * N] = {299, -64, 42, -64, 104, -12, 42, -12, 36};
  double inverse[N * N];
  matrix_cholesky_inverse(N, factor_by_hand, inverse);
  for (size_t i = 0; i < N * N; i++) check_close_at((double)i, inverse[i], adjugate[i] / 900.0, 1e-15);
}

/* Covariance of a first-order autoregression, r^|i - j|: its inverse is known to be tridiagonal, 1 / (1 - r^2) times
 * (1 + r^2, 1 at both ends) and -r beside; its determinant is (1 - r^2)^(n - 1). */
static void autoregression(void **state) {
  (void)state;
  const double r = 0.9, unit = 1.0 / (1.0 - r * r);
  double a[BIG * BIG], inverse[BIG * BIG];
  for (size_t i = 0; i < BIG; i++)
    for (size_t j = 0; j < BIG; j++) a[i * BIG + j] = pow(r, fabs((double)i - (double)j));
  assert_true(matrix_cholesky(BIG, a));
  check_close(matrix_cholesky_log_determinant(BIG, a), (BIG - 1) * log(1.0 - r * r), 1e-12);
  matrix_cholesky_inverse(BIG, a, inverse);
  for (size_t i = 0; i < BIG; i++)
    for (size_t j = 0; j < BIG; j++) {
      const size_t apart = i > j ? i - j : j - i;
      const double diagonal = i == 0 || i == BIG - 1 ? unit : (1.0 + r * r) * unit;
      const double expected = apart == 0 ? diagonal : apart == 1 ? -r * unit : 0.0;
      check_close_at((double)i, inverse[i * BIG + j], expected, 1e-12);
      check_close_at((double)i, inverse[i * BIG + j], inverse[j * BIG + i], 0.0);
    }
}

static void one_number_and_none(void **state) {
  (void)state;
  double a[1] = {1e-200}, x[1] = {3e-200}, inverse[1];
  assert_true(matrix_cholesky(1, a));
  matrix_cholesky_solve(1, a, x);
  check_relative(x[0], 3.0, 1e-15);
  matrix_cholesky_inverse(1, a, inverse);
  check_relative(inverse[0], 1e200, 1e-15);
  assert_true(matrix_cholesky(0, a));
  check_close(matrix_cholesky_log_determinant(0, a), 0.0, 0.0);
}

/* Indefinite (eigenvalues 3 and -1), semidefinite, of rank two up to rounding (without the bound on the pivot it passes,
 * with 2e-8 as last entry), zero, negative, not finite. A small but honest pivot passes. */
static void refuses_what_is_not_positive_definite(void **state) {
  (void)state;
  double indefinite[] = {1, 2, 2, 1}, semidefinite[] = {1, 1, 1, 1}, zero[] = {0}, negative[] = {-1};
  double not_a_number[] = {1, 0, NAN, 1}, infinite[] = {INFINITY}, thin[] = {1, 1, 1, 1 + 1e-12};
  double rank_two[N * N];
  const double u[N] = {0.1, 0.7, 1.3}, v[N] = {1.1, 0.2, -0.6};
  for (size_t i = 0; i < N; i++)
    for (size_t j = 0; j < N; j++) rank_two[i * N + j] = u[i] * u[j] + v[i] * v[j];
  assert_false(matrix_cholesky(2, indefinite));
  assert_false(matrix_cholesky(2, semidefinite));
  assert_false(matrix_cholesky(N, rank_two));
  assert_false(matrix_cholesky(1, zero));
  assert_false(matrix_cholesky(1, negative));
  assert_false(matrix_cholesky(2, not_a_number));
  assert_false(matrix_cholesky(1, infinite));
  assert_true(matrix_cholesky(2, thin));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(factor_of_hand_example),  cmocka_unit_test(solves_hand_example),
      cmocka_unit_test(inverse_of_hand_example), cmocka_unit_test(autoregression),
      cmocka_unit_test(one_number_and_none),     cmocka_unit_test(refuses_what_is_not_positive_definite),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
