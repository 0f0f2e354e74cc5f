/* sim/roughness: standard deviation of speed in a ring, a straight drift taken off. Truth: hand values and
 * invariants. */
#include "sim/roughness.h"

#include "base/units.h"
#include "support/check.h"

#include <math.h>

enum { SIZE = 1000 };

static void fewer_than_three_say_nothing(void **state) {
  (void)state;
  const double window[SIZE] = {80.0, 90.0, 70.0};
  for (long written = 0; written < 3; written++) check_close(roughness_rad_s(window, SIZE, written), 0.0, 0.0);
  check_above(roughness_rad_s(window, SIZE, 3), 0.0);
}

/* 80, 90, 70: mean 80, slope -5; rest 5, 10 ... by hand: deviations 0, 10, -10 from the mean, less the line
 * 5, 0, -5, leaves -5, 10, -5, squares 150, over n - 2 = 1: sqrt(150). */
static void three_by_hand(void **state) {
  (void)state;
  const double window[] = {80.0, 90.0, 70.0};
  check_relative(roughness_rad_s(window, 3, 3), sqrt(150.0), 1e-12);
}

/* A droop or a run-up is not rough, however steep. */
static void straight_line_is_smooth(void **state) {
  (void)state;
  double window[SIZE];
  for (int slope = -3; slope <= 3; slope++) {
    for (int i = 0; i < SIZE; i++) window[i] = 90.0 + 0.01 * slope * i;
    check_close_at(slope, roughness_rad_s(window, SIZE, SIZE), 0.0, 1e-6);
  }
}

/* A sine of amplitude a over whole periods has a/sqrt(2), on a drift as well as without; n - 2 for n and the
 * line through the sine change that by some 1/n and by (6/pi/periods)^2/... of it: below 0.3 % with twenty
 * periods. */
static void sine(void **state) {
  (void)state;
  double window[SIZE];
  for (int drift = 0; drift <= 1; drift++) {
    for (int i = 0; i < SIZE; i++) window[i] = 90.0 + 0.005 * drift * i + 0.7 * sin(2.0 * UNITS_PI * 20.0 * i / SIZE);
    check_relative_at(drift, roughness_rad_s(window, SIZE, SIZE), 0.7 / sqrt(2.0), 3e-3);
  }
}

/* Only the newest SIZE count, and it does not matter where in the ring they begin. */
static void ring(void **state) {
  (void)state;
  double straight[SIZE], turned[SIZE];
  const long more = 337;
  for (long i = 0; i < SIZE + more; i++) {
    const double value = i < more ? 1e3 : 88.0 + cos(0.37 * (double)i) + 1e-3 * (double)(i % 17);
    turned[i % SIZE] = value;
    if (i >= more) straight[i - more] = value;
  }
  check_relative(roughness_rad_s(turned, SIZE, SIZE + more), roughness_rad_s(straight, SIZE, SIZE), 1e-10);
}

/* A window that is not yet full: only what has been written. */
static void partly_filled(void **state) {
  (void)state;
  double window[SIZE];
  for (int i = 0; i < SIZE; i++) window[i] = i < 100 ? 85.0 + (i % 2 ? 1.0 : -1.0) : -1e6;
  check_relative(roughness_rad_s(window, SIZE, 100), 1.0, 0.02); // +1, -1, ...: deviation 1, n - 2 for n
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(fewer_than_three_say_nothing),
      cmocka_unit_test(three_by_hand),
      cmocka_unit_test(straight_line_is_smooth),
      cmocka_unit_test(sine),
      cmocka_unit_test(ring),
      cmocka_unit_test(partly_filled),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
