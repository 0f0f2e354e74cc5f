/* Acting on a running simulation: play, set, sample, save, restore, change of engine, watching, going on. Truth: the same actions in
 * a scenario's timeline, or the run that was not interrupted, bit for bit. */
#include "analysis/settle/launch.h"
#include "analysis/settle/settle.h"
#include "base/units.h"
#include "support/check.h"
#include "support/scene.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const models[] = {"four-16", "four-18-cable", "six-30", "three-10"};
static const struct solver_vtable *const solvers[] = {&solver_fast, &solver_fixed, &solver_cvode};

static void must(enum status status, const struct error *error) {
  if (status != STATUS_OK) fail_msg("%s", error->text);
}

static void create(struct scene *scene) {
  struct error error;
  error_clear(&error);
  must(launch_scenario(&scene->engine, &scene->scenario, scene->solver, &scene->options, &scene->sim, &error), &error);
}

static void run_until(struct scene *scene, double until_s) {
  struct error error;
  error_clear(&error);
  must(simulation_run_until(scene->sim, until_s, &scene->recording, NULL, NULL, &error), &error);
}

static void set(struct scene *scene, const char *condition, double value, double ramp_s) {
  struct error error;
  error_clear(&error);
  must(simulation_set(scene->sim, condition, value, ramp_s, &error), &error);
}

static void play(struct scene *scene, const struct scenario_step *step) {
  struct error error;
  error_clear(&error);
  must(simulation_play(scene->sim, step, &error), &error);
}

static void same_rows(const char *what, const struct recording *a, const struct recording *b) {
  if (a->row_count != b->row_count) fail_msg("%s: %zu rows and %zu", what, a->row_count, b->row_count);
  for (size_t row = 0; row < a->row_count; row++)
    for (int i = 0; i < CHANNEL_COUNT; i++) {
      const double one = recording_value(a, row, (enum channel)i), other = recording_value(b, row, (enum channel)i);
      if (memcmp(&one, &other, sizeof one) != 0)
        fail_msg("%s: row %zu, channel %s: %.17g and %.17g", what, row, channel_rows[i].name, one, other);
    }
}

static void same_events(const char *what, const struct recording *a, const struct recording *b) {
  if (a->event_count != b->event_count) fail_msg("%s: %zu events and %zu", what, a->event_count, b->event_count);
  for (size_t i = 0; i < a->event_count; i++) {
    check_close(a->events[i].time_s, b->events[i].time_s, 0.0);
    assert_string_equal(a->events[i].text, b->events[i].text);
  }
}

/* What is done to every engine: film on a ramp, a load, warmth, codes and key; times that are no binary fractions. */
static void timeline(struct scene *scene) {
  scene_initial(scene, "warmth_held", 0.0);
  scene_ramp(scene, 0.57, 7.0, "film_um", 40.0);
  scene_set(scene, 3.29, "air_conditioning", 1.0);
  scene_set(scene, 4.0, "coolant_c", 60.0);
  scene_ramp(scene, 4.0, 2.5, "leak_mm2", 3.3);
  scene_action(scene, 12.0, SCENARIO_ACTION_RESET_LEARNED);
  scene_key(scene, 15.1, KEY_OFF);
  scene_key(scene, 17.0, KEY_START);
}

/* Runs up to the tick before a time, so that what is played next acts at it. */
static void up_to(struct scene *scene, double time_s) {
  struct error error;
  error_clear(&error);
  scene->sim->recording = &scene->recording;
  while (simulation_acts_s(scene->sim) < time_s - 0.5 * COMPUTER_PERIOD_S) must(simulation_tick(scene->sim, &error), &error);
}

/* The same by hand. */
static void by_hand(struct scene *scene) {
  up_to(scene, 0.57);
  set(scene, "film_um", 40.0, 7.0);
  up_to(scene, 3.29);
  set(scene, "air_conditioning", 1.0, 0.0);
  up_to(scene, 4.0);
  set(scene, "coolant_c", 60.0, 0.0);
  set(scene, "leak_mm2", 3.3, 2.5);
  up_to(scene, 12.0);
  play(scene, &(struct scenario_step){.key = -1, .action = SCENARIO_ACTION_RESET_LEARNED});
  up_to(scene, 15.1);
  play(scene, &(struct scenario_step){.key = KEY_OFF});
  up_to(scene, 17.0);
  play(scene, &(struct scenario_step){.key = KEY_START});
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
      timeline(&written);
      scene_run(&written);
      create(&played);
      by_hand(&played);
      run_until(&played, 25.0);
      same_rows(models[i], &written.recording, &played.recording);
      same_events(models[i], &written.recording, &played.recording);
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
  create(&scene);
  for (int i = 0; i < 2; i++) {
    set(&scene, "coolant_c", 30.0, 0.0);
    run_until(&scene, 40.0 + 100.0 * i);
    check_above(scene.sim->vehicle.state.coolant_k, 31.0 + UNITS_KELVIN_AT_ZERO_C);
    check_below(scene.sim->vehicle.state.coolant_k, 60.0 + UNITS_KELVIN_AT_ZERO_C);
    run_until(&scene, 100.0);
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
  create(&sampled);
  for (size_t row = 0; row < 500; row++) {
    double values[CHANNEL_COUNT];
    if (row % 3 == 0) {
      must(simulation_sample(sampled.sim, values, &error), &error);
      must(simulation_sample(sampled.sim, values, &error), &error);
      const double *wanted = plain.recording.values + row * CHANNEL_COUNT;
      if (memcmp(values, wanted, sizeof values) != 0) fail_msg("row %zu is not its sample", row);
    }
    must(simulation_tick(sampled.sim, &error), &error);
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
  create(&scene);
  up_to(&scene, 1.0);
  check_close(simulation_acts_s(scene.sim), 1.0, 0.0);
  double values[CHANNEL_COUNT];
  must(simulation_sample(scene.sim, values, &error), &error);
  check_close(simulation_acts_s(scene.sim), 1.01, 0.0);
  set(&scene, "drag_nm", 5.0, 0.0);
  check_close(scene.sim->vehicle.conditions.faults.drag_nm, 0.0, 0.0);
  must(simulation_tick(scene.sim, &error), &error);
  check_close(scene.sim->vehicle.conditions.faults.drag_nm, 0.0, 0.0);
  must(simulation_tick(scene.sim, &error), &error);
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
    run_until(&pieces, 10.0); // nothing to do
    run_until(&pieces, 20.4);
    run_until(&pieces, 30.0);
    same_rows("pieces", &whole.recording, &pieces.recording);
    same_events("pieces", &whole.recording, &pieces.recording);
    scene_end(&whole);
    scene_end(&pieces);
  }
}

static struct recording tail(struct scene *scene, double until_s) {
  recording_destroy(&scene->recording);
  run_until(scene, until_s);
  const struct recording taken = scene->recording;
  recording_init(&scene->recording);
  return taken;
}

/* Saved while a film grows and something waits; goes on for a minute in the same simulation and in another, started otherwise. */
static void save_case(const char *model, const struct solver_vtable *solver, bool settled) {
  struct scene first, second;
  struct error error;
  error_clear(&error);
  scene_init(&first, model, 100.0);
  scene_init(&second, model, 100.0);
  first.solver = second.solver = solver;
  first.scenario.settled = settled;
  timeline(&first);
  timeline(&second);
  create(&first);
  create(&second);
  up_to(&first, 5.0);
  double values[CHANNEL_COUNT];
  if (!settled) must(simulation_sample(first.sim, values, &error), &error); // between the computer's turn and the solver's
  set(&first, "drag_nm", 2.0, 30.0);
  set(&first, "edge_film_um", 1.5, 0.0);
  const size_t size = simulation_save_size(first.sim);
  char *memory = malloc(size + 1);
  must(simulation_save(first.sim, memory + 1, size, &error), &error); // at an odd address
  struct recording straight = tail(&first, 65.0);
  must(simulation_restore(first.sim, memory + 1, size, &error), &error);
  check_close(simulation_time_s(first.sim), 5.0, 0.0);
  struct recording again = tail(&first, 65.0);
  run_until(&second, 7.0);
  must(simulation_restore(second.sim, memory + 1, size, &error), &error);
  memset(&first.sim->vehicle, 0xff, sizeof first.sim->vehicle); // what was saved points nowhere into it
  scene_end(&first);
  memset(memory, 0xff, size + 1);
  free(memory);
  struct recording elsewhere = tail(&second, 65.0);
  same_rows(model, &straight, &again);
  same_events(model, &straight, &again);
  same_rows(model, &straight, &elsewhere);
  same_events(model, &straight, &elsewhere);
  assert_int_equal(straight.row_count, 601);
  recording_destroy(&straight);
  recording_destroy(&again);
  recording_destroy(&elsewhere);
  scene_end(&second);
}

static void save_and_restore(void **state) {
  (void)state;
  for (size_t i = 0; i < ARRAY_COUNT(models); i++)
    for (size_t k = 0; k < ARRAY_COUNT(solvers); k++) save_case(models[i], solvers[k], (i + k) % 2);
}

/* A step back: the last save, and the actions since then once more. */
static void step_back(void **state) {
  (void)state;
  struct scene scene;
  struct error error;
  error_clear(&error);
  scene_init(&scene, "four-16", 30.0);
  scene.scenario.settled = true;
  scene.scenario.record_s = COMPUTER_PERIOD_S;
  create(&scene);
  struct scenario record;
  scenario_init(&record);
  must(simulation_keep(scene.sim, &record, &error), &error);
  const size_t size = simulation_save_size(scene.sim);
  char *memory = malloc(size);
  up_to(&scene, 4.0);
  set(&scene, "film_um", 20.0, 0.0);
  up_to(&scene, 5.0);
  must(simulation_save(scene.sim, memory, size, &error), &error);
  set(&scene, "film_um", 35.0, 0.5);
  up_to(&scene, 5.77);
  double before[CHANNEL_COUNT], after[CHANNEL_COUNT];
  must(simulation_sample(scene.sim, before, &error), &error);
  must(simulation_tick(scene.sim, &error), &error); // this is to be undone
  assert_int_equal(record.step_count, 2);
  const struct scenario_step since = record.steps[1];
  must(simulation_restore(scene.sim, memory, size, &error), &error);
  assert_int_equal(record.step_count, 1);
  check_close(record.duration_s, 5.0, 0.0);
  play(&scene, &since);
  up_to(&scene, 5.77);
  must(simulation_sample(scene.sim, after, &error), &error);
  assert_memory_equal(before, after, sizeof before);
  assert_int_equal(record.step_count, 2);
  check_close(record.steps[1].at_s, 5.0, 0.0);
  free(memory);
  scenario_destroy(&record);
  scene_end(&scene);
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
    timeline(&plain);
    timeline(&watched);
    scene_set(&plain, 9.0, "leak_mm2", 120.0);
    scene_set(&watched, 9.0, "leak_mm2", 120.0);
    scene_run(&plain);
    create(&watched);
    struct recording told;
    recording_init(&told);
    simulation_watch(watched.sim, collect, &told);
    must(simulation_run(watched.sim, recorded ? &watched.recording : NULL, NULL, NULL, &error), &error);
    check_above((double)told.event_count, 3.0);
    same_events("watched", &plain.recording, &told);
    if (recorded) same_events("recorded", &plain.recording, &watched.recording);
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
    create(&changed);
    up_to(&changed, 6.0);
    struct engine copy = changed.engine;
    must(simulation_change_engine(changed.sim, &copy, &error), &error);
    assert_int_equal(simulation_change_engine(changed.sim, &other.engine, &error), STATUS_USAGE);
    assert_non_null(strstr(error.text, "one kind"));
    run_until(&changed, 60.0);
    same_rows("equal engine", &plain.recording, &changed.recording);
    struct engine narrow = copy;
    narrow.plant.throttle.bore.radius_m *= 0.9;
    narrow.plant.throttle.bore.closed_angle_rad += 0.02;
    must(simulation_change_engine(changed.sim, &narrow, &error), &error);
    assert_true(changed.sim->vehicle.state.blade_rad >= narrow.plant.throttle.bore.closed_angle_rad);
    const double before = scene_mean(&changed, 50.0, 60.0, CHANNEL_blade_deg);
    run_until(&changed, 160.0);
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
  create(&scene);
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
  set(&scene, "ambient_kpa", 95.0, 0.0); // now it can be ramped
  set(&scene, "ambient_kpa", 90.0, 1.0);
  set(&scene, "film_um", 300.0, 0.0); // both ends of a range are in it
  set(&scene, "film_um", 0.0, 0.0);
  struct error error;
  error_clear(&error);
  assert_int_equal(simulation_run_until(sim, NAN, NULL, NULL, NULL, &error), STATUS_USAGE);
  assert_int_equal(simulation_run_until(sim, -1.0, NULL, NULL, NULL, &error), STATUS_USAGE);
  must(simulation_tick(sim, &error), &error);
  struct scenario record;
  scenario_init(&record);
  assert_int_equal(simulation_keep(sim, &record, &error), STATUS_USAGE);
  scene_end(&scene);
}

static void bad_saves(void **state) {
  (void)state;
  struct scene scene, other;
  struct error error;
  error_clear(&error);
  scene_init(&scene, "four-16", 3.0);
  scene_init(&other, "four-16", 3.0);
  create(&scene);
  scene_set(&other, 1.0, "film_um", 3.0);
  create(&other);
  const size_t size = simulation_save_size(scene.sim);
  char *memory = calloc(size, 1);
  assert_int_equal(simulation_restore(scene.sim, NULL, size, &error), STATUS_USAGE);
  assert_int_equal(simulation_restore(scene.sim, memory, size, &error), STATUS_USAGE);
  assert_int_equal(simulation_save(scene.sim, NULL, size, &error), STATUS_USAGE);
  assert_int_equal(simulation_save(scene.sim, memory, size - 1, &error), STATUS_USAGE);
  must(simulation_save(scene.sim, memory, size, &error), &error);
  assert_int_equal(simulation_restore(scene.sim, memory, size - 1, &error), STATUS_USAGE);
  assert_int_equal(simulation_restore(scene.sim, memory, 3, &error), STATUS_USAGE);
  assert_int_equal(simulation_restore(other.sim, memory, size, &error), STATUS_USAGE);
  assert_non_null(strstr(error.text, "another timeline"));
  for (size_t at = 0; at < size; at += 997) { // any byte
    memory[at] = (char)(memory[at] ^ 4);
    assert_int_equal(simulation_restore(scene.sim, memory, size, &error), STATUS_USAGE);
    memory[at] = (char)(memory[at] ^ 4);
  }
  must(simulation_restore(scene.sim, memory, size, &error), &error);
  struct engine light = scene.engine;
  light.plant.crank.inertia_kg_m2 *= 0.9;
  must(simulation_change_engine(scene.sim, &light, &error), &error);
  assert_int_equal(simulation_restore(scene.sim, memory, size, &error), STATUS_USAGE);
  assert_non_null(strstr(error.text, "another engine"));
  must(simulation_change_engine(scene.sim, &scene.engine, &error), &error);
  must(simulation_restore(scene.sim, memory, size, &error), &error);
  free(memory);
  scene_end(&scene);
  scene_end(&other);
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
      cmocka_unit_test(save_and_restore),
      cmocka_unit_test(step_back),
      cmocka_unit_test(watching),
      cmocka_unit_test(another_engine),
      cmocka_unit_test(ramps_on_everything),
      cmocka_unit_test(bad_actions),
      cmocka_unit_test(bad_saves),
      cmocka_unit_test(settled_starts),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
