/* analysis/explain with phases and load_steps: that a sentence is there when its link happened, is not there when it did not,
 * and that its numbers are the recording's. Truth: hand values for the timeline; for sentences the run's own rows; that an
 * air-flow engine's trims move with a leak and a pressure engine's do not is an invariant (the sensor sees the air, or the
 * pressure counts it). Runs on the fixed-step solver, four-16.cfg. */
#include "analysis/run/explain.h"
#include "analysis/run/load_steps.h"
#include "analysis/run/phases.h"

#include "support/check.h"
#include "support/scene.h"
#include "support/told.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static double number_after(const struct told *told, const char *text) {
  const char *found = told_sentence(told, text);
  double value = NAN;
  if (!found || sscanf(found + strlen(text), "%lf", &value) != 1) fail_msg("no sentence has a number after '%s'", text);
  return value;
}

/* ---- phases ---- */

static void sound_scenario_is_one_phase(void **state) {
  (void)state;
  struct scene scene;
  struct phase phases[PHASES_MAX];
  scene_init(&scene, "four-16", 50.0);
  scene_set(&scene, 10.0, "air_conditioning", 1.0); // a load is no fault
  scene_set(&scene, 20.0, "film_um", 30.0);         // the film has its own story
  scene_set(&scene, 30.0, "leak_bank1_pct", 80.0);  // says how a leak acts, and there is none
  assert_int_equal(phases_find(&scene.scenario, phases), 1);
  assert_int_equal(phases[0].fault_count, 0);
  check_close(phases[0].to_s, 50.0, 0.0);
  scene_end(&scene);
}

static void faults_come_and_go(void **state) {
  (void)state;
  struct scene scene;
  struct phase phases[PHASES_MAX];
  scene_init(&scene, "four-16", 90.0);
  scene_ramp(&scene, 10.0, 5.0, "leak_mm2", 3.0);
  scene_set(&scene, 30.0, "maf_gain_ratio", 0.9);
  scene_set(&scene, 30.0, "drag_nm", 5.0); // the same moment
  scene_set(&scene, 60.0, "leak_mm2", 0.0);
  assert_int_equal(phases_find(&scene.scenario, phases), 4);
  assert_int_equal(phases[1].fault_count, 1);
  check_close(phases[1].from_s, 10.0, 0.0);
  check_close(phases[1].full_s, 15.0, 1e-9);
  check_close(phases[1].to_s, 30.0, 0.0);
  check_close(phases[1].faults[0].value, 3.0, 1e-9);
  assert_int_equal(phases[2].fault_count, 3);
  assert_int_equal(phases[3].fault_count, 2);
  assert_false(phases_have(&phases[3], "leak_mm2"));
  assert_true(phases_have(&phases[3], "drag_nm"));
  assert_true(phases_within(&phases[0], &phases[1]));
  assert_true(phases_within(&phases[1], &phases[2]));
  assert_false(phases_within(&phases[1], &phases[3])); // another fault
  assert_false(phases_within(&phases[2], &phases[2]));
  scene_end(&scene);
}

/* ---- sentences ---- */

static void nothing_happened_nothing_said(void **state) {
  (void)state;
  static const char *const links[] = {"film",       "stall",   "races",   "take away", "leak", "trims answer",
                                      "Compressor", "started", "cleaned", "Held",      "-0.0"};
  struct told told;
  scene_init(&told.scene, "four-16", 40.0);
  told_tell(&told);
  assert_true(told.explanation.count >= 1);
  for (size_t i = 0; i < told.explanation.count; i++) {
    const struct claim *claim = &told.explanation.claims[i];
    if (claim->part == CLAIM_PART_CODE) { // all quiet
      assert_int_equal(claim->kind == CLAIM_code_below_limit || claim->kind == CLAIM_code_takes, 1);
      continue;
    }
    for (size_t k = 0; k < ARRAY_COUNT(links); k++)
      if (strstr(claim->text, links[k])) fail_msg("said of a sound idle: %s", claim->text);
  }
  check_close(told_value(&told, CLAIM_idle_first, "speed"), told.story.first.mean[CHANNEL_speed_rpm], 1e-9);
  check_close(number_after(&told, "idles all through at "), scene_mean(&told.scene, 0.0, 40.0, CHANNEL_speed_rpm), 0.5);
  scene_end(&told.scene);
}

/* A leak of 3 mm2 that comes at 55 s; held at 2500 rpm before and after. */
static void run_leak(struct told *told, int metering) {
  scene_init(&told->scene, "four-16", 170.0);
  told->scene.engine.computer.fuel.metering = metering;
  scene_set(&told->scene, 15.0, "hold_rpm", 2500.0);
  scene_set(&told->scene, 30.0, "hold_rpm", 0.0);
  scene_ramp(&told->scene, 55.0, 10.0, "leak_mm2", 3.0);
  scene_set(&told->scene, 140.0, "hold_rpm", 2500.0);
  told_tell(told);
}

static void leak_on_an_air_flow_engine(void **state) {
  (void)state;
  struct told told;
  run_leak(&told, METERING_AIR_FLOW);
  assert_non_null(told_sentence(&told, "From 55 to 65 s: vacuum leak, 3 mm2 (leak_mm2)."));
  assert_non_null(told_sentence(&told, "come in behind it"));
  assert_non_null(told_sentence(&told, "mark of a leak"));
  assert_null(told_sentence(&told, "trims do not move"));
  // the numbers are those of the rows it speaks of
  const struct explain_moment *leak = NULL;
  for (size_t i = 0; i < told.explanation.moment_count; i++)
    if (strcmp(told.explanation.moments[i].label, "leak_mm2 3") == 0) leak = &told.explanation.moments[i];
  assert_non_null(leak);
  const double from = leak->moment.time_s, to = from + leak->moment.length_s;
  check_close(number_after(&told, "the air-flow sensor sees "), scene_mean(&told.scene, from, to, CHANNEL_maf_gps), 0.006);
  check_close(number_after(&told, "(maf_gps); "),
              scene_mean(&told.scene, from, to, CHANNEL_airflow_gps) - scene_mean(&told.scene, from, to, CHANNEL_maf_gps), 0.02);
  check_close(told_value(&told, CLAIM_trims_moved, "after_long"), scene_mean(&told.scene, from, to, CHANNEL_ltft_pct), 1e-9);
  check_above(scene_mean(&told.scene, from, to, CHANNEL_ltft_pct), 10.0); // invariant: it moved
  scene_end(&told.scene);
}

static void leak_on_a_pressure_engine(void **state) {
  (void)state;
  struct told told;
  run_leak(&told, METERING_PRESSURE);
  assert_non_null(told_sentence(&told, "the pressure sensor counts them too"));
  assert_non_null(told_sentence(&told, "The fuel trims do not move"));
  assert_null(told_sentence(&told, "come in behind it"));
  assert_null(told_sentence(&told, "mark of a leak"));
  scene_end(&told.scene);
}

static void film_starves_and_does_not_lean(void **state) {
  (void)state;
  struct told told;
  scene_init(&told.scene, "four-16", 400.0);
  scene_ramp(&told.scene, 30.0, 60.0, "film_um", 60.0);
  told_tell(&told);
  check_close(number_after(&told, "With a film of "), 60.0, 0.5); // um
  assert_non_null(told_sentence(&told, "The mixture never notices"));
  assert_null(told_sentence(&told, "leak"));
  check_close(number_after(&told, "the idle is at "), told_mean(&told, CLAIM_film_low, "speed", CHANNEL_speed_rpm), 0.5);
  scene_end(&told.scene);
}

static void lower_limit_and_race(void **state) {
  (void)state;
  struct told told;
  scene_init(&told.scene, "four-16", 120.0);
  scene_ramp(&told.scene, 30.0, 20.0, "leak_mm2", 7.0);
  told_tell(&told);
  assert_non_null(told_sentence(&told, "It may take away only so much at once"));
  check_above(number_after(&told, "the idle races at "), 900.0);
  scene_end(&told.scene);
}

static void stall_and_restart(void **state) {
  (void)state;
  struct told told;
  scene_init(&told.scene, "four-16", 90.0);
  scene_set(&told.scene, 20.0, "leak_mm2", 14.0); // at once: no trim is that quick
  scene_key(&told.scene, 40.0, KEY_OFF);
  scene_set(&told.scene, 42.0, "leak_mm2", 0.0);
  scene_key(&told.scene, 44.0, KEY_ON);
  scene_key(&told.scene, 46.0, KEY_START);
  told_tell(&told);
  const double stall_s = scene_event_s(&told.scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STALL);
  assert_true(isfinite(stall_s));
  const char *why = told_sentence(&told, "the engine stalls");
  assert_non_null(why);
  assert_non_null(strstr(why, "after this: vacuum leak"));
  check_close(told_value(&told, CLAIM_stall_after, "after"), stall_s - 20.0, 1e-6);
  assert_non_null(told_sentence(&told, "this is left"));
  assert_non_null(told_sentence(&told, "too lean to burn well"));
  assert_non_null(told_sentence(&told, "At 46 s it is started again"));
  scene_end(&told.scene);
}

static void cold_start(void **state) {
  (void)state;
  struct told told;
  scene_init(&told.scene, "four-16", 60.0);
  told.scene.scenario.running = false;
  scene_initial(&told.scene, "coolant_c", -10.0);
  scene_initial(&told.scene, "oil_c", -10.0);
  scene_initial(&told.scene, "warmth_held", 0.0);
  scene_key(&told.scene, 2.0, KEY_ON);
  scene_key(&told.scene, 4.0, KEY_START);
  told_tell(&told);
  const double started_s = scene_event_s(&told.scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STARTED);
  check_close(told_value(&told, CLAIM_start_first, "took"), started_s - 4.0, 1e-6);
  check_close(number_after(&told, "It flares to "), scene_most(&told.scene, started_s, started_s + 4.0, CHANNEL_speed_rpm), 0.5);
  assert_non_null(told_sentence(&told, "part of the fuel stays on cold walls"));
  assert_non_null(told_sentence(&told, "It stays too cold for the idle codes"));
  assert_null(told_sentence(&told, "The oxygen sensor is used")); // not within a minute
  scene_end(&told.scene);
}

/* ---- load steps ---- */

static void every_kind_of_load(void **state) {
  (void)state;
  struct told told;
  scene_init(&told.scene, "four-16", 110.0);
  scene_set(&told.scene, 10.0, "air_conditioning", 1.0);
  scene_set(&told.scene, 20.0, "air_conditioning", 0.0);
  scene_set(&told.scene, 30.0, "drive", 1.0);
  scene_set(&told.scene, 40.0, "drive", 0.0);
  scene_set(&told.scene, 50.0, "steering_pct", 100.0);
  scene_set(&told.scene, 60.0, "electrical_load_w", 600.0);
  scene_set(&told.scene, 70.0, "hold_rpm", 2000.0);
  scene_set(&told.scene, 75.0, "air_conditioning", 1.0); // while driven: no load step of an idle
  scene_set(&told.scene, 85.0, "hold_rpm", 0.0);
  told_tell(&told);
  static const struct {
    double time_s;
    enum load_steps_kind kind;
    bool on;
  } due[] = {{10.0, LOAD_STEPS_compressor, true}, {20.0, LOAD_STEPS_compressor, false}, {30.0, LOAD_STEPS_gear, true},
             {40.0, LOAD_STEPS_gear, false},      {50.0, LOAD_STEPS_steering, true},    {60.0, LOAD_STEPS_electrical, true},
             {85.0, LOAD_STEPS_pedal, true}};
  assert_int_equal(told.story.load_count, ARRAY_COUNT(due));
  for (size_t i = 0; i < ARRAY_COUNT(due); i++) {
    const struct load_step *step = &told.story.loads[i];
    check_close_at((double)i, step->time_s, due[i].time_s, 0.11);
    assert_int_equal(step->kind, due[i].kind);
    assert_int_equal(step->on, due[i].on);
    assert_false(step->stalled);
  }
  check_close(told.story.loads[2].lowest_rpm, scene_least(&told.scene, 30.0, 33.0, CHANNEL_speed_rpm), 1e-9);
  scene_end(&told.scene);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sound_scenario_is_one_phase),
      cmocka_unit_test(faults_come_and_go),
      cmocka_unit_test(nothing_happened_nothing_said),
      cmocka_unit_test(leak_on_an_air_flow_engine),
      cmocka_unit_test(leak_on_a_pressure_engine),
      cmocka_unit_test(film_starves_and_does_not_lean),
      cmocka_unit_test(lower_limit_and_race),
      cmocka_unit_test(stall_and_restart),
      cmocka_unit_test(cold_start),
      cmocka_unit_test(every_kind_of_load),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
