/* A visit: what its file keeps comes back, what must not be kept does not, and a look weighs the causes as Bayes' rule says. Truth: the visit
 * that was written; the form of ISO 3779 (17 letters and digits without I, O, Q); Bayes' rule by hand. */
#include "analysis/visit/visit_lay_out.h"
#include "io/config/engine_file.h"
#include "io/config/visit_file.h"
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void test_numbers_are_cleared(void **state) {
  (void)state;
  static const struct {
    const char *text, *cleared;
    size_t count;
  } rows[] = {
      {"1M8GDM9AXKP042788", "(left out)", 1}, // the worked check digit example of 49 CFR 565, from memory
      {"blue, 1m8gdm9axkp042788; old", "blue, (left out); old", 1},
      {"AAAAAAAAAAAAAAAAA", "AAAAAAAAAAAAAAAAA", 0},   // no digits: a word
      {"1M8GDM9AXKP04278O", "1M8GDM9AXKP04278O", 0},   // O is no letter of one
      {"1M8GDM9AXKP0427888", "1M8GDM9AXKP0427888", 0}, // one too many
      {"four-16 2012 1.6", "four-16 2012 1.6", 0},
      {"1M8GDM9AXKP042788 1M8GDM9AXKP042788", "(left out) (left out)", 2},
      {"", "", 0},
  };
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    char text[VISIT_TEXT_SIZE];
    snprintf(text, sizeof text, "%s", rows[i].text);
    assert_int_equal(visit_clear_text(text), rows[i].count);
    assert_string_equal(text, rows[i].cleared);
  }
}

static void test_file_brings_it_back(void **state) {
  (void)state;
  struct visit visit, back;
  struct error error;
  char path[] = "/tmp/visit-XXXXXX";
  const int file = mkstemp(path);
  assert_true(file >= 0);
  close(file);
  error_clear(&error);
  visit_init(&visit);
  snprintf(visit.engine, sizeof visit.engine, "kind=cable,displacement_l=1.4");
  snprintf(visit.vehicle, sizeof visit.vehicle, "a \"quoted\" \\ hatchback");
  snprintf(visit.codes, sizeof visit.codes, "P0506,P0171");
  visit.codes_unknown = true;
  visit.cold_coolant_c = 14.0;
  for (int q = 0; q < ESTIMATE_QUANTITY_COUNT; q++) {
    const struct estimate_reading reading = {(enum estimate_quantity)q, ESTIMATE_CONDITION_idle, 1.0 / (q + 3), 1e-5 * (q + 1)};
    assert_int_equal(visit_set_reading(&visit, &reading, &error), STATUS_OK);
  }
  assert_int_equal(visit_set_look(&visit, "--look", "smoke_test=no", &error), STATUS_OK);
  assert_int_equal(visit_set_look(&visit, "--look", "smoke_test=yes", &error), STATUS_OK); // the last counts
  assert_int_equal(visit_file_write(&visit, path, &error), STATUS_OK);
  if (visit_file_read(path, &back, &error) != STATUS_OK) fail_msg("%s", error.text);
  unlink(path);
  assert_string_equal(back.engine, visit.engine);
  assert_string_equal(back.vehicle, visit.vehicle);
  assert_string_equal(back.codes, visit.codes);
  assert_true(back.codes_unknown);
  assert_true(back.cold_coolant_c == 14.0);
  assert_true(isnan(back.cold_intake_c));
  assert_int_equal(back.readings.count, visit.readings.count);
  for (size_t i = 0; i < back.readings.count; i++) {
    assert_int_equal(back.readings.readings[i].quantity, visit.readings.readings[i].quantity);
    assert_true(fabs(back.readings.readings[i].value / visit.readings.readings[i].value - 1.0) < 1e-9);
    assert_true(fabs(back.readings.readings[i].sd / visit.readings.readings[i].sd - 1.0) < 1e-9);
  }
  assert_int_equal(back.look_count, 1);
  assert_true(back.looks[0].yes);
}

static double probability_of(const struct visit_card *card, size_t hypothesis) {
  return card->estimate->hypotheses[hypothesis].probability;
}

static void test_look_weighs_as_bayes_says(void **state) {
  (void)state;
  static struct engine engine;
  struct visit before, after;
  struct visit_card *plain, *looked;
  struct error error;
  struct estimate_question question = {.engine = &engine};
  error_clear(&error);
  if (engine_file_read("models/four-16.cfg", &engine, &error) != STATUS_OK) fail_msg("%s", error.text);
  estimate_setting_init(&question.setting);
  estimate_setting_init(&question.baseline_setting);
  visit_init(&before);
  visit_init(&after);
  assert_int_equal(visit_set_look(&after, "--look", "smoke_test=yes", &error), STATUS_OK);
  assert_int_equal(visit_lay_out(&before, &question, NULL, &for_each_serial, &plain, &error), STATUS_OK);
  assert_int_equal(visit_lay_out(&after, &question, NULL, &for_each_serial, &looked, &error), STATUS_OK);
  double sum = 0.0;
  for (size_t i = 0; i < plain->estimate->count; i++) {
    bool leaks = false, purge = false, boot = false; // shares of car/fault_rows.h: 0.95, 0.3, 0.9; false alarms 0.05
    for (size_t k = 0; k < plain->estimate->hypotheses[i].fault.count; k++) {
      leaks = leaks || plain->estimate->hypotheses[i].fault.cause[k] == CAUSE_vacuum_leak;
      purge = purge || plain->estimate->hypotheses[i].fault.cause[k] == CAUSE_purge_stuck;
      boot = boot || plain->estimate->hypotheses[i].fault.cause[k] == CAUSE_torn_boot;
    }
    const double yes = 1.0 - 0.95 * (leaks ? 0.05 : 1.0) * (purge ? 0.7 : 1.0) * (boot ? 0.1 : 1.0);
    sum += probability_of(plain, i) * yes;
  }
  for (size_t i = 0; i < plain->estimate->count; i++)
    if (plain->estimate->hypotheses[i].fault.count == 1 && plain->estimate->hypotheses[i].fault.cause[0] == CAUSE_vacuum_leak)
      assert_true(fabs(probability_of(looked, i) - probability_of(plain, i) * (1.0 - 0.95 * 0.05) / sum) < 1e-9);
  assert_true(plain->decision.kind == VISIT_MEASURE); // nothing is known: idle first
  assert_string_equal(plain->decision.name, "data_stream@idle");
  visit_card_destroy(plain);
  visit_card_destroy(looked);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(test_numbers_are_cleared),
      cmocka_unit_test(test_file_brings_it_back),
      cmocka_unit_test(test_look_weighs_as_bayes_says),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
