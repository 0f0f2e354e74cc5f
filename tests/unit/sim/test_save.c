/* Saving a simulation and going back. Truth: the run that went straight on, bit for bit. */
#include "support/check.h"
#include "support/live.h"

#include <stdlib.h>
#include <string.h>

static const char *const models[] = {"four-16", "four-18-cable", "six-30", "three-10", "four-15-turbo"};
static const struct solver_vtable *const solvers[] = {&solver_fast, &solver_fixed, &solver_cvode};

static struct recording tail(struct scene *scene, double until_s) {
  recording_destroy(&scene->recording);
  live_run_until(scene, until_s);
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
  live_timeline(&first);
  live_timeline(&second);
  live_create(&first);
  live_create(&second);
  live_up_to(&first, 5.0);
  double values[CHANNEL_COUNT];
  if (!settled) live_must(simulation_sample(first.sim, values, &error), &error); // between the computer's turn and the solver's
  live_set(&first, "drag_nm", 2.0, 30.0);
  live_set(&first, "edge_film_um", 1.5, 0.0);
  const size_t size = simulation_save_size(first.sim);
  char *memory = malloc(size + 1);
  live_must(simulation_save(first.sim, memory + 1, size, &error), &error); // at an odd address
  struct recording straight = tail(&first, 65.0);
  live_must(simulation_restore(first.sim, memory + 1, size, &error), &error);
  check_close(simulation_time_s(first.sim), 5.0, 0.0);
  struct recording again = tail(&first, 65.0);
  live_run_until(&second, 7.0);
  live_must(simulation_restore(second.sim, memory + 1, size, &error), &error);
  memset(&first.sim->vehicle, 0xff, sizeof first.sim->vehicle); // what was saved points nowhere into it
  scene_end(&first);
  memset(memory, 0xff, size + 1);
  free(memory);
  struct recording elsewhere = tail(&second, 65.0);
  live_same_rows(model, &straight, &again);
  live_same_events(model, &straight, &again);
  live_same_rows(model, &straight, &elsewhere);
  live_same_events(model, &straight, &elsewhere);
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
  live_create(&scene);
  struct scenario record;
  scenario_init(&record);
  live_must(simulation_keep(scene.sim, &record, &error), &error);
  const size_t size = simulation_save_size(scene.sim);
  char *memory = malloc(size);
  live_up_to(&scene, 4.0);
  live_set(&scene, "film_um", 20.0, 0.0);
  live_up_to(&scene, 5.0);
  live_must(simulation_save(scene.sim, memory, size, &error), &error);
  live_set(&scene, "film_um", 35.0, 0.5);
  live_up_to(&scene, 5.77);
  double before[CHANNEL_COUNT], after[CHANNEL_COUNT];
  live_must(simulation_sample(scene.sim, before, &error), &error);
  live_must(simulation_tick(scene.sim, &error), &error); // this is to be undone
  assert_int_equal(record.step_count, 2);
  const struct scenario_step since = record.steps[1];
  live_must(simulation_restore(scene.sim, memory, size, &error), &error);
  assert_int_equal(record.step_count, 1);
  check_close(record.duration_s, 5.0, 0.0);
  live_play(&scene, &since);
  live_up_to(&scene, 5.77);
  live_must(simulation_sample(scene.sim, after, &error), &error);
  assert_memory_equal(before, after, sizeof before);
  assert_int_equal(record.step_count, 2);
  check_close(record.steps[1].at_s, 5.0, 0.0);
  free(memory);
  scenario_destroy(&record);
  scene_end(&scene);
}

static void bad_saves(void **state) {
  (void)state;
  struct scene scene, other;
  struct error error;
  error_clear(&error);
  scene_init(&scene, "four-16", 3.0);
  scene_init(&other, "four-16", 3.0);
  live_create(&scene);
  scene_set(&other, 1.0, "film_um", 3.0);
  live_create(&other);
  const size_t size = simulation_save_size(scene.sim);
  char *memory = calloc(size, 1);
  assert_int_equal(simulation_restore(scene.sim, NULL, size, &error), STATUS_USAGE);
  assert_int_equal(simulation_restore(scene.sim, memory, size, &error), STATUS_USAGE);
  assert_int_equal(simulation_save(scene.sim, NULL, size, &error), STATUS_USAGE);
  assert_int_equal(simulation_save(scene.sim, memory, size - 1, &error), STATUS_USAGE);
  live_must(simulation_save(scene.sim, memory, size, &error), &error);
  assert_int_equal(simulation_restore(scene.sim, memory, size - 1, &error), STATUS_USAGE);
  assert_int_equal(simulation_restore(scene.sim, memory, 3, &error), STATUS_USAGE);
  assert_int_equal(simulation_restore(other.sim, memory, size, &error), STATUS_USAGE);
  assert_non_null(strstr(error.text, "another timeline"));
  for (size_t at = 0; at < size; at += 997) { // any byte
    memory[at] = (char)(memory[at] ^ 4);
    assert_int_equal(simulation_restore(scene.sim, memory, size, &error), STATUS_USAGE);
    memory[at] = (char)(memory[at] ^ 4);
  }
  live_must(simulation_restore(scene.sim, memory, size, &error), &error);
  struct engine light = scene.engine;
  light.plant.crank.inertia_kg_m2 *= 0.9;
  live_must(simulation_change_engine(scene.sim, &light, &error), &error);
  assert_int_equal(simulation_restore(scene.sim, memory, size, &error), STATUS_USAGE);
  assert_non_null(strstr(error.text, "another engine"));
  live_must(simulation_change_engine(scene.sim, &scene.engine, &error), &error);
  live_must(simulation_restore(scene.sim, memory, size, &error), &error);
  free(memory);
  scene_end(&scene);
  scene_end(&other);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(save_and_restore),
      cmocka_unit_test(step_back),
      cmocka_unit_test(bad_saves),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
