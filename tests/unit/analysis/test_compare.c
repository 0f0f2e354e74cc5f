/* Verdicts on pairs of moments whose truth is known: cars drawn from the priors, on two days, read as an instrument would, with the
 * model's errors; what was done between the two is drawn as well. Truth: what was done. The bars are those of the program: of pairs that were
 * not repaired at most 2 % are called so, of those that were at most 5 % are missed. */
#include "analysis/compare/compare_effects.h"
#include "analysis/compare/compare_judge.h"
#include "analysis/compare/compare_model.h"
#include "analysis/estimate/drawn_car.h"
#include "base/random.h"
#include "io/config/engine_file.h"
#include "support/check.h"
#include "support/sample.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SEED = 41, PAIRS_SAMPLE = 240, PAIRS_WHOLE = 2000, WITH_CAR_SAMPLE = 6, WITH_CAR_WHOLE = 120 };

/* What was done between the two moments. */
enum deed { CLEANED, CLEANED_STALE, HALF, NOTHING_DONE, HOSE_LEFT_OFF, FILM_GREW, LEAK_AND_CLEANED, GOOD_CAR, DEED_COUNT };
static const char *const deed_names[DEED_COUNT] = {"cleaned, relearned", "cleaned, not relearned", "half cleaned",
                                                   "nothing done",       "cleaned, leak left",     "film grew",
                                                   "a leak, cleaned",    "good, untouched"};

static bool whole;

struct bench {
  struct engine engine;
  struct estimate_forward *forward;
  bool metered;
};

static struct bench *bench_create(const char *name) {
  struct bench *bench = calloc(1, sizeof *bench);
  char path[64];
  struct error error;
  error_clear(&error);
  snprintf(path, sizeof path, "models/%s.cfg", name);
  if (engine_file_read(path, &bench->engine, &error) != STATUS_OK) fail_msg("%s", error.text);
  if (estimate_forward_create(&bench->engine, &bench->forward, &error) != STATUS_OK) fail_msg("%s", error.text);
  bench->metered = engine_has(&bench->engine, FEATURE_air_flow);
  return bench;
}

static void bench_destroy(struct bench *bench) {
  estimate_forward_destroy(bench->forward);
  free(bench);
}

static struct estimate_fault film_of(double um) {
  return (struct estimate_fault){.count = um > 0.0, .cause = {CAUSE_film}, .severity = {um}};
}

/* Film and a leak together. */
static struct estimate_fault with_leak(double um, double mm2) {
  struct estimate_fault fault = film_of(um);
  fault.cause[fault.count] = CAUSE_vacuum_leak;
  fault.severity[fault.count++] = mm2;
  return fault;
}

static bool read_moment(const struct bench *bench, const struct drawn_car *car, bool then, const struct estimate_setting *setting,
                        const struct estimate_fault *fault, struct compare_side *side, double *learned_pct) {
  static const enum estimate_quantity quantities[] = {
      ESTIMATE_QUANTITY_speed_rpm,   ESTIMATE_QUANTITY_target_rpm, ESTIMATE_QUANTITY_tp_pct,       ESTIMATE_QUANTITY_maf_gps,
      ESTIMATE_QUANTITY_map_kpa,     ESTIMATE_QUANTITY_spark_deg,  ESTIMATE_QUANTITY_stft_pct,     ESTIMATE_QUANTITY_ltft_pct,
      ESTIMATE_QUANTITY_learned_pct, ESTIMATE_QUANTITY_effort_pct, ESTIMATE_QUANTITY_bypass_steps, ESTIMATE_QUANTITY_coolant_c,
      ESTIMATE_QUANTITY_intake_c};
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_forward_predict(bench->forward, setting, then ? car->z_then : car->z, fault, ESTIMATE_AT(idle) | ESTIMATE_AT(key_on),
                           points);
  memset(side, 0, sizeof *side);
  if (!points[ESTIMATE_CONDITION_idle].runs) return false;
  for (size_t i = 0; i < sizeof quantities / sizeof quantities[0]; i++)
    drawn_car_add_reading(car, quantities[i], ESTIMATE_CONDITION_idle, then, &points[ESTIMATE_CONDITION_idle], 0.0,
                          &side->readings);
  drawn_car_add_reading(car, ESTIMATE_QUANTITY_barometer_kpa, ESTIMATE_CONDITION_key_on, then, &points[ESTIMATE_CONDITION_key_on],
                        0.0, &side->readings);
  *learned_pct = points[ESTIMATE_CONDITION_idle].values[CHANNEL_learned_pct];
  return true;
}

static double draw(uint64_t pair, int what) {
  return random_uniform(SEED, RANDOM_STREAM_CASE, pair * 16 + (uint64_t)what + (1u << 30));
}

/* False if the car does not run so. */
static bool make_pair(const struct bench *bench, uint64_t pair, enum deed deed, struct compare_side *before,
                      struct compare_side *after) {
  struct drawn_car car;
  struct estimate_setting setting;
  drawn_car_draw(&bench->engine, SEED, pair, 0, &car);
  estimate_setting_init(&setting);
  const double thick = 35.0 + 45.0 * draw(pair, 0), leak = 2.0 + 4.0 * draw(pair, 1), left = 0.4 + 0.3 * draw(pair, 2);
  const struct estimate_fault clean = film_of(0.0), film = film_of(thick), half = film_of(left * thick),
                              less = film_of(0.5 * thick), leaky = with_leak(0.0, leak);
  const struct estimate_fault *was = deed == LEAK_AND_CLEANED ? &leaky
                                     : deed == GOOD_CAR       ? &clean
                                     : deed == FILM_GREW      ? &less
                                                              : &film;
  const struct estimate_fault *is = deed == CLEANED || deed == CLEANED_STALE || deed == GOOD_CAR ? &clean
                                    : deed == HALF                                               ? &half
                                    : deed == HOSE_LEFT_OFF || deed == LEAK_AND_CLEANED          ? &leaky
                                                                                                 : &film;
  double learned_pct, ignored;
  if (!read_moment(bench, &car, true, &setting, was, before, &learned_pct)) return false;
  if (deed == CLEANED_STALE) {
    setting.stale = true;
    setting.learned_ratio = 0.01 * learned_pct;
  }
  return read_moment(bench, &car, false, &setting, is, after, &ignored);
}

struct tally {
  int count[DEED_COUNT][COMPARE_VERDICT_COUNT];
  int other_cars;      // taken for two cars
  int intervals, hold; // of untouched good cars' changes at idle: all, and those that hold zero
};

static void print_tally(const char *name, const struct tally *tally) {
  printf("%s\n%-24s", name, "");
  for (int v = 0; v < COMPARE_VERDICT_COUNT; v++) printf(" %s", compare_verdict_rows[v].name);
  for (int d = 0; d < DEED_COUNT; d++) {
    printf("\n%-24s", deed_names[d]);
    for (int v = 0; v < COMPARE_VERDICT_COUNT; v++) printf(" %4d", tally->count[d][v]);
  }
  printf("\nintervals that hold the truth: %d of %d\n", tally->hold, tally->intervals);
}

static void judge_pair(const struct bench *bench, const struct compare_side *before, const struct compare_side *after,
                       bool with_car, struct compare_result *result) {
  struct compare_model *model = calloc(1, sizeof *model);
  struct estimate_setting setting;
  struct estimate_readings readings = before->readings;
  struct error error;
  error_clear(&error);
  estimate_setting_init(&setting);
  estimate_readings_join(&readings);
  if (with_car &&
      compare_model_find(&bench->engine, &setting, before, after, &readings, &for_each_serial, model, &error) != STATUS_OK)
    fail_msg("%s", error.text);
  compare_judge(before, after, with_car ? model : NULL, result);
  free(model);
}

static void run_pairs(const char *name, uint64_t pairs, bool with_car, struct tally *tally) {
  struct bench *bench = bench_create(name);
  struct compare_result *result = calloc(1, sizeof *result);
  for (uint64_t pair = 0; pair < pairs; pair++) {
    struct compare_side before, after;
    const enum deed deed = (enum deed)(pair % DEED_COUNT);
    if (!make_pair(bench, pair, deed, &before, &after)) continue;
    judge_pair(bench, &before, &after, with_car, result);
    tally->count[deed][result->verdict]++;
    tally->other_cars += result->other_car;
    for (size_t i = 0; deed == GOOD_CAR && i < result->effect_count; i++) {
      tally->intervals++;
      tally->hold += result->effects[i].low <= 0.0 && result->effects[i].high >= 0.0;
    }
    assert_true(result->next.count > 0 && result->why.count > 0);
  }
  free(result);
  bench_destroy(bench);
}

/* Share of the pairs with these deeds that were given one of these verdicts. */
static double share(const struct tally *tally, unsigned deeds, unsigned verdicts) {
  int all = 0, those = 0;
  for (int d = 0; d < DEED_COUNT; d++)
    for (int v = 0; ((deeds >> d) & 1u) && v < COMPARE_VERDICT_COUNT; v++) {
      all += tally->count[d][v];
      if ((verdicts >> v) & 1u) those += tally->count[d][v];
    }
  return all ? (double)those / all : 0.0;
}

#define BIT(name) (1u << (name))

static void check_bars(const struct tally *tally) {
  const unsigned good = BIT(COMPARE_VERDICT_repaired) | BIT(COMPARE_VERDICT_improved_relearn_open);
  const unsigned not_repaired =
      BIT(HALF) | BIT(NOTHING_DONE) | BIT(HOSE_LEFT_OFF) | BIT(FILM_GREW) | BIT(LEAK_AND_CLEANED) | BIT(GOOD_CAR);
  check_below(share(tally, not_repaired, good), 0.02 + 1e-9);
  check_below(share(tally, BIT(CLEANED) | BIT(CLEANED_STALE), ~good), 0.05 + 1e-9);
}

/* Three engines together; of the one metered by pressure alone, whose idle air differs most from car to car, 6 % of the repairs are missed
 * (improved, which is not said to be repaired). */
static void verdicts_without_a_car(void **state) {
  (void)state;
  static const char *const names[] = {"four-16", "six-30", "three-10"};
  const uint64_t pairs = whole ? PAIRS_WHOLE : PAIRS_SAMPLE;
  struct tally all = {0};
  for (int i = 0; i < 3; i++) {
    struct tally tally = {0};
    run_pairs(names[i], pairs, false, &tally);
    print_tally(names[i], &tally);
    for (int d = 0; d < DEED_COUNT; d++)
      for (int v = 0; v < COMPARE_VERDICT_COUNT; v++) all.count[d][v] += tally.count[d][v];
    all.intervals += tally.intervals;
    all.hold += tally.hold;
    all.other_cars += tally.other_cars;
  }
  check_bars(&all);
  check_below(all.other_cars, 0.005 * 3.0 * (double)pairs);
  // 90 % intervals; what nobody logs makes them rather too wide
  check_above((double)all.hold / all.intervals, whole ? 0.87 : 0.84);
  check_below((double)all.hold / all.intervals, whole ? 0.95 : 0.97);
}

static void verdicts_with_a_car(void **state) {
  (void)state;
  struct tally tally = {0};
  run_pairs("four-16", whole ? WITH_CAR_WHOLE : WITH_CAR_SAMPLE, true, &tally);
  print_tally("with the car: four-16", &tally);
  check_bars(&tally);
}

/* A log of another engine is no proof of anything: each shipped engine with a film against each other one, clean. */
static void logs_of_two_cars(void **state) {
  (void)state;
  static const char *const names[] = {"four-16", "four-18-cable", "three-10", "six-30", "four-15-turbo"};
  enum { ENGINES = 5, CARS = 4 };
  struct bench *benches[ENGINES];
  struct compare_result *result = calloc(1, sizeof *result);
  int pairs = 0, recognised = 0, repaired = 0;
  for (int i = 0; i < ENGINES; i++) benches[i] = bench_create(names[i]);
  for (int i = 0; i < ENGINES * ENGINES * CARS; i++) {
    const int one = i / CARS % ENGINES, other = i / CARS / ENGINES;
    struct compare_side before, after, unused;
    if (one == other || !make_pair(benches[one], (uint64_t)i, CLEANED, &before, &unused)) continue;
    if (!make_pair(benches[other], (uint64_t)i + 1000, CLEANED, &unused, &after)) continue;
    compare_judge(&before, &after, NULL, result);
    pairs++;
    recognised += result->other_car;
    repaired += compare_verdict_rows[result->verdict].exit_code == 0;
    if (!result->other_car) printf("%s against %s: %s\n", names[one], names[other], compare_verdict_rows[result->verdict].name);
  }
  printf("of %d pairs of two cars %d are recognised, %d called repaired\n", pairs, recognised, repaired);
  check_above(recognised, 0.9 * pairs);
  check_below(repaired, 0.02 * pairs + 0.5);
  for (int i = 0; i < ENGINES; i++) bench_destroy(benches[i]);
  free(result);
}

/* ---- By hand ---- */

static void add(struct compare_side *side, enum estimate_quantity quantity, double value) {
  side->readings.readings[side->readings.count++] =
      (struct estimate_reading){quantity, ESTIMATE_CONDITION_idle, value, estimate_reading_sd(quantity, value, NAN, NAN)};
}

static struct compare_side hand_side(double speed, double target, double tp, double maf, double coolant) {
  struct compare_side side = {0};
  add(&side, ESTIMATE_QUANTITY_speed_rpm, speed);
  if (isfinite(target)) add(&side, ESTIMATE_QUANTITY_target_rpm, target);
  add(&side, ESTIMATE_QUANTITY_tp_pct, tp);
  add(&side, ESTIMATE_QUANTITY_maf_gps, maf);
  add(&side, ESTIMATE_QUANTITY_coolant_c, coolant);
  return side;
}

static enum compare_verdict verdict_of(struct compare_side before, struct compare_side after, bool *other_car) {
  struct compare_result *result = calloc(1, sizeof *result);
  compare_judge(&before, &after, NULL, result);
  const enum compare_verdict verdict = result->verdict;
  if (other_car) *other_car = result->other_car;
  free(result);
  return verdict;
}

/* Cold, another engine, or a race that is a leak: never repaired. Truth: by hand. */
static void what_cannot_be_compared(void **state) {
  (void)state;
  bool other;
  assert_int_equal(verdict_of(hand_side(790, 850, 13.6, 1.9, 90), hand_side(850, 850, 12.3, 2.2, 90), &other),
                   COMPARE_VERDICT_repaired);
  assert_false(other);
  assert_int_equal(verdict_of(hand_side(790, 850, 13.6, 1.9, 90), hand_side(850, 850, 12.3, 2.2, 45), NULL),
                   COMPARE_VERDICT_not_told);
  assert_int_equal(verdict_of(hand_side(790, 850, 13.6, 1.9, 90), hand_side(640, 640, 12.3, 4.6, 90), &other),
                   COMPARE_VERDICT_not_told);
  assert_true(other);
  // races, and the meter saw none of it
  assert_int_equal(verdict_of(hand_side(850, 850, 13.6, 2.2, 90), hand_side(1100, 850, 12.3, 2.0, 90), NULL),
                   COMPARE_VERDICT_worse);
  // races, and the meter saw it all
  assert_int_equal(verdict_of(hand_side(790, 850, 13.6, 1.9, 90), hand_side(1050, 850, 13.0, 3.0, 90), NULL),
                   COMPARE_VERDICT_improved_relearn_open);
  // without a target nothing was wrong for sure
  assert_int_equal(verdict_of(hand_side(850, NAN, 13.6, 2.2, 90), hand_side(850, NAN, 12.3, 2.2, 90), NULL),
                   COMPARE_VERDICT_improved);
}

/* Interval of a change: by hand from the formula at the head of compare.h; position: 1/255 in steps, flicker 0.1, day 0.1, loads
 * of a day 0.2. */
static void interval(void **state) {
  (void)state;
  struct compare_side before = hand_side(850, 850, 13.0, 2.2, 90), after = hand_side(850, 850, 12.0, 2.2, 90);
  add(&before, ESTIMATE_QUANTITY_intake_c, 30);
  add(&after, ESTIMATE_QUANTITY_intake_c, 30);
  struct compare_result *result = calloc(1, sizeof *result);
  compare_judge(&before, &after, NULL, result);
  const struct compare_effect *e = compare_effect_find(result, ESTIMATE_CONDITION_idle, ESTIMATE_QUANTITY_tp_pct);
  assert_non_null(e);
  const double one = 100.0 / 255.0 / sqrt(12.0), unequal = 0.018 * 0.4; // the weather is not known
  const double sd = sqrt(2.0 * (one * one + 0.01) + 2.0 * 0.01 + 2.0 * 0.04 + unequal * unequal);
  check_close(e->change, -1.0, 1e-12);
  check_relative(e->high - e->low, 2.0 * 1.645 * sd, 1e-6);
  free(result);
}

int main(int argc, char **argv) {
  whole = sample_is_whole(argc, argv);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_cannot_be_compared), cmocka_unit_test(interval),         cmocka_unit_test(verdicts_without_a_car),
      cmocka_unit_test(verdicts_with_a_car),     cmocka_unit_test(logs_of_two_cars),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
