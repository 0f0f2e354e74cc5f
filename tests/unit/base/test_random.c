/* base/random: repeatable, well distributed, and streams that do not know of each other.
 *
 * The statistical limits are five standard errors of the estimate: with fixed seeds the tests either always
 * pass or always fail, and a good generator fails one seed in two million. */
#include "support/check.h"

#include "base/attributes.h"
#include "base/random.h"

enum { COUNT = 200000 };

/* SplitMix64 again, as Steele, Lea and Flood give it: the state walks by the golden gamma, then three mixing
 * lines. Its first outputs for seeds 0 and 1234567 are well known (from memory: e220a8397b1dcdaf,
 * 6457827717110365317). */
static uint64_t first_output(uint64_t seed) {
  uint64_t z = seed + 0x9e3779b97f4a7c15u;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
  return z ^ (z >> 31);
}

static void bits_are_splitmix64(void **state) {
  (void)state;
  assert_true(first_output(0) == 0xe220a8397b1dcdafu);
  assert_true(first_output(1234567) == 6457827717110365317u);
  for (uint64_t i = 0; i < 1000; i++) {
    const uint64_t bits = first_output(first_output(first_output(42) ^ 2) ^ i);
    const double expected = ldexp((double)(bits >> 11) + 0.5, -53);
    check_close_at((double)i, random_uniform(42, RANDOM_STREAM_SENSOR, i), expected, 0.0);
  }
}

static void same_arguments_same_value(void **state) {
  (void)state;
  double forward[100];
  for (uint64_t i = 0; i < ARRAY_COUNT(forward); i++) forward[i] = random_normal(7, RANDOM_STREAM_CASE, i);
  for (uint64_t i = ARRAY_COUNT(forward); i-- > 0;) // in another order, with others between
    check_close(random_normal(7, RANDOM_STREAM_CASE, i) + 0.0 * random_uniform(8, 1, i), forward[i], 0.0);
}

static void uniform_distribution(void **state) {
  (void)state;
  enum { CELLS = 50 };
  double sum = 0.0, squares = 0.0, chi = 0.0;
  int cells[CELLS] = {0};
  for (uint64_t i = 0; i < COUNT; i++) {
    const double u = random_uniform(1, RANDOM_STREAM_CYCLE_SCATTER, i);
    check_above_at((double)i, u, 0.0);
    check_below_at((double)i, u, 1.0);
    sum += u;
    squares += (u - 0.5) * (u - 0.5);
    cells[(int)(u * CELLS)]++;
  }
  check_close(sum / COUNT, 0.5, 5.0 * sqrt(1.0 / 12.0 / COUNT));
  check_close(squares / COUNT, 1.0 / 12.0,
              5.0 * sqrt(1.0 / 180.0 / COUNT)); // variance of (u - 1/2)^2 is 1/180
  for (int i = 0; i < CELLS; i++) chi += (cells[i] - COUNT / CELLS) * (double)(cells[i] - COUNT / CELLS) / (COUNT / CELLS);
  check_close(chi, CELLS - 1.0, 5.0 * sqrt(2.0 * (CELLS - 1.0)));
}

/* Moments of the standard normal: 0, 1, 0, 3; their standard errors sqrt of 1, 2, 15, 96 over the count.
 * Share within one and two standard deviations: 0.682689 and 0.954500. */
static void normal_distribution(void **state) {
  (void)state;
  double moment[5] = {0}, within_one = 0.0, within_two = 0.0;
  for (uint64_t i = 0; i < COUNT; i++) {
    const double z = random_normal(2, RANDOM_STREAM_SENSOR, i);
    double power = 1.0;
    for (int k = 1; k <= 4; k++) moment[k] += power *= z;
    within_one += fabs(z) < 1.0;
    within_two += fabs(z) < 2.0;
  }
  check_close(moment[1] / COUNT, 0.0, 5.0 * sqrt(1.0 / COUNT));
  check_close(moment[2] / COUNT, 1.0, 5.0 * sqrt(2.0 / COUNT));
  check_close(moment[3] / COUNT, 0.0, 5.0 * sqrt(15.0 / COUNT));
  check_close(moment[4] / COUNT, 3.0, 5.0 * sqrt(96.0 / COUNT));
  check_close(within_one / COUNT, 0.682689, 5.0 * sqrt(0.2166 / COUNT));
  check_close(within_two / COUNT, 0.954500, 5.0 * sqrt(0.0434 / COUNT));
}

static double correlation(uint64_t seed_a, uint64_t stream_a, uint64_t seed_b, uint64_t stream_b, uint64_t lag) {
  double sum = 0.0;
  for (uint64_t i = 0; i < COUNT; i++) sum += random_normal(seed_a, stream_a, i) * random_normal(seed_b, stream_b, i + lag);
  return sum / COUNT;
}

/* Of independent standard normals the product has mean 0 and variance 1. */
static void independence(void **state) {
  (void)state;
  const double limit = 5.0 / sqrt(COUNT);
  check_close(correlation(1, 1, 1, 2, 0), 0.0, limit); // streams
  check_close(correlation(1, 2, 1, 3, 0), 0.0, limit);
  check_close(correlation(1, 1, 1, 2, 1), 0.0, limit);
  check_close(correlation(1, 1, 2, 1, 0), 0.0, limit); // neighbouring seeds
  check_close(correlation(1, 2, 2, 1, 0), 0.0, limit); // seed and stream exchanged
  for (uint64_t lag = 1; lag <= 4; lag++) check_close_at((double)lag, correlation(3, 1, 3, 1, lag), 0.0, limit);
  check_close(correlation(3, 1, 3, 1, 0), 1.0,
              5.0 * sqrt(2.0 / COUNT)); // the estimator itself sees dependence
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(bits_are_splitmix64),  cmocka_unit_test(same_arguments_same_value),
      cmocka_unit_test(uniform_distribution), cmocka_unit_test(normal_distribution),
      cmocka_unit_test(independence),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
