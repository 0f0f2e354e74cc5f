/* One number proves nothing: whatever single reading is given, over all that the engine can show, no cause has nine tenths of the
 * probability, and the odds move with the reading without a jump. A second reading of another kind that agrees may do it.
 *
 * Common practice, no source: nobody changes a part on one number. A sample by default, everything with the argument `all`. */
#include "support/check.h"
#include "support/sample.h"

#include "analysis/estimate/estimate.h"
#include "analysis/estimate/plausible.h"
#include "io/config/engine_file.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const engines[] = {"models/four-16.cfg", "models/three-10.cfg", "models/four-18-cable.cfg",
                                      "models/six-30.cfg"};
#define MOST   0.9
#define SAMPLE 89u // one quantity and condition in so many
enum { STEPS = 16, FEW_STEPS = 4 };

static bool whole;
static size_t sure_count; // numbers that made a cause sure

/* Probability of each cause, whatever stands beside it; false where nothing can be said. */
static bool odds(const struct estimate_question *question, double by_cause[CAUSE_COUNT]) {
  struct estimate *estimate;
  struct error error = {0};
  memset(by_cause, 0, CAUSE_COUNT * sizeof *by_cause);
  if (estimate_create(question, &for_each_serial, &estimate, &error) != STATUS_OK) return false;
  for (size_t i = 0; i < estimate->count; i++)
    by_cause[estimate_hypothesis_cause(&estimate->hypotheses[i])] += estimate->hypotheses[i].probability;
  estimate_destroy(estimate);
  return true;
}

/* That of the likeliest cause other than "nothing wrong" and what is not listed; 0 where nothing can be said. */
static double likeliest(const struct estimate_question *question, const char **name) {
  double by_cause[CAUSE_COUNT], most = 0.0;
  *name = "-";
  if (!odds(question, by_cause)) return 0.0;
  for (int c = 0; c < CAUSE_COUNT; c++)
    if (c != CAUSE_nothing && c != CAUSE_unlisted && by_cause[c] > most) {
      most = by_cause[c];
      *name = cause_rows[c].name;
    }
  return most;
}

static void try_all_values(const struct engine *engine, enum estimate_quantity quantity, enum estimate_condition condition) {
  struct estimate_question question = {.engine = engine};
  estimate_setting_init(&question.setting);
  question.readings.count = 1;
  struct estimate_reading *reading = &question.readings.readings[0];
  *reading = (struct estimate_reading){quantity, condition, 1.0, 1.0};
  struct plausible_ranges ranges;
  struct error error = {0};
  if (plausible_find(engine, &question.setting, &question.readings, false, &for_each_serial, &ranges, &error) != STATUS_OK)
    return;
  if (!(ranges.rows[0].low < ranges.rows[0].high)) return; // this engine has it not
  const int steps = whole ? STEPS : FEW_STEPS;
  for (int i = 0; i <= steps; i++) {
    reading->value = ranges.rows[0].low + (ranges.rows[0].high - ranges.rows[0].low) * i / steps;
    reading->sd = estimate_reading_sd(quantity, reading->value, NAN, NAN);
    const char *name;
    const double most = likeliest(&question, &name);
    if (most >= MOST)
      print_error("%s %s=%.4g@%s: %s %.3f\n", engine->name, estimate_quantities[quantity].name, reading->value,
                  estimate_conditions[condition].name, name, most);
    sure_count += most >= MOST;
  }
}

static void no_single_number_is_enough(void **state) {
  (void)state;
  size_t index = 0;
  for (size_t e = 0; e < sizeof engines / sizeof *engines; e++) {
    struct engine engine;
    struct error error = {0};
    assert_int_equal(engine_file_read(engines[e], &engine, &error), STATUS_OK);
    for (int q = 0; q < ESTIMATE_QUANTITY_COUNT; q++)
      for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++) {
        if (!(estimate_quantities[q].conditions & (1u << c)) || !estimate_forward_has(&engine, (enum estimate_condition)c))
          continue;
        if (sample_takes(whole, 31415, index++, SAMPLE))
          try_all_values(&engine, (enum estimate_quantity)q, (enum estimate_condition)c);
      }
  }
  assert_int_equal(sure_count, 0); // each was told above
}

/* ---- Continuity ---- */

/* Largest step of any cause's odds over `steps` steps of the value; *at: where. */
static double largest_step(struct estimate_question *question, double low, double high, int steps, double *at) {
  struct estimate_reading *reading = &question->readings.readings[0];
  double before[CAUSE_COUNT], now[CAUSE_COUNT], largest = 0.0;
  for (int i = 0; i <= steps; i++) {
    reading->value = low + (high - low) * i / steps;
    reading->sd = estimate_reading_sd(reading->quantity, reading->value, NAN, NAN);
    assert_true(odds(question, now));
    for (int c = 0; i > 0 && c < CAUSE_COUNT; c++)
      if (fabs(now[c] - before[c]) > largest) {
        largest = fabs(now[c] - before[c]);
        *at = reading->value;
      }
    memcpy(before, now, sizeof before);
  }
  return largest;
}

/* An invariant: what is continuous has a step that goes to nothing with the width it is taken over. Where the coarse grid steps most, that
 * interval is cut in as many: a jump would stay in one of them. */
static void odds_move_without_a_jump(void **state) {
  (void)state;
  static const struct {
    enum estimate_quantity quantity;
    double low, high;
  } rows[] = {{ESTIMATE_QUANTITY_speed_rpm, 600.0, 1100.0}, {ESTIMATE_QUANTITY_tp_pct, 10.5, 16.0},
              {ESTIMATE_QUANTITY_maf_gps, 1.2, 4.0},        {ESTIMATE_QUANTITY_idle_air_pct, -40.0, 60.0},
              {ESTIMATE_QUANTITY_trim_pct, -25.0, 25.0},    {ESTIMATE_QUANTITY_spark_deg, 0.0, 25.0},
              {ESTIMATE_QUANTITY_coolant_c, 20.0, 110.0}};
  struct engine engine;
  struct error error = {0};
  assert_int_equal(engine_file_read(engines[0], &engine, &error), STATUS_OK);
  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    if (!whole && rows[i].quantity != ESTIMATE_QUANTITY_tp_pct) continue;
    struct estimate_question question = {.engine = &engine};
    estimate_setting_init(&question.setting);
    question.readings.count = 1;
    question.readings.readings[0] = (struct estimate_reading){rows[i].quantity, ESTIMATE_CONDITION_idle, 1.0, 1.0};
    const int steps = whole ? 16 : 8;
    double at = 0.0, finer_at = 0.0;
    const double width = (rows[i].high - rows[i].low) / steps;
    const double step = largest_step(&question, rows[i].low, rows[i].high, steps, &at);
    const double finer = largest_step(&question, at - width, at, steps, &finer_at);
    print_message("%s: %.3f over %.3g at %.4g, %.3f over %.3g at %.4g\n", estimate_quantities[rows[i].quantity].name, step, width,
                  at, finer, width / steps, finer_at);
    check_below(finer, fmax(0.25 * step, 0.01));
  }
}

/* ---- Two that agree ---- */

struct two {
  struct estimate_reading first, second; // sd: to be filled in
  enum cause cause;
};

static double told_by(const struct engine *engine, size_t count, const struct estimate_reading *readings, enum cause cause) {
  struct estimate_question question = {.engine = engine};
  double by_cause[CAUSE_COUNT];
  estimate_setting_init(&question.setting);
  for (size_t i = 0; i < count; i++) {
    struct estimate_reading *reading = &question.readings.readings[question.readings.count++];
    *reading = readings[i];
    reading->sd = estimate_reading_sd(reading->quantity, reading->value, NAN, NAN);
  }
  assert_true(odds(&question, by_cause));
  return by_cause[cause];
}

/* No cap: a second reading of another kind that agrees may make it sure, each alone does not. */
static void two_that_agree_may_be_enough(void **state) {
  (void)state;
  static const struct two rows[] = {
      {{ESTIMATE_QUANTITY_closed_gap_mm2, ESTIMATE_CONDITION_key_on, 0.0, 0.0},
       {ESTIMATE_QUANTITY_idle_air_pct, ESTIMATE_CONDITION_idle, 45.0, 0.0},
       CAUSE_film},
      {{ESTIMATE_QUANTITY_closed_gap_mm2, ESTIMATE_CONDITION_key_on, 0.0, 0.0},
       {ESTIMATE_QUANTITY_area_lost_pct, ESTIMATE_CONDITION_idle, 65.0, 0.0},
       CAUSE_film},
  };
  struct engine engine;
  struct error error = {0};
  assert_int_equal(engine_file_read(engines[0], &engine, &error), STATUS_OK);
  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    check_below_at((double)i, told_by(&engine, 1, &rows[i].first, rows[i].cause), MOST);
    check_below_at((double)i, told_by(&engine, 1, &rows[i].second, rows[i].cause), MOST);
    check_above_at((double)i, told_by(&engine, 2, &rows[i].first, rows[i].cause), MOST);
  }
}

int main(int argc, char **argv) {
  whole = sample_is_whole(argc, argv);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_single_number_is_enough),
      cmocka_unit_test(odds_move_without_a_jump),
      cmocka_unit_test(two_that_agree_may_be_enough),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
