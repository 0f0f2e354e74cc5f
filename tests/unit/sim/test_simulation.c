/* sim/simulation: rows, settling in, keys, stalls, and what it says when it cannot go on. Truth: invariants
 * and hand values. */
#include "sim/simulation.h"

#include "support/check.h"
#include "support/scene.h"

#include <stdlib.h>
#include <string.h>

#define MODEL "four-16"

/* One row every record_s from zero to the end, both included, at those very times. */
static void rows_at_even_times(void **state) {
  (void)state;
  static const struct {
    double duration_s, record_s;
    size_t rows;
  } cases[] = {{3.0, 0.1, 31}, {3.0, 0.01, 301}, {2.0, 1.0, 3}};
  for (size_t i = 0; i < ARRAY_COUNT(cases); i++) {
    struct scene scene;
    scene_init(&scene, MODEL, cases[i].duration_s);
    scene.scenario.record_s = cases[i].record_s;
    scene_run(&scene);
    assert_int_equal(scene.recording.row_count, cases[i].rows);
    for (size_t row = 0; row < scene.recording.row_count; row++)
      check_close(recording_value(&scene.recording, row, CHANNEL_time_s), (double)row * cases[i].record_s, 1e-9);
    check_close(simulation_time_s(scene.sim), cases[i].duration_s, 1e-9);
    scene_end(&scene);
  }
}

/* A scenario that starts idling starts at rest: on target, with what long use has learned of its film, and no
 * code from settling. */
static void starts_settled(void **state) {
  (void)state;
  double learned_before = -1.0;
  for (double film = 0.0; film <= 30.0; film += 15.0) {
    struct scene scene;
    scene_init(&scene, MODEL, 5.0);
    scene.engine.plant.combustion.scatter_ratio = 0.0;
    scene.engine.plant.drive.gear_ratio = 0.0; // a blade that sticks hunts, and the effort with it
    scene_initial(&scene, "film_um", film);
    scene_run(&scene);
    for (size_t row = 0; row < scene.recording.row_count; row++)
      check_close_at(film, recording_value(&scene.recording, row, CHANNEL_speed_rpm), 850.0, 10.0);
    check_close_at(film, scene_at(&scene, 0.0, CHANNEL_film_um), film, 1e-9);
    check_close_at(film, scene_mean(&scene, 0.0, 5.0, CHANNEL_effort_pct), 0.0, 0.5); // all of it is learned
    const double learned = scene_at(&scene, 0.0, CHANNEL_learned_pct);
    check_above_at(film, learned, learned_before);
    learned_before = learned;
    assert_int_equal(scene.recording.event_count, 0);
    check_close_at(film, scene_last(&scene, CHANNEL_codes_pending), 0.0, 0.0);
    scene_end(&scene);
  }
}

/* Scatter is the scenario's from the first recorded tick: it does not depend on how long settling took. */
static void scatter_begins_with_the_recording(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, MODEL, 0.02);
  scene.scenario.record_s = 0.01;
  scene_run(&scene);
  assert_int_equal(scene.recording.row_count, 3);
  check_close(scene.recording.values[CHANNEL_speed_rpm], 850.0, 2.0); // no scatter while settling
  scene_end(&scene);
}

/* A film that no engine idles with is told as a fault of the scenario, with what to do. */
static void cannot_idle(void **state) {
  (void)state;
  struct scene scene;
  struct error error;
  error_clear(&error);
  scene_init(&scene, MODEL, 5.0);
  scene_initial(&scene, "film_um", 290.0);
  assert_int_equal(scene_try(&scene, &error), STATUS_BAD_CONFIG);
  assert_non_null(strstr(error.text, MODEL));
  assert_non_null(strstr(error.text, "does not idle"));
  assert_non_null(strstr(error.text, "Make the film thinner"));
  assert_null(scene.sim);
  scene_end(&scene);
}

/* From the key to the idle and back: nothing turns before, the starter lets go by itself, and off means off.
 */
static void start_and_stop(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, MODEL, 20.0);
  scene.scenario.running = false;
  scene_key(&scene, 1.0, KEY_ON);
  scene_key(&scene, 2.0, KEY_START);
  scene_key(&scene, 15.0, KEY_OFF);
  scene_run(&scene);
  check_close(scene_most(&scene, 0.0, 1.9, CHANNEL_speed_rpm), 0.0, 0.0);
  assert_int_equal(scene_events(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STARTED), 1);
  const double started_s = scene_event_s(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STARTED);
  check_above(started_s, 2.1);
  check_below(started_s, 5.0); // common practice, no source: a warm engine starts within seconds
  check_close(scene_mean(&scene, 10.0, 15.0, CHANNEL_speed_rpm), 850.0, 30.0);
  assert_int_equal(scene_events(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STANDSTILL), 1);
  assert_false(scene_stalled(&scene)); // switched off is not stalled
  check_close(scene_last(&scene, CHANNEL_speed_rpm), 0.0, 0.0);
  scene_end(&scene);
}

/* An engine as cold as the air around it has no reason to do anything until the key is turned. */
static void cold_and_off(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, MODEL, 5.0);
  scene.scenario.running = false;
  scene_initial(&scene, "coolant_c", 20.0);
  scene_initial(&scene, "oil_c", 20.0);
  scene_initial(&scene, "warmth_held", 0.0);
  scene_run(&scene);
  for (size_t row = 0; row < scene.recording.row_count; row++) {
    check_close(recording_value(&scene.recording, row, CHANNEL_speed_rpm), 0.0, 0.0);
    check_close(recording_value(&scene.recording, row, CHANNEL_manifold_kpa), 101.325, 1e-9);
    check_close(recording_value(&scene.recording, row, CHANNEL_airflow_gps), 0.0, 1e-9);
    check_close(recording_value(&scene.recording, row, CHANNEL_coolant_c), 20.0, 1e-9);
  }
  assert_int_equal(scene.recording.event_count, 0);
  scene_end(&scene);
}

/* A starter that cannot bring the engine to run is let go after its patience: drag holds it at a crawl. */
static void starter_gives_up(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, MODEL, 16.0);
  scene.scenario.running = false;
  scene_initial(&scene, "drag_nm", 60.0);
  scene_key(&scene, 1.0, KEY_START);
  scene_run(&scene);
  assert_int_equal(scene_events(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STARTED), 0);
  check_above(scene_mean(&scene, 3.0, 8.0, CHANNEL_speed_rpm), 0.0);
  check_close(scene_last(&scene, CHANNEL_speed_rpm), 0.0, 0.0);
  assert_int_equal(scene.sim->vehicle.key, KEY_ON);
  scene_end(&scene);
}

/* A load no idle can bear: stall, then standstill, each noted once, in that order, and the engine stays off.
 */
static void stall_is_noted(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, MODEL, 12.0);
  scene_set(&scene, 5.0, "drag_nm", 80.0);
  scene_set(&scene, 8.0, "drag_nm", 0.0);
  scene_run(&scene);
  assert_int_equal(scene_events(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STALL), 1);
  assert_int_equal(scene_events(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STANDSTILL), 1);
  const double stalled_s = scene_event_s(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STALL);
  check_above(stalled_s, 5.0);
  check_above(scene_event_s(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STANDSTILL), stalled_s);
  // found between two ticks, not at one: 300 rpm is the engine file's limit
  check_above(scene_at(&scene, stalled_s - 0.1, CHANNEL_speed_rpm), 300.0);
  check_below(scene_at(&scene, stalled_s + 0.1, CHANNEL_speed_rpm), 300.0);
  check_close(scene_last(&scene, CHANNEL_speed_rpm), 0.0, 0.0);
  scene_end(&scene);
}

static bool stop_at_half(double share, void *user) {
  *(double *)user = share;
  return share < 0.45;
}

/* The caller may stop a run; what has been recorded so far stays. */
static void stopped_by_the_caller(void **state) {
  (void)state;
  struct scene scene;
  struct error error;
  error_clear(&error);
  scene_init(&scene, MODEL, 100.0);
  assert_int_equal(simulation_create(&scene.engine, &scene.scenario, scene.solver, &scene.options, &scene.sim, &error),
                   STATUS_OK);
  double share = 0.0;
  assert_int_equal(simulation_run(scene.sim, &scene.recording, stop_at_half, &share, &error), STATUS_NO);
  check_above(share, 0.44);
  check_below(share, 0.9);
  check_close(scene_last(&scene, CHANNEL_time_s), 100.0 * share, 0.11);
  assert_non_null(strstr(error.text, "stopped at"));
  scene_end(&scene);
}

/* A state that is no engine's any more ends the run with its name and time; the rows before stay. */
static void lost_state(void **state) {
  (void)state;
  struct scene scene;
  struct error error;
  error_clear(&error);
  scene_init(&scene, MODEL, 10.0);
  assert_int_equal(simulation_create(&scene.engine, &scene.scenario, scene.solver, &scene.options, &scene.sim, &error),
                   STATUS_OK);
  scene.sim->recording = &scene.recording;
  for (int i = 0; i < 50; i++) assert_int_equal(simulation_tick(scene.sim, &error), STATUS_OK);
  scene.sim->vehicle.state.crank_speed_rad_s = 2000.0; // our own doing: nothing in the model gets there
  assert_int_equal(simulation_tick(scene.sim, &error), STATUS_INTERNAL);
  assert_non_null(strstr(error.text, "engine speed"));
  assert_non_null(strstr(error.text, "0.51 s"));
  assert_int_equal(scene.recording.row_count, 6); // 0.0 to 0.5 s
  scene_end(&scene);
}

/* At altitude the computer opens further for the same air. */
static void thin_air_wants_more_blade(void **state) {
  (void)state;
  double before = 0.0;
  for (double altitude = 0.0; altitude <= 2000.0; altitude += 1000.0) {
    struct scene scene;
    scene_init(&scene, MODEL, 10.0);
    scene_initial(&scene, "altitude_m", altitude);
    scene_run(&scene);
    check_close_at(altitude, scene_mean(&scene, 0.0, 10.0, CHANNEL_speed_rpm), 850.0, 10.0);
    const double blade = scene_mean(&scene, 0.0, 10.0, CHANNEL_blade_deg);
    check_above_at(altitude, blade, before);
    before = blade;
    scene_end(&scene);
  }
}

static void destroying_nothing_is_legal(void **state) {
  (void)state;
  simulation_destroy(NULL);
  solver_destroy(NULL);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(rows_at_even_times),
      cmocka_unit_test(starts_settled),
      cmocka_unit_test(scatter_begins_with_the_recording),
      cmocka_unit_test(cannot_idle),
      cmocka_unit_test(start_and_stop),
      cmocka_unit_test(cold_and_off),
      cmocka_unit_test(starter_gives_up),
      cmocka_unit_test(stall_is_noted),
      cmocka_unit_test(stopped_by_the_caller),
      cmocka_unit_test(lost_state),
      cmocka_unit_test(thin_air_wants_more_blade),
      cmocka_unit_test(destroying_nothing_is_legal),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
