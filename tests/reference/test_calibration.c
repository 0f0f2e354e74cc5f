/* Is an estimate as sure as it says? Cars drawn from its own priors, read through its own forward model with its own noise and the
 * instruments' rounding: then probabilities must come true, intervals hold the truth, and ranks of the truth be flat (S. Talts et
 * al., "Validating Bayesian Inference Algorithms with Simulation-Based Calibration", arXiv:1804.06788, from memory). That is a
 * theorem, so the bounds here are those of chance alone: 3.3 standard deviations, passed by chance one time in a thousand; and the cars are
 * always the same. tests/bench/calibration does it with the model that runs, and thousands of cars. */
#include "analysis/estimate/drawn_car.h"
#include "analysis/estimate/estimate.h"
#include "base/probability.h"
#include "io/config/engine_file.h"
#include "support/check.h"
#include "support/curve_cdf.h"

#include <math.h>

enum { CARS = 60 };
#define SEED       1
#define CHANCE_SD  3.3
#define UNIFORM_SD 0.28867513459481287 // of a number between 0 and 1: 1 / sqrt 12

/* Sums over cars of what the estimate's own statements say will come true, of its variance, and of what does. */
struct score {
  double expected, variance, found;
};

static void add(struct score *score, double expected, double variance, double found) {
  score->expected += expected;
  score->variance += variance;
  score->found += found;
}

static void check_score(const struct score *score) {
  check_close(score->found, score->expected, CHANCE_SD * sqrt(score->variance));
}

struct tally {
  struct score true_probability, first, inside, rank;
};

/* Readings of a data stream at idle; false if the engine does not idle. */
static bool read_idle(struct estimate_forward *forward, const struct drawn_car *car, struct estimate_question *question) {
  static const enum estimate_quantity read[] = {
      ESTIMATE_QUANTITY_speed_rpm,    ESTIMATE_QUANTITY_target_rpm, ESTIMATE_QUANTITY_tp_pct,    ESTIMATE_QUANTITY_maf_gps,
      ESTIMATE_QUANTITY_map_kpa,      ESTIMATE_QUANTITY_load_pct,   ESTIMATE_QUANTITY_spark_deg, ESTIMATE_QUANTITY_trim_pct,
      ESTIMATE_QUANTITY_idle_air_pct, ESTIMATE_QUANTITY_coolant_c,  ESTIMATE_QUANTITY_intake_c};
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_forward_predict(forward, &question->setting, car->z, &car->fault, ESTIMATE_AT(idle), points);
  const struct estimate_point *idle = &points[ESTIMATE_CONDITION_idle];
  for (size_t i = 0; i < sizeof read / sizeof read[0]; i++)
    drawn_car_add_reading(car, read[i], ESTIMATE_CONDITION_idle, false, idle, 0.0, &question->readings);
  return idle->runs;
}

static void score_severity(const struct estimate_hypothesis *h, const struct drawn_car *car, struct tally *tally) {
  struct probability_curve curve = {.count = h->node_count};
  for (size_t i = 0; i < h->node_count; i++) {
    curve.x[i] = h->nodes[i].share[0];
    curve.log_density[i] = h->nodes[i].fit.log_likelihood;
  }
  const double severity = car->fault.severity[0];
  add(&tally->rank, 0.5, UNIFORM_SD * UNIFORM_SD, curve_cdf(&curve, car->share));
  add(&tally->inside, ESTIMATE_INTERVAL, ESTIMATE_INTERVAL * (1.0 - ESTIMATE_INTERVAL),
      severity >= h->low[0] && severity <= h->high[0]);
}

static void score_car(const struct estimate *e, const struct drawn_car *car, struct tally *tally) {
  double squares = 0.0, cubes = 0.0;
  for (size_t i = 0; i < e->count; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[i];
    const double p = h->probability;
    const bool is_true = car->fault.count == h->fault.count && (h->fault.count == 0 || h->fault.cause[0] == car->cause);
    squares += p * p;
    cubes += p * p * p;
    if (is_true) add(&tally->true_probability, 0.0, 0.0, p);
    if (is_true && h->fault.count) score_severity(h, car, tally);
    if (i == e->order[0]) add(&tally->first, p, p * (1.0 - p), is_true);
  }
  add(&tally->true_probability, squares, cubes - squares * squares, 0.0); // mean and variance of p(true), were the p right
}

static void test_statements_come_true(void **state) {
  (void)state;
  static struct engine engine;
  struct error error;
  error_clear(&error);
  assert_int_equal(engine_file_read("models/four-16.cfg", &engine, &error), STATUS_OK);
  struct estimate_forward *forward;
  assert_int_equal(estimate_forward_create(&engine, &forward, &error), STATUS_OK);
  struct tally tally = {0};
  for (uint64_t number = 0; number < CARS; number++) {
    struct estimate_question question;
    struct drawn_car car;
    bool runs = false;
    for (uint64_t attempt = 0; attempt < DRAWN_CAR_ATTEMPT_MAX && !runs; attempt++) {
      question = (struct estimate_question){.engine = &engine};
      estimate_setting_init(&question.setting);
      drawn_car_draw(&engine, SEED, number, attempt, &car);
      runs = read_idle(forward, &car, &question);
    }
    struct estimate *estimate;
    assert_int_equal(estimate_create(&question, &for_each_serial, &estimate, &error), STATUS_OK);
    score_car(estimate, &car, &tally);
    estimate_destroy(estimate);
  }
  estimate_forward_destroy(forward);
  check_score(&tally.true_probability);
  check_score(&tally.first);
  check_score(&tally.inside);
  check_score(&tally.rank);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(test_statements_come_true)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
