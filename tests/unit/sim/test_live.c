/* Acting on a running simulation: play, set, sample, change of engine, watching, going on. Truth: the same actions in
 * a scenario's timeline, or the run that was not interrupted, bit for bit. */
#include "base/units.h"
#include "support/check.h"
#include "support/live.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const models[] = {"four-16", "four-18-cable", "six-30", "three-10", "four-15-turbo"};
static const struct solver_vtable *const solvers[] = {&solver_fast, &solver_fixed, &solver_cvode};

/* The same by hand. */
static void by_hand(struct scene *scene) {
  live_up_to(scene, 0.57);
  live_set(scene, "film_um", 40.0, 7.0);
  live_up_to(scene, 3.29);
  live_set(scene, "air_conditioning", 1.0, 0.0);
  live_up_to(scene, 4.0);
  live_set(scene, "coolant_c", 60.0, 0.0);
  live_set(scene, "leak_mm2", 3.3, 2.5);
  live_up_to(scene, 12.0);
  live_play(scene, &(struct scenario_step){.key = -1, .action = SCENARIO_ACTION_RESET_LEARNED});
  live_up_to(scene, 15.1);
  live_play(scene, &(struct scenario_step){.key = KEY_OFF});
  live_up_to(scene, 17.0);
  live_play(scene, &(struct scenario_step){.key = KEY_START});
}

/* What is played acts as the timeline does. */
static void playing_is_a_timeline(void **state) {
  (void)state;
  for (size_t i = 0; i < ARRAY_COUNT(models); i++)
    for (int settled = 0; settled < 2; settled++) {
      struct scene written, played;
      scene_init(&written, models[i], 25.0);
      scene_init(&played, models[i], 25.0);
      written.solver = played.solver = &solver_fast;
      written.scenario.settled = played.scenario.settled = settled;
      scene_initial(&played, "warmth_held", 0.0);
      live_timeline(&written);
      scene_run(&written);
      live_create(&played);
      by_hand(&played);
      live_run_until(&played, 25.0);
      live_same_rows(models[i], &written.recording, &played.recording);
      live_same_events(models[i], &written.recording, &played.recording);
      assert_int_equal(scene_events(&played, RECORDING_ENGINE, -1, RECORDING_VALUE_KEY + KEY_OFF), 1);
      scene_end(&written);
      scene_end(&played);
    }
}

/* A temperature that is set is the engine's from then on, also if the same was set before and it has warmed up since. */
static void setting_warmth_twice(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, "four-16", 200.0);
  scene.solver = &solver_fast;
  scene_initial(&scene, "warmth_held", 0.0);
  live_create(&scene);
  for (int i = 0; i < 2; i++) {
    live_set(&scene, "coolant_c", 30.0, 0.0);
    live_run_until(&scene, 40.0 + 100.0 * i);
    check_above(scene.sim->vehicle.state.coolant_k, 31.0 + UNITS_KELVIN_AT_ZERO_C);
    check_below(scene.sim->vehicle.state.coolant_k, 60.0 + UNITS_KELVIN_AT_ZERO_C);
    live_run_until(&scene, 100.0);
  }
  scene_end(&scene);
}

/* A sample is what the row of that moment says, and changes nothing of what comes. */
static void sample_is_the_row(void **state) {
  (void)state;
  struct scene plain, sampled;
  struct error error;
  error_clear(&error);
  scene_init(&plain, "four-16", 5.0);
  scene_init(&sampled, "four-16", 5.0);
  plain.scenario.record_s = sampled.scenario.record_s = COMPUTER_PERIOD_S;
  scene_set(&plain, 2.0, "film_um", 30.0);
  scene_set(&sampled, 2.0, "film_um", 30.0);
  scene_run(&plain);
  live_create(&sampled);
  for (size_t row = 0; row < 500; row++) {
    double values[CHANNEL_COUNT];
    if (row % 3 == 0) {
      live_must(simulation_sample(sampled.sim, values, &error), &error);
      live_must(simulation_sample(sampled.sim, values, &error), &error);
      const double *wanted = plain.recording.values + row * CHANNEL_COUNT;
      if (memcmp(values, wanted, sizeof values) != 0) fail_msg("row %zu is not its sample", row);
    }
    live_must(simulation_tick(sampled.sim, &error), &error);
  }
  scene_end(&plain);
  scene_end(&sampled);
}

/* What is played after a moment was sampled acts a tick later, and says so. */
static void after_a_sample(void **state) {
  (void)state;
  struct scene scene;
  struct error error;
  error_clear(&error);
  scene_init(&scene, "four-16", 5.0);
  live_create(&scene);
  live_up_to(&scene, 1.0);
  check_close(simulation_acts_s(scene.sim), 1.0, 0.0);
  double values[CHANNEL_COUNT];
  live_must(simulation_sample(scene.sim, values, &error), &error);
  check_close(simulation_acts_s(scene.sim), 1.01, 0.0);
  live_set(&scene, "drag_nm", 5.0, 0.0);
  check_close(scene.sim->vehicle.conditions.faults.drag_nm, 0.0, 0.0);
  live_must(simulation_tick(scene.sim, &error), &error);
  check_close(scene.sim->vehicle.conditions.faults.drag_nm, 0.0, 0.0);
  live_must(simulation_tick(scene.sim, &error), &error);
  check_close(scene.sim->vehicle.conditions.faults.drag_nm, 5.0, 0.0);
  scene_end(&scene);
}

/* A run in pieces is the run in one. */
static void going_on_after_the_end(void **state) {
  (void)state;
  for (size_t k = 0; k < ARRAY_COUNT(solvers); k++) {
    struct scene whole, pieces;
    scene_init(&whole, "six-30", 30.0);
    scene_init(&pieces, "six-30", 10.0);
    whole.solver = pieces.solver = solvers[k];
    scene_ramp(&whole, 10.0, 10.0, "film_um", 50.0);
    scene_ramp(&pieces, 10.0, 10.0, "film_um", 50.0);
    scene_run(&whole);
    scene_run(&pieces);
    assert_null(pieces.sim->recording);
    live_run_until(&pieces, 10.0); // nothing to do
    live_run_until(&pieces, 20.4);
    live_run_until(&pieces, 30.0);
    live_same_rows("pieces", &whole.recording, &pieces.recording);
    live_same_events("pieces", &whole.recording, &pieces.recording);
    scene_end(&whole);
    scene_end(&pieces);
  }
}

static enum status collect(const struct recording_event *event, void *user, struct error *error) {
  return recording_add_event(user, event, error);
}

/* Who watches is told what the recording gets, also without any. */
static void watching(void **state) {
  (void)state;
  for (int recorded = 0; recorded < 2; recorded++) {
    struct scene plain, watched;
    struct error error;
    error_clear(&error);
    scene_init(&plain, "four-16", 25.0);
    scene_init(&watched, "four-16", 25.0);
    live_timeline(&plain);
    live_timeline(&watched);
    scene_set(&plain, 9.0, "leak_mm2", 120.0);
    scene_set(&watched, 9.0, "leak_mm2", 120.0);
    scene_run(&plain);
    live_create(&watched);
    struct recording told;
    recording_init(&told);
    simulation_watch(watched.sim, collect, &told);
    live_must(simulation_run(watched.sim, recorded ? &watched.recording : NULL, NULL, NULL, &error), &error);
    check_above((double)told.event_count, 3.0);
    live_same_events("watched", &plain.recording, &told);
    if (recorded) live_same_events("recorded", &plain.recording, &watched.recording);
    recording_destroy(&told);
    scene_end(&plain);
    scene_end(&watched);
  }
}

/* An equal engine in another place changes nothing; one with less friction idles with less air; one of another kind is refused. */
static void another_engine(void **state) {
  (void)state;
  struct error error;
  for (size_t k = 0; k < ARRAY_COUNT(solvers); k++) {
    struct scene plain, changed, other;
    error_clear(&error);
    scene_init(&plain, "four-16", 60.0);
    scene_init(&changed, "four-16", 60.0);
    scene_init(&other, "six-30", 60.0);
    plain.solver = changed.solver = solvers[k];
    scene_ramp(&plain, 1.0, 12.0, "film_um", 25.0);
    scene_ramp(&changed, 1.0, 12.0, "film_um", 25.0);
    scene_run(&plain);
    live_create(&changed);
    live_up_to(&changed, 6.0);
    struct engine copy = changed.engine;
    live_must(simulation_change_engine(changed.sim, &copy, &error), &error);
    assert_int_equal(simulation_change_engine(changed.sim, &other.engine, &error), STATUS_USAGE);
    assert_non_null(strstr(error.text, "the same kind"));
    live_run_until(&changed, 60.0);
    live_same_rows("equal engine", &plain.recording, &changed.recording);
    struct engine narrow = copy;
    narrow.plant.throttle.bore.radius_m *= 0.9;
    narrow.plant.throttle.bore.closed_angle_rad += 0.02;
    live_must(simulation_change_engine(changed.sim, &narrow, &error), &error);
    assert_true(changed.sim->vehicle.state.blade_rad >= narrow.plant.throttle.bore.closed_angle_rad);
    const double before = scene_mean(&changed, 50.0, 60.0, CHANNEL_blade_deg);
    live_run_until(&changed, 160.0);
    check_close(scene_mean(&changed, 150.0, 160.0, CHANNEL_speed_rpm), 850.0, 15.0);
    check_above(scene_mean(&changed, 150.0, 160.0, CHANNEL_blade_deg), before); // the same air past a smaller rim
    scene_end(&plain);
    scene_end(&changed);
    scene_end(&other);
  }
}

/* As many ramps at once as there are conditions that can be ramped. */
static void ramps_on_everything(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, "four-16", 3.0);
  size_t count = 0;
  for (size_t i = 0; i < condition_count; i++) {
    const struct condition_row *row = &condition_rows[i];
    if (row->field.kind != FIELD_REAL || condition_is_ambient(row)) continue;
    scene_ramp(&scene, 1.0, 600.0, row->field.key, row->initial);
    count++;
  }
  scene_run(&scene);
  assert_true(count > 32);
  assert_int_equal(scene.sim->timeline.ramp_count, count);
  check_close(scene_mean(&scene, 2.0, 3.0, CHANNEL_speed_rpm), 850.0, 15.0); // to where they stood
  scene_end(&scene);
}

static void refuse(struct simulation *sim, const struct scenario_step *step, const char *text) {
  struct error error;
  error_clear(&error);
  assert_int_equal(simulation_play(sim, step, &error), STATUS_USAGE);
  if (!strstr(error.text, text)) fail_msg("'%s' should say '%s'", error.text, text);
}

static void refuse_set(struct simulation *sim, const char *condition, double value, double ramp_s, const char *text) {
  struct error error;
  error_clear(&error);
  assert_int_equal(simulation_set(sim, condition, value, ramp_s, &error), STATUS_USAGE);
  if (!strstr(error.text, text)) fail_msg("'%s' should say '%s'", error.text, text);
}

/* What cannot be is refused with its reason, and nothing has happened. */
static void bad_actions(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, "four-16", 3.0);
  live_create(&scene);
  struct simulation *sim = scene.sim;
  refuse_set(sim, "flim_um", 1.0, 0.0, "did you mean 'film_um'");
  refuse_set(sim, "", 1.0, 0.0, "no condition");
  refuse_set(sim, "film_um", 301.0, 0.0, "film_um is 301; allowed: 0 to 300");
  refuse_set(sim, "film_um", NAN, 0.0, "allowed: 0 to 300");
  refuse_set(sim, "film_um", 1.0, -1.0, "ramp");
  refuse_set(sim, "film_um", 1.0, NAN, "ramp");
  refuse_set(sim, "drive", 0.5, 0.0, "a switch");
  refuse_set(sim, "drive", 1.0, 2.0, "cannot be ramped");
  refuse_set(sim, "ambient_kpa", 20.0, 0.0, "50 to 110, or 0");
  refuse_set(sim, "ambient_kpa", 90.0, 5.0, "set a pressure first");
  refuse(sim, &(struct scenario_step){.key = -1}, "does nothing");
  refuse(sim, &(struct scenario_step){.key = 3}, "key is 3");
  refuse(sim, &(struct scenario_step){.key = -1, .action = (enum scenario_action)9}, "action is 9");
  refuse(sim, &(struct scenario_step){.key = -1, .set_count = 9}, "9 conditions");
  refuse(sim, &(struct scenario_step){.key = -1, .set_count = 1, .sets = {{5000, 0.0}}}, "no condition 5000");
  struct scenario_step noted = {.key = -1, .note = "two\nlines"};
  refuse(sim, &noted, "one line");
  memset(noted.note, 'x', sizeof noted.note);
  refuse(sim, &noted, "one line");
  assert_int_equal(sim->waiting_count, 0);
  live_set(&scene, "ambient_kpa", 95.0, 0.0); // now it can be ramped
  live_set(&scene, "ambient_kpa", 90.0, 1.0);
  live_set(&scene, "film_um", 300.0, 0.0); // both ends of a range are in it
  live_set(&scene, "film_um", 0.0, 0.0);
  struct error error;
  error_clear(&error);
  assert_int_equal(simulation_run_until(sim, NAN, NULL, NULL, NULL, &error), STATUS_USAGE);
  assert_int_equal(simulation_run_until(sim, -1.0, NULL, NULL, NULL, &error), STATUS_USAGE);
  live_must(simulation_tick(sim, &error), &error);
  struct scenario record;
  scenario_init(&record);
  assert_int_equal(simulation_keep(sim, &record, &error), STATUS_USAGE);
  scene_end(&scene);
}

/* A settled start needs one that can settle, and an engine that then runs. */
static void settled_starts(void **state) {
  (void)state;
  struct scene scene;
  struct error error;
  error_clear(&error);
  scene_init(&scene, "four-16", 20.0);
  scene.scenario.settled = true;
  assert_int_equal(simulation_create(&scene.engine, &scene.scenario, scene.solver, &scene.options, &scene.sim, &error),
                   STATUS_BAD_CONFIG);
  scene_initial(&scene, "film_um", 15.0);
  scene.engine.plant.combustion.scatter_ratio = 0.0;
  scene_run(&scene);
  assert_true(scene.sim->vehicle.film_bore.on_demand);
  for (size_t row = 0; row < scene.recording.row_count; row++)
    check_close_at((double)row, recording_value(&scene.recording, row, CHANNEL_speed_rpm), 850.0, 2.0);
  scene_end(&scene);
  scene_init(&scene, "four-16", 20.0);
  scene.scenario.settled = true;
  scene_initial(&scene, "film_um", 300.0);
  scene_initial(&scene, "drag_nm", 150.0);
  assert_int_equal(scene_try(&scene, &error), STATUS_BAD_CONFIG);
  assert_non_null(strstr(error.text, "no settled point"));
  scene_end(&scene);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(playing_is_a_timeline),
      cmocka_unit_test(setting_warmth_twice),
      cmocka_unit_test(sample_is_the_row),
      cmocka_unit_test(after_a_sample),
      cmocka_unit_test(going_on_after_the_end),

      cmocka_unit_test(watching),
      cmocka_unit_test(another_engine),
      cmocka_unit_test(ramps_on_everything),
      cmocka_unit_test(bad_actions),

      cmocka_unit_test(settled_starts),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
