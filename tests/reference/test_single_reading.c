/* One number proves nothing: whatever single reading is given, over all that the engine can show, no cause has nine tenths of the
 * probability, and the odds move with the reading without a jump. A second reading of another kind that agrees may do it.
 *
 * Common practice, no source: nobody changes a part on one number. A sample by default, everything with the argument `all`. */
#include "support/check.h"
#include "support/sample.h"

#include "analysis/estimate/estimate.h"
#include "analysis/estimate/plausible.h"
#include "io/config/engine_file.h"

#include <stdlib.h>

static const char *const engines[] = {"models/four-16.cfg", "models/three-10.cfg", "models/four-18-cable.cfg",
                                      "models/six-30.cfg"};
#define MOST   0.9
#define SAMPLE 89u // one quantity and condition in so many
enum { STEPS = 16, FEW_STEPS = 4 };

static bool whole;
static size_t sure_count; // numbers that made a cause sure

/* Probability of the likeliest cause other than "nothing wrong" and what is not listed; 1 where nothing can be said. */
static double likeliest(const struct estimate_question *question, const char **name) {
  struct estimate *estimate;
  struct error error = {0};
  *name = "-";
  if (estimate_create(question, &for_each_serial, &estimate, &error) != STATUS_OK) return 0.0;
  double by_cause[CAUSE_COUNT] = {0.0}, most = 0.0;
  for (size_t i = 0; i < estimate->count; i++)
    by_cause[estimate_hypothesis_cause(&estimate->hypotheses[i])] += estimate->hypotheses[i].probability;
  for (int c = 0; c < CAUSE_COUNT; c++)
    if (c != CAUSE_nothing && c != CAUSE_unlisted && by_cause[c] > most) {
      most = by_cause[c];
      *name = cause_rows[c].name;
    }
  estimate_destroy(estimate);
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

int main(int argc, char **argv) {
  whole = sample_is_whole(argc, argv);
  const struct CMUnitTest tests[] = {cmocka_unit_test(no_single_number_is_enough)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
