/* base/curve: what its header promises, and values of an independent implementation. */
#include "support/check.h"

#include "base/attributes.h"
#include "base/curve.h"

static struct curve curve_of(size_t count, const double *x, const double *y) {
  struct curve curve = {.count = count};
  for (size_t i = 0; i < count && i < CURVE_POINT_MAX; i++) {
    curve.x[i] = x[i];
    curve.y[i] = y[i];
  }
  return curve;
}

static const double bumpy_x[] = {0, 1, 2.5, 3, 5, 8};
static const double bumpy_y[] = {0, 0.2, 0.25, 2.0, 2.1, 1.5};

static struct curve bumpy(void) {
  struct curve curve = curve_of(ARRAY_COUNT(bumpy_x), bumpy_x, bumpy_y);
  assert_true(curve_init(&curve));
  return curve;
}

/* scipy 1.10.1, scipy.interpolate.PchipInterpolator on the same points (run). */
static void same_as_scipy(void **state) {
  (void)state;
  static const double rows[][2] = {{0.3, 0.07862000000000001}, {0.9, 0.19194},
                                   {1.7, 0.22069598440545807}, {2.4, 0.24285910331384014},
                                   {2.75, 1.1222856091277142}, {2.95, 1.9463989694516006},
                                   {3.5, 2.0500437062937062},  {4.6, 2.0974321678321677},
                                   {5.5, 2.079861111111111},   {7.9, 1.5346611111111108}};
  static const double slopes[] = {0.2666666666666667, 0.06, 0.07894736842105261, 0.12237762237762247, 0.0, -0.35000000000000003};
  const struct curve curve = bumpy();
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) check_close_at(rows[i][0], curve_value(&curve, rows[i][0]), rows[i][1], 1e-13);
  for (size_t i = 0; i < ARRAY_COUNT(slopes); i++) check_close_at(bumpy_x[i], curve.slope[i], slopes[i], 1e-13);
}

static void through_points_and_level_outside(void **state) {
  (void)state;
  const struct curve curve = bumpy();
  for (size_t i = 0; i < curve.count; i++) check_close_at(bumpy_x[i], curve_value(&curve, bumpy_x[i]), bumpy_y[i], 1e-14);
  check_close(curve_value(&curve, -1e9), bumpy_y[0], 0.0);
  check_close(curve_value(&curve, 1e9), bumpy_y[5], 0.0);
}

/* No overshoot: between two points the value stays between theirs, and moves one way. */
static void monotone_between_points(void **state) {
  (void)state;
  const struct curve curve = bumpy();
  for (size_t i = 0; i + 1 < curve.count; i++) {
    const double sign = bumpy_y[i + 1] > bumpy_y[i] ? 1.0 : -1.0;
    double before = bumpy_y[i];
    for (int step = 1; step <= 200; step++) {
      const double x = bumpy_x[i] + (bumpy_x[i + 1] - bumpy_x[i]) * step / 200.0;
      const double value = curve_value(&curve, x);
      check_above_at(x, sign * (value - before), -1e-14);
      before = value;
    }
  }
}

/* First derivative continuous at inner points: one-sided differences meet, to the order of the step. */
static void smooth_at_points(void **state) {
  (void)state;
  const struct curve curve = bumpy();
  const double h = 1e-6;
  for (size_t i = 1; i + 1 < curve.count; i++) {
    const double x = bumpy_x[i], y = bumpy_y[i];
    check_close_at(x, (curve_value(&curve, x + h) - y) / h, curve.slope[i], 1e-4);
    check_close_at(x, (y - curve_value(&curve, x - h)) / h, curve.slope[i], 1e-4);
  }
}

/* A straight line comes back as itself, two points make one, one point makes a constant. */
static void simple_curves(void **state) {
  (void)state;
  const double x[] = {-1, 0, 4, 5}, y[] = {-1, 1, 9, 11};
  struct curve line = curve_of(4, x, y), two = curve_of(2, x, y), one = curve_of(1, x, y);
  assert_true(curve_init(&line) && curve_init(&two) && curve_init(&one));
  for (double q = -1.0; q <= 5.0; q += 0.125) check_close_at(q, curve_value(&line, q), 2.0 * q + 1.0, 1e-13);
  check_close(curve_value(&two, -0.25), 0.5, 1e-14);
  check_close(curve_value(&one, -7.0), -1.0, 0.0);
  check_close(curve_value(&one, 7.0), -1.0, 0.0);
}

static void refuses_bad_points(void **state) {
  (void)state;
  const double level[] = {0, 1, 1, 2}, falling[] = {0, 2, 1}, nan_inside[] = {0, NAN, 2}, y[] = {1, 2, 3, 4};
  struct curve none = curve_of(0, level, y), equal = curve_of(4, level, y), back = curve_of(3, falling, y);
  struct curve broken = curve_of(3, nan_inside, y), many = curve_of(1, level, y);
  many.count = CURVE_POINT_MAX + 1;
  assert_false(curve_init(&none));
  assert_false(curve_init(&equal));
  assert_false(curve_init(&back));
  assert_false(curve_init(&broken));
  assert_false(curve_init(&many));
}

/* As many points as fit. */
static void full_curve(void **state) {
  (void)state;
  struct curve curve = {.count = CURVE_POINT_MAX};
  for (size_t i = 0; i < CURVE_POINT_MAX; i++) {
    curve.x[i] = (double)i;
    curve.y[i] = (double)(i * i);
  }
  assert_true(curve_init(&curve));
  check_close(curve_value(&curve, CURVE_POINT_MAX - 1.0), 529.0, 0.0);
  check_close(curve_value(&curve, 22.0), 484.0, 1e-12);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(same_as_scipy),
      cmocka_unit_test(through_points_and_level_outside),
      cmocka_unit_test(monotone_between_points),
      cmocka_unit_test(smooth_at_points),
      cmocka_unit_test(simple_curves),
      cmocka_unit_test(refuses_bad_points),
      cmocka_unit_test(full_curve),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
