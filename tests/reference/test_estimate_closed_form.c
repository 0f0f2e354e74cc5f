/* The estimate where its answer is known in closed form: readings that are linear in a car's deviations and in the severity, so
 * that everything is normal.
 *
 *   y ~ N(f0 + severity, J P^-1 J' + S)
 *
 * Evidence, posterior of the severity (a normal cut off at the ends of its prior) and the effect of a baseline follow from the
 * normal distribution alone: C. M. Bishop, "Pattern Recognition and Machine Learning" (2006), section 2.3 (from memory); the
 * sums are written out here anew, by the covariance of the readings and not by that of the deviations. */
#include "support/check.h"

#include "analysis/estimate/estimate.h"
#include "base/matrix.h"
#include "base/probability.h"
#include "base/units.h"
#include "io/config/engine_file.h"

#include <stdlib.h>
#include <string.h>

enum { READINGS = 4 };

/* Readings that only say what they are: intake, barometer, position track at the closed stop. In what they depend on: the intake
 * sensor's bias, and deviations intake_c, ambient_kpa, track_pct. */
static const struct {
  enum estimate_quantity quantity;
  enum estimate_condition condition;
  enum scatter scatter;
  double good, value, sd;
} plain[READINGS] = {
    {ESTIMATE_QUANTITY_intake_c, ESTIMATE_CONDITION_key_on, SCATTER_intake_c, 20.0, -11.0, 0.8},
    {ESTIMATE_QUANTITY_intake_c, ESTIMATE_CONDITION_idle, SCATTER_intake_c, 20.0, -9.5, 0.8},
    {ESTIMATE_QUANTITY_barometer_kpa, ESTIMATE_CONDITION_key_on, SCATTER_ambient_kpa, 101.325, 100.2, 0.4},
    {ESTIMATE_QUANTITY_tps1_v, ESTIMATE_CONDITION_key_on, SCATTER_track_pct, 0.5, 0.52, 0.006},
};

static void fill(struct estimate_readings *readings) {
  readings->count = READINGS;
  for (size_t i = 0; i < READINGS; i++)
    readings->readings[i] = (struct estimate_reading){plain[i].quantity, plain[i].condition, plain[i].value, plain[i].sd};
}

/* What one standard deviation of its deviation does to a reading. */
static double by_deviation(const struct engine *engine, size_t i) {
  const double sd = engine->scatter.sd[plain[i].scatter];
  switch (plain[i].scatter) {
  case SCATTER_ambient_kpa:
    return sd / UNITS_PA_PER_KPA;
  case SCATTER_track_pct:
    return 5.0 * sd;
  default:
    return sd;
  }
}

/* J J' + S, and what is left over by the good car. */
static void normal_of(const struct engine *engine, double covariance[READINGS * READINGS], double off[READINGS]) {
  for (size_t i = 0; i < READINGS; i++) {
    off[i] = plain[i].value - plain[i].good;
    for (size_t k = 0; k < READINGS; k++) {
      const bool shared = plain[i].scatter == plain[k].scatter;
      covariance[i * READINGS + k] =
          (shared ? by_deviation(engine, i) * by_deviation(engine, k) : 0.0) + (i == k ? plain[i].sd * plain[i].sd : 0.0);
    }
  }
}

static double log_normal(const double *covariance, const double *off) {
  double factor[READINGS * READINGS], x[READINGS], sum = 0.0;
  memcpy(factor, covariance, sizeof factor);
  assert_true(matrix_cholesky(READINGS, factor));
  memcpy(x, off, sizeof x);
  matrix_cholesky_forward(READINGS, factor, x);
  for (size_t i = 0; i < READINGS; i++) sum += x[i] * x[i];
  return -0.5 * (sum + matrix_cholesky_log_determinant(READINGS, factor) + READINGS * log(2.0 * UNITS_PI));
}

struct scene {
  struct engine engine;
  struct estimate_question question;
  struct estimate *estimate;
};

static int make(void **state) {
  struct scene *scene = calloc(1, sizeof *scene);
  struct error error = {0};
  if (!scene || engine_file_read("models/four-16.cfg", &scene->engine, &error) != STATUS_OK) return -1;
  scene->question.engine = &scene->engine;
  scene->question.model_is_car = true;
  estimate_setting_init(&scene->question.setting);
  estimate_setting_init(&scene->question.baseline_setting);
  fill(&scene->question.readings);
  if (estimate_create(&scene->question, &for_each_serial, &scene->estimate, &error) != STATUS_OK) return -1;
  *state = scene;
  return 0;
}

static int drop(void **state) {
  struct scene *scene = *state;
  estimate_destroy(scene->estimate);
  free(scene);
  return 0;
}

static const struct estimate_hypothesis *find(const struct scene *scene, enum cause cause) {
  for (size_t i = 0; i < scene->estimate->count; i++)
    if (scene->estimate->hypotheses[i].fault.count == 1 && scene->estimate->hypotheses[i].fault.cause[0] == cause)
      return &scene->estimate->hypotheses[i];
  fail_msg("no such hypothesis");
  return NULL;
}

/* Nothing wrong: the evidence is the density of the readings. */
static void evidence_of_a_good_car(void **state) {
  const struct scene *scene = *state;
  double covariance[READINGS * READINGS], off[READINGS];
  normal_of(&scene->engine, covariance, off);
  check_close(scene->estimate->hypotheses[0].log_evidence, log_normal(covariance, off), 1e-4);
}

/* A biased intake sensor: the two intake readings shift by the severity s, whose likelihood is normal around its least-squares value.
 * Evidence and quantiles are integrals of that normal over the share of the prior, here by midpoints. */
static void biased_sensor(void **state) {
  const struct scene *scene = *state;
  double covariance[READINGS * READINGS], off[READINGS], factor[READINGS * READINGS];
  normal_of(&scene->engine, covariance, off);
  memcpy(factor, covariance, sizeof factor);
  assert_true(matrix_cholesky(READINGS, factor));
  double shape[READINGS] = {1.0, 1.0, 0.0, 0.0}, weighted[READINGS]; // d reading / d severity
  memcpy(weighted, shape, sizeof weighted);
  matrix_cholesky_solve(READINGS, factor, weighted);
  double information = 0.0, pull = 0.0;
  for (size_t i = 0; i < READINGS; i++) {
    information += shape[i] * weighted[i];
    pull += off[i] * weighted[i];
  }
  const double middle = pull / information, sd = 1.0 / sqrt(information);
  double best_off[READINGS];
  for (size_t i = 0; i < READINGS; i++) best_off[i] = off[i] - shape[i] * middle;
  const struct estimate_hypothesis *h = find(scene, CAUSE_intake_low);
  enum { MIDPOINTS = 100000 };
  const double near = 0.1; // of the quantile, told by the probability beyond it; severities fall with the share
  double whole = 0.0, beyond[4] = {0.0}, bounds[4] = {h->low[0] - near, h->low[0] + near, h->high[0] - near, h->high[0] + near};
  for (int i = 0; i < MIDPOINTS; i++) {
    const double severity = cause_severity(CAUSE_intake_low, (i + 0.5) / MIDPOINTS), away = (severity - middle) / sd;
    const double density = exp(-0.5 * away * away);
    whole += density;
    for (int k = 0; k < 4; k++) beyond[k] += severity < bounds[k] ? density : 0.0;
  }
  check_close(h->log_evidence, log_normal(covariance, best_off) + log(whole / MIDPOINTS), 0.02);
  check_below(beyond[0] / whole, 0.05);
  check_above(beyond[1] / whole, 0.05);
  check_below(beyond[2] / whole, 0.95);
  check_above(beyond[3] / whole, 0.95);
}

#define COUNTS 0.7 // power of a likelihood where the model is not the car, as docs/estimate.md says

/* The model's error: the evidence of a good car is a normal density whose covariance has D too. After a baseline that read the intake's
 * position track high, the share of it that may be the model's stays with the reading: mean and variance of the sum of two normals,
 * given one noisy look at it. */
static void errors_of_the_model(void **state) {
  const struct scene *scene = *state;
  struct estimate_question question = scene->question;
  question.model_is_car = false;
  struct estimate *estimate;
  struct error error = {0};
  assert_int_equal(estimate_create(&question, &for_each_serial, &estimate, &error), STATUS_OK);
  double covariance[READINGS * READINGS], off[READINGS];
  normal_of(&scene->engine, covariance, off);
  for (size_t i = 0; i < READINGS; i++)
    for (size_t k = 0; k < READINGS; k++)
      covariance[i * READINGS + k] +=
          estimate_discrepancy_between(&question.readings.readings[i], &question.readings.readings[k], true);
  check_close(estimate->hypotheses[0].log_evidence, COUNTS * log_normal(covariance, off), 1e-4);
  estimate_destroy(estimate);

  const double volts = 5.0 * scene->engine.scatter.sd[SCATTER_track_pct], noise = 0.006, read = 0.53;
  const struct estimate_discrepancy_row *row = &estimate_discrepancy_rows[ESTIMATE_QUANTITY_tps1_v];
  const double model = hypot(row->common, row->own), day = row->day;
  question.readings =
      (struct estimate_readings){.count = 1, .readings = {{ESTIMATE_QUANTITY_tps1_v, ESTIMATE_CONDITION_key_on, 0.52, noise}}};
  question.baseline =
      (struct estimate_readings){.count = 1, .readings = {{ESTIMATE_QUANTITY_tps1_v, ESTIMATE_CONDITION_key_on, read, noise}}};
  assert_int_equal(estimate_create(&question, &for_each_serial, &estimate, &error), STATUS_OK);
  const double signal = volts * volts + model * model, seen = signal + day * day + noise * noise;
  const double mean = 0.5 + signal / seen * (read - 0.5), variance = signal * (1.0 - signal / seen) + day * day + noise * noise;
  const double log_density = -0.5 * (pow(0.52 - mean, 2.0) / variance + log(2.0 * UNITS_PI * variance));
  check_close(estimate->hypotheses[0].log_evidence, COUNTS * log_density, 1e-4);
  estimate_destroy(estimate);
}

/* What two hypotheses' evidence says, and the rates: Bayes' rule by hand. */
static void bayes(void **state) {
  const struct scene *scene = *state;
  const struct estimate_hypothesis *sensor = find(scene, CAUSE_intake_low), *good = &scene->estimate->hypotheses[0];
  const double odds = scene->engine.rates.parts[CAUSE_intake_low] / scene->engine.rates.parts[CAUSE_nothing] *
                      exp(sensor->log_evidence - good->log_evidence);
  check_relative(sensor->probability / good->probability, odds, 1e-9);
  double sum = 0.0;
  for (size_t i = 0; i < scene->estimate->count; i++) sum += scene->estimate->hypotheses[i].probability;
  check_close(sum, 1.0, 1e-12);
}

/* A baseline that read the track 0.03 V high: what the car keeps (its track) moves the expectation, what changes from day to day
 * (the air) does not. Posterior mean and variance of the track's deviation: one normal reading, one normal prior. */
static void baseline(void **state) {
  const struct scene *scene = *state;
  struct estimate_question question = scene->question;
  question.baseline.count = 2;
  question.baseline.readings[0] = (struct estimate_reading){ESTIMATE_QUANTITY_tps1_v, ESTIMATE_CONDITION_key_on, 0.53, 0.006};
  question.baseline.readings[1] = (struct estimate_reading){ESTIMATE_QUANTITY_intake_c, ESTIMATE_CONDITION_key_on, 3.0, 0.8};
  struct estimate *estimate;
  struct error error = {0};
  assert_int_equal(estimate_create(&question, &for_each_serial, &estimate, &error), STATUS_OK);
  const double volts = 5.0 * scene->engine.scatter.sd[SCATTER_track_pct], precision = 1.0 + volts * volts / (0.006 * 0.006);
  const double mean = volts * 0.03 / (0.006 * 0.006) / precision;
  check_close(estimate->problem.prior->mean[SCATTER_track_pct], mean, 1e-6);
  check_close(estimate->problem.prior->mean[SCATTER_intake_c], 0.0, 0.0);
  for (size_t i = 0; i < estimate->problem.count; i++) {
    const double diagonal = estimate->problem.prior->precision[i * estimate->problem.count + i];
    if (estimate->problem.scatter[i] == SCATTER_track_pct) check_relative(diagonal, precision, 1e-6);
    if (estimate->problem.scatter[i] == SCATTER_intake_c) check_close(diagonal, 1.0, 1e-9);
  }
  estimate_destroy(estimate);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(evidence_of_a_good_car, make, drop),
      cmocka_unit_test_setup_teardown(biased_sensor, make, drop),
      cmocka_unit_test_setup_teardown(errors_of_the_model, make, drop),
      cmocka_unit_test_setup_teardown(bayes, make, drop),
      cmocka_unit_test_setup_teardown(baseline, make, drop),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
