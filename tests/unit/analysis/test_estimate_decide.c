/* analysis/estimate_decide, car/remedies: expected costs. Truth: two causes and one look, by hand. */
#include "support/check.h"

#include "analysis/estimate/estimate_decide.h"
#include "car/causes.h"

#include <string.h>

#define FILM ((uint64_t)1 << REMEDY_film)
#define LEAK ((uint64_t)1 << REMEDY_vacuum_leak)

/* A minute costs 2, a comeback 100, a search 25 minutes: 50; to clean 10 + 2 * 10 = 30, to mend a leak 20 + 2 * 20 = 60. */
static struct remedy_costs costs_by_hand(void) {
  struct remedy_costs costs;
  remedy_costs_default(&costs);
  costs.minute = 2.0;
  costs.comeback = 100.0;
  costs.search = 25.0;
  costs.parts[REMEDY_film] = 10.0;
  costs.minutes[REMEDY_film] = 10.0;
  costs.parts[REMEDY_vacuum_leak] = 20.0;
  costs.minutes[REMEDY_vacuum_leak] = 20.0;
  return costs;
}

static struct estimate_decide decide;

static void two_causes(double film) {
  const struct remedy_costs costs = costs_by_hand();
  estimate_decide_begin(&decide, &costs);
  estimate_decide_add(&decide, film, FILM, true);
  estimate_decide_add(&decide, 1.0 - film, LEAK, true);
  estimate_decide_finish(&decide);
}

/*             film                  leak                  0.6 and 0.4
 * back        100+50+30 = 180       100+50+60 = 210       192
 * search      50+30 = 80            50+60 = 110           92
 * clean       30                    30+100+50+60 = 240    114
 * mend leak   60+100+50+30 = 240    60                    168 */
static void actions_by_hand(void **state) {
  (void)state;
  two_causes(0.6);
  assert_int_equal(decide.action_count, 4);
  check_close(decide.cost[ESTIMATE_DECIDE_BACK][0], 180.0, 1e-9);
  check_close(decide.cost[ESTIMATE_DECIDE_SEARCH][1], 110.0, 1e-9);
  check_close(decide.cost[2][1], 240.0, 1e-9);
  check_close(decide.cost[3][0], 240.0, 1e-9);
  size_t action = 99;
  check_close(estimate_decide_least(&decide, decide.probability, &action), 92.0, 1e-9);
  assert_int_equal(action, ESTIMATE_DECIDE_SEARCH);
  two_causes(0.9); // clean: 0.9 * 30 + 0.1 * 240 = 51, search: 83
  check_close(estimate_decide_least(&decide, decide.probability, &action), 51.0, 1e-9);
  assert_int_equal(action, 2);
}

/* A look that is always right: 0.6 * 30 + 0.4 * 60 = 42, so that it is worth 92 - 42 = 50. One that says yes to nine films of ten and to
 * one leak of ten: yes, then clean: 0.54 * 30 + 0.04 * 240 = 25.8; no, then mend the leak: 0.06 * 240 + 0.36 * 60 = 36. One that tells
 * nothing is worth nothing. */
static void a_look_by_hand(void **state) {
  (void)state;
  static const double right[] = {1.0, 0.0}, good[] = {0.9, 0.1}, blind[] = {0.5, 0.5};
  two_causes(0.6);
  check_close(estimate_decide_after_look(&decide, right), 42.0, 1e-9);
  check_close(estimate_decide_after_look(&decide, good), 61.8, 1e-9);
  check_close(estimate_decide_after_look(&decide, blind), 92.0, 1e-9);
}

/* Film 0.5, leak 0.3, something not listed 0.2, which only a search mends, and whose mending costs the same whatever is done:
 * search 0.5 * 80 + 0.3 * 110 + 0.2 * 50 = 83; clean 0.5 * 30 + 0.3 * 240 + 0.2 * (30 + 150) = 123. */
static void what_is_not_listed(void **state) {
  (void)state;
  const struct remedy_costs costs = costs_by_hand();
  estimate_decide_begin(&decide, &costs);
  estimate_decide_add(&decide, 0.5, FILM, true);
  estimate_decide_add(&decide, 0.3, LEAK, true);
  estimate_decide_add(&decide, 0.2, 0, false);
  estimate_decide_finish(&decide);
  size_t action = 99;
  check_close(estimate_decide_least(&decide, decide.probability, &action), 83.0, 1e-9);
  assert_int_equal(action, ESTIMATE_DECIDE_SEARCH);
  const double only_film[] = {1.0, 0.0, 0.0};
  check_close(estimate_decide_least(&decide, only_film, &action), 30.0, 1e-9);
  assert_int_equal(action, 2);
}

/* Both at once are mended by both; a good car by nothing. */
static void pairs_and_good_cars(void **state) {
  (void)state;
  const struct remedy_costs costs = costs_by_hand();
  estimate_decide_begin(&decide, &costs);
  estimate_decide_add(&decide, 0.5, FILM | LEAK, true);
  estimate_decide_add(&decide, 0.5, 0, true);
  estimate_decide_finish(&decide);
  check_close(decide.cost[2][0], 90.0, 1e-9);
  check_close(decide.cost[2][1], 90.0, 1e-9); // for nothing
  check_close(decide.cost[ESTIMATE_DECIDE_BACK][1], 0.0, 1e-9);
  check_close(decide.cost[ESTIMATE_DECIDE_BACK][0], 240.0, 1e-9);
}

/* What a cause is mended by is a row, so that no cause is left to a search for want of one. */
static void every_cause_has_a_remedy(void **state) {
  (void)state;
  for (int c = 0; c < CAUSE_COUNT; c++) {
    const char *name = cause_rows[c].name;
    if (strcmp(name, "nothing") == 0 || strcmp(name, "unlisted") == 0) continue;
    if (remedy_of_cause(name) == REMEDY_COUNT) fail_msg("%s has no row in car/remedy_rows.h", name);
  }
  assert_int_equal(remedy_of_cause("air_flow_high"), remedy_of_cause("air_flow_low")); // the same part
  assert_int_equal(remedy_of_cause("flim"), REMEDY_COUNT);
  for (size_t i = 0; i < REMEDY_COUNT; i++) { // or a key of a file of costs would count for nothing
    if (remedy_of_cause(remedy_rows[i].cause) != i) fail_msg("%s has two rows", remedy_rows[i].cause);
    for (size_t k = 0; k < i; k++) assert_string_not_equal(remedy_rows[i].name, remedy_rows[k].name);
    if (cause_find(remedy_rows[i].cause) < 0) fail_msg("%s is no cause", remedy_rows[i].cause);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(actions_by_hand),     cmocka_unit_test(a_look_by_hand),           cmocka_unit_test(what_is_not_listed),
      cmocka_unit_test(pairs_and_good_cars), cmocka_unit_test(every_cause_has_a_remedy),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
