/* sim/scenario_change: what if. Truth: the contract in its header; hand-made timelines. */
#include "sim/scenario_change.h"

#include "support/check.h"

#include <string.h>

static size_t row_of(const char *key) { return (size_t)(condition_find(key) - condition_rows); }

static struct scenario_step set(double at_s, const char *key, double si) {
  return (struct scenario_step){.at_s = at_s, .set_count = 1, .sets = {{row_of(key), si}}, .key = -1};
}

static void add(struct scenario *scenario, struct scenario_step step) {
  struct error error;
  error_clear(&error);
  if (scenario_change_insert(scenario, &step, &error) != STATUS_OK) fail_msg("%s", error.text);
}

static struct scenario make(void) {
  struct scenario scenario;
  scenario_init(&scenario);
  scenario.duration_s = 100.0;
  return scenario;
}

struct told {
  size_t count;
  double at_s[8], value[8];
};

static void tell(const struct scenario_step *step, const struct scenario_set *one, void *user) {
  struct told *told = user;
  told->at_s[told->count] = step->at_s;
  told->value[told->count++] = one->value;
}

static void steps_stand_in_order_of_time(void **state) {
  (void)state;
  struct scenario scenario = make();
  add(&scenario, set(50.0, "leak_mm2", 1e-6));
  add(&scenario, set(10.0, "leak_mm2", 2e-6));
  add(&scenario, set(50.0, "leak_mm2", 3e-6)); // behind the other of its moment
  add(&scenario, set(100.0, "leak_mm2", 4e-6));
  add(&scenario, set(0.0, "leak_mm2", 5e-6));
  static const double values[] = {5e-6, 2e-6, 1e-6, 3e-6, 4e-6};
  assert_int_equal(scenario.step_count, 5);
  for (size_t i = 0; i < 5; i++) check_close(scenario.steps[i].sets[0].value, values[i], 0.0);
  scenario_destroy(&scenario);
}

static void fixing_takes_out_every_set(void **state) {
  (void)state;
  struct scenario scenario = make();
  struct scenario_step alone = set(10.0, "film_um", 1e-5), both = set(20.0, "film_um", 2e-5), other = set(30.0, "leak_mm2", 1e-6),
                       with_key = set(40.0, "film_um", 3e-5);
  strcpy(alone.note, "a film grows");
  strcpy(both.note, "a film and a leak");
  alone.ramp_s = 5.0;
  both.sets[both.set_count++] = (struct scenario_set){row_of("leak_mm2"), 5e-6};
  with_key.key = KEY_OFF;
  strcpy(with_key.note, "key off");
  add(&scenario, alone);
  add(&scenario, both);
  add(&scenario, other);
  add(&scenario, with_key);
  struct told told = {0};
  scenario_change_fix(&scenario, row_of("film_um"), 6e-5, tell, &told);
  check_close(scenario.initial.film_m, 6e-5, 0.0);
  assert_int_equal(told.count, 3);
  check_close(told.at_s[0], 10.0, 0.0);
  check_close(told.value[2], 3e-5, 0.0);
  // the first went with its note, the others keep what they do besides
  assert_int_equal(scenario.step_count, 3);
  check_close(scenario.steps[0].at_s, 20.0, 0.0);
  assert_int_equal(scenario.steps[0].set_count, 1);
  assert_true(scenario.steps[0].sets[0].condition == row_of("leak_mm2"));
  assert_string_equal(scenario.steps[0].note, "a film and a leak");
  assert_int_equal(scenario.steps[2].set_count, 0);
  assert_int_equal(scenario.steps[2].key, KEY_OFF);
  assert_string_equal(scenario.steps[2].note, "key off");
  scenario_destroy(&scenario);
}

static void bad_steps_are_refused(void **state) {
  (void)state;
  struct scenario scenario = make();
  struct error error;
  const struct {
    struct scenario_step step;
    const char *words;
  } rows[] = {
      {set(100.1, "film_um", 0.0), "outside the run, which lasts from 0 to 100 s"},
      {set(-1.0, "film_um", 0.0), "outside the run"},
      {set(NAN, "film_um", 0.0), "outside the run"},
      {set(1.0, "film_um", 1.0), "film_um is 1000000; allowed: 0 to 300"},
      {{.key = -1}, "does nothing"},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    error_clear(&error);
    assert_int_equal(scenario_change_insert(&scenario, &rows[i].step, &error), STATUS_USAGE);
    if (!strstr(error.text, rows[i].words)) fail_msg("'%s' does not say '%s'", error.text, rows[i].words);
  }
  assert_int_equal(scenario.step_count, 0);
  // a pressure of 0 means "from the altitude": no ramp begins there, but one does after a step that set a pressure
  struct scenario_step ramp = set(50.0, "ambient_kpa", 9e4);
  ramp.ramp_s = 10.0;
  error_clear(&error);
  assert_int_equal(scenario_change_insert(&scenario, &ramp, &error), STATUS_USAGE);
  add(&scenario, set(40.0, "ambient_kpa", 1e5));
  add(&scenario, ramp);
  scenario_destroy(&scenario);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(steps_stand_in_order_of_time), cmocka_unit_test(fixing_takes_out_every_set),
                                     cmocka_unit_test(bad_steps_are_refused)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
