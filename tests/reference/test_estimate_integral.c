/* The integral over a film's severity, with its few nodes, against scipy's over many: full fits at 161 even shares, Simpson's rule
 * and quad (estimate_oracle.py). What the likelihood itself is worth is not asked here (test_estimate_closed_form.c). */
#include "support/check.h"
#include "support/oracle.h"

#include "analysis/estimate/estimate.h"
#include "base/random.h"
#include "io/config/engine_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#define COMMAND "/usr/bin/python3 tests/reference/estimate_oracle.py < %s" // ctest runs in the source folder
enum { SHARES = 161 };

/* A filmed car of the model's own, read with its instruments' errors. */
static void read_car(const struct engine *engine, double film_um, uint64_t seed, struct estimate_question *question) {
  static const struct {
    enum estimate_quantity quantity;
    enum estimate_condition condition;
  } read[] = {
      {ESTIMATE_QUANTITY_tp_pct, ESTIMATE_CONDITION_key_on},     {ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_CONDITION_idle},
      {ESTIMATE_QUANTITY_tp_pct, ESTIMATE_CONDITION_idle},       {ESTIMATE_QUANTITY_maf_gps, ESTIMATE_CONDITION_idle},
      {ESTIMATE_QUANTITY_trim_pct, ESTIMATE_CONDITION_idle},     {ESTIMATE_QUANTITY_tp_pct, ESTIMATE_CONDITION_hold_2500},
      {ESTIMATE_QUANTITY_maf_gps, ESTIMATE_CONDITION_hold_2500},
  };
  struct estimate_forward *forward;
  struct error error = {0};
  assert_int_equal(estimate_forward_create(engine, &forward, &error), STATUS_OK);
  const struct estimate_fault film = {.count = 1, .cause = {CAUSE_film}, .severity = {film_um}};
  double z[SCATTER_COUNT];
  for (int i = 0; i < SCATTER_COUNT; i++) z[i] = random_normal(seed, RANDOM_STREAM_CASE, (uint64_t)i);
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_forward_predict(forward, &question->setting, z, &film,
                           ESTIMATE_AT(key_on) | ESTIMATE_AT(idle) | ESTIMATE_AT(hold_2500), points);
  for (size_t i = 0; i < sizeof read / sizeof read[0]; i++) {
    const double value = estimate_quantities[read[i].quantity].value(&points[read[i].condition]);
    const double sd = estimate_reading_sd(read[i].quantity, value, NAN, NAN);
    question->readings.readings[question->readings.count++] = (struct estimate_reading){
        read[i].quantity, read[i].condition, value + sd * random_normal(seed, RANDOM_STREAM_SENSOR, i), sd};
  }
  estimate_forward_destroy(forward);
}

/* Fits at even shares, each from its neighbour before it: upwards or downwards. The better of what is known and of what is found. */
static void fit_shares(const struct estimate *estimate, struct estimate_forward *forward, bool upwards, double *log_likelihood) {
  struct estimate_fit fit = {0};
  for (int i = 0; i < SHARES; i++) {
    const int place = upwards ? i : SHARES - 1 - i;
    const struct estimate_fault film = {
        .count = 1, .cause = {CAUSE_film}, .severity = {cause_severity(CAUSE_film, (double)place / (SHARES - 1))}};
    struct estimate_slopes slopes = {0};
    struct estimate_fit here;
    double covariance[SCATTER_COUNT * SCATTER_COUNT];
    estimate_fit_full(&estimate->problem, forward, &film, fit.possible ? fit.z : NULL, &slopes, &here, covariance);
    fit = here;
    log_likelihood[place] = fmax(log_likelihood[place], here.log_likelihood);
  }
}

/* Both ways, since beside the controller's limit there are two places where chi-squared is least. */
static void write_likelihoods(const struct estimate *estimate, const struct engine *engine, const char *path) {
  struct estimate_forward *forward;
  struct error error = {0};
  assert_int_equal(estimate_forward_create(engine, &forward, &error), STATUS_OK);
  double log_likelihood[SHARES];
  for (int i = 0; i < SHARES; i++) log_likelihood[i] = -1e4;
  fit_shares(estimate, forward, true, log_likelihood);
  fit_shares(estimate, forward, false, log_likelihood);
  estimate_forward_destroy(forward);
  FILE *file = fopen(path, "w");
  assert_non_null(file);
  for (int i = 0; i < SHARES; i++) fprintf(file, "%.10g %.10g\n", (double)i / (SHARES - 1), log_likelihood[i]);
  assert_int_equal(fclose(file), 0);
}

static void film_integral(double film_um, uint64_t seed) {
  struct engine engine;
  struct error error = {0};
  assert_int_equal(engine_file_read("models/four-16.cfg", &engine, &error), STATUS_OK);
  struct estimate_question question = {.engine = &engine};
  estimate_setting_init(&question.setting);
  read_car(&engine, film_um, seed, &question);
  struct estimate *estimate;
  assert_int_equal(estimate_create(&question, &for_each_serial, &estimate, &error), STATUS_OK);
  char path[] = "/tmp/bladegap-estimate-XXXXXX", command[160];
  const int descriptor = mkstemp(path);
  assert_true(descriptor >= 0);
  write_likelihoods(estimate, &engine, path);
  snprintf(command, sizeof command, COMMAND, path);
  FILE *pipe = popen(command, "r");
  assert_non_null(pipe);
  double evidence, low, middle, high;
  const int read = fscanf(pipe, "%lf %lf %lf %lf", &evidence, &low, &middle, &high);
  const int status = pclose(pipe);
  remove(path);
  const int code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  if (code == ORACLE_NOT_INSTALLED || code == ORACLE_NO_COMMAND) {
    print_message("SKIPPED: no python3-scipy for /usr/bin/python3; apt-get install python3-scipy\n");
    estimate_destroy(estimate);
    skip();
  }
  assert_int_equal(code, 0);
  assert_int_equal(read, 4);
  for (size_t i = 0; i < estimate->count; i++) {
    const struct estimate_hypothesis *h = &estimate->hypotheses[i];
    if (h->fault.count != 1 || h->fault.cause[0] != CAUSE_film || h->fault.fresh) continue;
    check_close(h->log_evidence, evidence, 0.15); // 15 %: a tenth of what one reading's half standard deviation does
    const double width_um = cause_severity(CAUSE_film, high) - cause_severity(CAUSE_film, low),
                 off_um = fmax(1.0, 0.05 * width_um);
    check_close(h->low[0], cause_severity(CAUSE_film, low), off_um);
    check_close(h->high[0], cause_severity(CAUSE_film, high), off_um);
  }
  estimate_destroy(estimate);
}

static void hidden_film(void **state) {
  (void)state;
  film_integral(30.0, 3);
}
static void film_at_the_limit(void **state) {
  (void)state;
  film_integral(52.0, 4);
}
static void film_beyond(void **state) {
  (void)state;
  film_integral(75.0, 5);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(hidden_film), cmocka_unit_test(film_at_the_limit),
                                     cmocka_unit_test(film_beyond)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
