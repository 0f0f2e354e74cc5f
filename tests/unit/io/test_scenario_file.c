/* The strict reader on scenario files. Truth: the values and lines that stand in the files themselves; a
 * range comes from the table of conditions. */
#include "base/attributes.h"
#include "io/config/scenario_file.h"
#include "support/slip.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static struct error error;

static const char scenario_text[] = "title = \"A scenario\";\n"
                                    "engine = \"engine.cfg\";\n"
                                    "duration_s = 60.0;\n"
                                    "initial = { film_um = 40.0; };\n"
                                    "timeline = (\n"
                                    "  { at_s = 10.0; ramp_s = 20.0; film_um = 80.0; },\n"
                                    "  { at_s = 50.0; drive = true; }\n"
                                    ");\n";

static void good_scenario_reads_in_si(void **state) {
  (void)state;
  struct scenario scenario;
  error_clear(&error);
  const enum status status = scenario_file_read(SLIP_DATA "good-scenario.cfg", &scenario, &error);
  assert_string_equal(error.text, "");
  assert_int_equal(status, STATUS_OK);
  assert_string_equal(scenario.name, "good-scenario");
  assert_string_equal(scenario.title, "Every key");
  assert_string_equal(scenario.engine_path, SLIP_DATA "../../../models/four-16.cfg");
  slip_assert_close(scenario.duration_s, 120.0);
  slip_assert_close(scenario.record_s, 0.05);
  assert_int_equal(scenario.seed, 7);
  assert_false(scenario.running);
  slip_assert_close(scenario.initial.film_m, 40e-6);
  slip_assert_close(scenario.initial.coolant_k, 262.65);
  slip_assert_close(scenario.initial.drive_selected, 1.0);
  slip_assert_close(scenario.initial.electrical_load_w, 300.0); // the row's own start
  assert_int_equal(scenario.step_count, 5);
  static const int lines[] = {16, 13, 12, 14, 15}; // by time; the two of 60 s as the file has them
  for (size_t i = 0; i < ARRAY_COUNT(lines); i++) assert_int_equal(scenario.steps[i].line, lines[i]);
  const struct scenario_step *on = &scenario.steps[0], *ramp = &scenario.steps[2], *two = &scenario.steps[3];
  assert_int_equal(on->key, KEY_ON);
  assert_int_equal(scenario.steps[1].key, KEY_START);
  slip_assert_close(ramp->at_s, 60.0);
  slip_assert_close(ramp->ramp_s, 30.0);
  assert_int_equal(ramp->key, -1);
  assert_string_equal(ramp->note, "The film grows");
  assert_int_equal(ramp->set_count, 1);
  assert_ptr_equal(&condition_rows[ramp->sets[0].condition], condition_find("film_um"));
  slip_assert_close(ramp->sets[0].value, 90e-6);
  assert_int_equal(two->set_count, 2);
  assert_int_equal(scenario.steps[4].action, SCENARIO_ACTION_CLEAR_CODES);
  scenario_destroy(&scenario);
}

static void defaults_stand_where_a_scenario_says_nothing(void **state) {
  (void)state;
  static const char text[] = "title = \"Short\"; engine = \"engine.cfg\"; duration_s = 1;";
  struct scenario scenario;
  slip_write(slip_here.engine_path, slip_here.model, strlen(slip_here.model));
  slip_write(slip_here.scenario_path, text, sizeof text - 1);
  error_clear(&error);
  assert_int_equal(scenario_file_read(slip_here.scenario_path, &scenario, &error), STATUS_OK);
  assert_string_equal(scenario.engine_path, slip_here.engine_path);
  slip_assert_close(scenario.record_s, 0.1);
  assert_int_equal(scenario.seed, 1);
  assert_true(scenario.running);
  assert_int_equal(scenario.step_count, 0);
  scenario_destroy(&scenario);
}

static void each_slip_in_a_scenario_is_named(void **state) {
  (void)state;
  char unknown[300];
  snprintf(unknown, sizeof unknown,
           "key 'initial.throttle_body' is unknown; allowed here: film_um, edge_film_um, bypass_film_um, leak_mm2, "
           "leak_bank1_pct, booster_leak_mm2 and %zu more, see `bladegap list faults`",
           condition_count - 6);
  const struct slip slips[] = {
      {"duration_s = 60.0", "duration_s = 0", NULL, "key 'duration_s' is 0; allowed: 0.1 to 86400"},
      {"duration_s", "record_s = 0.025; duration_s", NULL, "key 'record_s' is 0.025; it must be a multiple of 0.01"},
      {"duration_s", "seed = -1; duration_s", NULL, "key 'seed' is -1; allowed: 0 to 2147483647"},
      {"duration_s", "seed = 1.5; duration_s", NULL, "key 'seed' must be a whole number without a decimal point, found 1.5"},
      {"duration_s", "start = \"ideling\"; duration_s", NULL,
       "key 'start' is the text \"ideling\"; did you mean \"idling\"? allowed: idling, key_off, settled"},
      {"duration_s", "start = false; duration_s", NULL,
       "key 'start' must be one of idling, key_off, settled (in quotation marks), found false"},
      {"duration_s", "lines = 3; duration_s", NULL,
       "key 'lines' is unknown; allowed here: title, engine, duration_s, record_s, seed, start, film_tables, solver, initial, "
       "timeline"},
      {"engine = \"engine.cfg\";\n", "\n", "title", "key 'engine' is missing: it must be text"},
      {"film_um = 40.0", "flim_um = 40.0", NULL, "key 'initial.flim_um' is unknown; did you mean 'film_um'?"},
      {"film_um = 40.0", "throttle_body = 40.0", NULL, unknown},
      {"film_um = 40.0", "film_um = 301", NULL, "key 'initial.film_um' is 301; allowed: 0 to 300"},
      {"film_um = 40.0", "drive = 2", NULL, "key 'initial.drive' must be false or true (or 0 or 1), found the whole number 2"},
      {"film_um = 40.0", "drive = 1.0", NULL, "key 'initial.drive' must be false or true (or 0 or 1), found the number 1"},
      {"film_um = 40.0", "ambient_kpa = 49.9", NULL,
       "key 'initial.ambient_kpa' is 49.9; allowed: 50 to 110, or 0 to take it from altitude_m"},
      {"{ film_um = 40.0; }", "40.0", NULL, "key 'initial' must be a group { ... }, found the number 40"},
      {"timeline = (", "timeline = 5; title = (", "title = (",
       "a key of this group is written a second time: timeline = 5; title = ("},
      {"{ at_s = 50.0; drive = true; }", "50.0", NULL, "key 'timeline' must be a group { ... }, found the number 50"},
      {"at_s = 50.0; ", "", NULL, "key 'timeline.at_s' is missing: when the step happens, seconds"},
      {"at_s = 50.0", "at_s = 60.01", NULL, "key 'timeline.at_s' is 60.01, after the end: duration_s is 60"},
      {"at_s = 50.0", "at_s = -1", NULL, "key 'timeline.at_s' is -1; allowed: 0 to 86400"},
      {"at_s = 50.0;", "at_s = 50.0; ramp_s = 1;", NULL,
       "key 'timeline.drive' is a switch and cannot be ramped; give it a step of its own without ramp_s"},
      {"drive = true; ", "", NULL, "this step does nothing; give it a condition, a key, an action or a note"},
      {"drive = true; ", "ramp_s = 1; note = \"x\";", NULL, "key 'timeline.ramp_s' has no condition to ramp in this step"},
      {"drive = true", "key = \"of\"", NULL,
       "key 'timeline.key' is the text \"of\"; did you mean \"off\"? allowed: off, on, start"},
      {"drive = true", "action = \"clean\"", NULL,
       "key 'timeline.action' must be one of none, clear_codes, reset_learned, lose_closed_stop (in quotation "
       "marks), found the "
       "text "
       "\"clean\""},
      {"drive = true", "note = \"\"", NULL, "key 'timeline.note' is 0 bytes long; allowed: 1 to 199"},
      {"drive = true", "note = 3", NULL, "key 'timeline.note' must be text in quotation marks, found the whole number 3"},
      {"drive = true", "ambient_kpa = 3", NULL,
       "key 'timeline.ambient_kpa' is 3; allowed: 50 to 110, or 0 to take it from altitude_m"},
      {"drive = true", "ramp_s = 2; ambient_kpa = 90", NULL,
       "key 'timeline.ambient_kpa' cannot ramp from or to 0, which means: from altitude_m; set a pressure "
       "first"},
      {"at_s = 50.0; drive = true", "at_s = 29.0; film_um = 9", NULL,
       "key 'timeline.film_um' is set at 29 s while the ramp of line 6 still runs, until 30 s"},
      {"at_s = 50.0; drive = true", "at_s = 5; ramp_s = 5.1; film_um = 9", "{ at_s = 10.0",
       "key 'timeline.film_um' is set at 10 s while the ramp of line 7 still runs, until 10.1 s"},
      {"drive = true",
       "film_um = 1; edge_film_um = 1; leak_mm2 = 1; drag_nm = 1; air_conditioning = 1; drive = 1; "
       "electrical_load_w = "
       "1; pedal_pct = 1; hold_rpm = 1",
       NULL, "this step sets 9 conditions; allowed: 8. Write a second step with the same at_s"},
  };
  slip_write(slip_here.engine_path, slip_here.model, strlen(slip_here.model));
  for (size_t i = 0; i < ARRAY_COUNT(slips); i++)
    slip_assert(slip_here.scenario_path, scenario_text, &slips[i], slip_read_scenario);
}

static void a_step_may_begin_where_a_ramp_ends(void **state) {
  (void)state;
  // 0.1 + 0.2 is a hair above 0.3 in binary.
  static const char text[] = "title = \"x\"; engine = \"engine.cfg\"; duration_s = 1;\n"
                             "timeline = ( { at_s = 0.1; ramp_s = 0.2; film_um = 1; }, { at_s = 0.3; film_um = 2; } );";
  slip_write(slip_here.engine_path, slip_here.model, strlen(slip_here.model));
  slip_write(slip_here.scenario_path, text, sizeof text - 1);
  error_clear(&error);
  assert_int_equal(slip_read_scenario(slip_here.scenario_path, &error), STATUS_OK);
}

static void a_step_may_end_a_ramp_where_it_says_so(void **state) {
  (void)state;
  static const char text[] =
      "title = \"x\"; engine = \"engine.cfg\"; duration_s = 9; film_tables = \"on_demand\"; solver = \"fast\";\n"
      "timeline = ( { at_s = 1; ramp_s = 5; film_um = 9; }, { at_s = 2; film_um = 2; ends_ramp = true; },\n"
      "  { at_s = 3; film_um = 4; } );";
  struct scenario scenario;
  slip_write(slip_here.engine_path, slip_here.model, strlen(slip_here.model));
  slip_write(slip_here.scenario_path, text, sizeof text - 1);
  error_clear(&error);
  assert_int_equal(scenario_file_read(slip_here.scenario_path, &scenario, &error), STATUS_OK);
  assert_true(scenario.film_on_demand);
  assert_string_equal(scenario.solver, "fast");
  scenario_destroy(&scenario);
}

static void ten_faults_are_told_in_one_go(void **state) {
  (void)state;
  static const char wanted[] = SLIP_DATA
      "ten-faults.cfg:3: key 'engine' names " SLIP_DATA
      "../../../models/four-61.cfg, which cannot be read: No such file or directory; did you mean " SLIP_DATA
      "../../../models/four-16.cfg?\n" SLIP_DATA "ten-faults.cfg:4: key 'duration_s' is 86401; allowed: 0.1 to 86400\n" SLIP_DATA
      "ten-faults.cfg:5: key 'record_s' is 0.105; it must be a multiple of 0.01\n" SLIP_DATA
      "ten-faults.cfg:6: key 'start' is the text \"ideling\"; did you mean \"idling\"? allowed: idling, "
      "key_off, settled\n" SLIP_DATA "ten-faults.cfg:8: key 'initial.drive' must be false or true (or 0 or 1), found "
      "the text \"yes\"\n" SLIP_DATA "ten-faults.cfg:8: key 'initial.flim_um' is unknown; did you mean 'film_um'?\n" SLIP_DATA
      "ten-faults.cfg:11: key 'timeline.air_conditioning' is a switch and cannot be ramped; give it a step "
      "of its "
      "own without ramp_s\n" SLIP_DATA
      "ten-faults.cfg:12: key 'timeline.at_s' is missing: when the step happens, seconds\n" SLIP_DATA
      "ten-faults.cfg:13: this step does nothing; give it a condition, a key, an action or a note\n" SLIP_DATA
      "ten-faults.cfg:14: key 'timeline.key' is the text \"of\"; did you mean \"off\"? allowed: off, on, "
      "start";
  error_clear(&error);
  assert_int_equal(slip_read_scenario(SLIP_DATA "ten-faults.cfg", &error), STATUS_BAD_CONFIG);
  assert_string_equal(error.text, wanted);
  assert_int_equal(error.line_count, 10);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(good_scenario_reads_in_si),        cmocka_unit_test(defaults_stand_where_a_scenario_says_nothing),
      cmocka_unit_test(each_slip_in_a_scenario_is_named), cmocka_unit_test(a_step_may_begin_where_a_ramp_ends),
      cmocka_unit_test(ten_faults_are_told_in_one_go),    cmocka_unit_test(a_step_may_end_a_ramp_where_it_says_so),
  };
  return cmocka_run_group_tests(tests, slip_begin, slip_end);
}
