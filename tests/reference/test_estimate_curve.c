/* An opening curve as a reading of estimate, on logs made by runs: what the model predicts for it, what it narrows, what it rules out.
 * Truth: the fault that the run had; the area lost by the bore's integral at the blade angle where the run idled, and for logs the
 * curve measured from them, which shares nothing with the prediction. */
#include "support/check.h"
#include "support/scene.h"

#include "analysis/estimate/estimate.h"
#include "analysis/estimate/estimate_curve.h"
#include "base/attributes.h"
#include "base/random.h"
#include "physics/slot.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define IDLE_S   40.0
#define LENGTH_S 140.0
#define FILM_UM  45.0

/* ---- Runs and their logs ---- */

/* Warm idle, then the pedal goes down slowly. condition: NULL for none. */
static void make_run(struct scene *scene, const char *model, const char *condition, double value) {
  scene_init(scene, model, LENGTH_S);
  scene->solver = &solver_fast;
  scene->scenario.settled = true;
  if (condition) scene_initial(scene, condition, value);
  scene_ramp(scene, IDLE_S, 95.0, "pedal_pct", 16.0);
  scene_run(scene);
}

/* As a fine scan tool reads it: noise of a track and of an air-flow sensor, and another drift of both each day. */
static void read_log(const struct scene *scene, uint64_t day, struct recording *log) {
  const struct recording *run = &scene->recording;
  const double gain = 1.0 + 0.014 * random_normal(day, RANDOM_STREAM_SENSOR, 1),
               slip_pct = 0.05 * random_normal(day, RANDOM_STREAM_SENSOR, 2);
  recording_init(log);
  for (size_t row = 0; row < run->row_count; row++) {
    double values[CHANNEL_COUNT];
    for (int i = 0; i < CHANNEL_COUNT; i++) values[i] = recording_value(run, row, (enum channel)i);
    values[CHANNEL_manifold_kpa] = NAN; // no gauge
    values[CHANNEL_tp_pct] += slip_pct + 0.04 * random_normal(day, RANDOM_STREAM_SENSOR, 10 + 3 * row);
    values[CHANNEL_maf_gps] *= gain * (1.0 + 0.01 * random_normal(day, RANDOM_STREAM_SENSOR, 11 + 3 * row));
    values[CHANNEL_map_kpa] += 0.2 * random_normal(day, RANDOM_STREAM_SENSOR, 12 + 3 * row);
    struct error error;
    if (recording_append(log, values, &error) != STATUS_OK) fail_msg("out of memory");
  }
}

static void find_curve(const struct scene *now, const struct scene *clean, struct opening_curve *curve) {
  const struct plant_params *plant = &now->engine.plant;
  const struct opening_setting setting = {"now", plant->charge.displacement_m3,        101325.0, 700.0,
                                          NAN,   plant->throttle.closed_position_ratio};
  struct opening_setting of_clean = setting;
  of_clean.name = "clean";
  struct recording logs[2];
  struct error error;
  error_clear(&error);
  read_log(now, 271, &logs[0]);
  if (clean) read_log(clean, 828, &logs[1]);
  if (opening_curve_find(&logs[0], &setting, clean ? &logs[1] : NULL, &of_clean, curve, &error) != STATUS_OK)
    fail_msg("%s", error.text);
  recording_destroy(&logs[0]);
  if (clean) recording_destroy(&logs[1]);
}

/* ---- The prediction ---- */

/* What the bore's integral says that a film has taken of all that the engine's sensor counts, where this run idled. */
static double truly_lost_pct(const struct scene *scene, double film_m) {
  const struct plant_params *plant = &scene->engine.plant;
  const struct throttle_params *throttle = &plant->throttle;
  const double opening = scene_mean(scene, 20.0, IDLE_S, CHANNEL_blade_deg) * UNITS_RAD_PER_DEG;
  const double steps = scene_mean(scene, 20.0, IDLE_S, CHANNEL_bypass_steps);
  double beside = plant->intake.ventilation_cda_m2, cda[2];
  if (throttle->kind == THROTTLE_CABLE) beside += plant->bypass.discharge_ratio * bypass_area_m2(&plant->bypass, steps, 0.0);
  for (int i = 0; i < 2; i++) {
    const struct bore_passage gap = bore_passage_at(&throttle->bore, &throttle->film_shape, &(struct bore_film){i * film_m, 0.0},
                                                    throttle->bore.closed_angle_rad + opening);
    cda[i] = slot_cda_m2(gap.area_m2, gap.passing_m2, curve_value(&throttle->discharge, opening), 1.0) + beside;
  }
  return 100.0 * (1.0 - cda[1] / cda[0]);
}

static double predicted_pct(const struct scene *scene, const struct estimate_fault *fault) {
  static const double nominal[SCATTER_COUNT] = {0};
  struct estimate_forward *forward;
  struct estimate_setting setting;
  struct error error;
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_setting_init(&setting);
  assert_int_equal(estimate_forward_create(&scene->engine, &forward, &error), STATUS_OK);
  estimate_forward_predict(forward, &setting, nominal, fault, ESTIMATE_AT(idle), points);
  estimate_forward_destroy(forward);
  assert_true(points[ESTIMATE_CONDITION_idle].runs);
  return points[ESTIMATE_CONDITION_idle].area_lost_pct;
}

static void films_take_what_the_bore_says(void **state) {
  (void)state;
  static const char *const models[] = {"four-16", "four-18-cable", "three-10", "six-30", "four-15-turbo"};
  for (size_t m = 0; m < ARRAY_COUNT(models); m++) {
    const struct estimate_fault none = {0}, film = {.count = 1, .cause = {CAUSE_film}, .severity = {FILM_UM}};
    struct scene scene;
    make_run(&scene, models[m], "film_um", FILM_UM);
    const double truth = truly_lost_pct(&scene, FILM_UM * UNITS_M_PER_UM), predicted = predicted_pct(&scene, &film);
    printf("%s: %.1f %% by the integral, %.1f %% predicted\n", models[m], truth, predicted);
    check_close(predicted, truth, 0.5); // where a run idles and where the settled point does, and the tables
    check_close(predicted_pct(&scene, &none), 0.0, 0.05);
    scene_end(&scene);
  }
}

/* Faults that are no film move the curve, or not, as two runs' logs show it. */
static void faults_look_as_in_logs(void **state) {
  (void)state;
  static const struct {
    const char *model;
    enum cause cause;
    double severity;
  } rows[] = {
      {"four-16", CAUSE_film, FILM_UM},
      {"four-16", CAUSE_position_lost, -0.8},
      {"four-16", CAUSE_torn_boot, 60.0},
      {"four-16", CAUSE_track_shifted_up, 0.02},
      {"four-16", CAUSE_air_flow_low, 0.97},
      {"four-18-cable", CAUSE_film, FILM_UM},
      {"four-18-cable", CAUSE_air_flow_high, 1.05},
      {"three-10", CAUSE_film, 30.0},
      {"three-10", CAUSE_compression_lost, 3.0},
      {"three-10", CAUSE_pressure_low, -0.6},
  };
  size_t measured = 0;
  struct opening_curve *curve = calloc(1, sizeof *curve);
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    const struct estimate_fault fault = {.count = 1, .cause = {rows[i].cause}, .severity = {rows[i].severity}};
    struct scene now, clean;
    make_run(&now, rows[i].model, cause_rows[rows[i].cause].condition, rows[i].severity);
    make_run(&clean, rows[i].model, NULL, 0.0);
    find_curve(&now, &clean, curve);
    const struct opening_lost *lost = &curve->lost;
    const double predicted = predicted_pct(&now, &fault);
    printf("%s %s: predicted %.1f %%, measured %.1f +- %.1f %% (%s)\n", rows[i].model, cause_rows[rows[i].cause].name, predicted,
           100.0 * lost->mean_ratio, 100.0 * lost->sd_ratio, opening_curve_verdict_names[curve->verdict]);
    if (lost->trouble == OPENING_LOST_MEASURED)
      check_close_at((double)i, 100.0 * lost->mean_ratio, predicted, 2.5 * 100.0 * lost->sd_ratio);
    measured += lost->trouble == OPENING_LOST_MEASURED;
    scene_end(&now);
    scene_end(&clean);
  }
  check_above((double)measured, 7.5); // a sensor that reads otherwise may be refused
  free(curve);
}

/* ---- Estimates ---- */

/* The list that anybody writes down at idle. */
static void read_idle(const struct scene *scene, struct estimate_readings_input *input) {
  static const enum channel read[] = {CHANNEL_speed_rpm, CHANNEL_target_rpm, CHANNEL_tp_pct,    CHANNEL_maf_gps,
                                      CHANNEL_load_pct,  CHANNEL_spark_deg,  CHANNEL_coolant_c, CHANNEL_intake_c};
  struct error error;
  error_clear(&error);
  assert_int_equal(estimate_readings_init(input, &scene->engine, &error), STATUS_OK);
  for (size_t i = 0; i < ARRAY_COUNT(read); i++)
    if (estimate_readings_add(input, channel_rows[read[i]].name, "idle", scene_mean(scene, 20.0, IDLE_S, read[i]), NAN, &error) !=
        STATUS_OK)
      fail_msg("%s", error.text);
}

struct answer {
  double film, low_um, high_um, nothing, p_value;
  enum cause first;
  struct estimate_curve curve;
};

/* curve: NULL for none. */
static struct answer ask(const struct scene *scene, const struct opening_curve *curve) {
  struct answer answer = {0};
  struct error error;
  error_clear(&error);
  struct estimate_readings_input *input = calloc(1, sizeof *input);
  struct estimate_question *question = calloc(1, sizeof *question);
  read_idle(scene, input);
  question->engine = &scene->engine;
  estimate_setting_init(&question->setting);
  if (curve && estimate_curve_take(curve, "now.csv", curve->has_baseline ? "clean.csv" : NULL, input, &question->setting,
                                   &answer.curve, &error) != STATUS_OK)
    fail_msg("%s", error.text);
  struct estimate *e = NULL;
  if (estimate_readings_finish(input, &question->setting, &question->readings, &error) != STATUS_OK ||
      estimate_create(question, &for_each_serial, &e, &error) != STATUS_OK)
    fail_msg("%s", error.text);
  answer.film = e->film_probability;
  answer.low_um = e->film_low_um;
  answer.high_um = e->film_high_um;
  answer.nothing = e->hypotheses[0].probability;
  answer.p_value = e->p_value;
  answer.first = estimate_hypothesis_cause(&e->hypotheses[e->order[0]]);
  printf("%s: film %.4f, %.0f to %.0f um, nothing %.3f, first %s %.3f, p %.2f; %s\n", curve ? "with the curve" : "the idle list",
         answer.film, answer.low_um, answer.high_um, answer.nothing, cause_rows[answer.first].name,
         e->hypotheses[e->order[0]].probability, answer.p_value, answer.curve.text);
  estimate_destroy(e);
  free(question);
  free(input);
  return answer;
}

static void narrows_a_film(void **state) {
  (void)state;
  struct opening_curve *curve = calloc(1, sizeof *curve);
  struct scene now, clean;
  make_run(&now, "four-16", "film_um", FILM_UM);
  make_run(&clean, "four-16", NULL, 0.0);
  find_curve(&now, &clean, curve);
  const struct answer list = ask(&now, NULL), with = ask(&now, curve);
  assert_int_equal(with.curve.verdict, OPENING_VERDICT_lost);
  assert_true(with.curve.taken && strstr(with.curve.text, "area_lost_pct"));
  check_above(with.film, list.film);
  assert_int_equal(with.first, CAUSE_film);
  check_below(with.high_um - with.low_um, 0.9 * (list.high_um - list.low_um));
  assert_true(with.low_um < FILM_UM && FILM_UM < with.high_um);
  check_above(with.p_value, 0.05);
  // without the clean log nothing changes but a sentence
  find_curve(&now, NULL, curve);
  const struct answer alone = ask(&now, curve);
  assert_false(alone.curve.taken);
  assert_true(strstr(alone.curve.text, "left out") && strstr(alone.curve.text, "--curve-baseline"));
  assert_true(alone.film == list.film && alone.low_um == list.low_um && alone.high_um == list.high_um &&
              alone.p_value == list.p_value);
  scene_end(&now);
  scene_end(&clean);
  free(curve);
}

/* The blade stands further shut than the computer means: from outside that reads as a film. */
static void tells_a_lost_stop_from_a_film(void **state) {
  (void)state;
  struct opening_curve *curve = calloc(1, sizeof *curve);
  struct scene now, clean;
  make_run(&now, "four-16", "position_offset_deg", -1.0);
  make_run(&clean, "four-16", NULL, 0.0);
  find_curve(&now, &clean, curve);
  const struct answer list = ask(&now, NULL), with = ask(&now, curve);
  assert_int_equal(with.curve.verdict, OPENING_VERDICT_none_lost);
  check_below(with.film, 0.5 * list.film);
  check_above(with.p_value, 0.05);
  scene_end(&now);
  scene_end(&clean);
  free(curve);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(films_take_what_the_bore_says), cmocka_unit_test(faults_look_as_in_logs),
                                     cmocka_unit_test(narrows_a_film), cmocka_unit_test(tells_a_lost_stop_from_a_film)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
