/* base/probability: hand values and invariants; tests/reference/test_probability_scipy.c holds it against scipy. */
#include "support/check.h"
#include "support/curve_cdf.h"

#include "base/attributes.h"
#include "base/probability.h"

static void normal(void **state) {
  (void)state;
  check_close(probability_normal_cdf(0.0), 0.5, 0.0);
  check_close(probability_normal_cdf(INFINITY), 1.0, 0.0);
  check_close(probability_normal_cdf(1.959963984540054), 0.975, 1e-15); // every table of the normal distribution
}

/* Closed forms: Q(1, x) = e^-x, Q(2, x) = (1 + x) e^-x, Q(1/2, x) = erfc(sqrt x), and Q(a + 1, x) = Q(a, x) +
 * x^a e^-x / Gamma(a + 1), which joins series and fraction, small and large a. */
static void gamma_q(void **state) {
  (void)state;
  for (double x = 0.0; x < 600.0; x += 0.37) {
    check_relative_at(x, probability_gamma_q(1.0, x), exp(-x), 1e-12);
    check_relative_at(x, probability_gamma_q(2.0, x), (1.0 + x) * exp(-x), 1e-12);
    check_relative_at(x, probability_gamma_q(0.5, x), erfc(sqrt(x)), 1e-12);
  }
  for (double a = 0.1; a < 60.0; a *= 1.1)
    for (double x = 0.05 * a; x < 4.0 * a + 4.0; x *= 1.07) {
      const double step = exp(a * log(x) - x) / tgamma(a + 1.0);
      check_relative_at(a, probability_gamma_q(a + 1.0, x), probability_gamma_q(a, x) + step, 1e-12);
    }
}

static void gamma_q_at_its_edges(void **state) {
  (void)state;
  check_close(probability_gamma_q(3.0, 0.0), 1.0, 0.0);
  check_close(probability_gamma_q(3.0, INFINITY), 0.0, 0.0);
  check_close(probability_gamma_q(1e6, 2e6), 0.0, 0.0);
  check_close(probability_gamma_q(1e6, 1.0), 1.0, 0.0);
  assert_true(isnan(probability_gamma_q(0.0, 1.0)) && isnan(probability_gamma_q(2e6, 1.0)));
  assert_true(isnan(probability_gamma_q(1.0, -1.0)) && isnan(probability_gamma_q(NAN, 1.0)));
  assert_true(isnan(probability_gamma_q(1.0, NAN)));
}

/* Two degrees of freedom: e^(-chi2 / 2). One: both tails of the normal. 3.841459 is the 5 % value of every table. */
static void chi2(void **state) {
  (void)state;
  check_relative(probability_chi2_tail(5.0, 2.0), exp(-2.5), 1e-14);
  check_relative(probability_chi2_tail(9.0, 1.0), 2.0 * probability_normal_cdf(-3.0), 1e-13);
  check_close(probability_chi2_tail(3.841458820694124, 1.0), 0.05, 1e-15);
}

static void log_sum_exp(void **state) {
  (void)state;
  const double plain[] = {log(1.0), log(2.0), log(5.0)}, high[] = {1000.0, 1000.0}, low[] = {-INFINITY, -2000.0};
  const double none[] = {-INFINITY, -INFINITY};
  check_close(probability_log_sum_exp(3, plain), log(8.0), 1e-15);
  check_close(probability_log_sum_exp(2, high), 1000.0 + log(2.0), 1e-12);
  check_close(probability_log_sum_exp(2, low), -2000.0, 0.0);
  assert_true(isinf(probability_log_sum_exp(2, none)) && isinf(probability_log_sum_exp(0, none)));
}

/* Level: width times height. From 1 to e over a width of 2: 2 (e - 1). Steep: only the high end counts, width / rise.
 * Nearly level: the mean of the ends, up to rise^2 / 24. */
static void loglinear_integral(void **state) {
  (void)state;
  check_close(probability_loglinear_integral(1.0, 3.0, 5.0, 3.0), 3.0 + log(4.0), 1e-15);
  check_close(probability_loglinear_integral(0.0, 0.0, 2.0, 1.0), log(2.0 * (exp(1.0) - 1.0)), 1e-15);
  check_close(probability_loglinear_integral(0.0, 1.0, 2.0, 0.0), log(2.0 * (exp(1.0) - 1.0)), 1e-15);
  check_close(probability_loglinear_integral(0.0, -5000.0, 2.0, 1000.0), 1000.0 + log(2.0 / 6000.0), 1e-12);
  for (double rise = 1e-5; rise > 1e-300; rise *= 1e-3)
    check_close_at(rise, probability_loglinear_integral(0.0, 0.0, 1.0, rise), 0.5 * rise + rise * rise / 24.0, 2e-16);
  assert_true(isinf(probability_loglinear_integral(0.0, -INFINITY, 1.0, 0.0)));
  assert_true(isinf(probability_loglinear_integral(0.0, 0.0, 1.0, -INFINITY)));
  assert_true(isinf(probability_loglinear_integral(0.0, -INFINITY, 1.0, -INFINITY)));
  assert_true(isinf(probability_loglinear_integral(1.0, 0.0, 1.0, 2.0))); // no width
}

static struct probability_curve curve_of(size_t count, const double *x, const double *log_density) {
  struct probability_curve curve = {.count = count};
  for (size_t i = 0; i < count; i++) {
    curve.x[i] = x[i];
    curve.log_density[i] = log_density[i];
  }
  return curve;
}

/* e^-x cut off at 30, in one piece: cdf (1 - e^-x) / (1 - e^-30), mean 1 - 30 e^-30 / (1 - e^-30). Mirrored, it rises. */
static void exponential_curve(void **state) {
  (void)state;
  const double x[] = {0.0, 30.0}, falls[] = {7.0, -23.0}, rises[] = {-23.0, 7.0}, whole = -expm1(-30.0);
  const struct probability_curve down = curve_of(2, x, falls), up = curve_of(2, x, rises);
  check_close(probability_curve_log_integral(&down), 7.0 + log(whole), 1e-14);
  check_close(probability_curve_mean(&down), 1.0 - 30.0 * exp(-30.0) / whole, 1e-13);
  check_close(probability_curve_mean(&up), 29.0 + 30.0 * exp(-30.0) / whole, 1e-13);
  for (double q = 0.25; q < 30.0; q += 0.25) {
    check_close_at(q, curve_cdf(&down, q), -expm1(-q) / whole, 1e-15);
    check_relative_at(q, curve_cdf(&up, 30.0 - q), (exp(-q) - exp(-30.0)) / whole, 1e-13);
    check_close_at(q, probability_curve_quantile(&up, (exp(-q) - exp(-30.0)) / whole), 30.0 - q, 1e-10 * exp(0.3 * q));
  }
  check_close(probability_curve_quantile(&down, 0.5), -log(1.0 - 0.5 * whole), 1e-14);
}

/* A roof, 2^-|x| between -1 and 1, beside a level piece of 1/2 from 1 to 3, by hand: masses 1/(2 ln 2) twice and 1. */
static void roof_and_level(void **state) {
  (void)state;
  const double half = log(0.5), x[] = {-1, 0, 1, 3}, log_density[] = {half, 0, half, half};
  const struct probability_curve curve = curve_of(4, x, log_density);
  const double side = 0.5 / log(2.0), whole = 2.0 * side + 1.0;
  check_close(probability_curve_log_integral(&curve), log(whole), 1e-15);
  check_close(probability_curve_mean(&curve), 2.0 / whole,
              1e-15); // the roof's own mean is 0, the level piece's 2
  check_close(curve_cdf(&curve, -1.0), 0.0, 0.0);
  check_close(curve_cdf(&curve, -9.0), 0.0, 0.0);
  check_close(curve_cdf(&curve, 9.0), 1.0, 1e-15);
  check_close(curve_cdf(&curve, 0.0), side / whole, 1e-15);
  check_close(curve_cdf(&curve, 2.0), (2.0 * side + 0.5) / whole, 1e-15);
  // Left of zero the integral of 2^x from -1 is (2^x - 1/2) / ln 2.
  check_close(curve_cdf(&curve, -0.25), (pow(2.0, -0.25) - 0.5) / log(2.0) / whole, 1e-15);
  check_close(probability_curve_quantile(&curve, 0.0), -1.0, 0.0);
  check_close(probability_curve_quantile(&curve, 1.0), 3.0, 1e-14);
  check_close(probability_curve_quantile(&curve, (2.0 * side + 0.5) / whole), 2.0, 1e-14);
  for (double p = 0.01; p < 1.0; p += 0.01) check_close_at(p, curve_cdf(&curve, probability_curve_quantile(&curve, p)), p, 1e-14);
  assert_true(isnan(probability_curve_quantile(&curve, -0.1)) && isnan(probability_curve_quantile(&curve, 1.1)));
  assert_true(isnan(curve_cdf(&curve, NAN)));
}

/* Two pieces, width 1, slopes s and 0, for slopes from flat to steeper than a double's range: cdf and quantile undo each
 * other, and the mean is between the ends; nearly flat ones agree with flat, 1/2 + s / 12. */
static void slopes_of_any_size(void **state) {
  (void)state;
  static const double slopes[] = {5e-324, 1e-200, 1e-16, 1e-9, 1e-3, 0.0999, 0.1001, 0.999, 1.001, 30.0, 800.0, 1e5};
  const double x[] = {0, 1};
  for (size_t i = 0; i < ARRAY_COUNT(slopes); i++)
    for (double sign = -1.0; sign <= 1.0; sign += 2.0) {
      const double s = sign * slopes[i], log_density[] = {0.0, s};
      const struct probability_curve curve = curve_of(2, x, log_density);
      for (double p = 0.0; p <= 1.0; p += 0.0625)
        check_close_at(s, curve_cdf(&curve, probability_curve_quantile(&curve, p)), p, 1e-15 + 3e-16 * fabs(s));
      const double mean = probability_curve_mean(&curve);
      if (fabs(s) < 0.01) check_close_at(s, mean, 0.5 + s / 12.0, 2e-12);
      if (fabs(s) < 0.01) check_close_at(s, curve_cdf(&curve, 0.5), 0.5 - s / 8.0, 3e-12); // s^3 / 384
      // 1 / (1 - e^-s) - 1 / s in long double, good to 1e-17 for these.
      if (fabs(s) >= 0.09) check_close_at(s, mean, (double)(-1.0L / expm1l(-(long double)s) - 1.0L / (long double)s), 3e-15);
    }
}

/* Shares that sum to a little more than 1, as they do for the point at 0.23, make no probability above 1. */
static void cdf_never_above_one(void **state) {
  (void)state;
  const double x[] = {0, 1, 2, 3};
  for (double height = 0.01; height < 1.0; height += 0.01) {
    const double log_density[] = {0.0, height, 0.0, 1.0};
    const struct probability_curve curve = curve_of(4, x, log_density);
    check_close_at(height, curve_cdf(&curve, 4.0), 1.0, 1e-15);
    assert_true(curve_cdf(&curve, 4.0) <= 1.0);
  }
}

/* -INFINITY cuts a hole: only the first and the last piece hold something, however far apart their heights. */
static void curve_with_hole(void **state) {
  (void)state;
  const double x[] = {0, 1, 2, 3, 4}, log_density[] = {-5000, -5000, -INFINITY, -5000, -5000};
  const struct probability_curve curve = curve_of(5, x, log_density);
  check_close(probability_curve_log_integral(&curve), -5000.0 + log(2.0), 1e-12);
  check_close(probability_curve_mean(&curve), 2.0, 1e-12);
  check_close(curve_cdf(&curve, 2.5), 0.5, 1e-12);
  check_close(probability_curve_quantile(&curve, 0.75), 3.5, 1e-12);
  const double spike[] = {-INFINITY, 0, -INFINITY, -2000, -2000}; // the highest point has no width
  const struct probability_curve low = curve_of(5, x, spike);
  check_close(probability_curve_log_integral(&low), -2000.0, 1e-12);
  check_close(probability_curve_quantile(&low, 0.0), 3.0, 0.0);
}

static void curve_without_probability(void **state) {
  (void)state;
  const double x[] = {0, 1}, nothing[] = {-INFINITY, -INFINITY}, broken[] = {NAN, 0.0};
  const struct probability_curve examples[] = {curve_of(0, x, nothing), curve_of(1, x, x), curve_of(2, x, nothing),
                                               curve_of(2, x, broken)};
  for (size_t i = 0; i < ARRAY_COUNT(examples); i++) {
    struct probability_curve curve = examples[i];
    assert_true(!isfinite(probability_curve_log_integral(&curve)));
    assert_true(isnan(probability_curve_quantile(&curve, 0.5)));
    assert_true(isnan(curve_cdf(&curve, 0.5)));
    assert_true(isnan(probability_curve_mean(&curve)));
  }
}

/* 2 bits for four alike; 1/2, 1/4, 1/8, 1/8 need 1/2 + 2/4 + 3/8 + 3/8 = 1.75. */
static void entropy(void **state) {
  (void)state;
  const double alike[] = {0.25, 0.25, 0.25, 0.25}, uneven[] = {0.5, 0.25, 0.125, 0.125, 0.0}, sure[] = {0.0, 1.0};
  check_close(probability_entropy_bits(4, alike), 2.0, 1e-15);
  check_close(probability_entropy_bits(5, uneven), 1.75, 1e-15);
  check_close(probability_entropy_bits(2, sure), 0.0, 0.0);
  const double negative[] = {1.5, -0.5};
  assert_true(isnan(probability_entropy_bits(2, negative)));
}

/* Binary symmetric channel, wrong once in ten: 1 - H(0.1) = 1 + 0.1 log2 0.1 + 0.9 log2 0.9 = 1 - 0.332193 - 0.136803 =
 * 0.531004 bits. Z channel, causes 1/2 each, the second seen half the time: yes 1/4, so H(1/4) - H(1/2) / 2 =
 * 0.811278 - 0.5. A test that always says the same, or is blind to the cause, says nothing. */
static void binary_test(void **state) {
  (void)state;
  const double p[] = {0.5, 0.5}, symmetric[] = {0.1, 0.9}, half_blind[] = {0.0, 0.5}, perfect[] = {0.0, 1.0};
  const double always[] = {1.0, 1.0}, blind[] = {0.3, 0.3};
  check_close(probability_information_binary_bits(2, p, symmetric), 0.531004, 5e-7);
  check_close(probability_information_binary_bits(2, p, half_blind), 0.311278, 5e-7);
  check_close(probability_information_binary_bits(2, p, perfect), 1.0, 1e-15);
  check_close(probability_information_binary_bits(2, p, always), 0.0, 0.0);
  check_close(probability_information_binary_bits(2, p, blind), 0.0, 1e-15);
  for (double yes = 0.01; yes < 1.0; yes += 0.01) { // rounding must not make it negative, as it would for 0.08
    const double causes[] = {0.2, 0.3, 0.5}, same[] = {yes, yes, yes};
    check_close_at(yes, probability_information_binary_bits(3, causes, same), 0.0, 1e-15);
    assert_true(probability_information_binary_bits(3, causes, same) >= 0.0);
  }
  // Three causes, the test sees only the first: H(0.2), as 0.2 log2 5 + 0.8 log2 1.25 = 0.464386 + 0.257542.
  const double three[] = {0.2, 0.3, 0.5}, first[] = {1.0, 0.0, 0.0};
  check_close(probability_information_binary_bits(3, three, first), 0.721928, 5e-7);
}

enum { GRID = 801 };

/* Two normal densities of standard deviation 1, d apart, causes 1/2 each, on a grid of step 0.05. */
static double two_normals(double d, double height) {
  static const double p[] = {0.5, 0.5};
  double densities[2 * GRID];
  for (size_t i = 0; i < GRID; i++) {
    const double x = 0.05 * ((double)i - 0.5 * (GRID - 1));
    densities[i] = height * exp(-0.5 * (x - 0.5 * d) * (x - 0.5 * d));
    densities[GRID + i] = exp(-0.5 * (x + 0.5 * d) * (x + 0.5 * d));
  }
  return probability_information_bits(2, p, GRID, densities, 0.05);
}

/* With A = d / 2 and Z standard normal the information in nats is A^2 - E ln cosh(A^2 + A Z). With ln cosh y =
 * y^2/2 - y^4/12 + y^6/45 - ... and E y^2 = A^2 + A^4, E y^4 = 3 A^4 + 6 A^6 + ..., E y^6 = 15 A^6 + ... that is
 *     A^2 - (A^2 + A^4)/2 + (3 A^4 + 6 A^6)/12 - 15 A^6/45 = A^2/2 - A^4/4 + A^6/6 - O(A^8).
 * d = 0.2, A = 0.1: 0.005 - 0.000025 + 0.000000167 = 0.004975167 nats = 0.007177648 bits, the rest some 1e-8 at most.
 * Far apart the whole bit is won; d = 0 tells nothing. */
static void two_normals_by_hand(void **state) {
  (void)state;
  check_close(two_normals(0.2, 1.0), 0.004975166667 / log(2.0), 1e-8);
  check_close(two_normals(20.0, 1.0), 1.0, 1e-12);
  check_close(two_normals(0.0, 1.0), 0.0, 1e-15);
  check_close(two_normals(2.0, 17.0), two_normals(2.0, 1.0), 1e-14); // each density is brought to integral 1
}

/* Densities level over four points each, of which they share two: half the measurements settle the cause and the other
 * half say nothing, 1/2 bit. A third cause of p = 0 changes nothing, whatever its row holds. */
static void level_densities(void **state) {
  (void)state;
  static const double p[] = {0.5, 0.5, 0.0};
  static const double densities[] = {0, 1, 1, 1, 1, 0, 0, 0, /**/ 0, 0, 0, 2, 2, 2, 2, 0, /**/ 0, 0, 0, 0, 0, 0, 0, 0};
  check_close(probability_information_bits(2, p, 8, densities, 0.3), 0.5, 1e-15);
  check_close(probability_information_bits(3, p, 8, densities, 0.3), 0.5, 1e-15);
  // The ends weigh half: densities (1 0 0) and (0 1 1) share nothing, and (1 1 1) against (2 0 2) is, by hand, with
  // step 1: f = 1/2 each, g = 1, 0, 1; trapezia f: 1/4 1/2 1/4, g: 1/2 0 1/2; mixture 3/8 1/4 3/8; so 1/2 (2 1/4
  // log2(2/3) + 1/2 log2 2) + 1/2 log2(4/3) = 0.311278.
  static const double apart[] = {1, 0, 0, 0, 1, 1}, ends[] = {1, 1, 1, 2, 0, 2};
  check_close(probability_information_bits(2, p, 3, apart, 1.0), 1.0, 1e-15);
  check_close(probability_information_bits(2, p, 3, ends, 1.0), 0.311278, 5e-7);
}

static void information_refuses(void **state) {
  (void)state;
  static const double p[] = {0.5, 0.5}, good[] = {1, 1, 1, 1}, empty[] = {1, 1, 0, 0}, broken[] = {1, 1, NAN, 1};
  assert_true(isnan(probability_information_bits(2, p, 2, empty, 1.0)));
  assert_true(isnan(probability_information_bits(2, p, 2, broken, 1.0)));
  assert_true(isnan(probability_information_bits(2, p, 1, good, 1.0)));
  static const double negative[] = {1.5, -0.5}, beyond[] = {0.5, 1.5};
  assert_true(isnan(probability_information_bits(2, negative, 2, good, 1.0)));
  assert_true(isnan(probability_information_binary_bits(2, negative, good)));
  assert_true(isnan(probability_information_binary_bits(2, p, beyond)));
  assert_true(isnan(probability_information_bits(2, p, 2, good, 0.0)));
  assert_true(isnan(probability_information_bits(PROBABILITY_CAUSE_MAX + 1, p, 2, good, 1.0)));
  check_close(probability_information_bits(2, p, 2, good, 1.0), 0.0, 1e-15);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(normal),
      cmocka_unit_test(gamma_q),
      cmocka_unit_test(gamma_q_at_its_edges),
      cmocka_unit_test(chi2),
      cmocka_unit_test(log_sum_exp),
      cmocka_unit_test(loglinear_integral),
      cmocka_unit_test(exponential_curve),
      cmocka_unit_test(roof_and_level),
      cmocka_unit_test(slopes_of_any_size),
      cmocka_unit_test(cdf_never_above_one),
      cmocka_unit_test(curve_with_hole),
      cmocka_unit_test(curve_without_probability),
      cmocka_unit_test(entropy),
      cmocka_unit_test(binary_test),
      cmocka_unit_test(two_normals_by_hand),
      cmocka_unit_test(level_densities),
      cmocka_unit_test(information_refuses),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
