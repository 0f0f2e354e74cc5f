/* Bad input to runs and records of the library. Truth: the contract in bladegap.h, a text and a code each time; the sanitizers
 * watch. */
#include "refused.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bladegap_run *run_of(const char *name) {
  bladegap_engine *engine = engine_of(name);
  bladegap_run *run = bladegap_run_create(engine, "settled", 1, TEXT);
  assert_non_null(run);
  bladegap_engine_destroy(engine);
  return run;
}

static void runs_refuse_to_begin(void **state) {
  (void)state;
  bladegap_engine *engine = engine_of("four-16");
  NOTHING(bladegap_run_create(NULL, "settled", 1, TEXT), "engine is NULL");
  NOTHING(bladegap_run_create(engine, NULL, 1, TEXT), "NULL");
  NOTHING(bladegap_run_create(engine, "", 1, TEXT), "there is no start ''");
  NOTHING(bladegap_run_create(engine, "setled", 1, TEXT), "did you mean 'settled'?");
  assert_int_equal(bladegap_engine_set(engine, "engine_off", 1.0, TEXT), BLADEGAP_OK);
  NOTHING(bladegap_run_create(engine, "settled", 1, TEXT), "engine_off");
  assert_int_equal(bladegap_engine_set(engine, "engine_off", 0.0, TEXT), BLADEGAP_OK);
  assert_int_equal(bladegap_engine_set(engine, "fuel_delivery_ratio", 0.3, TEXT), BLADEGAP_OK); // nothing to burn
  NOTHING(bladegap_run_create(engine, "settled", 1, TEXT), "settled point");
  NOTHING(bladegap_run_create(engine, "idling", 1, TEXT), "idle");
  assert_int_equal(bladegap_engine_set(engine, "learned_pct", 20.0, TEXT), BLADEGAP_OK);
  NOTHING(bladegap_run_create(engine, "settled", 1, TEXT), "settled point");
  assert_int_equal(bladegap_engine_set(engine, "supervision.running_rpm", 200.0, TEXT), BLADEGAP_OK);
  NOTHING(bladegap_run_create(engine, "key_off", 1, TEXT), "crank.stall_rpm");
  bladegap_engine_destroy(engine);
}

static void runs_refuse_actions(void **state) {
  (void)state;
  const double nan = (double)NAN;
  bladegap_run *run = run_of("four-16");
  REFUSED(bladegap_run_set(NULL, "film_um", 1.0, 0.0, TEXT), BLADEGAP_USAGE, "run is NULL");
  REFUSED(bladegap_run_set(run, NULL, 1.0, 0.0, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_run_set(run, "", 1.0, 0.0, TEXT), BLADEGAP_USAGE, "''");
  REFUSED(bladegap_run_set(run, "flim_um", 1.0, 0.0, TEXT), BLADEGAP_USAGE, "film_um");
  REFUSED(bladegap_run_set(run, "crank.stall_rpm", 100.0, 0.0, TEXT), BLADEGAP_USAGE, "crank.stall_rpm"); // a parameter
  REFUSED(bladegap_run_set(run, "film_um", -1.0, 0.0, TEXT), BLADEGAP_USAGE, "film_um");
  REFUSED(bladegap_run_set(run, "film_um", nan, 0.0, TEXT), BLADEGAP_USAGE, "film_um");
  REFUSED(bladegap_run_set(run, "film_um", 1.0, -1.0, TEXT), BLADEGAP_USAGE, "ramp");
  REFUSED(bladegap_run_set(run, "film_um", 1.0, nan, TEXT), BLADEGAP_USAGE, "ramp");
  REFUSED(bladegap_run_set(run, "film_um", 1.0, (double)INFINITY, TEXT), BLADEGAP_USAGE, "ramp");
  REFUSED(bladegap_run_set(run, "blade_jammed", 1.0, 2.0, TEXT), BLADEGAP_USAGE, "blade_jammed"); // a switch has no ramp
  REFUSED(bladegap_run_set(run, "blade_jammed", 0.5, 0.0, TEXT), BLADEGAP_USAGE, "blade_jammed");
  REFUSED(bladegap_run_key(NULL, "off", TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_run_key(run, NULL, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_run_key(run, "of", TEXT), BLADEGAP_USAGE, "there is no position of the key 'of'");
  REFUSED(bladegap_run_act(NULL, "clear_codes", TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_run_act(run, NULL, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_run_act(run, "none", TEXT), BLADEGAP_USAGE, "there is no action 'none'");
  REFUSED(bladegap_run_act(run, "clear_code", TEXT), BLADEGAP_USAGE, "did you mean 'clear_codes'?");
  char *name = long_name();
  REFUSED(bladegap_run_note(NULL, "", TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_run_note(run, NULL, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_run_note(run, name, TEXT), BLADEGAP_USAGE, "bytes long");
  REFUSED(bladegap_run_note(run, "two\nlines", TEXT), BLADEGAP_USAGE, "note");
  REFUSED(bladegap_run_set(run, name, 1.0, 0.0, TEXT), BLADEGAP_USAGE, "fff");
  free(name);
  REFUSED(bladegap_run_change_engine(NULL, NULL, TEXT), BLADEGAP_USAGE, "run is NULL");
  REFUSED(bladegap_run_change_engine(run, NULL, TEXT), BLADEGAP_USAGE, "engine is NULL");
  bladegap_engine *engine = engine_of("four-16");
  assert_int_equal(bladegap_engine_set(engine, "supervision.running_rpm", 200.0, TEXT), BLADEGAP_OK);
  REFUSED(bladegap_run_change_engine(run, engine, TEXT), BLADEGAP_USAGE, "crank.stall_rpm");
  bladegap_engine_destroy(engine);
  assert_int_equal(bladegap_run_step(run, 10, TEXT), BLADEGAP_OK); // none of that did any harm
  bladegap_run_destroy(run);
}

static void runs_refuse_questions(void **state) {
  (void)state;
  double value, values[200];
  bladegap_run *run = run_of("three-10");
  REFUSED(bladegap_run_step(NULL, 1, TEXT), BLADEGAP_USAGE, "run is NULL");
  REFUSED(bladegap_run_step(run, (size_t)-1, TEXT), BLADEGAP_USAGE, "a day");
  assert_int_equal(bladegap_run_step(run, 0, TEXT), BLADEGAP_OK);
  assert_true(isnan(bladegap_run_time_s(NULL)));
  REFUSED(bladegap_run_value(NULL, "speed_rpm", &value, TEXT), BLADEGAP_USAGE, "run is NULL");
  REFUSED(bladegap_run_value(run, NULL, &value, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_run_value(run, "speed_rpm", NULL, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_run_value(run, "sped_rpm", &value, TEXT), BLADEGAP_USAGE, "did you mean 'speed_rpm'?");
  REFUSED(bladegap_run_values(NULL, values, 1, TEXT), BLADEGAP_USAGE, "run is NULL");
  REFUSED(bladegap_run_values(run, NULL, 1, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_run_values(run, values, 1, TEXT), BLADEGAP_USAGE, "channels");
  NOTHING(bladegap_run_table(NULL, "events", TEXT), "run is NULL");
  NOTHING(bladegap_run_table(run, NULL, TEXT), "NULL");
  NOTHING(bladegap_run_table(run, "event", TEXT), "did you mean 'events'?");
  bladegap_run_destroy(run);
}

static void runs_refuse_what_was_not_saved(void **state) {
  (void)state;
  bladegap_run *run = run_of("four-16"), *other = run_of("six-30");
  const size_t size = bladegap_run_save_size(run);
  assert_int_equal(bladegap_run_save_size(NULL), 0);
  char *memory = calloc(1, size);
  assert_non_null(memory);
  REFUSED(bladegap_run_save(NULL, memory, size, TEXT), BLADEGAP_USAGE, "run is NULL");
  REFUSED(bladegap_run_save(run, NULL, size, TEXT), BLADEGAP_USAGE, "bytes");
  REFUSED(bladegap_run_save(run, memory, size - 1, TEXT), BLADEGAP_USAGE, "bytes");
  REFUSED(bladegap_run_restore(run, memory, size, TEXT), BLADEGAP_USAGE, "completely saved");
  assert_int_equal(bladegap_run_save(run, memory, size, TEXT), BLADEGAP_OK);
  REFUSED(bladegap_run_restore(NULL, memory, size, TEXT), BLADEGAP_USAGE, "run is NULL");
  REFUSED(bladegap_run_restore(run, NULL, size, TEXT), BLADEGAP_USAGE, "completely saved");
  REFUSED(bladegap_run_restore(run, memory, size - 1, TEXT), BLADEGAP_USAGE, "completely saved");
  REFUSED(bladegap_run_restore(run, memory, 3, TEXT), BLADEGAP_USAGE, "completely saved");
  REFUSED(bladegap_run_restore(other, memory, size, TEXT), BLADEGAP_USAGE, "another engine");
  for (size_t at = 0; at < size; at += 997) { // a bit elsewhere, anywhere
    memory[at] ^= 16;
    REFUSED(bladegap_run_restore(run, memory, size, TEXT), BLADEGAP_USAGE, "completely saved");
    memory[at] ^= 16;
  }
  assert_int_equal(bladegap_run_restore(run, memory, size, TEXT), BLADEGAP_OK);
  free(memory);
  bladegap_run_destroy(run);
  bladegap_run_destroy(other);
}

/* What a record cannot say is an error, not a record that says something else. */
static void records_refuse(void **state) {
  (void)state;
  char record[2000];
  size_t needed;
  bladegap_run *run = run_of("four-16");
  REFUSED(bladegap_run_record(NULL, record, sizeof record, &needed, TEXT), BLADEGAP_USAGE, "run is NULL");
  REFUSED(bladegap_run_record(run, record, 10, &needed, TEXT), BLADEGAP_USAGE, "takes");
  assert_true(needed > 10 && needed < sizeof record);
  REFUSED(bladegap_run_record(run, record, needed - 1, NULL, TEXT), BLADEGAP_USAGE, "takes");
  assert_int_equal(bladegap_run_record(run, record, needed, NULL, TEXT), BLADEGAP_OK);
  assert_int_equal(bladegap_run_record(run, NULL, 0, NULL, TEXT), BLADEGAP_OK);
  bladegap_engine *engine = engine_of("four-16");
  assert_int_equal(bladegap_engine_set(engine, "friction.constant_bar", 0.7, TEXT), BLADEGAP_OK);
  bladegap_run *other = bladegap_run_create(engine, "settled", 1, TEXT);
  REFUSED(bladegap_run_record(other, NULL, 0, &needed, TEXT), BLADEGAP_USAGE, "parameters were set");
  bladegap_run_destroy(other);
  assert_int_equal(bladegap_run_change_engine(run, engine, TEXT), BLADEGAP_OK);
  REFUSED(bladegap_run_record(run, NULL, 0, &needed, TEXT), BLADEGAP_USAGE, "changed while it ran");
  bladegap_engine_destroy(engine);
  engine = engine_of("four-16");
  assert_int_equal(bladegap_engine_set(engine, "learned_pct", 7.0, TEXT), BLADEGAP_OK);
  other = bladegap_run_create(engine, "settled", 1, TEXT);
  REFUSED(bladegap_run_record(other, NULL, 0, &needed, TEXT), BLADEGAP_USAGE, "learned_pct");
  bladegap_run_destroy(other);
  bladegap_engine_destroy(engine);
  bladegap_run_destroy(run);
}

static void replays_refuse(void **state) {
  (void)state;
  static const struct {
    const char *text, *says;
  } rows[] = {
      {"", "r"},
      {"nothing of the kind\n", "r:1:"},
      {"bladegap-record 1 four-17\n1 end\n", "r:1: there is no engine 'four-17'; did you mean 'four-16'?"},
      {"bladegap-record 9 four-16\n1 end\n", "r:1:"},
      {"bladegap-record 1 four-16\n", "r"},
      {"bladegap-record 1 four-16\nstart state settled\n0.5 film_mm 3\n1 end\n", "r:3:"},
      {"bladegap-record 1 four-16\nstart state settled\n0.5 film_um 3e9\n1 end\n", "r:3:"},
      {"bladegap-record 1 four-16\nstart state settled\n0.5 film_um nan\n1 end\n", "r:3:"},
      {"bladegap-record 1 four-16\nstart solver cvode\n1 end\n", "solver cvode"},
      {"bladegap-record 1 four-16\nstart state settled\nstart fuel_delivery_ratio 0.3\n1 end\n", "settled point"},
  };
  NOTHING(bladegap_run_replay(NULL, "", 0, NULL, TEXT), "NULL");
  NOTHING(bladegap_run_replay("r", NULL, 0, NULL, TEXT), "NULL");
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    const size_t size = strlen(rows[i].text);
    for (size_t cut = 0; cut <= size; cut++) { // every beginning is read or refused; no null behind it
      char *exact = malloc(cut ? cut : 1);
      assert_non_null(exact);
      memcpy(exact, rows[i].text, cut);
      bladegap_run *run = bladegap_run_replay("r", exact, cut, NULL, TEXT);
      assert_null(run);
      free(exact);
    }
    NOTHING(bladegap_run_replay("r", rows[i].text, size, NULL, TEXT), rows[i].says);
  }
  char *name = long_name();
  NOTHING(bladegap_run_replay("r", name, strlen(name), NULL, TEXT), "r:1:");
  free(name);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(runs_refuse_to_begin),  cmocka_unit_test(runs_refuse_actions),
      cmocka_unit_test(runs_refuse_questions), cmocka_unit_test(runs_refuse_what_was_not_saved),
      cmocka_unit_test(records_refuse),        cmocka_unit_test(replays_refuse),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
