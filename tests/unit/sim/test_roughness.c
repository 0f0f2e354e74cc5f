/* sim/roughness: standard deviation of speed in a ring, a straight drift taken off. Truth: hand values and
 * invariants. */
#include "sim/roughness.h"

#include "base/units.h"
#include "support/check.h"

#include <math.h>

enum { SIZE = ROUGHNESS_WINDOW };

static struct roughness of(const double *speeds, long count) {
  static struct roughness roughness;
  roughness_clear(&roughness);
  for (long i = 0; i < count; i++) roughness_add(&roughness, speeds[i]);
  return roughness;
}

static double rough(const double *speeds, long count) {
  const struct roughness roughness = of(speeds, count);
  return roughness_rad_s(&roughness);
}

static void fewer_than_three_say_nothing(void **state) {
  (void)state;
  const double speeds[] = {80.0, 90.0, 70.0};
  for (long count = 0; count < 3; count++) check_close(rough(speeds, count), 0.0, 0.0);
  check_above(rough(speeds, 3), 0.0);
}

/* 80, 90, 70: mean 80, slope -5; rest 5, 10 ... by hand: deviations 0, 10, -10 from the mean, less the line
 * 5, 0, -5, leaves -5, 10, -5, squares 150, over n - 2 = 1: sqrt(150). */
static void three_by_hand(void **state) {
  (void)state;
  const double speeds[] = {80.0, 90.0, 70.0};
  check_relative(rough(speeds, 3), sqrt(150.0), 1e-12);
}

/* A droop or a run-up is not rough, however steep. */
static void straight_line_is_smooth(void **state) {
  (void)state;
  double speeds[SIZE];
  for (int slope = -3; slope <= 3; slope++) {
    for (int i = 0; i < SIZE; i++) speeds[i] = 90.0 + 0.01 * slope * i;
    check_close_at(slope, rough(speeds, SIZE), 0.0, 1e-6);
  }
}

/* A sine of amplitude a over whole periods has a/sqrt(2), on a drift as well as without; n - 2 for n and the
 * line through the sine change that by some 1/n and by (6/pi/periods)^2/... of it: below 0.3 % with twenty
 * periods. */
static void sine(void **state) {
  (void)state;
  double speeds[SIZE];
  for (int drift = 0; drift <= 1; drift++) {
    for (int i = 0; i < SIZE; i++) speeds[i] = 90.0 + 0.005 * drift * i + 0.7 * sin(2.0 * UNITS_PI * 20.0 * i / SIZE);
    check_relative_at(drift, rough(speeds, SIZE), 0.7 / sqrt(2.0), 3e-3);
  }
}

/* The definition, term by term, of the newest SIZE of some speeds. */
static double plainly(const double *speeds, long count) {
  const long n = count < SIZE ? count : SIZE;
  const double *newest = speeds + count - n;
  double mean = 0.0, slope = 0.0, spread = 0.0, rest = 0.0;
  for (long i = 0; i < n; i++) mean += newest[i] / (double)n;
  for (long i = 0; i < n; i++) {
    const double x = (double)i - 0.5 * (double)(n - 1);
    slope += x * (newest[i] - mean);
    spread += x * x;
  }
  for (long i = 0; i < n; i++) {
    const double off = newest[i] - mean - slope / spread * ((double)i - 0.5 * (double)(n - 1));
    rest += off * off;
  }
  return sqrt(rest / (double)(n - 2));
}

/* Only the newest SIZE count, from the third speed on and round the ring, whatever part of a block is new. */
static void at_every_count(void **state) {
  (void)state;
  double speeds[2 * SIZE + 337];
  for (long i = 0; i < 2 * SIZE + 337; i++)
    speeds[i] = i < 337 ? 1e3 : 88.0 + cos(0.37 * (double)i) + 1e-3 * (double)(i % 17) - 2e-3 * (double)i;
  struct roughness roughness;
  roughness_clear(&roughness);
  for (long count = 1; count <= 2 * SIZE + 337; count++) {
    roughness_add(&roughness, speeds[count - 1]);
    if (count >= 3) check_close_at((double)count, roughness_rad_s(&roughness), plainly(speeds, count), 1e-7);
  }
}

/* A window that is not yet full: only what has been written. */
static void partly_filled(void **state) {
  (void)state;
  double speeds[100];
  for (int i = 0; i < 100; i++) speeds[i] = 85.0 + (i % 2 ? 1.0 : -1.0);
  check_relative(rough(speeds, 100), 1.0, 0.02); // +1, -1, ...: deviation 1, n - 2 for n
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(fewer_than_three_say_nothing),
      cmocka_unit_test(three_by_hand),
      cmocka_unit_test(straight_line_is_smooth),
      cmocka_unit_test(sine),
      cmocka_unit_test(at_every_count),
      cmocka_unit_test(partly_filled),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
