/* The altitude that nobody told. Truth: the shares of people below so many metres that estimate_place.h cites, an exponential between them,
 * integrated here; the standard atmosphere of ISO 2533; a barometer's word against the same word given beforehand. */
#include "analysis/estimate/estimate.h"
#include "analysis/estimate/estimate_place.h"
#include "base/units.h"
#include "io/config/engine_file.h"
#include "physics/atmosphere.h"
#include "support/check.h"

#include <math.h>
#include <stdlib.h>

static struct engine *read_engine(const char *path) {
  struct engine *engine = calloc(1, sizeof *engine);
  struct error error;
  error_clear(&error);
  if (engine_file_read(path, engine, &error) != STATUS_OK) fail_msg("%s", error.text);
  return engine;
}

/* Share of people above so many metres. */
static double share_above(double altitude_m) {
  static const double at_m[] = {0.0, 100.0, 194.0, 1500.0, 2500.0, 4500.0}, share[] = {1.0, 0.665, 0.5, 0.066, 0.011, 0.0002};
  size_t i = 0;
  while (i < 4 && altitude_m > at_m[i + 1]) i++;
  return share[i] * pow(share[i + 1] / share[i], (altitude_m - at_m[i]) / (at_m[i + 1] - at_m[i]));
}

static void people_live_so_high(void **state) {
  (void)state;
  double mean_m = 0.0, square_m2 = 0.0;
  for (double at_m = 0.5; at_m < 6000.0; at_m += 1.0) {
    mean_m += share_above(at_m);
    square_m2 += 2.0 * at_m * share_above(at_m);
  }
  const double sd_m = sqrt(square_m2 - mean_m * mean_m);
  check_relative(mean_m, ESTIMATE_PLACE_ALTITUDE_M, 0.02);
  const double per_m = (atmosphere_pressure_pa(0.0) - atmosphere_pressure_pa(1000.0)) / 1000.0;
  check_relative(sd_m * per_m, ESTIMATE_PLACE_SD_PA, 0.02);
}

static const struct estimate_hypothesis *good_of(const struct estimate *estimate) { return &estimate->hypotheses[0]; }

static struct estimate *estimate_of(struct estimate_question *question) {
  struct estimate *estimate;
  struct error error;
  error_clear(&error);
  if (estimate_create(question, &for_each_serial, &estimate, &error) != STATUS_OK) fail_msg("%s", error.text);
  return estimate;
}

static void add(struct estimate_readings *readings, enum estimate_quantity quantity, enum estimate_condition condition,
                double value) {
  readings->readings[readings->count++] =
      (struct estimate_reading){quantity, condition, value, estimate_reading_sd(quantity, value, NAN, NAN)};
}

/* A good car at 850 m, 92 kPa there: at sea level nothing explains its key-on pressure. */
static void a_pressure_at_rest_tells_it(void **state) {
  (void)state;
  struct engine *engine = read_engine("models/three-10.cfg");
  struct estimate_question question = {.engine = engine};
  estimate_setting_init(&question.setting);
  add(&question.readings, ESTIMATE_QUANTITY_map_kpa, ESTIMATE_CONDITION_key_on, 92.0);
  struct estimate *sea = estimate_of(&question);
  check_below(good_of(sea)->p_value, 1e-5);
  estimate_destroy(sea);
  estimate_place_unknown(engine, &question.setting.conditions);
  struct estimate *anywhere = estimate_of(&question);
  check_above(good_of(anywhere)->p_value, 0.3);
  check_above(anywhere->p_value, 0.3);
  estimate_destroy(anywhere);
  free(engine);
}

/* A baseline of the same car tells the place; what is left for today is the weather. */
static void a_car_mostly_stands_where_it_stood(void **state) {
  (void)state;
  struct engine *engine = read_engine("models/three-10.cfg");
  struct estimate_question question = {.engine = engine};
  estimate_setting_init(&question.setting);
  estimate_place_unknown(engine, &question.setting.conditions);
  question.baseline_setting = question.setting;
  add(&question.baseline, ESTIMATE_QUANTITY_barometer_kpa, ESTIMATE_CONDITION_key_on, 82.0);
  add(&question.readings, ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_CONDITION_idle, 850.0);
  struct estimate *estimate = estimate_of(&question);
  const double sd_pa = engine->scatter.sd[SCATTER_ambient_kpa], centre_pa = atmosphere_pressure_pa(ESTIMATE_PLACE_ALTITUDE_M);
  check_close(centre_pa + estimate->prior.mean[SCATTER_ambient_kpa] * sd_pa, 82e3, 500.0); // drawn to where most live
  size_t at = 0;
  while (estimate->problem.scatter[at] != SCATTER_ambient_kpa) at++;
  const double left_pa = sd_pa * sqrt(estimate->prior.covariance[at * estimate->problem.count + at]);
  // there and back: the weather of both days, 1 kPa each, and the barometer with its discrepancy
  check_above(left_pa, 1.2e3);
  check_below(left_pa, 2.2e3);
  estimate_destroy(estimate);
  free(engine);
}

static void only_the_place_lasts(void **state) {
  (void)state;
  struct engine *engine = read_engine("models/four-16.cfg");
  assert_true(estimate_place_lasts(engine, SCATTER_friction_pct) >= 1.0);
  assert_true(estimate_place_lasts(engine, SCATTER_electrical_w) <= 0.0);
  assert_true(estimate_place_lasts(engine, SCATTER_ambient_kpa) <= 0.0); // told: only the weather is left
  struct conditions conditions;
  conditions_init(&conditions);
  estimate_place_unknown(engine, &conditions);
  check_close(estimate_place_lasts(engine, SCATTER_ambient_kpa), 6.5 * 6.5 / (6.5 * 6.5 + 1.0), 1e-9);
  check_close(conditions_ambient_pa(&conditions), atmosphere_pressure_pa(ESTIMATE_PLACE_ALTITUDE_M), 1e-12);
  free(engine);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(people_live_so_high),
      cmocka_unit_test(a_pressure_at_rest_tells_it),
      cmocka_unit_test(a_car_mostly_stands_where_it_stood),
      cmocka_unit_test(only_the_place_lasts),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
