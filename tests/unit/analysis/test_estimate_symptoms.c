/* Codes, freeze frame and complaint as evidence. Truth: the rules themselves, by hand (bounds, monotony, what a factor may be worth), and
 * what is common practice, no source, where that is said. */
#include "support/check.h"
#include "support/sample.h"

#include "analysis/estimate/estimate.h"
#include "analysis/estimate/estimate_symptoms_weigh.h"
#include "base/units.h"
#include "io/config/engine_file.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bool whole;

struct scene {
  struct engine engine;
  struct estimate_question question;
  struct estimate_symptoms symptoms;
  struct estimate *estimate;
};

static void begin(struct scene *scene) {
  struct error error = {0};
  assert_int_equal(engine_file_read("models/four-16.cfg", &scene->engine, &error), STATUS_OK);
  scene->question = (struct estimate_question){.engine = &scene->engine, .symptoms = &scene->symptoms};
  estimate_setting_init(&scene->question.setting);
  estimate_symptoms_init(&scene->symptoms);
  scene->estimate = NULL;
}

static void add_codes(struct scene *scene, const char *text) {
  struct error error = {0};
  assert_int_equal(estimate_symptoms_add_codes(&scene->symptoms, &scene->engine, "--codes", text, &error), STATUS_OK);
}

static void add_reading(struct scene *scene, enum estimate_quantity quantity, double value) {
  struct estimate_readings *readings = &scene->question.readings;
  readings->readings[readings->count++] =
      (struct estimate_reading){quantity, ESTIMATE_CONDITION_idle, value, estimate_reading_sd(quantity, value, NAN, NAN)};
}

static void solve(struct scene *scene) {
  struct error error = {0};
  estimate_destroy(scene->estimate);
  assert_int_equal(estimate_create(&scene->question, &for_each_serial, &scene->estimate, &error), STATUS_OK);
}

/* Whatever the computer remembers. */
static double share(const struct scene *scene, enum cause cause) {
  double sum = 0.0;
  for (size_t i = 0; i < scene->estimate->count; i++) {
    const struct estimate_hypothesis *h = &scene->estimate->hypotheses[i];
    if ((h->fault.count == 1 || h->fault.count == 0) && h->fault.cause[0] == cause) sum += h->probability;
  }
  return sum;
}

static double odds(double p) { return p / (1.0 - p); }

/* A code's probability rises with what its monitor measures, is one half at its limit, and 0 where it does not run. */
static void one_code(void **state) {
  (void)state;
  struct monitor_measures m = {.enabled = ~0u};
  double before = -1.0;
  for (double rpm = -50.0; rpm < 400.0; rpm += 5.0) {
    m.low_speed_rad_s = rpm * UNITS_RAD_S_PER_RPM;
    const double p = estimate_symptoms_weigh_code(MONITOR_P0506, &m);
    assert_true(p >= before && p <= 1.0);
    if (before > 0.02 && before < 0.98) assert_true(p > before && p < before + 0.12); // no step
    before = p;
  }
  m.low_speed_rad_s = 100.0 * UNITS_RAD_S_PER_RPM; // limit of 13 CCR 1968.2 (e)(15.2.2)(B), as in the table
  check_close(estimate_symptoms_weigh_code(MONITOR_P0506, &m), 0.5, 1e-9);
  m.low_speed_rad_s *= 1.25; // one standard deviation of the limit's logarithm is 0.25: Phi(ln 1.25 / 0.25) = Phi(0.8926) = 0.814
  check_close(estimate_symptoms_weigh_code(MONITOR_P0506, &m), 0.814, 1e-3);
  m.enabled = 0;
  check_close(estimate_symptoms_weigh_code(MONITOR_P0506, &m), 0.0, 0.0);
  m.enabled = ~0u;
  m.battery_v = 14.0;
  assert_true(estimate_symptoms_weigh_code(MONITOR_P0562, &m) < 0.01);
  m.battery_v = 9.0;
  assert_true(estimate_symptoms_weigh_code(MONITOR_P0562, &m) > 0.99);
}

/* Sure of all or of nothing, no code is worth more than a factor of 20; what watches the same thing counts once. */
static void bounded(void **state) {
  (void)state;
  struct estimate_symptoms s;
  estimate_symptoms_init(&s);
  s.codes_given = true;
  double code[MONITOR_CODE_COUNT] = {0};
  const double absent = estimate_symptoms_weigh_codes(&s, code);
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    code[i] = 1.0;
    check_close(exp(absent - estimate_symptoms_weigh_codes(&s, code)), 20.0, 1e-9); // it would have set, and is not there
    s.stored = monitors_bit((enum monitor_code)i);
    const double there = estimate_symptoms_weigh_codes(&s, code);
    code[i] = 0.0;
    check_close(exp(there - estimate_symptoms_weigh_codes(&s, code)), 20.0, 1e-9);
    s.stored = 0;
  }
  s.stored = monitors_bit(MONITOR_P0505) | monitors_bit(MONITOR_P0506);
  const double neither = estimate_symptoms_weigh_codes(&s, code);
  code[MONITOR_P0505] = code[MONITOR_P0506] = 1.0;
  check_close(exp(estimate_symptoms_weigh_codes(&s, code) - neither), 20.0, 1e-9);
  // of an incomplete list only what is there speaks
  s.codes_incomplete = true;
  const double some = estimate_symptoms_weigh_codes(&s, code);
  code[MONITOR_P0171] = 1.0;
  check_close(estimate_symptoms_weigh_codes(&s, code), some, 0.0);
}

/* The lower it idles the likelier it is called low, or stalls; the higher, high. Nobody is sure. */
static void complaints(void **state) {
  (void)state;
  double low = -1.0, stalls = -1.0, high = 2.0;
  for (double rpm = 1400.0; rpm > 400.0; rpm -= 20.0) {
    struct estimate_point idle = {.runs = true, .outcome = SETTLE_DROOPS};
    idle.values[CHANNEL_speed_rpm] = rpm;
    const double l = estimate_symptoms_weigh_complaint(ESTIMATE_COMPLAINT_low_idle, &idle, 850.0, 0.0);
    const double s = estimate_symptoms_weigh_complaint(ESTIMATE_COMPLAINT_stalls, &idle, 850.0, 0.0);
    const double h = estimate_symptoms_weigh_complaint(ESTIMATE_COMPLAINT_high_idle, &idle, 850.0, 0.0);
    assert_true(l >= low && s >= stalls && h <= high && l >= 0.0 && l <= 1.0);
    if (rpm < 850.0) assert_true(s < l); // it is low before it dies
    low = l;
    stalls = s;
    high = h;
  }
}

/* Nothing read: prior times evidence. Each symptom by itself, and all that say the same together, leave every cause below nine tenths. */
static void without_readings(void **state) {
  (void)state;
  static const char *const codes[] = {"none",  "P0505", "P0506", "P0507", "P0171",       "P0172",
                                      "P0300", "P0101", "P0562", "P2119", "P0505,P0506", "P0102"};
  for (size_t i = 0; i < ARRAY_COUNT(codes); i++)
    for (int complaint = 0; complaint <= ESTIMATE_COMPLAINT_COUNT; complaint++) {
      if (!sample_takes(whole, 3, i * (ESTIMATE_COMPLAINT_COUNT + 1) + (size_t)complaint, 6)) continue;
      struct scene scene;
      begin(&scene);
      add_codes(&scene, codes[i]);
      scene.symptoms.complaint = (enum estimate_complaint)complaint;
      solve(&scene);
      double sum = 0.0;
      for (size_t k = 0; k < scene.estimate->count; k++) {
        assert_true(scene.estimate->hypotheses[k].probability < 0.9);
        sum += scene.estimate->hypotheses[k].probability;
      }
      check_close(sum, 1.0, 1e-9);
      estimate_destroy(scene.estimate);
    }
}

/* P0506 speaks for a film, and a film that is learned in full is not refuted by it: readings at target, as of 40 um, with the code stored. */
static void learned_limit_hides(void **state) {
  (void)state;
  struct scene scene;
  begin(&scene);
  scene.question.symptoms = NULL;
  add_reading(&scene, ESTIMATE_QUANTITY_speed_rpm, 850.0);
  add_reading(&scene, ESTIMATE_QUANTITY_target_rpm, 850.0);
  add_reading(&scene, ESTIMATE_QUANTITY_tp_pct, 12.9);
  add_reading(&scene, ESTIMATE_QUANTITY_idle_air_pct, 30.0);
  solve(&scene);
  const double film = share(&scene, CAUSE_film);
  scene.question.symptoms = &scene.symptoms;
  add_codes(&scene, "P0506");
  solve(&scene);
  const double with_code = share(&scene, CAUSE_film);
  assert_true(with_code > film && odds(with_code) < 20.0 * odds(film));
  for (size_t i = 0; i < scene.estimate->count; i++) // the bound holds between any two
    assert_true(scene.estimate->told[i].log_codes < 0.0 && scene.estimate->told[i].log_codes > -25.0);
  estimate_destroy(scene.estimate);
}

/* What would have set and did not: with codes read and none stored a film that idles 150 rpm low is less likely than without having looked, and
 * P0506 brings it up. No code is worth more than 20. Severity follows: with the code films are thicker. */
static void absent_speaks(void **state) {
  (void)state;
  double film[3], mean[3];
  for (int i = 0; i < 3; i++) {
    struct scene scene;
    begin(&scene);
    if (i > 0) add_codes(&scene, i == 1 ? "none" : "P0506");
    if (i == 0) scene.question.symptoms = NULL;
    add_reading(&scene, ESTIMATE_QUANTITY_speed_rpm, 745.0);
    solve(&scene);
    film[i] = share(&scene, CAUSE_film);
    mean[i] = scene.estimate->film_best_um;
    estimate_destroy(scene.estimate);
  }
  assert_true(film[1] < film[0] && film[0] < film[2]);
  assert_true(mean[1] < mean[2]);
  assert_true(odds(film[2]) < 400.0 * odds(film[1]));
}

/* A lean code speaks for what makes lean and not for a film; common practice, no source. */
static void lean(void **state) {
  (void)state;
  struct scene scene;
  begin(&scene);
  add_codes(&scene, "P0171");
  solve(&scene);
  assert_true(share(&scene, CAUSE_vacuum_leak) > 3.0 * share(&scene, CAUSE_film));
  assert_true(share(&scene, CAUSE_fuel_weak) > share(&scene, CAUSE_film));
  estimate_destroy(scene.estimate);
}

/* What none of the listed causes sets speaks for what is not listed. */
static void wire(void **state) {
  (void)state;
  struct scene scene;
  begin(&scene);
  add_codes(&scene, "none");
  solve(&scene);
  const double before = share(&scene, CAUSE_unlisted);
  estimate_symptoms_init(&scene.symptoms);
  add_codes(&scene, "P0102");
  solve(&scene);
  assert_true(share(&scene, CAUSE_unlisted) > 2.0 * before);
  estimate_destroy(scene.estimate);
}

static void take_frame(struct scene *scene, const char *text) {
  struct error error = {0};
  struct estimate_symptoms_frame *frame = calloc(1, sizeof *frame);
  assert_int_equal(estimate_symptoms_frame_init(frame, &scene->engine, &scene->question.setting, &error), STATUS_OK);
  assert_int_equal(estimate_symptoms_frame_add_list(frame, "frame", text, &error), STATUS_OK);
  estimate_symptoms_frame_finish(frame, &scene->symptoms);
  free(frame);
}

/* A frame tells itself where it is from; only warm idle counts, and then it is worth no more than 20. */
static void frames(void **state) {
  (void)state;
  static const char *const others[] = {"speed_rpm=702", "speed_rpm=702,coolant_c=30", "speed_rpm=2600,coolant_c=90",
                                       "speed_rpm=900,coolant_c=90,vehicle_speed_kph=40", "speed_rpm=0,coolant_c=90"};
  struct scene scene;
  for (size_t i = 0; i < ARRAY_COUNT(others); i++) {
    begin(&scene);
    take_frame(&scene, others[i]);
    assert_non_null(scene.symptoms.frame_left_out);
    assert_false(estimate_symptoms_given(&scene.symptoms));
  }
  begin(&scene);
  take_frame(&scene, "speed_rpm=702,coolant_c=194F,load_pct=24");
  assert_null(scene.symptoms.frame_left_out);
  assert_int_equal(scene.symptoms.frame.count, 2); // coolant says where, not what
  solve(&scene);
  double most = -INFINITY, least = INFINITY;
  for (size_t i = 0; i < scene.estimate->count; i++) {
    most = fmax(most, scene.estimate->told[i].log_frame);
    least = fmin(least, scene.estimate->told[i].log_frame);
  }
  assert_true(most <= 0.0 && exp(most - least) <= 20.0 + 1e-9);
  assert_true(share(&scene, CAUSE_film) > share(&scene, CAUSE_nothing)); // it idled 150 rpm low
  estimate_destroy(scene.estimate);
}

/* What is left on or cold now was not so when the code set: the code makes it neither likelier nor less likely than nothing wrong. */
static void another_moment(void **state) {
  (void)state;
  struct scene scene;
  begin(&scene);
  add_codes(&scene, "P0506");
  solve(&scene);
  double nothing = NAN;
  for (size_t i = 0; i < scene.estimate->count; i++) {
    const struct estimate_hypothesis *h = &scene.estimate->hypotheses[i];
    if (i == 0) nothing = scene.estimate->told[0].log_codes;
    if (h->fault.count == 1 && (h->fault.cause[0] == CAUSE_gear_left_on || h->fault.cause[0] == CAUSE_not_warm))
      check_close(scene.estimate->told[i].log_codes, nothing, 1e-9);
  }
  estimate_destroy(scene.estimate);
}

static bool refuses(struct scene *scene, const char *codes) {
  struct error error = {0};
  return estimate_symptoms_add_codes(&scene->symptoms, &scene->engine, "--codes", codes, &error) == STATUS_USAGE;
}

/* Codes as people write them, and what is none. */
static void codes(void **state) {
  (void)state;
  struct scene scene;
  begin(&scene);
  add_codes(&scene, " p0506 , P0171,U0100");
  assert_true(scene.symptoms.stored == (monitors_bit(MONITOR_P0506) | monitors_bit(MONITOR_P0171)));
  assert_int_equal(scene.symptoms.strange_count, 1);
  assert_string_equal(scene.symptoms.strange[0], "U0100");
  assert_true(refuses(&scene, "P0506") && refuses(&scene, "none") && refuses(&scene, "U0100"));
  static const char *const wrong[] = {"P06",         "X0506",      "P05066", "",           "P0506,",
                                      "P0506,P0506", "none,P0506", "P4000",  "P0506 P0171"};
  for (size_t i = 0; i < ARRAY_COUNT(wrong); i++) {
    begin(&scene);
    assert_true(refuses(&scene, wrong[i]));
  }
  begin(&scene);
  add_codes(&scene, "P0174"); // the second bank, which this engine does not have
  assert_true(scene.symptoms.stored == 0 && scene.symptoms.strange_count == 1);
}

int main(int argc, char **argv) {
  whole = sample_is_whole(argc, argv);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(one_code),
      cmocka_unit_test(bounded),
      cmocka_unit_test(complaints),
      cmocka_unit_test(absent_speaks),
      cmocka_unit_test(without_readings),
      cmocka_unit_test(learned_limit_hides),
      cmocka_unit_test(lean),
      cmocka_unit_test(wire),
      cmocka_unit_test(frames),
      cmocka_unit_test(codes),
      cmocka_unit_test(another_moment),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
