/* Cars of one model. Truth: the normal hierarchical model with known variances, by hand for one deviation (A. Gelman and others, "Bayesian
 * Data Analysis", 3rd ed., section 5.4: mu given y_i with variance s^2 + U has precision 1/R + n / (s^2 + U)). */
#include "analysis/fit/fit_model.h"
#include "support/check.h"

#include <stdlib.h>
#include <string.h>

#define CLOSE 1e-9
static const enum scatter two[2] = {SCATTER_friction_pct, SCATTER_electrical_w}; // one of the unit, one of the day

struct scene {
  struct engine start, nominal;
  struct fit_model model;
  double mean[SCATTER_COUNT], left[SCATTER_COUNT], share[SCATTER_COUNT], covariance[4];
};

/* A car whose own readings say x with variance s2: posterior on the road's prior, variance 1 about 0. */
static void add(struct scene *scene, double x, double s2) {
  const double variance = 1.0 / (1.0 + 1.0 / s2);
  double z[SCATTER_COUNT] = {0}, covariance[4] = {variance, 0.1 * variance, 0.1 * variance, 1.0};
  z[SCATTER_friction_pct] = variance * x / s2;
  assert_true(fit_model_add(&scene->model, z, covariance));
}

static struct scene *begin(double usual_share) {
  struct scene *scene = calloc(1, sizeof *scene);
  scene->nominal.scatter.sd[SCATTER_friction_pct] = 0.2;
  scene->nominal.scatter.sd[SCATTER_electrical_w] = 80.0;
  scene->start.scatter.sd[SCATTER_friction_pct] = 0.2 * usual_share;
  fit_model_begin(&scene->model, &scene->start, &scene->nominal, 2, two);
  return scene;
}

static void another_car_of_the_model(void **state) {
  (void)state;
  const double u = 0.09, r = 1.0 - u, s2 = 0.04;
  const double x[3] = {1.0, 0.4, 0.7};
  for (int n = 1; n <= 3; n++) {
    struct scene *scene = begin(0.3);
    double sum = 0.0;
    for (int i = 0; i < n; i++) {
      add(scene, x[i], s2);
      sum += x[i] / (s2 + u);
    }
    assert_true(fit_model_end(&scene->model, false, scene->mean, scene->left, scene->share, scene->covariance));
    const double variance = 1.0 / (1.0 / r + n / (s2 + u));
    check_close(scene->mean[SCATTER_friction_pct], variance * sum, CLOSE);
    check_close(scene->left[SCATTER_friction_pct], sqrt(variance), CLOSE);
    check_close(scene->share[SCATTER_friction_pct], sqrt(variance / r), CLOSE);
    check_close(scene->covariance[0], variance + u, CLOSE);
    check_close(scene->covariance[3], 1.0, CLOSE); // days are as on the road
    free(scene);
  }
}

/* All spread being between cars, the next one is sqrt(1 + 1/n) of that off: with exact readings and a model that can be anything. */
static void spread_between_cars(void **state) {
  (void)state;
  for (int n = 1; n <= 4; n++) {
    struct scene *scene = begin(0.05);
    for (int i = 0; i < n; i++) add(scene, 0.0, 1e-7);
    assert_true(fit_model_end(&scene->model, false, scene->mean, scene->left, scene->share, scene->covariance));
    check_relative(sqrt(scene->covariance[0]), 0.05 * sqrt(1.0 + 1.0 / n), 2e-3);
    free(scene);
  }
}

/* The first car itself: alone its own posterior; with others, those are its prior. */
static void this_car(void **state) {
  (void)state;
  const double u = 0.09, r = 1.0 - u, s2 = 0.04;
  struct scene *scene = begin(0.3);
  add(scene, 1.0, s2);
  assert_true(fit_model_end(&scene->model, true, scene->mean, scene->left, scene->share, scene->covariance));
  check_close(scene->mean[SCATTER_friction_pct], (1.0 / s2) / (1.0 + 1.0 / s2), CLOSE);
  check_close(scene->covariance[0], 1.0 / (1.0 + 1.0 / s2), CLOSE);
  free(scene);
  scene = begin(0.3);
  add(scene, 1.0, s2);
  add(scene, 0.4, s2);
  assert_true(fit_model_end(&scene->model, true, scene->mean, scene->left, scene->share, scene->covariance));
  const double of_model = 1.0 / (1.0 / r + 1.0 / (s2 + u)), mean_of_model = of_model * 0.4 / (s2 + u), prior = of_model + u;
  const double variance = 1.0 / (1.0 / prior + 1.0 / s2);
  check_close(scene->mean[SCATTER_friction_pct], variance * (mean_of_model / prior + 1.0 / s2), CLOSE);
  check_close(scene->covariance[0], variance, CLOSE);
  free(scene);
}

/* Nothing read: the road. */
static void nothing_read(void **state) {
  (void)state;
  struct scene *scene = begin(0.3);
  assert_true(fit_model_end(&scene->model, false, scene->mean, scene->left, scene->share, scene->covariance));
  check_close(scene->mean[SCATTER_friction_pct], 0.0, CLOSE);
  check_close(scene->share[SCATTER_friction_pct], 1.0, CLOSE);
  check_close(scene->covariance[0], 1.0, CLOSE);
  free(scene);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(another_car_of_the_model), cmocka_unit_test(spread_between_cars),
                                     cmocka_unit_test(this_car), cmocka_unit_test(nothing_read)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
