/* sim/record: reading, writing, replaying. Truth: the run that a record was kept of, bit for bit; messages by hand. */
#include "sim/record.h"

#include "analysis/settle/launch.h"
#include "support/check.h"
#include "support/scene.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define HEAD "bladegap-record 1 four-16\n"

static void must(enum status status, const struct error *error) {
  if (status != STATUS_OK) fail_msg("%s", error->text);
}

static char *written(const struct scenario *scenario, const char *engine) {
  const size_t size = record_write(scenario, engine, NULL, 0);
  char *text = malloc(size + 1);
  assert_int_equal(record_write(scenario, engine, text, size + 1), size);
  assert_int_equal(strlen(text), size);
  return text;
}

static void same_steps(const struct scenario *a, const struct scenario *b) {
  assert_memory_equal(&a->initial, &b->initial, sizeof a->initial);
  assert_int_equal(a->seed, b->seed);
  check_close(a->duration_s, b->duration_s, 0.0);
  check_close(a->record_s, b->record_s, 0.0);
  assert_int_equal(scenario_start_of(a), scenario_start_of(b));
  assert_string_equal(a->title, b->title);
}

/* Written and read again it is the same, to the last digit, in any unit. */
static void round_trip(void **state) {
  (void)state;
  struct scenario first, second;
  struct error error;
  error_clear(&error);
  scenario_init(&first);
  strcpy(first.title, "a title of several words");
  first.duration_s = 12345.67;
  first.record_s = 0.07;
  first.seed = UINT64_MAX;
  double share = 0.1234567890123;
  for (size_t i = 0; i < condition_count; i++) { // any number between the ends of its range
    const struct field *field = &condition_rows[i].field;
    share = fmod(share * 7.3 + 0.271828, 1.0);
    double value = field->min + share * (field->max - field->min);
    if (field->kind == FIELD_SWITCH) value = share > 0.5;
    if (condition_is_ambient(&condition_rows[i])) value = 50.0 + 50.0 * share;
    const double si = field_to_si(field, value);
    conditions_set(&first.initial, field, si);
    struct scenario_step step = {.at_s = 0.01 * (double)(i / 3), .key = -1, .set_count = 1, .sets = {{i, si}}};
    if (field->kind == FIELD_REAL) step.ramp_s = share;
    must(scenario_append(&first, &step, &error), &error);
  }
  must(scenario_append(&first, &(struct scenario_step){.at_s = 100000.0 / 7.0, .key = KEY_START}, &error), &error);
  first.steps[first.step_count - 1].at_s = 100.0 / 7.0;
  must(scenario_append(&first, &(struct scenario_step){.at_s = 20.0, .key = -1, .action = SCENARIO_ACTION_LOSE_CLOSED}, &error),
       &error);
  must(scenario_append(&first, &(struct scenario_step){.at_s = 20.0, .key = -1, .note = "note # with 2 words"}, &error), &error);
  char *text = written(&first, "/a folder/own.cfg");
  must(record_read(text, strlen(text), "text", &second, &error), &error);
  same_steps(&first, &second);
  assert_string_equal(second.engine_path, "/a folder/own.cfg");
  assert_int_equal(first.step_count, second.step_count);
  for (size_t i = 0; i < first.step_count; i++) {
    const struct scenario_step *a = &first.steps[i], *b = &second.steps[i];
    assert_memory_equal(&a->at_s, &b->at_s, sizeof a->at_s);
    assert_memory_equal(&a->ramp_s, &b->ramp_s, sizeof a->ramp_s);
    assert_memory_equal(a->sets, b->sets, a->set_count * sizeof a->sets[0]);
    assert_int_equal(a->key, b->key);
    assert_int_equal(a->action, b->action);
    assert_string_equal(a->note, b->note);
  }
  char *again = written(&second, second.engine_path);
  assert_string_equal(text, again);
  free(text);
  free(again);
  scenario_destroy(&first);
  scenario_destroy(&second);
}

/* Room for a part only: what fits, ended, and the size of the whole. */
static void too_little_room(void **state) {
  (void)state;
  struct scenario scenario;
  scenario_init(&scenario);
  scenario.duration_s = 1.0;
  char *whole = written(&scenario, "four-16"), part[32];
  for (size_t size = 1; size <= sizeof part; size++) {
    memset(part, 'x', sizeof part);
    assert_int_equal(record_write(&scenario, "four-16", part, size), strlen(whole));
    assert_int_equal(strlen(part), size - 1);
    assert_memory_equal(part, whole, size - 1);
  }
  free(whole);
}

/* As a person writes numbers: the shortest. */
static void plain_numbers(void **state) {
  (void)state;
  struct scene scene;
  scene_init(&scene, "four-16", 100000.0);
  scene.scenario.duration_s = 60.0;
  scene_initial(&scene, "film_um", 12.0);
  scene_initial(&scene, "coolant_c", 20.0);
  scene_ramp(&scene, 0.57, 7.0, "film_um", 40.1);
  scene_set(&scene, 3.29, "electrical_load_w", 1200.0);
  scene_key(&scene, 40.0, KEY_OFF);
  char *text = written(&scene.scenario, "four-16");
  assert_string_equal(text, HEAD "start state idling\nstart seed 1\nstart record_s 0.1\nstart film_um 12\nstart coolant_c 20\n"
                                 "0.57 film_um 40.1 7\n3.29 electrical_load_w 1200\n40 key off\n60 end\n");
  free(text);
  scene_end(&scene);
}

static void run_scene(struct scene *scene, const struct solver_vtable *solver) {
  struct error error;
  error_clear(&error);
  must(launch_scenario(&scene->engine, &scene->scenario, solver, &scene->options, &scene->sim, &error), &error);
}

/* A live run of each engine, with its own timeline, plays, samples and a step back, replayed from its record. */
static void replay(const char *model, enum scenario_start start, bool on_demand) {
  struct scene live, again;
  struct error error;
  error_clear(&error);
  scene_init(&live, model, 30.0);
  scenario_set_start(&live.scenario, start);
  live.scenario.film_on_demand = on_demand;
  scene_initial(&live, "film_um", 7.0);
  scene_initial(&live, "warmth_held", 0.0);
  scene_ramp(&live, 2.005, 3.0, "drag_nm", 1.1); // between two ticks
  if (start == SCENARIO_START_KEY_OFF) scene_key(&live, 0.5, KEY_START);
  run_scene(&live, &solver_fast);
  struct scenario record;
  scenario_init(&record);
  must(simulation_keep(live.sim, &record, &error), &error);
  live.sim->recording = &live.recording;
  char *saved = NULL;
  size_t rows = 0, size = 0;
  for (int tick = 0; tick < 2500; tick++) {
    double values[CHANNEL_COUNT];
    if (tick % 7 == 0) must(simulation_sample(live.sim, values, &error), &error);
    if (tick % 131 == 0) must(simulation_set(live.sim, "film_um", 7.0 + 0.01 * tick, tick % 2 ? 0.37 : 0.0, &error), &error);
    if (tick == 500) must(simulation_set(live.sim, "coolant_c", 60.0, 0.0, &error), &error);
    if (tick == 800 && !saved) {
      size = simulation_save_size(live.sim);
      saved = malloc(size);
      must(simulation_save(live.sim, saved, size, &error), &error);
      rows = live.recording.row_count;
      must(simulation_set(live.sim, "leak_mm2", 150.0, 0.0, &error), &error); // will not have been
    }
    if (tick == 900 && size) {
      must(simulation_restore(live.sim, saved, size, &error), &error);
      live.recording.row_count = rows;
      size = 0;
      tick = 800;
    }
    must(simulation_tick(live.sim, &error), &error);
  }
  free(saved);
  must(simulation_run_until(live.sim, simulation_time_s(live.sim), &live.recording, NULL, NULL, &error), &error);
  char *text = written(&record, model);
  scene_init(&again, model, 1.0);
  must(record_read(text, strlen(text), model, &again.scenario, &error), &error);
  assert_string_equal(again.scenario.solver, "fast");
  run_scene(&again, &solver_fast);
  must(simulation_run(again.sim, &again.recording, NULL, NULL, &error), &error);
  assert_int_equal(again.recording.row_count, live.recording.row_count);
  assert_memory_equal(again.recording.values, live.recording.values,
                      live.recording.row_count * CHANNEL_COUNT * sizeof *live.recording.values);
  char *twice = written(&again.scenario, model);
  assert_string_equal(text, twice);
  free(text);
  free(twice);
  scenario_destroy(&record);
  scene_end(&live);
  scene_end(&again);
}

static void replaying(void **state) {
  (void)state;
  replay("four-16", SCENARIO_START_SETTLED, false);
  replay("four-18-cable", SCENARIO_START_SETTLED, false);
  replay("six-30", SCENARIO_START_IDLING, true);
  replay("three-10", SCENARIO_START_IDLING, false);
  replay("four-15-turbo", SCENARIO_START_SETTLED, false);
  replay("four-16", SCENARIO_START_KEY_OFF, true);
}

/* Each slip is told with its line, what is allowed, and what may have been meant. */
static void slips(void **state) {
  (void)state;
  static const struct {
    const char *text, *message;
  } cases[] = {
      {"", "r:0: this is not a record"},
      {"title = \"x\";\n", "r:1: this is not a record: its first line must begin with 'bladegap-record FORMAT ENGINE'"},
      {"bladegap-record 2 four-16\n1 end\n", "r:1: the record's format is '2'; this program reads format 1"},
      {"bladegap-record\n1 end\n", "r:1: the record's format is ''"},
      {"bladegap-record 1\n1 end\n", "r:1: the first line names no engine"},
      {HEAD "1 film_um 3\n", "r:2: the record has no last line 'TIME end'"},
      {HEAD "1 flim_um 3\n1 end\n", "r:2: 'flim_um' is unknown; did you mean 'film_um'?"},
      {HEAD "1 qqqqqqqqqqqq 3\n1 end\n", "r:2: 'qqqqqqqqqqqq' is unknown; allowed: key, action, note, end, or a condition"},
      {HEAD "1 film_um 301\n1 end\n", "r:2: film_um is 301; allowed: 0 to 300"},
      {HEAD "1 film_um\n1 end\n", "r:2: film_um has no value; allowed: 0 to 300"},
      {HEAD "1 film_um ten\n1 end\n", "r:2: film_um is 'ten', which is not a number; allowed: 0 to 300"},
      {HEAD "1 film_um nan\n1 end\n", "not a number"},
      {HEAD "1 film_um 0x10\n1 end\n", "not a number"},
      {HEAD "1 film_um 1e999\n1 end\n", "not a number"},
      {HEAD "1 film_um 10 -1\n1 end\n", "r:2: a ramp is -1; allowed: 0 to 86400"},
      {HEAD "1 film_um 10 1 7\n1 end\n", "r:2: '7' is one word too many"},
      {HEAD "1 drive 0.5\n1 end\n", "r:2: drive is 0.5; it is a switch, 0 or 1"},
      {HEAD "1 drive 1 2\n1 end\n", "r:2: drive is a switch and cannot be ramped"},
      {HEAD "1 ambient_kpa 20\n1 end\n", "50 to 110, or 0"},
      {HEAD "1 ambient_kpa 90 3\n9 end\n", "set a pressure first"},
      {HEAD "-1 film_um 10\n1 end\n", "r:2: the time is -1 s; allowed: 0 to 86400"},
      {HEAD "2 film_um 10\n# comment\n\n1 film_um 3\n5 end\n", "r:5: 1 s comes after 2 s; lines must be in order of time"},
      {HEAD "strat film_um 10\n1 end\n", "r:2: 'strat' is neither a time nor 'start'; did you mean 'start'?"},
      {HEAD "start stat idling\n1 end\n", "did you mean 'state'?"},
      {HEAD "start state ideling\n1 end\n", "r:2: state is 'ideling'; did you mean 'idling'? Allowed: idling, key_off, settled"},
      {HEAD "start seed -1\n1 end\n", "r:2: seed is '-1'; allowed: whole numbers from 0"},
      {HEAD "start seed 18446744073709551616\n1 end\n", "allowed: whole numbers"},
      {HEAD "start record_s 0.015\n1 end\n", "r:2: record_s is 0.015; it must be a multiple of 0.01"},
      {HEAD "start record_s 0\n1 end\n", "allowed: 0.01 to 60"},
      {HEAD "start film_um 1\nstart film_um 2\n1 end\n", "r:3: 'start film_um' is given twice"},
      {HEAD "1 film_um 1\nstart drag_nm 2\n1 end\n", "r:3: 'start drag_nm' comes after a line with a time"},
      {HEAD "start solver euler\n1 end\n", "allowed: cvode, fast, fixed"},
      {HEAD "1 key of\n1 end\n", "r:2: key is 'of'; did you mean 'off'? Allowed: off, on, start"},
      {HEAD "1 action none\n1 end\n", "r:2: action is 'none'; allowed: clear_codes, reset_learned, lose_closed_stop"},
      {HEAD "1 note\n1 end\n", "r:2: a note is one line of 1 to 199 bytes"},
      {HEAD "1 note a\001b\n1 end\n", "without control characters"},
      {HEAD "1 end\n2 film_um 1\n", "r:3: a line after the end"},
      {HEAD "0 end\n", "r:2: the end is at 0 s; allowed: 0.01 to 86400"},
  };
  for (size_t i = 0; i < ARRAY_COUNT(cases); i++) {
    struct scenario scenario;
    struct error error;
    error_clear(&error);
    assert_int_equal(record_read(cases[i].text, strlen(cases[i].text), "r", &scenario, &error), STATUS_BAD_CONFIG);
    if (!strstr(error.text, cases[i].message)) fail_msg("'%s' should say '%s'", error.text, cases[i].message);
    scenario_destroy(&scenario);
  }
}

/* All slips in one go; Windows line ends, a byte-order mark, tabs and no last line end are no slips; the text need not end in a
 * NUL. */
static void several_and_none(void **state) {
  (void)state;
  struct scenario scenario;
  struct error error;
  error_clear(&error);
  static const char two[] = HEAD "1 film_um 301\n2 kee off\n3 end\n";
  assert_int_equal(record_read(two, strlen(two), "r", &scenario, &error), STATUS_BAD_CONFIG);
  assert_int_equal(error.line_count, 2);
  scenario_destroy(&scenario);
  error_clear(&error);
  static const char good[] = "\xef\xbb\xbf"
                             "bladegap-record 1 four-16\r\n\tstart\tstate  key_off \r\n1 key start\r\n2.5 endGARBAGE";
  must(record_read(good, sizeof good - 1 - strlen("GARBAGE"), "r", &scenario, &error), &error);
  assert_true(record_is(good, sizeof good));
  assert_int_equal(scenario.step_count, 1);
  assert_int_equal(scenario.steps[0].key, KEY_START);
  check_close(scenario.duration_s, 2.5, 0.0);
  assert_false(scenario.running);
  scenario_destroy(&scenario);
}

/* Any mutilated record ends in a scenario or in a fault. */
static void mutilated(void **state) {
  (void)state;
  static const char good[] = HEAD "start state settled\nstart film_um 12\n0.57 film_um 40.1 7\n3 key off\n4 action clear_codes\n"
                                  "5 note words\n6 end\n";
  char text[sizeof good];
  unsigned seed = 1;
  int read = 0;
  for (int i = 0; i < 20000; i++) {
    memcpy(text, good, sizeof good);
    size_t size = sizeof good - 1;
    for (int k = 0; k < 1 + i % 4; k++) {
      seed = seed * 1664525u + 1013904223u;
      text[(seed >> 8) % size] = (char)(seed >> 24);
    }
    if (i % 5 == 0) size = (seed >> 4) % size;
    struct scenario scenario;
    struct error error;
    error_clear(&error);
    const enum status status = record_read(text, size, "r", &scenario, &error);
    assert_true(status == STATUS_OK || status == STATUS_BAD_CONFIG);
    assert_int_equal(status != STATUS_OK, error.line_count > 0);
    read += status == STATUS_OK;
    scenario_destroy(&scenario);
  }
  check_above(read, 100.0);
  check_below(read, 19000.0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(round_trip), cmocka_unit_test(too_little_room), cmocka_unit_test(plain_numbers),
      cmocka_unit_test(replaying),  cmocka_unit_test(slips),           cmocka_unit_test(several_and_none),
      cmocka_unit_test(mutilated),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
