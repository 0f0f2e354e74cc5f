/* What the estimate expects of a car is what a run of that car reads, under every condition: cold, with air conditioning, in gear, held.
 *
 * Truth: the model that runs, started, driven and read as the condition's text tells the technician. The forward model takes settled
 * points for that; where the two lie apart, an estimate is sure of what is not so. In standard deviations of the reading. (A run from a
 * cold start here has no long-term trims from before: on the engine metered by pressure that is 1.4.) */
#include "analysis/estimate/estimate_forward.h"

#include "base/attributes.h"
#include "support/check.h"
#include "support/scene.h"

#include <math.h>

#define MOST_OFF 1.5 // sd; several readings that far off in one direction would still not make a wrong cause sure
#define MEAN_S   10.0

static const char *const models[] = {"four-16", "four-18-cable", "three-10", "six-30", "four-15-turbo"};

static void read_off(const struct scene *scene, double from_s, struct estimate_point *point) {
  for (int k = 0; k < CHANNEL_COUNT; k++) point->values[k] = scene_mean(scene, from_s, from_s + MEAN_S, (enum channel)k);
  point->ambient_kpa = 101.325;
  point->runs = !scene_stalled(scene);
}

static struct estimate_point expected(const struct engine *engine, enum estimate_condition condition, double cold_coolant_c,
                                      double cold_intake_c) {
  struct error error;
  error_clear(&error);
  struct estimate_forward *forward = NULL;
  if (estimate_forward_create(engine, &forward, &error) != STATUS_OK) fail_msg("%s", error.text);
  struct estimate_setting setting;
  estimate_setting_init(&setting);
  setting.cold_coolant_c = cold_coolant_c;
  setting.cold_intake_c = cold_intake_c;
  static const double nominal[SCATTER_COUNT] = {0};
  const struct estimate_fault none = {0};
  struct estimate_point points[ESTIMATE_CONDITION_COUNT] = {0};
  estimate_forward_predict(forward, &setting, nominal, &none, ESTIMATE_AT(idle) | 1u << condition, points);
  estimate_forward_destroy(forward);
  return points[condition];
}

static void compare(const char *model, const struct estimate_point *run, const struct estimate_point *forward,
                    enum estimate_condition condition) {
  assert_true(run->runs && forward->runs);
  double worst = 0.0;
  int worst_quantity = 0;
  for (int q = 0; q < ESTIMATE_QUANTITY_COUNT; q++) {
    if (!(estimate_quantities[q].conditions & 1u << condition)) continue;
    const double value = estimate_quantities[q].value(run);
    const double off =
        (value - estimate_quantities[q].value(forward)) / estimate_reading_sd((enum estimate_quantity)q, value, NAN, NAN);
    if (!(fabs(off) > fabs(worst))) continue;
    worst = off;
    worst_quantity = q;
  }
  print_message("%s, %s: %s is furthest off, %+.2f sd\n", model, estimate_conditions[condition].name,
                estimate_quantities[worst_quantity].name, worst);
  if (fabs(worst) > MOST_OFF)
    fail_msg("%s, %s: %s is %.2f sd off", model, estimate_conditions[condition].name, estimate_quantities[worst_quantity].name,
             worst);
}

/* A minute after the start, everything as cold as the night was. */
static void cold_idle(void **state) {
  (void)state;
  static const double cold_c[] = {-10.0, 10.0, 25.0};
  for (size_t m = 0; m < ARRAY_COUNT(models); m++)
    for (size_t i = 0; i < ARRAY_COUNT(cold_c); i++) {
      struct scene scene;
      scene_init(&scene, models[m], 75.0);
      scene.solver = &solver_fast;
      scene.scenario.running = false;
      scene_initial(&scene, "coolant_c", cold_c[i]);
      scene_initial(&scene, "oil_c", cold_c[i]);
      scene_initial(&scene, "intake_c", cold_c[i]);
      scene_initial(&scene, "warmth_held", 0.0);
      scene_key(&scene, 1.0, KEY_ON);
      scene_key(&scene, 5.0, KEY_START);
      scene_run(&scene);
      struct estimate_point run;
      read_off(&scene, 61.0, &run);
      const struct estimate_point forward =
          expected(&scene.engine, ESTIMATE_CONDITION_cold_idle, run.values[CHANNEL_coolant_c], cold_c[i]);
      compare(models[m], &run, &forward, ESTIMATE_CONDITION_cold_idle);
      scene_end(&scene);
    }
}

static void loaded(void **state) {
  (void)state;
  static const struct {
    enum estimate_condition condition;
    const char *key;
    double value;
  } loads[] = {{ESTIMATE_CONDITION_idle_ac, "air_conditioning", 1.0},
               {ESTIMATE_CONDITION_drive, "drive", 1.0},
               {ESTIMATE_CONDITION_hold_2500, "hold_rpm", 2500.0}};
  for (size_t m = 0; m < ARRAY_COUNT(models); m++)
    for (size_t i = 0; i < ARRAY_COUNT(loads); i++) {
      struct scene scene;
      scene_init(&scene, models[m], 45.0);
      scene.solver = &solver_fast;
      if (estimate_forward_has(&scene.engine, loads[i].condition)) {
        scene_set(&scene, 5.0, loads[i].key, loads[i].value);
        scene_run(&scene);
        struct estimate_point run;
        read_off(&scene, 25.0, &run);
        const struct estimate_point forward = expected(&scene.engine, loads[i].condition, 20.0, NAN);
        compare(models[m], &run, &forward, loads[i].condition);
      }
      scene_end(&scene);
    }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cold_idle),
      cmocka_unit_test(loaded),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
