/* Do odds come true that rest on codes, freeze frame and complaint alone? Cars drawn from the estimate's own priors. Truth: which cause was drawn.
 * What is stored is what the car's own monitors set at its idle, or, in one car of four, what they would with the learned idle air
 * forgotten, as estimate_symptoms_weigh.h assumes; what the driver says is drawn with the probabilities assumed there. So this
 * tests that the bounded factors make the odds no surer than they may be, not that workshops are like that.
 *
 * "Something not listed" is never drawn: its share is taken off what is stated. Bound: what is stated of the first cause and of a film must
 * not come true less often than chance alone allows (3.3 standard deviations); more often it may, as factors are bounded. With the
 * argument `all` it prints the table of docs/estimate.md. */
#include "analysis/estimate/drawn_car.h"
#include "analysis/estimate/estimate.h"
#include "analysis/estimate/estimate_symptoms_weigh.h"
#include "base/random.h"
#include "io/config/engine_file.h"
#include "support/check.h"
#include "support/sample.h"

#include <math.h>
#include <stdio.h>

enum { SEED = 14, CARS_SAMPLE = 8, CARS_WHOLE = 480, BIN_COUNT = 5, TRIES = 200 };
#define CHANCE_SD 3.3
#define ASKED     0.5
#define FORGOTTEN 0.25 // as estimate_symptoms_weigh.c has it

static bool whole;

struct score {
  int count[BIN_COUNT], found[BIN_COUNT];
  double stated[BIN_COUNT], expected, variance, all;
};

static void add(struct score *score, double stated, bool found) {
  static const double tops[BIN_COUNT] = {0.1, 0.3, 0.6, 0.9, 1.01};
  int bin = 0;
  while (stated >= tops[bin]) bin++;
  score->count[bin]++;
  score->found[bin] += found;
  score->stated[bin] += stated;
  score->expected += stated;
  score->variance += stated * (1.0 - stated);
  score->all += found;
}

static void report(const char *name, const struct score *score) {
  printf("%s: stated %.1f, came true %.0f\n", name, score->expected, score->all);
  for (int i = 0; i < BIN_COUNT; i++)
    if (score->count[i])
      printf("  %4d cars, stated %.2f, came true %.2f\n", score->count[i], score->stated[i] / score->count[i],
             (double)score->found[i] / score->count[i]);
}

static void check_not_too_sure(const struct score *score) {
  assert_true(score->all > score->expected - CHANCE_SD * sqrt(score->variance));
}

static double draw(uint64_t number, int what) {
  return random_uniform(SEED, RANDOM_STREAM_CASE, number * 16 + (uint64_t)what + (1u << 29));
}

/* What is stored, and what the driver says. False if it does not idle, or if he is asked and has no complaint. */
static bool complain(struct estimate_forward *forward, const struct drawn_car *car, uint64_t number,
                     struct estimate_setting setting, struct estimate_symptoms *symptoms) {
  static const double nominal[SCATTER_COUNT] = {0.0};
  static const struct estimate_fault none = {0};
  struct estimate_point points[ESTIMATE_CONDITION_COUNT], good[ESTIMATE_CONDITION_COUNT];
  estimate_forward_predict(forward, &setting, nominal, &none, ESTIMATE_AT(idle), good);
  setting.stale = draw(number, 0) < FORGOTTEN;
  setting.learned_ratio = 0.0;
  estimate_forward_predict(forward, &setting, car->z, &car->fault, ESTIMATE_AT(idle), points);
  const struct estimate_point *idle = &points[ESTIMATE_CONDITION_idle];
  if (!idle->runs) return false;
  estimate_symptoms_init(symptoms);
  symptoms->codes_given = true;
  (void)monitors_rest(estimate_forward_measures(forward), &symptoms->stored);
  const bool asked =
      draw(number, 12) < ASKED; // who is not asked tells nothing; who is asked and has none cannot be given: not counted
  for (int c = 0; asked && c < ESTIMATE_COMPLAINT_COUNT && symptoms->complaint == ESTIMATE_COMPLAINT_COUNT; c++) {
    const double p = estimate_symptoms_weigh_complaint((enum estimate_complaint)c, idle,
                                                       good[ESTIMATE_CONDITION_idle].values[CHANNEL_speed_rpm], 0.0);
    if (draw(number, 1 + c) < p) symptoms->complaint = (enum estimate_complaint)c;
  }
  return !asked || symptoms->complaint < ESTIMATE_COMPLAINT_COUNT;
}

static void score_car(const struct estimate *e, const struct drawn_car *car, struct score *first, struct score *film) {
  double listed = 0.0;
  size_t likeliest = SIZE_MAX;
  for (size_t i = 0; i < e->count; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[e->order[i]];
    if (estimate_hypothesis_is_unlisted(h)) continue;
    listed += h->probability;
    if (likeliest == SIZE_MAX) likeliest = e->order[i];
  }
  const struct estimate_hypothesis *h = &e->hypotheses[likeliest];
  const bool is_true = car->fault.count == h->fault.count && (h->fault.count == 0 || h->fault.cause[0] == car->cause);
  add(first, h->probability / listed, is_true);
  add(film, e->film_probability / listed, car->fault.count > 0 && car->cause == CAUSE_film);
}

static void odds_come_true(void **state) {
  (void)state;
  static const char *const models[] = {"models/four-16.cfg", "models/three-10.cfg", "models/six-30.cfg",
                                       "models/four-18-cable.cfg"};
  static struct engine engine;
  struct score first = {0}, film = {0};
  const uint64_t cars = (whole ? CARS_WHOLE : CARS_SAMPLE) / 4;
  struct error error;
  error_clear(&error);
  for (uint64_t m = 0; m < 4; m++) {
    struct estimate_forward *forward;
    assert_int_equal(engine_file_read(models[m], &engine, &error), STATUS_OK);
    assert_int_equal(estimate_forward_create(&engine, &forward, &error), STATUS_OK);
    for (uint64_t i = 0; i < cars; i++) {
      const uint64_t number = m * 1000 + i;
      struct estimate_symptoms symptoms;
      struct estimate_question question = {.engine = &engine, .symptoms = &symptoms};
      struct drawn_car car;
      bool runs = false;
      estimate_setting_init(&question.setting);
      question.baseline_setting = question.setting;
      for (uint64_t attempt = 0; attempt < TRIES && !runs; attempt++) {
        drawn_car_draw(&engine, SEED, number + 4000 * attempt, 0, &car);
        runs = complain(forward, &car, number + 4000 * attempt, question.setting, &symptoms);
      }
      assert_true(runs);
      struct estimate *estimate;
      assert_int_equal(estimate_create(&question, &for_each_serial, &estimate, &error), STATUS_OK);
      score_car(estimate, &car, &first, &film);
      estimate_destroy(estimate);
    }
    estimate_forward_destroy(forward);
  }
  report("the likeliest cause", &first);
  report("a film", &film);
  check_not_too_sure(&first);
  check_not_too_sure(&film);
}

int main(int argc, char **argv) {
  whole = sample_is_whole(argc, argv);
  const struct CMUnitTest tests[] = {cmocka_unit_test(odds_come_true)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
