/* sim/timeline: which conditions hold at which tick. Truth: hand values. */
#include "sim/timeline.h"

#include "base/units.h"
#include "support/check.h"

#include <stddef.h>

static size_t row_of(const char *key) { return (size_t)(condition_find(key) - condition_rows); }

static struct scenario_step set(double at_s, double ramp_s, const char *key, double si) {
  return (struct scenario_step){.at_s = at_s, .ramp_s = ramp_s, .set_count = 1, .sets = {{row_of(key), si}}, .key = -1};
}

/* Plays one tick as the simulation does; returns how many steps were due. */
static int play(struct timeline *timeline, double time_s, struct conditions *conditions) {
  int count = 0;
  while (timeline_step(timeline, time_s, conditions)) count++;
  timeline_ramps(timeline, time_s, conditions);
  return count;
}

static struct timeline begin(struct scenario *scenario, struct scenario_step *steps, size_t count,
                             struct conditions *conditions) {
  scenario_init(scenario);
  scenario->steps = steps;
  scenario->step_count = count;
  conditions_init(conditions);
  struct timeline timeline;
  timeline_init(&timeline, scenario);
  return timeline;
}

/* A step comes at the first tick that is not before it; 0.3 s is due at tick 30 although 30 * 0.01 is a hair
 * less or more. */
static void due_at_its_tick(void **state) {
  (void)state;
  struct scenario_step steps[] = {set(0.3, 0.0, "leak_mm2", 5e-6), set(0.705, 0.0, "leak_mm2", 7e-6)};
  struct scenario scenario;
  struct conditions conditions;
  struct timeline timeline = begin(&scenario, steps, 2, &conditions);
  for (int tick = 0; tick < 100; tick++) {
    const int played = play(&timeline, tick * 0.01, &conditions);
    assert_int_equal(played, tick == 30 || tick == 71);
    check_close_at(tick, conditions.faults.leak_area_m2, tick < 30 ? 0.0 : tick < 71 ? 5e-6 : 7e-6, 0.0);
  }
}

/* A ramp is a straight line from what held to what is wanted, and ends exactly there. */
static void ramp(void **state) {
  (void)state;
  struct scenario_step steps[] = {set(0.0, 0.0, "film_um", 10e-6), set(1.0, 2.0, "film_um", 50e-6)};
  struct scenario scenario;
  struct conditions conditions;
  struct timeline timeline = begin(&scenario, steps, 2, &conditions);
  for (int tick = 0; tick <= 400; tick++) {
    const double now = tick * 0.01;
    play(&timeline, now, &conditions);
    const double expected = now <= 1.0 ? 10e-6 : now >= 3.0 ? 50e-6 : 10e-6 + 40e-6 * (now - 1.0) / 2.0;
    check_close_at(now, conditions.film_m, expected, 1e-18);
  }
  check_close(conditions.film_m, 50e-6, 0.0);
  assert_int_equal(timeline.ramp_count, 0);
}

/* A later set ends a ramp; a later ramp begins from where the first one was. */
static void later_steps_win(void **state) {
  (void)state;
  struct scenario_step steps[] = {set(0.0, 10.0, "film_um", 100e-6), set(2.0, 2.0, "film_um", 0.0), set(5.0, 4.0, "drag_nm", 8.0),
                                  set(6.0, 0.0, "drag_nm", 1.0)};
  struct scenario scenario;
  struct conditions conditions;
  struct timeline timeline = begin(&scenario, steps, 4, &conditions);
  play(&timeline, 0.0, &conditions);
  play(&timeline, 1.99, &conditions);
  check_close(conditions.film_m, 19.9e-6, 1e-15);
  play(&timeline, 2.0, &conditions);
  play(&timeline, 3.0, &conditions);
  check_close(conditions.film_m, 0.5 * 19.9e-6, 1e-15);
  play(&timeline, 5.0, &conditions);
  play(&timeline, 5.5, &conditions);
  check_close(conditions.faults.drag_nm, 1.0, 1e-12);
  play(&timeline, 6.0, &conditions);
  play(&timeline, 8.0, &conditions);
  check_close(conditions.faults.drag_nm, 1.0, 0.0);
  check_close(conditions.film_m, 0.0, 0.0);
}

/* Several ramps at once do not disturb each other, nor the conditions that nobody named. */
static void side_by_side(void **state) {
  (void)state;
  struct scenario_step steps[] = {set(0.0, 4.0, "film_um", 40e-6), set(0.0, 2.0, "drag_nm", 6.0),
                                  set(1.0, 0.0, "air_conditioning", 1.0)};
  struct scenario scenario;
  struct conditions conditions, untouched;
  conditions_init(&untouched);
  struct timeline timeline = begin(&scenario, steps, 3, &conditions);
  assert_int_equal(play(&timeline, 0.0, &conditions), 2);
  assert_int_equal(play(&timeline, 1.0, &conditions), 1);
  check_close(conditions.film_m, 10e-6, 1e-18);
  check_close(conditions.faults.drag_nm, 3.0, 1e-12);
  check_close(conditions.compressor_request, 1.0, 0.0);
  play(&timeline, 3.0, &conditions);
  check_close(conditions.film_m, 30e-6, 1e-18);
  check_close(conditions.faults.drag_nm, 6.0, 0.0);
  check_close(conditions.coolant_k, untouched.coolant_k, 0.0);
  check_close(conditions.electrical_load_w, untouched.electrical_load_w, 0.0);
}

/* Steps of one moment are played in their order, and a step may set several things and none. */
static void in_order(void **state) {
  (void)state;
  struct scenario_step steps[] = {
      set(1.0, 0.0, "leak_mm2", 1e-6), set(1.0, 0.0, "leak_mm2", 2e-6), {.at_s = 1.0, .key = KEY_OFF, .note = "said"}};
  steps[0].sets[steps[0].set_count++] = (struct scenario_set){row_of("drive"), 1.0};
  struct scenario scenario;
  struct conditions conditions;
  struct timeline timeline = begin(&scenario, steps, 3, &conditions);
  assert_null(timeline_step(&timeline, 0.99, &conditions));
  assert_ptr_equal(timeline_step(&timeline, 1.0, &conditions), &steps[0]);
  assert_ptr_equal(timeline_step(&timeline, 1.0, &conditions), &steps[1]);
  const struct scenario_step *third = timeline_step(&timeline, 1.0, &conditions);
  assert_ptr_equal(third, &steps[2]);
  assert_int_equal(third->key, KEY_OFF);
  assert_null(timeline_step(&timeline, 1.0, &conditions));
  check_close(conditions.faults.leak_area_m2, 2e-6, 0.0);
  check_close(conditions.drive_selected, 1.0, 0.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(due_at_its_tick), cmocka_unit_test(ramp),     cmocka_unit_test(later_steps_win),
      cmocka_unit_test(side_by_side),    cmocka_unit_test(in_order),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
