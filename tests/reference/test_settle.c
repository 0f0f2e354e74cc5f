/* The settled point is where a long run ends.
 *
 * Truth: the program's own run, an independent way to the same equations: ten minutes of them from a clean
 * warm idle, the fault ramped in over half a minute so that the computer can learn on the way. Solver: fixed
 * steps as long as the equations allow, within 0.004 rpm of a tight CVODE run
 * (tests/reference/test_tolerance.c); one case is run by CVODE here too. Cycle scatter is set to nothing in
 * memory, since a settled point has none.
 *
 * The blade has the ideal position loop (gear_ratio 0 in memory) wherever idle speed is compared to a fifth
 * of a revolution: with stiction the idle hunts by a few rpm round the settled point and never comes to rest.
 * The real drive is held to the mean of the hunt, and exactly with its friction taken off.
 *
 * Of each fault and engine one load in four is run, drawn by a seed, of feet on the pedal one in three, of limp-homes one in two; with the
 * argument `all` every one. */
#include "support/check.h"
#include "support/fault_table.h"
#include "support/plant_probe.h"
#include "support/sample.h"
#include "support/scene.h"

#include "analysis/settle/settle.h"
#include "base/attributes.h"

#include <stdio.h>

#define SPEED_RPM    0.2
#define PRESSURE_KPA 0.02
#define STEPPER_RPM  7.0 // off idle a bypass valve stays on one of the two steps between which it swung: up to 7 rpm
#define STEPPER_KPA  0.05
#define RUN_S        600.0
#define FAULT_AT_S   5.0
#define FAULT_RAMP_S 30.0
#define HOLD_AT_S    400.0 // the foot comes when idling has settled

enum { MODEL_MAX = 16, VALUE_MAX = 4, SEED = 6, LOADS_OF = 4, FEET_OF = 3, LIMPS_OF = 2 };

static bool whole; // set once, before the tests

struct value {
  const char *key;
  double value;
};

static const struct value faults[] = {
    {"film_um", 0},          {"film_um", 30},          {"film_um", 60}, {"leak_mm2", 4},       {"fuel_delivery_ratio", 0.85},
    {"maf_gain_ratio", 0.8}, {"spark_offset_deg", -6}, {"drag_nm", 4},  {"exhaust_ratio", 60}, {"map_offset_kpa", -2},
    {"intake_bias_c", 30},
};

static const struct value loads[][VALUE_MAX] = {
    {{NULL, 0}},
    {{"air_conditioning", 1}},
    {{"drive", 1}},
    {{"drive", 1}, {"air_conditioning", 1}, {"electrical_load_w", 700}, {"steering_pct", 50}},
};

enum drive { DRIVE_IDEAL, DRIVE_WITHOUT_FRICTION, DRIVE_REAL };

static void begin(struct scene *scene, const char *model, enum drive drive) {
  scene_init(scene, model, RUN_S);
  scene->solver = &solver_fast;
  scene->engine.plant.combustion.scatter_ratio = 0.0;
  struct drive_params *params = &scene->engine.plant.drive;
  if (drive == DRIVE_IDEAL) params->gear_ratio = 0.0;
  if (drive != DRIVE_REAL) params->slide_nm = params->stick_nm = params->film_stick_nm_m = 0.0;
}

/* The settled point under the scene's conditions as they are at its end. */
static struct settle_point settled(const struct scene *scene, enum settle_learning learning, double learned_ratio) {
  struct settle_query query;
  settle_query_init(&query);
  query.all_balances = true;
  query.conditions = scene->sim ? scene->sim->vehicle.conditions : scene->scenario.initial;
  query.learning = learning;
  query.learned_ratio = learned_ratio;
  struct error error;
  struct settle *settle;
  assert_int_equal(settle_create(&scene->engine, &settle, &error), STATUS_OK);
  struct settle_point point;
  settle_solve(settle, &query, &point);
  settle_destroy(settle);
  return point;
}

static double end_mean(const struct scene *scene, enum channel channel) {
  const double end = scene->scenario.duration_s;
  return scene_mean(scene, end - 20.0, end, channel);
}

/* 1 and a message if run and settled point are not the same. */
static int differs(const struct scene *scene, const struct settle_point *point, const char *what) {
  const double speed = end_mean(scene, CHANNEL_speed_rpm), pressure = end_mean(scene, CHANNEL_manifold_kpa);
  const double *values = point->values;
  const bool either_step = scene->engine.plant.throttle.kind == THROTTLE_CABLE && point->outcome == SETTLE_HELD;
  if (scene_stalled(scene)) {
    if (point->outcome == SETTLE_STALLS) return 0;
    print_error("%s: the run stalls, the settled point %s at %.2f rpm\n", what, settle_outcome_names[point->outcome],
                values[CHANNEL_speed_rpm]);
    return 1;
  }
  if (point->outcome != SETTLE_STALLS && fabs(speed - values[CHANNEL_speed_rpm]) <= (either_step ? STEPPER_RPM : SPEED_RPM) &&
      fabs(pressure - values[CHANNEL_manifold_kpa]) <= (either_step ? STEPPER_KPA : PRESSURE_KPA))
    return 0;
  print_error("%s: the run ends at %.3f rpm, %.4f kPa; the settled point %s at %.3f rpm, %.4f kPa\n", what, speed, pressure,
              settle_outcome_names[point->outcome], values[CHANNEL_speed_rpm], values[CHANNEL_manifold_kpa]);
  return 1;
}

static int run_case(const char *model, const struct value *fault, const struct value *load) {
  struct scene scene;
  begin(&scene, model, DRIVE_IDEAL);
  for (int i = 0; i < VALUE_MAX && load[i].key; i++) scene_initial(&scene, load[i].key, load[i].value);
  scene_ramp(&scene, FAULT_AT_S, FAULT_RAMP_S, fault->key, fault->value);
  scene_run(&scene);
  const struct settle_point point = settled(&scene, SETTLE_LEARNED, 0.0);
  char what[128];
  snprintf(what, sizeof what, "%s, %s = %g, load %td", model, fault->key, fault->value, (load - loads[0]) / VALUE_MAX);
  const int wrong = differs(&scene, &point, what);
  scene_end(&scene);
  return wrong;
}

static void a_long_run_ends_there(void **state) {
  (void)state;
  char models[MODEL_MAX][FAULT_MODEL_SIZE];
  const size_t count = fault_models(models, MODEL_MAX);
  assert_true(count >= 1);
  int wrong = 0;
  size_t index = 0;
  for (size_t k = 0; k < count; k++)
    for (size_t i = 0; i < ARRAY_COUNT(faults); i++)
      for (size_t j = 0; j < ARRAY_COUNT(loads); j++)
        if (sample_takes(whole, SEED, index++, LOADS_OF)) wrong += run_case(models[k], &faults[i], loads[j]);
  assert_int_equal(wrong, 0);
}

/* Puts so much film in that the idle ends that far below its target, whatever the engine file makes of a micrometre. */
static void film_that_droops(struct scene *scene, double rpm) {
  struct settle_point point = {0};
  for (double film_um = 40.0; film_um <= 300.0; film_um += 1.0) {
    scene_initial(scene, "film_um", film_um);
    point = settled(scene, SETTLE_LEARNED, 0.0);
    if (point.outcome == SETTLE_STALLS || point.values[CHANNEL_target_rpm] - point.values[CHANNEL_speed_rpm] >= rpm) break;
  }
  if (point.outcome != SETTLE_DROOPS) fail_msg("no film makes it droop by %g rpm", rpm);
}

/* Every channel, not only speed and pressure: where the run has come to rest to a ten-thousandth of itself.
 */
static void all_channels_agree(void **state) {
  (void)state;
  struct scene scene;
  begin(&scene, "four-16", DRIVE_IDEAL);
  scene.solver = &solver_cvode;
  scene.scenario.duration_s = 200.0;
  film_that_droops(&scene, 50.0);
  scene_run(&scene);
  const struct settle_point point = settled(&scene, SETTLE_LEARNED, 0.0);
  assert_int_equal(point.outcome, SETTLE_DROOPS);
  for (int i = 1; i < CHANNEL_COUNT; i++) {
    const enum channel channel = (enum channel)i;
    if (channel == CHANNEL_codes_pending || channel == CHANNEL_codes_confirmed) continue; // a point has no past
    if (isnan(point.values[i]))
      assert_true(isnan(end_mean(&scene, channel)));
    else
      check_close_at(i, end_mean(&scene, channel), point.values[i], 1e-3 + 1e-4 * fabs(point.values[i]));
  }
  scene_end(&scene);
}

/* With the motor and its springs, friction taken off: the same, and the voltage that holds the blade is right. */
static void the_drive_without_friction(void **state) {
  (void)state;
  const struct value cases[] = {{"film_um", 0},  {"film_um", 60},        {"spring_ratio", 1.5}, {"motor_resistance_ratio", 1.4},
                                {"leak_mm2", 3}, {"tps_ground_ohm", 20}, {"tps1_offset_v", 0.1}};
  for (size_t i = 0; i < ARRAY_COUNT(cases); i++) {
    struct scene scene;
    begin(&scene, "four-16", DRIVE_WITHOUT_FRICTION);
    scene.scenario.duration_s = 300.0;
    scene_initial(&scene, cases[i].key, cases[i].value); // there when the closed stop was learned
    scene_run(&scene);
    const struct settle_point point = settled(&scene, SETTLE_LEARNED, 0.0);
    assert_int_equal(differs(&scene, &point, cases[i].key), 0);
    check_close_at((double)i, end_mean(&scene, CHANNEL_blade_deg), point.values[CHANNEL_blade_deg], 0.001);
    check_close_at((double)i, end_mean(&scene, CHANNEL_motor_v), point.values[CHANNEL_motor_v], 0.01);
    check_close_at((double)i, end_mean(&scene, CHANNEL_motor_a), point.values[CHANNEL_motor_a], 0.005);
    scene_end(&scene);
  }
}

/* The throttle drive fails while the engine idles: its springs take the blade, and the computer limps home if it notices. Where that is
 * too fast and fuel is cut, as with springs that meet a degree further open, the run swings between the two speeds. Without friction a blade that nothing drives would swing for ever;
 * with it the blade comes to rest a little off the springs' middle, within what friction holds against them (preload over 0.004 rad,
 * physics/drive.c), as the settled point's does; then the point is asked for a blade without friction whose springs meet there. */
static void limping_home(void **state) {
  (void)state;
  static const char *const models[] = {"three-10", "four-16", "six-30", "four-15-turbo"};
  static const struct {
    const char *fault;
    struct value load, foot;
    double rest_more_deg; // springs that meet further open
  } cases[] = {{"motor_open", {"film_um", 0}, {"pedal_pct", 0}, 0.0},
               {"motor_open", {"film_um", 60}, {"pedal_pct", 0}, 0.0},
               {"motor_open", {"air_conditioning", 1}, {"pedal_pct", 0}, 0.0},
               {"motor_open", {"film_um", 30}, {"pedal_pct", 30}, 0.0},
               {"motor_open", {"drive", 1}, {"hold_rpm", 2500}, 0.0},
               {"motor_supply_lost", {"film_um", 0}, {"pedal_pct", 0}, 0.0},
               {"motor_supply_lost", {"film_um", 90}, {"pedal_pct", 0}, 0.0},
               {"motor_supply_lost", {"drive", 1}, {"pedal_pct", 0}, 0.0},
               {"motor_supply_lost", {"film_um", 30}, {"pedal_pct", 30}, 0.0},
               {"motor_open", {"film_um", 0}, {"pedal_pct", 0}, 1.0}};
  int wrong = 0, limps = 0, cuts = 0, others = 0;
  size_t index = 0;
  for (size_t k = 0; k < ARRAY_COUNT(models); k++)
    for (size_t i = 0; i < ARRAY_COUNT(cases); i++) {
      if (!sample_takes(whole, SEED, index++, LIMPS_OF)) continue;
      struct scene scene;
      begin(&scene, models[k], DRIVE_REAL);
      scene.engine.plant.drive.rest_opening_rad += cases[i].rest_more_deg * UNITS_RAD_PER_DEG;
      scene_initial(&scene, cases[i].load.key, cases[i].load.value);
      scene_set(&scene, FAULT_AT_S, cases[i].fault, 1);
      scene_set(&scene, HOLD_AT_S, cases[i].foot.key, cases[i].foot.value);
      scene_run(&scene);
      struct drive_params *drive = &scene.engine.plant.drive;
      // the edge faces the film of its own side, which is thicker than the mean by as much as the bias
      const double faced_m = scene.sim->vehicle.conditions.film_m * (1.0 + scene.engine.plant.throttle.film_shape.bias_ratio);
      const double friction_nm = drive->stick_nm + drive->film_stick_nm_m * faced_m;
      const double rest_rad = end_mean(&scene, CHANNEL_blade_deg) * UNITS_RAD_PER_DEG;
      check_close_at((double)i, rest_rad, drive->rest_opening_rad, friction_nm / (drive->spring_preload_nm / 0.004));
      const struct settle_point with_friction = settled(&scene, SETTLE_LEARNED, 0.0);
      check_close_at((double)i, with_friction.values[CHANNEL_blade_deg] * UNITS_RAD_PER_DEG, drive->rest_opening_rad,
                     friction_nm / (drive->spring_preload_nm / 0.004));
      drive->slide_nm = drive->stick_nm = drive->film_stick_nm_m = 0.0;
      drive->rest_opening_rad = rest_rad;
      const struct settle_point point = settled(&scene, SETTLE_LEARNED, 0.0);
      char what[128];
      snprintf(what, sizeof what, "%s, %s, %s = %g, %s = %g", models[k], cases[i].fault, cases[i].load.key, cases[i].load.value,
               cases[i].foot.key, cases[i].foot.value);
      limps += point.outcome == SETTLE_LIMPS;
      cuts += point.outcome == SETTLE_CUTS;
      others += point.outcome == SETTLE_RACES || point.outcome == SETTLE_DROOPS;
      if (point.outcome == SETTLE_CUTS) { // cut within a tick or two; when fuel comes back the port walls take theirs first
        const double least = scene_least(&scene, 500.0, 600.0, CHANNEL_speed_rpm);
        check_close(scene_most(&scene, 500.0, 600.0, CHANNEL_speed_rpm), point.values[CHANNEL_speed_rpm], 15.0);
        check_below(least, point.branch_rad_s[1] / UNITS_RAD_S_PER_RPM);
        check_above(least, point.branch_rad_s[1] / UNITS_RAD_S_PER_RPM - 150.0);
      } else {
        wrong += differs(&scene, &point, what);
        check_close_at((double)i, end_mean(&scene, CHANNEL_spark_deg), point.values[CHANNEL_spark_deg], 0.01);
      }
      scene_end(&scene);
    }
  assert_int_equal(wrong, 0);
  assert_true(limps > 0 && cuts > 0 && others > 0);
}

/* Stiction makes the idle hunt; its mean is still the settled point, to a rpm. */
static void the_mean_of_a_hunt(void **state) {
  (void)state;
  const double films[] = {0.0, 40.0, 80.0};
  for (size_t i = 0; i < ARRAY_COUNT(films); i++) {
    struct scene scene;
    begin(&scene, "four-16", DRIVE_REAL);
    scene_initial(&scene, "film_um", films[i]);
    scene_run(&scene);
    const struct settle_point point = settled(&scene, SETTLE_LEARNED, 0.0);
    check_close_at(films[i], scene_mean(&scene, 300.0, 600.0, CHANNEL_speed_rpm), point.values[CHANNEL_speed_rpm], 1.0);
    check_above_at(films[i], scene_most(&scene, 300.0, 600.0, CHANNEL_speed_rpm), point.values[CHANNEL_speed_rpm] + SPEED_RPM);
    check_below_at(films[i], scene_least(&scene, 300.0, 600.0, CHANNEL_speed_rpm), point.values[CHANNEL_speed_rpm] - SPEED_RPM);
    scene_end(&scene);
  }
}

/* Cleaned, and the computer still believes in the film: learning is switched off, so that the run can rest there. */
static void a_stale_offset_races(void **state) {
  (void)state;
  struct scene scene;
  begin(&scene, "four-16", DRIVE_IDEAL);
  scene_initial(&scene, "film_um", 60);
  scene.engine.computer.air.learn_time_s = 1e9; // settling in learns by itself (simulation.h)
  scene_set(&scene, 5.0, "film_um", 0);
  scene.scenario.duration_s = 200.0;
  scene_run(&scene);
  const double learned = 1e-2 * scene_last(&scene, CHANNEL_learned_pct);
  check_above(learned,
              0.8 * scene.engine.computer.air.learned_most_ratio); // 60 um ask for more than there is
  const struct settle_point point = settled(&scene, SETTLE_STALE, learned);
  assert_int_equal(point.outcome, SETTLE_RACES);
  check_above(point.values[CHANNEL_speed_rpm], point.values[CHANNEL_target_rpm] + 100.0);
  assert_int_equal(differs(&scene, &point, "stale"), 0);
  check_relative(point.values[CHANNEL_effort_pct], 100.0 * scene.engine.computer.air.effort_least_ratio, 1e-9);
  scene_end(&scene);
}

/* Held at 2500 rpm, and held at a pedal. */
static void a_foot_on_the_pedal(void **state) {
  (void)state;
  char models[MODEL_MAX][FAULT_MODEL_SIZE];
  const size_t count = fault_models(models, MODEL_MAX);
  const struct value feet[] = {{"hold_rpm", 2500}, {"hold_rpm", 3500}, {"pedal_pct", 6}};
  const struct value with[] = {{"film_um", 0}, {"film_um", 50}, {"leak_mm2", 4}, {"maf_gain_ratio", 0.85}};
  int wrong = 0;
  size_t index = 0;
  for (size_t k = 0; k < count; k++)
    for (size_t i = 0; i < ARRAY_COUNT(feet); i++)
      for (size_t j = 0; j < ARRAY_COUNT(with); j++) {
        if (!sample_takes(whole, SEED, index++, FEET_OF)) continue;
        struct scene scene;
        begin(&scene, models[k], DRIVE_IDEAL);
        scene_ramp(&scene, FAULT_AT_S, FAULT_RAMP_S, with[j].key, with[j].value);
        scene_set(&scene, HOLD_AT_S, feet[i].key,
                  feet[i].value); // at once: idle control has no time to work against the foot
        scene_run(&scene);
        const struct settle_point point = settled(&scene, SETTLE_LEARNED, 0.0);
        char what[128];
        snprintf(what, sizeof what, "%s, %s = %g, %s = %g", models[k], with[j].key, with[j].value, feet[i].key, feet[i].value);
        wrong += differs(&scene, &point, what);
        const double off = end_mean(&scene, CHANNEL_pedal_pct) - point.values[CHANNEL_pedal_pct];
        if (fabs(off) > 0.05) {
          print_error("%s: pedal of the run %+.3f %% off\n", what, off);
          wrong++;
        }
        assert_int_equal(point.outcome, SETTLE_HELD);
        scene_end(&scene);
      }
  assert_int_equal(wrong, 0);
}

/* A speed to be held above idle is held, or refused; only one below it is answered by idling. */
static void a_speed_just_above_idle(void **state) {
  (void)state;
  char models[MODEL_MAX][FAULT_MODEL_SIZE];
  const size_t count = fault_models(models, MODEL_MAX);
  const double above_rpm[] = {-20.0, 20.0, 50.0, 100.0, 150.0, 250.0};
  for (size_t k = 0; k < count; k++) {
    char path[2 * FAULT_MODEL_SIZE];
    snprintf(path, sizeof path, "models/%s.cfg", models[k]);
    struct plant_probe *probe = plant_probe_create(path);
    plant_probe_settle(probe);
    const double target_rpm = plant_probe_value(probe, CHANNEL_target_rpm);
    for (size_t i = 0; i < ARRAY_COUNT(above_rpm); i++) {
      plant_probe_set(probe, "hold_rpm", target_rpm + above_rpm[i]);
      plant_probe_settle(probe);
      if (above_rpm[i] < 0.0)
        assert_int_equal(probe->point.outcome, SETTLE_IDLES);
      else if (probe->point.outcome != SETTLE_NOT_SETTLED)
        assert_int_equal(probe->point.outcome, SETTLE_HELD);
    }
    plant_probe_destroy(probe);
  }
}

/* Cold and held there: nothing is learned, the effort does what there is to do. */
static void cold_and_held(void **state) {
  (void)state;
  char models[MODEL_MAX][FAULT_MODEL_SIZE];
  const size_t count = fault_models(models, MODEL_MAX);
  const double coolants[] = {20.0, -10.0};
  for (size_t k = 0; k < count; k++)
    for (size_t i = 0; i < ARRAY_COUNT(coolants); i++) {
      struct scene scene;
      begin(&scene, models[k], DRIVE_IDEAL);
      scene_initial(&scene, "coolant_c", coolants[i]);
      scene_initial(&scene, "oil_c", coolants[i]);
      scene_run(&scene);
      const struct settle_point point = settled(&scene, SETTLE_LEARNED, 0.0);
      assert_int_equal(differs(&scene, &point, models[k]), 0);
      check_close(point.values[CHANNEL_learned_pct], 0.0, 1e-12);
      check_above(point.values[CHANNEL_target_rpm], 1000.0);
      scene_end(&scene);
    }
}

/* Left to warm up, the thermostat decides: run and point end at the same coolant and oil. */
static void warmed_up_by_itself(void **state) {
  (void)state;
  struct scene scene;
  begin(&scene, "four-16", DRIVE_IDEAL);
  scene.scenario.duration_s = 9000.0; // oil is slow: 22 kJ/K over 84 W/K are 260 s, coolant behind the thermostat longer
  scene.scenario.record_s = 1.0;
  scene_set(&scene, 1.0, "warmth_held", 0);
  scene_run(&scene);
  const struct settle_point point = settled(&scene, SETTLE_LEARNED, 0.0);
  const struct warmth_params *warmth = &scene.engine.plant.warmth;
  check_above(point.values[CHANNEL_coolant_c] + 273.15, warmth->thermostat_opens_k);
  check_below(point.values[CHANNEL_coolant_c] + 273.15, warmth->thermostat_open_k);
  check_close(end_mean(&scene, CHANNEL_coolant_c), point.values[CHANNEL_coolant_c], 0.05);
  check_close(end_mean(&scene, CHANNEL_oil_c), point.values[CHANNEL_oil_c], 0.05);
  assert_int_equal(differs(&scene, &point, "warm"), 0);
  scene_end(&scene);
}

static void key_on_engine_off(void **state) {
  (void)state;
  struct scene scene;
  begin(&scene, "four-16", DRIVE_REAL);
  struct settle_query query;
  settle_query_init(&query);
  query.engine_off = true;
  struct error error;
  struct settle *settle;
  assert_int_equal(settle_create(&scene.engine, &settle, &error), STATUS_OK);
  struct settle_point point;
  settle_solve(settle, &query, &point);
  settle_destroy(settle);
  assert_int_equal(point.outcome, SETTLE_STANDS);
  check_close(point.values[CHANNEL_speed_rpm], 0.0, 0.0);
  check_close(point.values[CHANNEL_manifold_kpa], 101.325, 1e-9); // ISO 2533 at sea level
  check_close(point.values[CHANNEL_blade_deg], 0.0, 1e-9);        // released pedal, no air asked for
  check_close(point.values[CHANNEL_battery_v], 12.6, 1e-9);
  check_close(point.values[CHANNEL_tps1_v], 0.5, 1e-9); // closed_position_pct of the engine file
  scene.scenario.running = false;
  scene.scenario.duration_s = 10.0;
  scene_key(&scene, 1.0, KEY_ON);
  scene_run(&scene);
  check_close(scene_last(&scene, CHANNEL_blade_deg), point.values[CHANNEL_blade_deg], 1e-9);
  check_close(scene_last(&scene, CHANNEL_tps2_v), point.values[CHANNEL_tps2_v], 1e-9);
  check_close(scene_last(&scene, CHANNEL_manifold_kpa), point.values[CHANNEL_manifold_kpa], 1e-3);
  scene_end(&scene);
}

/* More film, less speed, never more; and at last it stalls, as a run does. */
static void speed_falls_with_film(void **state) {
  (void)state;
  char models[MODEL_MAX][FAULT_MODEL_SIZE];
  const size_t count = fault_models(models, MODEL_MAX);
  for (size_t k = 0; k < count; k++) {
    struct scene scene;
    begin(&scene, models[k], DRIVE_IDEAL);
    const bool cable = scene.engine.plant.throttle.kind == THROTTLE_CABLE;
    double before = INFINITY;
    bool droops = false, stalls = false;
    for (double film = 0.0; film <= 300.0; film += 5.0) {
      scene_initial(&scene, "film_um", film);
      if (cable) scene_initial(&scene, "bypass_film_um", fmin(3.0 * film, 1000.0));
      const struct settle_point point = settled(&scene, SETTLE_LEARNED, 0.0);
      const double speed = point.values[CHANNEL_speed_rpm];
      check_below_at(film, speed, before + 1e-6);
      if (stalls) assert_int_equal(point.outcome, SETTLE_STALLS); // what stalls does not idle with more film
      droops |= point.outcome == SETTLE_DROOPS;
      stalls |= point.outcome == SETTLE_STALLS;
      for (size_t i = 1; i < point.branch_count; i++) check_below_at(film, point.branch_rad_s[i], point.branch_rad_s[0]);
      before = speed;
    }
    assert_true(droops);
    scene_end(&scene);
  }
}

/* No speed with 260 um, and the run that goes there stalls. */
static void too_much_film_stalls(void **state) {
  (void)state;
  struct scene scene;
  begin(&scene, "four-16", DRIVE_IDEAL);
  scene_ramp(&scene, FAULT_AT_S, 400.0, "film_um", 260);
  scene_run(&scene);
  const struct settle_point point = settled(&scene, SETTLE_LEARNED, 0.0);
  assert_int_equal(point.outcome, SETTLE_STALLS);
  assert_int_equal(point.branch_count, 0);
  assert_true(scene_stalled(&scene));
  scene_end(&scene);
}

/* The codes of a droop are those that a run of it sets. */
static void codes_of_a_droop(void **state) {
  (void)state;
  struct scene scene;
  begin(&scene, "four-16", DRIVE_IDEAL);
  film_that_droops(&scene, 120.0); // P0506 is set from 100 rpm
  scene.scenario.duration_s = 60.0;
  scene_run(&scene);
  const struct settle_point point = settled(&scene, SETTLE_LEARNED, 0.0);
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const bool set = scene.sim->vehicle.computer.memory.monitors.code[i].code != CODE_NONE;
    assert_int_equal((point.codes >> i) & 1u, set);
  }
  assert_true((point.codes & monitors_bit(MONITOR_P0506)) != 0);
  scene_end(&scene);
}

int main(int argc, char **argv) {
  whole = sample_is_whole(argc, argv);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_long_run_ends_there),
      cmocka_unit_test(all_channels_agree),
      cmocka_unit_test(the_drive_without_friction),
      cmocka_unit_test(limping_home),
      cmocka_unit_test(the_mean_of_a_hunt),
      cmocka_unit_test(a_stale_offset_races),
      cmocka_unit_test(a_foot_on_the_pedal),
      cmocka_unit_test(a_speed_just_above_idle),
      cmocka_unit_test(cold_and_held),
      cmocka_unit_test(warmed_up_by_itself),
      cmocka_unit_test(key_on_engine_off),
      cmocka_unit_test(speed_falls_with_film),
      cmocka_unit_test(too_much_film_stalls),
      cmocka_unit_test(codes_of_a_droop),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
