/* Each fault sets the codes it should and no others, on every engine in models/: rows in fault_codes.h. */
#include "support/check.h"
#include "support/scene.h"

#include "reference/fault_codes.h"

#include "base/attributes.h"
#include "control/monitors.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MODEL_MAX = 16, NAME_SIZE = 64 };

static bool lists(const char *codes, const char *code) { return strstr(codes, code) != NULL; }

static unsigned has(const struct engine *engine) {
  const struct throttle_params *throttle = &engine->plant.throttle;
  unsigned bits = throttle->kind == THROTTLE_CABLE ? NEED_CABLE : NEED_ELECTRONIC;
  bits |= engine->computer.fuel.metering == METERING_AIR_FLOW ? NEED_AIR_FLOW : NEED_PRESSURE;
  return bits | (throttle->open2_position_ratio > 0.0 ? NEED_TWO_TRACKS : NEED_ONE_TRACK);
}

/* A code of the second bank cannot set on an engine with one. */
static bool possible(const struct engine *engine, const char *code) {
  return strcmp(code, "P0174") != 0 || engine->plant.charge.bank_count == 2;
}

static int run_row(const char *model, const struct fault_codes_row *row) {
  struct scene scene;
  scene_init(&scene, model, 150.0);
  scene.solver = &solver_fast;
  scene_set(&scene, 5.0, row->fault, row->value);
  scene_set(&scene, 60.0, "hold_rpm", 2500.0);
  scene_set(&scene, 90.0, "hold_rpm", 0.0);
  scene_key(&scene, 110.0, KEY_OFF);
  scene_key(&scene, 122.0, KEY_ON);
  scene_key(&scene, 125.0, KEY_START);
  scene_run(&scene);
  const bool fits = (row->need & ~has(&scene.engine)) == 0;
  const bool stalled = scene_stalled(&scene);
  int wrong = 0;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const char *code = monitor_rows[i].code;
    const bool set =
        scene_events(&scene, RECORDING_CODE, i, CODE_PENDING) + scene_events(&scene, RECORDING_CODE, i, CODE_CONFIRMED) > 0;
    const bool must = fits && lists(row->must, code) && possible(&scene.engine, code);
    if (must && !set && !stalled) {
      print_error("%s, %s = %g: %s did not set\n", model, row->fault, row->value, code);
      wrong++;
    }
    if (set && !lists(row->must, code) && !lists(row->may, code)) {
      print_error("%s, %s = %g: %s set and should not\n", model, row->fault, row->value, code);
      wrong++;
    }
  }
  scene_end(&scene);
  return wrong;
}

static size_t find_models(char (*models)[NAME_SIZE]) {
  size_t count = 0;
  DIR *folder = opendir("models");
  assert_non_null(folder);
  for (const struct dirent *entry; (entry = readdir(folder)) != NULL;) {
    const size_t length = strlen(entry->d_name);
    if (length < 5 || strcmp(entry->d_name + length - 4, ".cfg") != 0 || count >= MODEL_MAX) continue;
    snprintf(models[count++], NAME_SIZE, "%.*s", (int)(length - 4), entry->d_name);
  }
  closedir(folder);
  return count;
}

static void every_fault_on_every_engine(void **state) {
  (void)state;
  char models[MODEL_MAX][NAME_SIZE];
  const size_t count = find_models(models);
  assert_true(count >= 1);
  int wrong = 0;
  for (size_t k = 0; k < count; k++)
    for (size_t i = 0; i < ARRAY_COUNT(fault_codes_rows); i++) wrong += run_row(models[k], &fault_codes_rows[i]);
  assert_int_equal(wrong, 0);
}

static void a_sound_engine_sets_none(void **state) {
  (void)state;
  char models[MODEL_MAX][NAME_SIZE];
  const size_t count = find_models(models);
  const struct fault_codes_row sound = {"film_um", 0, NEED_NOTHING, "", ""};
  for (size_t k = 0; k < count; k++) assert_int_equal(run_row(models[k], &sound), 0);
}

static void every_condition_has_a_row(void **state) {
  (void)state;
  for (size_t i = 0; i < condition_count; i++) {
    if (condition_rows[i].kind != CONDITION_FAULT) continue;
    bool found = false;
    for (size_t k = 0; k < ARRAY_COUNT(fault_codes_rows); k++)
      found |= strcmp(fault_codes_rows[k].fault, condition_rows[i].field.key) == 0;
    if (!found) print_error("no row for %s in fault_codes.h\n", condition_rows[i].field.key);
    assert_true(found);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_condition_has_a_row),
      cmocka_unit_test(a_sound_engine_sets_none),
      cmocka_unit_test(every_fault_on_every_engine),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
