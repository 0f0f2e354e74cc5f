/* Each fault sets the codes it should and no others, on every engine in models/: column `codes` of fault_expectations.h.
 *
 * Protocol of a run: warm idle; the fault comes at 5 s; 2500 rpm without load from 60 to 90 s; key off at 110 s, on at 122 s, start
 * at 125 s; end at 150 s.
 *
 * Every fault is run on two of four engines, drawn by a seed; with the argument `all` on each. */
#include "support/check.h"
#include "support/fault_table.h"
#include "support/sample.h"
#include "support/scene.h"

#include "reference/fault_expectations.h"

#include "base/attributes.h"
#include "control/monitors.h"

#include <string.h>

enum { MODEL_MAX = 16, SEED = 7, ENGINES_OF = 3 };

static bool whole; // set once, before the tests

static bool lists(const char *codes, const char *code) { return strstr(codes, code) != NULL; }

/* A code of the second bank cannot set on an engine with one. */
static bool possible(const struct engine *engine, const char *code) {
  return strcmp(code, "P0174") != 0 || engine->plant.charge.bank_count == 2;
}

static int run_row(const char *model, const char *fault, const struct fault_codes *row) {
  struct scene scene;
  scene_init(&scene, model, 150.0);
  scene.solver = &solver_fast;
  scene_set(&scene, 5.0, fault, row->value);
  scene_set(&scene, 60.0, "hold_rpm", 2500.0);
  scene_set(&scene, 90.0, "hold_rpm", 0.0);
  scene_key(&scene, 110.0, KEY_OFF);
  scene_key(&scene, 122.0, KEY_ON);
  scene_key(&scene, 125.0, KEY_START);
  scene_run(&scene);
  const bool fits = engine_has(&scene.engine, row->needs);
  const bool stalled = scene_stalled(&scene);
  int wrong = 0;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const char *code = monitor_rows[i].code;
    const bool set =
        scene_events(&scene, RECORDING_CODE, i, CODE_PENDING) + scene_events(&scene, RECORDING_CODE, i, CODE_CONFIRMED) > 0;
    const bool must = fits && lists(row->must, code) && possible(&scene.engine, code);
    if (must && !set && !stalled) {
      print_error("%s, %s = %g: %s did not set\n", model, fault, row->value, code);
      wrong++;
    }
    if (set && !lists(row->must, code) && !lists(row->may, code)) {
      print_error("%s, %s = %g: %s set and should not\n", model, fault, row->value, code);
      wrong++;
    }
  }
  scene_end(&scene);
  return wrong;
}

/* Severities beside those of the table. */
static const struct {
  const char *key;
  struct fault_codes codes;
} more_severities[] = {
    {"spark_missing_pct", {25, ANY, "P0300", IDLE_CODES}}, // one firing in twelve to twenty-four
    {"cylinder_compression_loss_pct", {60, ANY, "P0300", IDLE_CODES}},
    {"blade_stick_deg", {1, ANY, "", ""}}, // it hunts; no firing is missing
    {"blade_stick_deg", {3, ANY, "", "P0638 P0505 P0506 P0507 P2119"}},
};

static void every_fault_on_every_engine(void **state) {
  (void)state;
  char models[MODEL_MAX][FAULT_MODEL_SIZE];
  const size_t count = fault_models(models, MODEL_MAX);
  assert_true(count >= 1);
  int wrong = 0;
  for (size_t i = 0; i < FAULT_EXPECTATION_COUNT; i++)
    for (size_t k = 0; k < count; k++)
      if (sample_takes(whole, SEED, i * count + k, ENGINES_OF))
        wrong += run_row(models[k], fault_expectations[i].trial.key, &fault_expectations[i].codes);
  for (size_t k = 0; k < count; k++)
    for (size_t i = 0; i < ARRAY_COUNT(more_severities); i++)
      wrong += run_row(models[k], more_severities[i].key, &more_severities[i].codes);
  assert_int_equal(wrong, 0);
}

static void a_sound_engine_sets_none(void **state) {
  (void)state;
  char models[MODEL_MAX][FAULT_MODEL_SIZE];
  const size_t count = fault_models(models, MODEL_MAX);
  const struct fault_codes sound = {0, ANY, "", ""};
  for (size_t k = 0; k < count; k++) assert_int_equal(run_row(models[k], "film_um", &sound), 0);
}

/* That every fault has a row is checked by test_faults.c; here, that its codes are filled in. */
static void every_row_has_codes(void **state) {
  (void)state;
  for (size_t i = 0; i < FAULT_EXPECTATION_COUNT; i++)
    if (!fault_expectations[i].codes.must || !fault_expectations[i].codes.may)
      fail_msg("%s says nothing of codes in fault_expectations.h", fault_expectations[i].trial.key);
}

/* Follows from how it works: where an engine has just stalled, the manifold is still filling; that says nothing of its sensor. */
static void a_stall_is_no_pressure_fault(void **state) {
  (void)state;
  static const char *const models[] = {"three-10", "four-15-turbo"};
  for (size_t m = 0; m < ARRAY_COUNT(models); m++) {
    struct scene scene;
    scene_init(&scene, models[m], 20.0);
    scene.solver = &solver_fast;
    scene_set(&scene, 5.0, "drag_nm", 150.0);
    scene_run(&scene);
    assert_true(scene_stalled(&scene));
    assert_int_equal(scene_events(&scene, RECORDING_CODE, MONITOR_P0106, CODE_PENDING), 0);
    scene_end(&scene);
  }
}

int main(int argc, char **argv) {
  whole = sample_is_whole(argc, argv);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_row_has_codes),
      cmocka_unit_test(a_sound_engine_sets_none),
      cmocka_unit_test(a_stall_is_no_pressure_fault),
      cmocka_unit_test(every_fault_on_every_engine),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
