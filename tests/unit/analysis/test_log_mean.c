/* analysis/log/log_mean: means and how sure they are. Truth: series drawn with a known mean, AR(1) of known autocorrelation (its
 * standard error sd sqrt((1 + phi) / ((1 - phi) n)) is textbook), held and rounded as an instrument does; how many of the 90 %
 * intervals hold that mean. tests/cli/log_means.py has numpy compute the same of such series. */
#include "analysis/log/log_mean.h"

#include "base/random.h"
#include "support/check.h"
#include "support/sample.h"

#include <stdio.h>

enum { LENGTH_MOST = 4000 };
static int series_count = 1500;

struct kind {
  const char *name;
  size_t length, held; // rows; rows for which a value stands
  double phi, quantum, missing;
  double least, most; // share of intervals that may hold
};

/* Mean 850, standard deviation 6: idle speed. 90 % intervals; 87 to 95 % are to hold. */
static const struct kind kinds[] = {
    {"independent", 100, 1, 0.0, 0.0, 0.0, 0.87, 0.95},
    {"phi 0.9", 600, 1, 0.9, 0.0, 0.0, 0.87, 0.95},
    {"phi 0.98, 20 Hz", 2400, 1, 0.98, 0.0, 0.0, 0.87, 0.95},
    {"phi 0.95, cells empty", 1200, 1, 0.95, 0.0, 0.5, 0.87, 0.95},
    {"held 36 rows", 1800, 36, 0.0, 0.0, 0.0, 0.87, 0.95},
    {"held, correlated", 3600, 36, 0.5, 0.0, 0.0, 0.87, 0.95},
    {"rounded to 4", 600, 1, 0.9, 4.0, 0.0, 0.87, 0.95},
    {"rounded and held", 1800, 18, 0.3, 4.0, 0.0, 0.87, 0.95},
    {"short", 20, 1, 0.3, 0.0, 0.0, 0.87, 0.95},
};

static void draw(const struct kind *kind, uint64_t seed, double *values) {
  double x = random_normal(seed, 1, 0), held = 0.0;
  for (size_t i = 0; i < kind->length; i++) {
    if (i % kind->held == 0) {
      x = kind->phi * x + sqrt(1.0 - kind->phi * kind->phi) * random_normal(seed, 1, i + 1);
      held = 850.0 + 4.0 * random_uniform(seed, 2, 0) * (kind->quantum > 0.0) + 6.0 * x;
      if (kind->quantum > 0.0) held = kind->quantum * round(held / kind->quantum);
    }
    values[i] = random_uniform(seed, 3, i) < kind->missing ? NAN : held;
  }
}

static double truth_of(const struct kind *kind, uint64_t seed) {
  return 850.0 + 4.0 * random_uniform(seed, 2, 0) * (kind->quantum > 0.0);
}

static void intervals_hold(void **state) {
  (void)state;
  static double values[LENGTH_MOST];
  for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++) {
    int held = 0;
    for (int i = 0; i < series_count; i++) {
      const uint64_t seed = 1000 * k + (uint64_t)i;
      struct log_mean mean;
      draw(&kinds[k], seed, values);
      assert_true(log_mean_series(values, kinds[k].length, &mean));
      held += fabs(mean.mean - truth_of(&kinds[k], seed)) <= 1.6449 * mean.se;
    }
    const double share = held / (double)series_count;
    print_message("%-24s %.3f\n", kinds[k].name, share);
    check_above_at((double)k, share, kinds[k].least - 1e-9);
    check_below_at((double)k, share, kinds[k].most + 1e-9);
  }
}

static void as_sure_as_theory(void **state) {
  (void)state;
  static double values[LENGTH_MOST];
  const struct kind kind = {.length = LENGTH_MOST, .held = 1, .phi = 0.9};
  double squares = 0.0;
  for (uint64_t i = 0; i < 50; i++) {
    struct log_mean mean;
    draw(&kind, i, values);
    assert_true(log_mean_series(values, kind.length, &mean));
    squares += mean.se * mean.se / 50.0;
  }
  check_relative(sqrt(squares), 6.0 * sqrt(1.9 / 0.1 / LENGTH_MOST), 0.1);
}

/* One code throughout: no surer than the code is wide, where a step is known at all. */
static void rounding_stays(void **state) {
  (void)state;
  double values[1000];
  struct log_mean mean;
  for (int i = 0; i < 1000; i++) values[i] = i == 500 ? 3.0 : 2.0;
  assert_true(log_mean_series(values, 1000, &mean));
  check_close(mean.quantum, 1.0, 1e-12);
  check_above(mean.se, 1.0 / sqrt(12.0) - 1e-12);
  check_below(mean.se, 0.35);
  for (int i = 0; i < 1000; i++) values[i] = 2.0;
  assert_true(log_mean_series(values, 1000, &mean));
  check_close(mean.mean, 2.0, 0.0);
  check_close(mean.quantum, 0.0, 0.0); // not told by these values: whoever knows the instrument adds its step
}

/* A coolant that shows 90 in the window, and 89 elsewhere in the log: known to a degree's rounding, no better. */
static void step_from_elsewhere(void **state) {
  (void)state;
  struct recording recording;
  struct log_mean mean;
  struct error error;
  recording_init(&recording);
  for (int i = 0; i < 100; i++) {
    double values[CHANNEL_COUNT] = {0};
    values[CHANNEL_time_s] = i;
    values[CHANNEL_coolant_c] = i < 50 ? 89.0 : 90.0;
    assert_int_equal(recording_append(&recording, values, &error), STATUS_OK);
  }
  assert_true(log_mean_of(&recording, CHANNEL_coolant_c, 60.0, 90.0, &mean));
  assert_int_equal(mean.count, 31);
  check_close(mean.mean, 90.0, 0.0);
  check_close(mean.se, 1.0 / sqrt(12.0), 1e-12);
  assert_true(log_mean_of(&recording, CHANNEL_oil_c, 60.0, 90.0, &mean));
  check_close(mean.se, 0.0, 0.0);
  assert_false(log_mean_of(&recording, CHANNEL_coolant_c, 200.0, 300.0, &mean));
  recording_destroy(&recording);
}

/* One slip to a far value is no step of the instrument: the log's own, 0.4, says how surely the mean is known. */
static void slip_is_no_step(void **state) {
  (void)state;
  struct recording recording;
  struct log_mean mean;
  struct error error;
  error_clear(&error);
  recording_init(&recording);
  for (int i = 0; i < 400; i++) {
    double values[CHANNEL_COUNT];
    for (int k = 0; k < CHANNEL_COUNT; k++) values[k] = NAN;
    values[CHANNEL_time_s] = 0.1 * i;
    values[CHANNEL_tp_pct] = i == 190 ? 21.4 : i < 200 ? 14.2 : 14.2 + 0.4 * (i % 3);
    assert_int_equal(recording_append(&recording, values, &error), STATUS_OK);
  }
  assert_true(log_mean_of(&recording, CHANNEL_tp_pct, 0.0, 19.85, &mean));
  check_close(mean.quantum, 0.4, 1e-9);
  assert_true(mean.se > 0.4 / sqrt(12.0) - 1e-9 && mean.se < 0.3);
  recording_destroy(&recording);
}

static void edges(void **state) {
  (void)state;
  const double one[] = {NAN, 5.0, NAN};
  struct log_mean mean;
  assert_false(log_mean_series(one, 1, &mean));
  assert_false(log_mean_series(one, 0, &mean));
  assert_true(log_mean_series(one, 3, &mean));
  assert_int_equal(mean.count, 1);
  check_close(mean.mean, 5.0, 0.0);
  check_close(mean.se, 0.0, 0.0);
}

/* numpy 1.24: x = [3, 5, 4, 8, 6, 7]; x.mean() 5.5, x.std(ddof=1) 1.8708286933869707. */
static void as_numpy(void **state) {
  (void)state;
  const double x[] = {3, 5, 4, 8, 6, 7};
  struct log_mean mean;
  assert_true(log_mean_series(x, 6, &mean));
  check_close(mean.mean, 5.5, 1e-12);
  check_close(mean.sd, 1.8708286933869707, 1e-12);
}

int main(int argc, char **argv) {
  if (sample_is_whole(argc, argv)) series_count = 4000;
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(intervals_hold),  cmocka_unit_test(as_sure_as_theory),
      cmocka_unit_test(rounding_stays),  cmocka_unit_test(step_from_elsewhere),
      cmocka_unit_test(slip_is_no_step), cmocka_unit_test(edges),
      cmocka_unit_test(as_numpy),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
