/* Thinning. Truth: what the whole data has, found by looking at every point. */
#include "io/picture/thin.h"
#include "support/check.h"

#include <stdbool.h>
#include <stdlib.h>

enum { POINT_COUNT = 20000, COLUMN_COUNT = 150 };

struct data {
  double x[POINT_COUNT], y[POINT_COUNT];
  size_t kept[POINT_COUNT];
};

static struct thin_series series_of(const struct data *data) { return (struct thin_series){data->x, data->y, 1, POINT_COUNT}; }

/* Noise with single-sample peaks; a fixed sequence, from Park and Miller's generator. */
static struct data *noisy(void) {
  struct data *data = calloc(1, sizeof *data);
  assert_non_null(data);
  uint64_t seed = 1;
  for (size_t i = 0; i < POINT_COUNT; i++) {
    seed = seed * 48271 % 2147483647;
    data->x[i] = 0.01 * (double)i;
    data->y[i] = (double)seed / 2147483647.0 + (i % 977 == 0 ? 5.0 : 0.0) - (i % 1013 == 0 ? 5.0 : 0.0);
  }
  return data;
}

/* Every column of pixels must show the same lowest and highest value, and begin and end at the same one. */
static void every_column_keeps_its_extremes_and_ends(void **state) {
  (void)state;
  struct data *data = noisy();
  const struct thin_series series = series_of(data);
  const double high = data->x[POINT_COUNT - 1];
  const size_t count = thin_points(&series, 0.0, high, COLUMN_COUNT, data->kept);
  assert_in_range(count, COLUMN_COUNT, 4 * (COLUMN_COUNT + 1));
  for (size_t i = 1; i < count; i++) assert_true(data->kept[i] > data->kept[i - 1]);

  size_t next = 0;
  for (size_t i = 0; i < POINT_COUNT;) {
    const size_t column = (size_t)(data->x[i] / high * COLUMN_COUNT);
    const size_t first = i;
    double low_all = INFINITY, high_all = -INFINITY, low_kept = INFINITY, high_kept = -INFINITY;
    assert_int_equal(data->kept[next], first);
    for (; i < POINT_COUNT && (size_t)(data->x[i] / high * COLUMN_COUNT) == column; i++) {
      low_all = fmin(low_all, data->y[i]);
      high_all = fmax(high_all, data->y[i]);
      if (next == count || data->kept[next] != i) continue;
      low_kept = fmin(low_kept, data->y[i]);
      high_kept = fmax(high_kept, data->y[i]);
      next++;
    }
    assert_int_equal(data->kept[next - 1], i - 1);
    check_close_at((double)column, low_kept, low_all, 0.0);
    check_close_at((double)column, high_kept, high_all, 0.0);
  }
  assert_int_equal(next, count);
  free(data);
}

static void few_points_all_stay(void **state) {
  (void)state;
  const double x[] = {0.0, 1.0, 2.0, 3.0}, y[] = {4.0, 4.0, 2.0, 9.0};
  const struct thin_series series = {x, y, 1, 4};
  size_t kept[4];
  assert_int_equal(thin_points(&series, 0.0, 3.0, 100, kept), 4);
  for (size_t i = 0; i < 4; i++) assert_int_equal(kept[i], i);
}

/* By hand: rows of (x, y); the gap is shown once, NaN before the first point not at all, NaN in x drops
 * the point. */
static void gaps_break_the_line_once(void **state) {
  (void)state;
  const double rows[][2] = {{0, NAN}, {1, 5}, {2, NAN}, {3, NAN}, {4, 6}, {NAN, 7}, {6, 8}, {7, NAN}};
  const struct thin_series series = {&rows[0][0], &rows[0][1], 2, 8};
  size_t kept[8];
  const size_t expected[] = {1, 2, 4, 6, 7};
  assert_int_equal(thin_points(&series, 0.0, 7.0, 70, kept), 5);
  for (size_t i = 0; i < 5; i++) assert_int_equal(kept[i], expected[i]);
}

static void nothing_outside_the_range_is_kept(void **state) {
  (void)state;
  struct data *data = noisy();
  const struct thin_series series = series_of(data);
  const size_t count = thin_points(&series, 50.0, 60.0, 10, data->kept);
  assert_true(count >= 20);
  for (size_t i = 0; i < count; i++) {
    check_above(data->x[data->kept[i]], 49.999);
    check_below(data->x[data->kept[i]], 60.001);
  }
  const struct thin_series none = {data->x, data->y, 1, 0};
  assert_int_equal(thin_points(&none, 0.0, 1.0, 10, data->kept), 0);
  free(data);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_column_keeps_its_extremes_and_ends),
      cmocka_unit_test(few_points_all_stay),
      cmocka_unit_test(gaps_break_the_line_once),
      cmocka_unit_test(nothing_outside_the_range_is_kept),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
