/* The model shows its story by itself: nothing below tells it what an engine with a film does.
 *
 * Truth, named at each check: "invariant" follows from the purpose of the model (a film hides, droops, and a
 * stale learned offset makes a cleaned engine race); "published band" are the trade figures for a warm idle
 * (manifold 15 to 22 inHg below ambient, a clean blade a few per cent open; idle air is held against its sources in
 * reference/validation); "common practice, no source" is what it says. Runs on CVODE, four-16.cfg, cycle
 * scatter on unless said. */
#include "support/scene.h"

#include "base/attributes.h"
#include "support/check.h"

#include <math.h>
#include <pthread.h>
#include <string.h>

#define MODEL      "four-16"
#define TARGET_RPM 850.0

/* Published band: see above. Manifold 26 to 50 kPa absolute. Speed within 10 rpm and its deviation 2 to 8
 * rpm: common practice, no source. */
static void clean_idle(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, MODEL, 60.0);
  scene_run(&scene);
  check_close(scene_mean(&scene, 0.0, 60.0, CHANNEL_target_rpm), TARGET_RPM, 1e-6);
  check_close(scene_mean(&scene, 0.0, 60.0, CHANNEL_speed_rpm), TARGET_RPM, 10.0);
  check_above(scene_mean(&scene, 0.0, 60.0, CHANNEL_manifold_kpa), 26.0);
  check_below(scene_mean(&scene, 0.0, 60.0, CHANNEL_manifold_kpa), 50.0);
  check_above(scene_mean(&scene, 0.0, 60.0, CHANNEL_blade_pct), 1.0);
  check_below(scene_mean(&scene, 0.0, 60.0, CHANNEL_blade_pct), 6.0);
  check_above(scene_mean(&scene, 0.0, 60.0, CHANNEL_tp_pct), 6.0);
  check_below(scene_mean(&scene, 0.0, 60.0, CHANNEL_tp_pct), 16.0);
  check_above(scene_mean(&scene, 10.0, 60.0, CHANNEL_speed_sd_rpm), 2.0);
  check_below(scene_mean(&scene, 10.0, 60.0, CHANNEL_speed_sd_rpm), 8.0);
  assert_false(scene_stalled(&scene));
  scene_end(&scene);
}

/* Mean speed with blade and spark frozen at the clean idle, once the film has come. */
static double frozen_speed_rpm(double film_um) {
  struct scene scene;
  scene_init(&scene, MODEL, 90.0);
  scene_set(&scene, 0.0, "controller_frozen", 1.0);
  scene_ramp(&scene, 1.0, 15.0, "film_um", film_um);
  scene_run(&scene);
  const double speed = scene_mean(&scene, 50.0, 90.0, CHANNEL_speed_rpm);
  scene_end(&scene);
  return speed;
}

/* Invariant: with nobody to help, the thicker the film the slower the idle, until it stalls. How slow is not known from outside. */
static void frozen_controller(void **state) {
  (void)state;
  double before = frozen_speed_rpm(0.0);
  check_close(before, TARGET_RPM, 15.0);
  for (double film = 20.0; film <= 50.0 && before > 0.0; film += 5.0) {
    const double speed = frozen_speed_rpm(film);
    check_below_at(film, speed, before);
    before = speed;
  }
  check_below(before, TARGET_RPM - 100.0);
}

/* The main scenario, run once for the checks below. Its moments: film from 40 s to 440 s, key off at 475 s,
 * second driving cycle from 482 s to 525 s, bore cleaned at 530 s, started at 537 s with the old learned
 * offset. */
static struct scene droop;

static int run_droop(void **state) {
  (void)state;
  scene_read(&droop, "scenarios/film-droop.cfg");
  scene_run(&droop);
  return 0;
}

static int end_droop(void **state) {
  (void)state;
  scene_end(&droop);
  return 0;
}

static double off_target_rpm(double from_s, double to_s) {
  return scene_mean(&droop, from_s, to_s, CHANNEL_speed_rpm) - scene_mean(&droop, from_s, to_s, CHANNEL_target_rpm);
}

/* Invariant: a growing film hides behind the controller for as long as the learned offset has somewhere to
 * go. Any ten seconds are within 10 rpm of target. */
static void hidden_up_to_the_limit(void **state) {
  (void)state;
  const double limit_s = scene_event_s(&droop, RECORDING_CONTROLLER, -1, RECORDING_VALUE_LEARNED_LIMIT);
  check_above(limit_s, 60.0);
  check_above(scene_at(&droop, limit_s, CHANNEL_film_um), 20.0);
  for (double t = 40.0; t + 10.0 < limit_s; t += 5.0) check_close_at(t, off_target_rpm(t, t + 10.0), 0.0, 10.0);
  // and meanwhile the blade opens: that is what hides it
  check_above(scene_mean(&droop, limit_s - 10.0, limit_s, CHANNEL_blade_pct),
              1.3 * scene_mean(&droop, 0.0, 10.0, CHANNEL_blade_pct));
}

/* Invariant: past the limit the idle droops, by more than the 100 rpm that set a code, to the same speed in the next driving cycle:
 * the same film and what was learned are still there. */
static void droops_past_the_limit(void **state) {
  (void)state;
  const double first_rpm = scene_mean(&droop, 462.0, 474.0, CHANNEL_speed_rpm);
  const double again_rpm = scene_mean(&droop, 500.0, 524.0, CHANNEL_speed_rpm);
  check_below(first_rpm, TARGET_RPM - 100.0);
  check_close(again_rpm, first_rpm, 30.0);
  check_below(scene_mean(&droop, 500.0, 524.0, CHANNEL_airflow_gps), 0.9 * scene_mean(&droop, 0.0, 14.0, CHANNEL_airflow_gps));
  assert_false(scene_stalled(&droop));
}

/* Invariant: a starved idle is uneven, visibly, which is taken as half as much again. Cycle scatter grows
 * with burned gas left behind, and the spark has no reserve left to steady it. */
static void starved_idle_is_rough(void **state) {
  (void)state;
  const double clean = scene_mean(&droop, 10.0, 14.9, CHANNEL_speed_sd_rpm);
  check_above(scene_mean(&droop, 510.0, 524.0, CHANNEL_speed_sd_rpm), 1.5 * clean);
  check_above(scene_mean(&droop, 470.0, 474.9, CHANNEL_speed_sd_rpm), 1.5 * clean);
}

/* Published: 13 CCR 1968.2 (d)(2.2): pending at the first detection, confirmed when found again in the next
 * driving cycle. */
static void code_in_two_cycles(void **state) {
  (void)state;
  const double pending_s = scene_event_s(&droop, RECORDING_CODE, MONITOR_P0506, CODE_PENDING);
  const double confirmed_s = scene_event_s(&droop, RECORDING_CODE, MONITOR_P0506, CODE_CONFIRMED);
  check_above(pending_s, 330.0);
  check_below(pending_s, 475.0);
  check_above(confirmed_s, 482.0);
  check_below(confirmed_s, 525.0);
}

/* Invariant: learned offset and codes are kept with the key off. */
static void memory_survives_key_off(void **state) {
  (void)state;
  const double before = scene_at(&droop, 474.5, CHANNEL_learned_pct);
  check_close(scene_at(&droop, 478.0, CHANNEL_learned_pct), before, 0.0); // off
  check_close(scene_at(&droop, 481.0, CHANNEL_learned_pct), before, 0.0); // on again
  check_above(scene_at(&droop, 474.5, CHANNEL_codes_pending), 0.5);
  check_close(scene_at(&droop, 481.0, CHANNEL_codes_pending), scene_at(&droop, 474.5, CHANNEL_codes_pending), 0.0);
  check_above(scene_at(&droop, 524.0, CHANNEL_codes_confirmed), 0.5);
  check_close(scene_at(&droop, 536.0, CHANNEL_codes_confirmed), scene_at(&droop, 524.0, CHANNEL_codes_confirmed), 0.0);
}

/* Invariant: the stale learned offset makes a cleaned engine race by more than 150 rpm; within ten minutes of
 * idling it is unlearned and speed is back within 10 rpm. The scenario gives it five. */
static void races_then_relearns(void **state) {
  (void)state;
  check_above(off_target_rpm(545.0, 560.0), 150.0);
  const double end_s = scene_last(&droop, CHANNEL_time_s);
  check_below(end_s - 537.0, 600.0);
  check_close(off_target_rpm(end_s - 30.0, end_s), 0.0, 10.0);
  check_close(scene_last(&droop, CHANNEL_learned_pct), scene_mean(&droop, 0.0, 14.0, CHANNEL_learned_pct), 5.0);
}

/* Speed over target from 8 s to 30 s after the start of a cleaned engine; the start's own extra air has faded
 * by then. */
static double race_rpm(bool reset) {
  struct scene scene;
  scene_init(&scene, MODEL, 40.0);
  scene_initial(&scene, "film_um", 70.0);
  scene_key(&scene, 2.0, KEY_OFF);
  scene_set(&scene, 5.0, "film_um", 0.0);
  scene_key(&scene, 6.0, KEY_ON);
  if (reset) scene_action(&scene, 7.0, SCENARIO_ACTION_RESET_LEARNED);
  scene_key(&scene, 8.0, KEY_START);
  scene_run(&scene);
  check_above(scene_at(&scene, 4.0, CHANNEL_learned_pct), 20.0); // there was something to forget
  const double race = scene_mean(&scene, 16.0, 40.0, CHANNEL_speed_rpm) - scene_mean(&scene, 16.0, 40.0, CHANNEL_target_rpm);
  scene_end(&scene);
  return race;
}

/* Invariant: the scan tool's reset after the clean takes the race away: within 20 rpm, against more than 150
 * without. */
static void reset_takes_the_race_away(void **state) {
  (void)state;
  check_above(race_rpm(false), 150.0);
  check_close(race_rpm(true), 0.0, 20.0);
}

/* ---- how fast the film comes ---- */

static bool survives_sudden_film(double film_um) {
  struct scene scene;
  scene_init(&scene, MODEL, 75.0);
  scene_ramp(&scene, 10.0, 0.5, "film_um", film_um);
  scene_run(&scene);
  const bool survived = !scene_stalled(&scene);
  scene_end(&scene);
  return survived;
}

/* Slow: as fast as the learned offset follows, 0.2 um/s, from a film that has been learned. */
static bool survives_slow_film(double film_um) {
  const double learned_um = 45.0, growing_s = (film_um - learned_um) / 0.2;
  struct scene scene;
  scene_init(&scene, MODEL, 10.0 + growing_s + 65.0);
  scene_initial(&scene, "film_um", learned_um);
  scene_ramp(&scene, 10.0, growing_s, "film_um", film_um);
  scene_run(&scene);
  const bool survived = !scene_stalled(&scene);
  scene_end(&scene);
  return survived;
}

/* The thickest film that is survived, within 2 um, between one that is and one that is not. */
static double thickest_survived_um(bool (*survives)(double film_um), double low_um, double high_um) {
  assert_true(survives(low_um));
  assert_false(survives(high_um));
  while (high_um - low_um > 2.0) {
    const double middle_um = 0.5 * (low_um + high_um);
    if (survives(middle_um))
      low_um = middle_um;
    else
      high_um = middle_um;
  }
  return low_um;
}

/* Invariant: what comes at once finds nothing learned against it and stalls sooner than what grows slowly. */
static void sudden_film_stalls_earlier(void **state) {
  (void)state;
  const double sudden_um = thickest_survived_um(survives_sudden_film, 40.0, 104.0);
  const double slow_um = thickest_survived_um(survives_slow_film, 90.0, 154.0);
  print_message("thickest film survived: %.0f um when it comes at once, %.0f um when it grows slowly\n", sudden_um, slow_um);
  check_below(sudden_um + 4.0, slow_um);
}

/* ---- off idle ---- */

struct held {
  double air_gps, blade_pct;
};

static struct held held_at(double film_um, double hold_rpm) {
  struct scene scene;
  scene_init(&scene, MODEL, 60.0);
  scene_initial(&scene, "film_um", film_um);
  scene_set(&scene, 2.0, "hold_rpm", hold_rpm);
  scene_run(&scene);
  if (hold_rpm > 0.0) check_close(scene_mean(&scene, 30.0, 60.0, CHANNEL_speed_rpm), hold_rpm, 5.0);
  const struct held held = {scene_mean(&scene, 30.0, 60.0, CHANNEL_airflow_gps),
                            scene_mean(&scene, 30.0, 60.0, CHANNEL_blade_pct)};
  scene_end(&scene);
  return held;
}

/* Invariant: held at 2500 rpm the engine takes the air it needs, film or not (within 2 %), and the film asks
 * for far less of the opening, as a share, than at idle: less than half is demanded. */
static void film_vanishes_off_idle(void **state) {
  (void)state;
  const struct held clean = held_at(0.0, 2500.0), filmed = held_at(60.0, 2500.0);
  const struct held idle_clean = held_at(0.0, 0.0), idle_filmed = held_at(60.0, 0.0);
  const double held_change = filmed.blade_pct / clean.blade_pct - 1.0;
  const double idle_change = idle_filmed.blade_pct / idle_clean.blade_pct - 1.0;
  print_message("60 um: 2500 rpm air %.4f to %.4f g/s, opening %.3f to %.3f %% (%+.1f %%); idle opening %.3f "
                "to %.3f %% (%+.1f %%)\n",
                clean.air_gps, filmed.air_gps, clean.blade_pct, filmed.blade_pct, 100.0 * held_change, idle_clean.blade_pct,
                idle_filmed.blade_pct, 100.0 * idle_change);
  check_relative(filmed.air_gps, clean.air_gps, 0.02);
  check_above(idle_change, 0.2);
  check_below(held_change, 0.5 * idle_change);
}

struct wide_open {
  const struct plant_params *params;
  struct plant_inputs inputs;
};

static void wide_open_rates(double time_s, const double *state, double *rates, const void *context) {
  const struct wide_open *w = context;
  (void)time_s;
  plant_rates(w->params, &w->inputs, (const struct plant_state *)state, (struct plant_state *)rates);
}

/* Settled air flow, blade square open, the crank held at 2500 rpm by an inertia too great to notice. */
static double wide_open_air_kg_s(const struct scene *idling, double film_m) {
  struct plant_params params = idling->engine.plant;
  params.crank.inertia_kg_m2 = 1e12;
  struct bore_table table;
  const struct bore_film film = {film_m, 0.0};
  bore_table_init(&table, &params.throttle.bore, &params.throttle.film_shape, &film);
  struct wide_open w = {&params, idling->sim->vehicle.inputs};
  w.inputs.bore = &table;
  w.inputs.mode.blade = BLADE_HELD;
  struct plant_state state = idling->sim->vehicle.state;
  state.blade_rad = 0.5 * UNITS_PI;
  state.blade_rate_rad_s = 0.0;
  state.crank_speed_rad_s = 2500.0 * UNITS_RAD_S_PER_RPM;
  double nominal[PLANT_STATE_COUNT];
  for (int i = 0; i < PLANT_STATE_COUNT; i++) nominal[i] = plant_state_rows[i].nominal;
  const struct solver_problem problem = {
      .state_count = PLANT_STATE_COUNT, .rates = wide_open_rates, .context = &w, .nominal = nominal};
  struct solver_options options = solver_options_default();
  options.relative_tolerance = 1e-9;
  struct solver *solver = NULL;
  struct error error;
  error_clear(&error);
  assert_int_equal(solver_cvode.create(&problem, &options, &solver, &error), STATUS_OK);
  double now_s = 0.0;
  for (int i = 1; i <= 500; i++) { // 5 s: a hundred times the filling time of an open manifold
    enum solver_stop stop;
    size_t event;
    if (solver_advance(solver, &now_s, 0.01 * i, (double *)&state, &stop, &event, &error) != STATUS_OK)
      fail_msg("%s", error.text);
  }
  solver_destroy(solver);
  struct plant_signals signals;
  plant_signals(&params, &w.inputs, &state, &signals);
  check_relative(signals.cylinder_kg_s, signals.inflow_kg_s, 1e-6); // it has settled
  check_above(state.manifold_pressure_pa, 90e3);                    // and it is wide open
  return signals.airflow_kg_s;
}

/* Invariant: at wide-open throttle nobody notices: 100 um take less than 0.1 % of the air at 2500 rpm. */
static void film_does_nothing_wide_open(void **state) {
  (void)state;
  struct scene scene; // a warm idle, from which the blade is thrown open
  scene_init(&scene, MODEL, 1.0);
  scene_run(&scene);
  const double clean = wide_open_air_kg_s(&scene, 0.0), filmed = wide_open_air_kg_s(&scene, 100e-6);
  check_relative(filmed, clean, 1e-3);
  scene_end(&scene);
}

/* ---- loads ---- */

/* Lowest speed in the three seconds after the compressor cuts in; without scatter, so that the film is the
 * only difference. */
static double lowest_after_compressor_rpm(double film_um) {
  struct scene scene;
  scene_init(&scene, MODEL, 20.0);
  scene.engine.plant.combustion.scatter_ratio = 0.0;
  scene_initial(&scene, "film_um", film_um);
  scene_set(&scene, 10.0, "air_conditioning", 1.0);
  scene_run(&scene);
  const double lowest = scene_least(&scene, 10.0, 13.0, CHANNEL_speed_rpm);
  scene_end(&scene);
  return lowest;
}

/* Invariant: past the controller's limit a load takes the engine lower than a clean one, the lower the
 * thicker the film. (While the film hides the lowest speed is within some 3 rpm of the clean engine's, see
 * docs/cliff.md.) */
static void load_step_goes_deeper(void **state) {
  (void)state;
  const double clean = lowest_after_compressor_rpm(0.0), thin = lowest_after_compressor_rpm(60.0),
               thick = lowest_after_compressor_rpm(76.0);
  print_message("lowest speed after the compressor cuts in: clean %.1f, 60 um %.1f, 76 um %.1f rpm\n", clean, thin, thick);
  check_below(thin, clean);
  check_below(thick, thin);
}

/* ---- the same again ---- */

/* A run with a bit of everything: scatter, film, load, key. */
static void build_variety(struct scene *scene, uint64_t seed) {
  scene_init(scene, MODEL, 40.0);
  scene->scenario.seed = seed;
  scene_ramp(scene, 2.0, 10.0, "film_um", 33.3);
  scene_set(scene, 15.0, "air_conditioning", 1.0);
  scene_set(scene, 20.0, "air_conditioning", 0.0);
  scene_key(scene, 25.0, KEY_OFF);
  scene_key(scene, 28.0, KEY_ON);
  scene_key(scene, 29.0, KEY_START);
}

static bool same_recording(const struct recording *a, const struct recording *b) {
  return a->row_count == b->row_count && a->event_count == b->event_count &&
         memcmp(a->values, b->values, a->row_count * CHANNEL_COUNT * sizeof(double)) == 0 &&
         memcmp(a->events, b->events, a->event_count * sizeof *a->events) == 0;
}

enum { JOB_COUNT = 4, THREAD_COUNT = 2 };

struct worker {
  struct scene *jobs[JOB_COUNT / THREAD_COUNT];
  enum status status;
  struct error error;
};

/* No assertion in here: cmocka's may not be used off the main thread. */
static void *work(void *user) {
  struct worker *worker = user;
  for (size_t i = 0; i < ARRAY_COUNT(worker->jobs) && worker->status == STATUS_OK; i++)
    worker->status = scene_try(worker->jobs[i], &worker->error);
  return NULL;
}

/* Invariant: engine, scenario, seed and solver decide every byte, in one thread or in several. */
static void same_seed_same_bytes(void **state) {
  (void)state;
  static struct scene serial[JOB_COUNT], threaded[JOB_COUNT], again;
  static struct worker workers[THREAD_COUNT];
  for (int i = 0; i < JOB_COUNT; i++) {
    build_variety(&serial[i], (uint64_t)i + 1);
    scene_run(&serial[i]);
    build_variety(&threaded[i], (uint64_t)i + 1);
    workers[i % THREAD_COUNT].jobs[i / THREAD_COUNT] = &threaded[i];
  }
  build_variety(&again, 1);
  scene_run(&again);
  assert_true(same_recording(&again.recording, &serial[0].recording));
  assert_false(same_recording(&serial[1].recording, &serial[0].recording));
  pthread_t threads[THREAD_COUNT];
  for (int i = 0; i < THREAD_COUNT; i++) {
    error_clear(&workers[i].error);
    assert_int_equal(pthread_create(&threads[i], NULL, work, &workers[i]), 0);
  }
  for (int i = 0; i < THREAD_COUNT; i++) pthread_join(threads[i], NULL);
  for (int i = 0; i < THREAD_COUNT; i++)
    if (workers[i].status != STATUS_OK) fail_msg("%s", workers[i].error.text);
  for (int i = 0; i < JOB_COUNT; i++) {
    assert_true(same_recording(&threaded[i].recording, &serial[i].recording));
    scene_end(&serial[i]);
    scene_end(&threaded[i]);
  }
  scene_end(&again);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(clean_idle),
      cmocka_unit_test(frozen_controller),
      cmocka_unit_test(hidden_up_to_the_limit),
      cmocka_unit_test(droops_past_the_limit),
      cmocka_unit_test(starved_idle_is_rough),
      cmocka_unit_test(code_in_two_cycles),
      cmocka_unit_test(memory_survives_key_off),
      cmocka_unit_test(races_then_relearns),
      cmocka_unit_test(reset_takes_the_race_away),
      cmocka_unit_test(sudden_film_stalls_earlier),
      cmocka_unit_test(film_vanishes_off_idle),
      cmocka_unit_test(film_does_nothing_wide_open),
      cmocka_unit_test(load_step_goes_deeper),
      cmocka_unit_test(same_seed_same_bytes),
  };
  return cmocka_run_group_tests(tests, run_droop, end_droop);
}
