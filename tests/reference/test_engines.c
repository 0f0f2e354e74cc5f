/* Each engine in models/ idles as its kind does: clean, loaded, cold, started, filmed and cleaned.
 *
 * Truth, named at each check: "published band" are trade figures for a warm idle, read in public pages:
 * manifold from 15 to 22 inHg of vacuum (a textbook's chapter on vacuum); a clean blade some 5 % open
 * (mri-auto-diagnostics.com). Idle air per litre is held against its sources in reference/validation. "Common practice, no source" is what it
 * says; "calibration" is what the engine file promises of itself; "invariant" follows from the purpose of
 * the model. Scatter on. The fast solver runs, whose means are CVODE's (test_fast.c); with the argument `all` CVODE itself. */
#include "support/scene.h"

#include "base/attributes.h"
#include "base/units.h"
#include "support/check.h"
#include "support/sample.h"

#include <math.h>

static bool whole; // set once, before the tests

static void begin(struct scene *scene, const char *model, double duration_s) {
  scene_init(scene, model, duration_s);
  if (!whole) scene->solver = &solver_fast;
}

struct subject {
  const char *model;
  double target_rpm;
  double fast_idle_rpm; // asked for at 0 C
};

static const struct subject subjects[] = {
    {"four-16", 850.0, 1450.0}, {"four-18-cable", 800.0, 1250.0}, {"three-10", 880.0, 1450.0},
    {"six-30", 700.0, 1350.0},  {"four-15-turbo", 760.0, 1450.0},
};

static double off_target_rpm(const struct scene *scene, double from_s, double to_s) {
  return scene_mean(scene, from_s, to_s, CHANNEL_speed_rpm) - scene_mean(scene, from_s, to_s, CHANNEL_target_rpm);
}

/* ---- clean and warm ---- */

/* Calibration: a new engine has nothing to learn, within 1 % of its base air. Common practice, no source:
 * speed within 10 rpm, its deviation 2 to 8 rpm, position reading 6 to 16 %. The rest published bands. */
static void check_clean_idle(const struct subject *subject) {
  struct scene scene;
  begin(&scene, subject->model, 60.0);
  scene_run(&scene);
  check_close(scene_mean(&scene, 0.0, 60.0, CHANNEL_target_rpm), subject->target_rpm, 1e-6);
  check_close(off_target_rpm(&scene, 0.0, 60.0), 0.0, 10.0);
  check_close(scene_mean(&scene, 0.0, 60.0, CHANNEL_learned_pct), 0.0, 1.0);
  check_close(scene_mean(&scene, 0.0, 60.0, CHANNEL_effort_pct), 0.0, 1.0);
  check_above(scene_mean(&scene, 0.0, 60.0, CHANNEL_manifold_kpa), 26.0);
  check_below(scene_mean(&scene, 0.0, 60.0, CHANNEL_manifold_kpa), 50.0);
  check_above(scene_mean(&scene, 0.0, 60.0, CHANNEL_tp_pct), 6.0);
  check_below(scene_mean(&scene, 0.0, 60.0, CHANNEL_tp_pct), 16.0);
  check_above(scene_mean(&scene, 10.0, 60.0, CHANNEL_speed_sd_rpm), 2.0);
  check_below(scene_mean(&scene, 10.0, 60.0, CHANNEL_speed_sd_rpm), 8.0);
  if (scene.engine.plant.throttle.kind == THROTTLE_CABLE) {
    // common practice, no source: a clean valve idles at a fifth to a quarter of its travel
    const double travel = scene.engine.plant.bypass.step_count;
    check_close(scene_mean(&scene, 0.0, 60.0, CHANNEL_bypass_steps) / travel, 0.23, 0.05);
  } else {
    check_above(scene_mean(&scene, 0.0, 60.0, CHANNEL_blade_pct), 1.0);
    check_below(scene_mean(&scene, 0.0, 60.0, CHANNEL_blade_pct), 6.0);
  }
  scene_end(&scene);
}

static void clean_idle(void **state) {
  (void)state;
  for (size_t i = 0; i < ARRAY_COUNT(subjects); i++) check_clean_idle(&subjects[i]);
}

/* ---- loads ---- */

/* Calibration: the feed-forward meets each load, so that the effort moves by less than 2 %. Invariants: the
 * load is one (the engine takes at least 5 % more air), and speed dips by at least 20 rpm where it comes at
 * once, on the belt; a converter takes hold slowly and lowers the target. */
static void check_load(const struct subject *subject, const char *load, double value, bool belt) {
  struct scene scene;
  begin(&scene, subject->model, 40.0);
  scene_set(&scene, 20.0, load, value);
  scene_run(&scene);
  const double before = scene_mean(&scene, 0.0, 19.0, CHANNEL_effort_pct) + scene_mean(&scene, 0.0, 19.0, CHANNEL_learned_pct);
  const double after = scene_mean(&scene, 28.0, 40.0, CHANNEL_effort_pct) + scene_mean(&scene, 28.0, 40.0, CHANNEL_learned_pct);
  check_close(after, before, 2.0);
  check_close(off_target_rpm(&scene, 28.0, 40.0), 0.0, 10.0);
  check_above(scene_mean(&scene, 28.0, 40.0, CHANNEL_airflow_gps), 1.05 * scene_mean(&scene, 0.0, 19.0, CHANNEL_airflow_gps));
  if (belt)
    check_below(scene_least(&scene, 20.0, 23.0, CHANNEL_speed_rpm), scene_mean(&scene, 28.0, 40.0, CHANNEL_target_rpm) - 20.0);
  assert_false(scene_stalled(&scene));
  scene_end(&scene);
}

static void loads_are_met(void **state) {
  (void)state;
  for (size_t i = 0; i < ARRAY_COUNT(subjects); i++) {
    struct scene scene; // only to see whether it has a converter
    begin(&scene, subjects[i].model, 1.0);
    check_load(&subjects[i], "air_conditioning", 1.0, true);
    check_load(&subjects[i], "steering_pct", 100.0, true);
    if (scene.engine.plant.loads.converter_torque_nm > 0.0) check_load(&subjects[i], "drive", 1.0, false);
    scene_end(&scene);
  }
}

/* ---- starts and warming up ---- */

#define KEY_ON_S 1.0
#define START_S  2.0

/* Everything as cold as the night was; a warm engine in mild air. */
static void build_start(struct scene *scene, const struct subject *subject, double coolant_c, double duration_s) {
  begin(scene, subject->model, duration_s);
  scene->scenario.running = false;
  scene_initial(scene, "coolant_c", coolant_c);
  scene_initial(scene, "oil_c", coolant_c);
  scene_initial(scene, "intake_c", fmin(coolant_c, 20.0));
  scene_initial(scene, "warmth_held", 0.0);
  scene_key(scene, KEY_ON_S, KEY_ON);
  scene_key(scene, START_S, KEY_START);
}

/* Common practice, no source: 0.5 to 3 s on the starter, which turns the engine at 120 to 250 rpm, more
 * slowly in the cold; a flare of not more than 500 rpm, of at least 200 where the engine is warm.
 * Invariant: then it idles within 60 rpm of what is asked. Returns the cranking speed. */
static double check_start(const struct subject *subject, double coolant_c) {
  struct scene scene;
  build_start(&scene, subject, coolant_c, 30.0);
  scene.scenario.record_s = 0.02;
  scene_run(&scene);
  const double started_s = scene_event_s(&scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STARTED);
  check_above_at(coolant_c, started_s - START_S, 0.5);
  check_below_at(coolant_c, started_s - START_S, 3.0);
  const double cranking = scene_mean(&scene, START_S + 0.3, START_S + 0.5, CHANNEL_speed_rpm);
  check_above_at(coolant_c, cranking, 120.0);
  check_below_at(coolant_c, cranking, 250.0);
  const double flare =
      scene_most(&scene, started_s, started_s + 5.0, CHANNEL_speed_rpm) - scene_at(&scene, started_s + 1.0, CHANNEL_target_rpm);
  if (coolant_c > 80.0) check_above_at(coolant_c, flare, 200.0);
  check_below_at(coolant_c, flare, 500.0);
  check_close_at(coolant_c, off_target_rpm(&scene, 10.0, 30.0), 0.0, 60.0);
  assert_false(scene_stalled(&scene));
  scene_end(&scene);
  return cranking;
}

static void starts_at_four_temperatures(void **state) {
  (void)state;
  static const double coolant_c[] = {-20.0, 0.0, 20.0, 90.0};
  for (size_t i = 0; i < ARRAY_COUNT(subjects); i++) {
    double colder_rpm = 0.0;
    for (size_t j = 0; j < ARRAY_COUNT(coolant_c); j++) {
      const double cranking_rpm = check_start(&subjects[i], coolant_c[j]);
      check_above_at(coolant_c[j], cranking_rpm, colder_rpm);
      colder_rpm = cranking_rpm;
    }
  }
}

#define LONGEST_S 2400.0

/* Calibration: from 10 s after the start on, speed within 60 rpm of target and controller and learned
 * offset together below 3 % of base air, in windows of 4 s; one window in fifty may be beyond. Returns the
 * time from the start to 80 C, s. */
static double check_warm_up(const struct subject *subject, double coolant_c) {
  struct scene scene;
  build_start(&scene, subject, coolant_c, LONGEST_S);
  scene_run(&scene);
  int windows = 0, strained = 0;
  double warm_s = NAN;
  for (double t = 14.0; t + 4.0 <= LONGEST_S; t += 4.0) {
    check_close_at(t, off_target_rpm(&scene, t, t + 4.0), 0.0, 60.0);
    const double effort =
        scene_mean(&scene, t, t + 4.0, CHANNEL_effort_pct) + scene_mean(&scene, t, t + 4.0, CHANNEL_learned_pct);
    strained += fabs(effort) > 3.0;
    windows++;
    if (isnan(warm_s) && scene_at(&scene, t, CHANNEL_coolant_c) >= 80.0) warm_s = t - START_S;
  }
  if (strained * 50 > windows) fail_msg("%s from %g C: %d of %d windows strained", subject->model, coolant_c, strained, windows);
  const double middle_rpm = scene_mean(&scene, 14.0, 30.0, CHANNEL_target_rpm);
  check_above(middle_rpm, subject->target_rpm + 200.0); // a fast idle, and one that goes away
  check_close(scene_last(&scene, CHANNEL_target_rpm), subject->target_rpm, 1e-6);
  scene_end(&scene);
  return warm_s;
}

/* Common practice, no source: 10 to 20 minutes of idling from 20 to 80 C in mild air; longer from -20. */
static void warms_up(void **state) {
  (void)state;
  for (size_t i = 0; i < ARRAY_COUNT(subjects); i++) {
    const double mild_s = check_warm_up(&subjects[i], 20.0), frost_s = check_warm_up(&subjects[i], -20.0);
    print_message("%s: 80 C after %.1f min from 20 C, %.1f min from -20 C\n", subjects[i].model, mild_s / 60.0, frost_s / 60.0);
    check_above(mild_s, 10.0 * 60.0);
    check_below(mild_s, 20.0 * 60.0);
    check_above(frost_s, mild_s);
  }
}

/* Common practice, no source: the cold idle asked for at 0 C, some 1250 to 1500 rpm. */
static void asks_for_a_fast_idle(void **state) {
  (void)state;
  for (size_t i = 0; i < ARRAY_COUNT(subjects); i++) {
    struct scene scene;
    begin(&scene, subjects[i].model, 2.0);
    const struct curve *target = &scene.engine.computer.target.by_coolant;
    check_close(curve_value(target, 273.15) / UNITS_RAD_S_PER_RPM, subjects[i].fast_idle_rpm, 1.0);
    for (size_t j = 1; j < target->count; j++) check_below(target->y[j], target->y[j - 1] + 1e-9);
    scene_end(&scene);
  }
}

/* ---- filmed ---- */

/* Where the deposit sits, how much of it hides, and how much starves the engine; um. */
struct deposit {
  const char *model;
  double hidden_bore, hidden_edge, hidden_bypass;
  double starved_bore, starved_edge, starved_bypass;
  double race_rpm; // above target when started clean with what was learned against the deposit; at least
};

static const struct deposit deposits[] = {
    {"four-16", 30.0, 0.0, 0.0, 82.0, 0.0, 0.0, 100.0},
    {"four-16", 0.0, 28.0, 0.0, 0.0, 80.0, 0.0, 100.0},
    {"three-10", 22.0, 0.0, 0.0, 75.0, 0.0, 0.0, 100.0},
    {"three-10", 0.0, 22.0, 0.0, 0.0, 70.0, 0.0, 100.0},
    {"six-30", 30.0, 0.0, 0.0, 98.0, 0.0, 0.0, 100.0},
    {"six-30", 0.0, 30.0, 0.0, 0.0, 95.0, 0.0, 100.0},
    {"four-15-turbo", 24.0, 0.0, 0.0, 75.0, 0.0, 0.0, 100.0},
    {"four-15-turbo", 0.0, 24.0, 0.0, 0.0, 72.0, 0.0, 100.0},
    // the blade passes half of a cable engine's idle air: all of that gone alone costs some 60 rpm
    {"four-18-cable", 20.0, 0.0, 0.0, 110.0, 0.0, 40.0, 80.0},
    {"four-18-cable", 0.0, 20.0, 0.0, 0.0, 110.0, 40.0, 80.0},
    {"four-18-cable", 0.0, 0.0, 60.0, 0.0, 0.0, 225.0, 80.0},
    {"four-18-cable", 8.0, 0.0, 40.0, 30.0, 0.0, 100.0, 80.0},
};

#define GROWN_S  80.0  // the deposit grows from 10 s until then
#define OFF_S    140.0 // key off, and cleaned while it stands
#define AGAIN_S  150.0
#define FORGOT_S 420.0
#define FILMED_S 440.0

static void build_deposit(struct scene *scene, const struct deposit *deposit) {
  begin(scene, deposit->model, FILMED_S);
  scene_initial(scene, "film_um", deposit->hidden_bore);
  scene_initial(scene, "edge_film_um", deposit->hidden_edge);
  scene_initial(scene, "bypass_film_um", deposit->hidden_bypass);
  scene_ramp(scene, 10.0, GROWN_S - 10.0, "film_um", deposit->starved_bore);
  scene_ramp(scene, 10.0, GROWN_S - 10.0, "edge_film_um", deposit->starved_edge);
  scene_ramp(scene, 10.0, GROWN_S - 10.0, "bypass_film_um", deposit->starved_bypass);
  scene_key(scene, OFF_S, KEY_OFF);
  scene_set(scene, OFF_S + 5.0, "film_um", 0.0);
  scene_set(scene, OFF_S + 5.0, "edge_film_um", 0.0);
  scene_set(scene, OFF_S + 5.0, "bypass_film_um", 0.0);
  scene_key(scene, AGAIN_S - 2.0, KEY_ON);
  scene_key(scene, AGAIN_S, KEY_START);
}

/* Invariants: a thin deposit hides behind what was learned; a thick one leaves the idle more than 100 rpm
 * low with controller and learned offset at their limits, and sets the code for it;
 * after the clean the engine races until it has forgotten. The bypass valve's learned limit lies within
 * its travel. */
static void check_deposit(const struct deposit *deposit) {
  struct scene scene;
  build_deposit(&scene, deposit);
  scene_run(&scene);
  const double at = deposit->starved_bore + deposit->starved_edge + deposit->starved_bypass; // to tell rows apart
  const struct idle_air_params *air = &scene.engine.computer.air;
  check_close_at(at, off_target_rpm(&scene, 0.0, 10.0), 0.0, 15.0);
  check_above_at(at, scene_mean(&scene, 0.0, 10.0, CHANNEL_learned_pct), 5.0);
  check_below_at(at, scene_mean(&scene, 0.0, 10.0, CHANNEL_learned_pct), 100.0 * air->learned_most_ratio - 1.0);
  check_below_at(at, off_target_rpm(&scene, GROWN_S + 20.0, OFF_S), -100.0);
  check_above_at(at, scene_mean(&scene, GROWN_S + 20.0, OFF_S - 0.1, CHANNEL_speed_rpm), 400.0);
  check_close_at(at, scene_at(&scene, OFF_S - 1.0, CHANNEL_learned_pct), 100.0 * air->learned_most_ratio, 1e-6);
  check_close_at(at, scene_at(&scene, OFF_S - 1.0, CHANNEL_effort_pct), 100.0 * air->effort_most_ratio, 1e-6);
  assert_int_equal(scene_events(&scene, RECORDING_CODE, MONITOR_P0506, CODE_PENDING), 1);
  check_below_at(at, scene_event_s(&scene, RECORDING_CODE, MONITOR_P0506, CODE_PENDING), OFF_S);
  if (scene.engine.plant.throttle.kind == THROTTLE_CABLE)
    check_below_at(at, scene_at(&scene, OFF_S - 1.0, CHANNEL_bypass_steps), 0.8 * scene.engine.plant.bypass.step_count);
  check_above_at(at, off_target_rpm(&scene, AGAIN_S + 10.0, AGAIN_S + 25.0), deposit->race_rpm);
  check_close_at(at, off_target_rpm(&scene, FORGOT_S, FILMED_S), 0.0, 20.0);
  assert_false(scene_stalled(&scene));
  scene_end(&scene);
}

static void starves_and_races(void **state) {
  (void)state;
  for (size_t i = 0; i < ARRAY_COUNT(deposits); i++) check_deposit(&deposits[i]);
}

int main(int argc, char **argv) {
  whole = sample_is_whole(argc, argv);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(clean_idle),           cmocka_unit_test(loads_are_met), cmocka_unit_test(starts_at_four_temperatures),
      cmocka_unit_test(asks_for_a_fast_idle), cmocka_unit_test(warms_up),      cmocka_unit_test(starves_and_races),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
