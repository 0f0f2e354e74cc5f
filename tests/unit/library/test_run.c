/* Runs of the library. Truth: the simulation asked directly, and the run that was not interrupted; bit for bit. */
#include "analysis/settle/launch.h"
#include "base/units.h"
#include "io/config/engine_file.h"
#include "library/bladegap.h"
#include "support/check.h"

#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char text[BLADEGAP_ERROR_SIZE];
#define TEXT text, sizeof text

static void assert_good(int code) {
  if (code != BLADEGAP_OK) fail_msg("%d: %s", code, text);
  assert_string_equal(text, "");
}

static bladegap_run *run_of(const char *name, const char *start, uint64_t seed) {
  bladegap_engine *engine = bladegap_engine_shipped(name, TEXT);
  assert_non_null(engine);
  bladegap_run *run = bladegap_run_create(engine, start, seed, TEXT);
  if (!run) fail_msg("%s", text);
  bladegap_engine_destroy(engine); // the run lives on
  return run;
}

static void step(bladegap_run *run, size_t ticks) { assert_good(bladegap_run_step(run, ticks, TEXT)); }

static void values_of(bladegap_run *run, double values[CHANNEL_COUNT]) {
  assert_good(bladegap_run_values(run, values, CHANNEL_COUNT, TEXT));
}

static void assert_same(const char *what, bladegap_run *a, const double expected[CHANNEL_COUNT]) {
  double values[CHANNEL_COUNT];
  values_of(a, values);
  for (int i = 0; i < CHANNEL_COUNT; i++)
    if (memcmp(&values[i], &expected[i], sizeof values[i]) != 0 && !(isnan(values[i]) && isnan(expected[i])))
      fail_msg("%s: %s: %.17g and %.17g", what, channel_rows[i].name, values[i], expected[i]);
}

/* The same in the core: film on a ramp, a load, the learned offset reset, the key. */
static void core_run(const char *name, enum scenario_start start, double values[CHANNEL_COUNT]) {
  static struct engine engine;
  struct error error;
  error_clear(&error);
  char path[64];
  snprintf(path, sizeof path, "models/%s.cfg", name);
  assert_int_equal(engine_file_read(path, &engine, &error), STATUS_OK);
  struct scenario scenario;
  scenario_init(&scenario);
  scenario_set_start(&scenario, start);
  scenario.seed = 7;
  scenario.film_on_demand = true;
  struct simulation *sim;
  const struct solver_options options = solver_options_default();
  if (launch_scenario(&engine, &scenario, &solver_fast, &options, &sim, &error) != STATUS_OK) fail_msg("%s", error.text);
  for (int tick = 0; tick < 1500; tick++) {
    enum status status = STATUS_OK;
    if (tick == 100) status = simulation_set(sim, "film_um", 40.0, 5.0, &error);
    if (tick == 300) status = simulation_set(sim, "air_conditioning", 1.0, 0.0, &error);
    if (tick == 900)
      status = simulation_play(sim, &(struct scenario_step){.key = -1, .action = SCENARIO_ACTION_RESET_LEARNED}, &error);
    if (tick == 1200) status = simulation_play(sim, &(struct scenario_step){.key = KEY_OFF}, &error);
    if (status == STATUS_OK) status = simulation_tick(sim, &error);
    if (status != STATUS_OK) fail_msg("%s", error.text);
  }
  assert_int_equal(simulation_sample(sim, values, &error), STATUS_OK);
  simulation_destroy(sim);
  scenario_destroy(&scenario);
}

static void act(bladegap_run *run) {
  step(run, 100);
  assert_good(bladegap_run_set(run, "film_um", 40.0, 5.0, TEXT));
  step(run, 200);
  assert_good(bladegap_run_set(run, "air_conditioning", 1.0, 0.0, TEXT));
  step(run, 600);
  assert_good(bladegap_run_act(run, "reset_learned", TEXT));
  step(run, 300);
  assert_good(bladegap_run_key(run, "off", TEXT));
  step(run, 300);
}

static void a_run_is_that_of_the_core(void **state) {
  (void)state;
  static const char *const names[] = {"four-16", "four-18-cable", "six-30", "three-10", "four-15-turbo"};
  static const enum scenario_start starts[] = {SCENARIO_START_SETTLED, SCENARIO_START_IDLING};
  for (size_t i = 0; i < 5; i++)
    for (size_t k = 0; k < 2; k++) {
      double expected[CHANNEL_COUNT];
      core_run(names[i], starts[k], expected);
      bladegap_run *run = run_of(names[i], scenario_start_names[starts[k]], 7);
      act(run);
      check_close(bladegap_run_time_s(run), 15.0, 1e-9);
      assert_same(names[i], run, expected);
      double value;
      assert_good(bladegap_run_value(run, "film_um", &value, TEXT));
      check_close(value, 40.0, 1e-9);
      bladegap_run_destroy(run);
    }
}

static void a_run_starts_with_the_key_off(void **state) {
  (void)state;
  bladegap_run *run = run_of("four-16", "key_off", 1);
  double value;
  step(run, 50);
  assert_good(bladegap_run_value(run, "speed_rpm", &value, TEXT));
  check_close(value, 0.0, 1e-9);
  assert_good(bladegap_run_key(run, "start", TEXT));
  step(run, 1000);
  assert_good(bladegap_run_value(run, "speed_rpm", &value, TEXT));
  assert_true(value > 600.0);
  bladegap_run_destroy(run);
}

/* A clean bore with the offset that a film had taught: the engine races for a while, as in scenarios/stale-learned.cfg. */
static void a_learned_offset_is_begun_with(void **state) {
  (void)state;
  static const char *const starts[] = {"settled", "idling"};
  bladegap_engine *engine = bladegap_engine_shipped("four-16", TEXT);
  assert_good(bladegap_engine_set(engine, "learned_pct", 36.0, TEXT));
  for (size_t i = 0; i < 2; i++) {
    bladegap_run *run = bladegap_run_create(engine, starts[i], 1, TEXT);
    if (!run) fail_msg("%s", text);
    double learned;
    assert_good(bladegap_run_value(run, "learned_pct", &learned, TEXT));
    check_close(learned, 36.0, 0.1);
    bladegap_run_destroy(run);
  }
  bladegap_engine_destroy(engine);
}

static const char *text_at(const bladegap_table *table, size_t row, const char *column) {
  const char *cell;
  assert_good(bladegap_table_text(table, row, column, &cell, TEXT));
  return cell;
}

static bool has_row(const bladegap_table *table, const char *column, const char *what) {
  for (size_t row = 0; row < bladegap_table_row_count(table); row++)
    if (strcmp(text_at(table, row, column), what) == 0) return true;
  return false;
}

static void events_and_codes_are_told(void **state) {
  (void)state;
  bladegap_run *run = run_of("four-16", "settled", 1);
  assert_good(bladegap_run_note(run, "a wire off", TEXT));
  assert_good(bladegap_run_set(run, "film_um", 100.0, 0.0, TEXT));
  assert_good(bladegap_run_set(run, "tps1_offset_v", 0.5, 0.0, TEXT)); // the tracks contradict each other: P2135
  step(run, 1000);
  bladegap_table *events = bladegap_run_table(run, "events", TEXT), *codes = bladegap_run_table(run, "codes", TEXT);
  assert_non_null(events);
  assert_non_null(codes);
  assert_true(has_row(events, "text", "a wire off"));
  assert_true(has_row(events, "kind", "note"));
  assert_true(has_row(codes, "code", "P2135"));
  for (size_t row = 0; row < bladegap_table_row_count(codes); row++)
    assert_true(has_row(events, "code", text_at(codes, row, "code")));
  bladegap_table_destroy(events);
  bladegap_table_destroy(codes);
  bladegap_run_destroy(run);
}

static size_t row_of(const bladegap_table *table, const char *column, const char *what) {
  size_t row = 0;
  while (row < bladegap_table_row_count(table) && strcmp(text_at(table, row, column), what) != 0) row++;
  return row;
}

static double number_at(const bladegap_table *table, size_t row, const char *column) {
  double number;
  assert_good(bladegap_table_number(table, row, column, &number, TEXT));
  return number;
}

/* A code's timer runs up to what it needs, and then the code is stored; what keeps it from being tested is told. The limit of 100 rpm: 13 CCR
 * 1968.2 (e)(15.2.2)(B), from memory. */
static void monitors_tell_why_codes_are_set_or_not(void **state) {
  (void)state;
  bladegap_run *run = run_of("four-16", "settled", 1);
  assert_good(bladegap_run_set(run, "film_um", 90.0, 90.0, TEXT));
  double longest = 0.0, needed = 0.0;
  bool stored = false;
  for (int second = 0; second < 200 && !stored; second++) {
    step(run, 100);
    bladegap_table *monitors = bladegap_run_table(run, "monitors", TEXT);
    assert_non_null(monitors);
    const size_t row = row_of(monitors, "code", "P0506");
    check_close(number_at(monitors, row, "limit"), 100.0, 1e-9);
    assert_string_equal(text_at(monitors, row, "beyond"), "above");
    assert_string_equal(text_at(monitors, row, "unit"), "rpm");
    const double lasted = number_at(monitors, row, "lasted_s"), now = number_at(monitors, row, "now");
    needed = number_at(monitors, row, "needed_s");
    assert_true(now > 100.0 || lasted <= 0.0);
    stored = strcmp(text_at(monitors, row, "state"), "none") != 0;
    if (!stored) longest = lasted > longest ? lasted : longest;
    bladegap_table_destroy(monitors);
  }
  assert_true(stored);
  assert_true(longest > 1.0 && longest < needed);
  assert_good(bladegap_run_key(run, "off", TEXT));
  step(run, 1000);
  bladegap_table *monitors = bladegap_run_table(run, "monitors", TEXT);
  const size_t row = row_of(monitors, "code", "P0506");
  assert_non_null(strstr(text_at(monitors, row, "missing"), "the engine was not running"));
  assert_true(isnan(number_at(monitors, row, "now")));
  assert_int_equal(row_of(monitors, "code", "P0174"), bladegap_table_row_count(monitors)); // one bank: it cannot be set
  bladegap_table_destroy(monitors);
  bladegap_run_destroy(run);
}

/* 89.876 kPa at 1000 m: ISO 2533, the table of the standard atmosphere. 0.5283: any table of isentropic flow at Mach 1, gamma 1.4. */
static void air_outside_and_choking_are_told(void **state) {
  (void)state;
  bladegap_run *run = run_of("three-10", "settled", 1);
  assert_good(bladegap_run_set(run, "altitude_m", 1000.0, 0.0, TEXT));
  step(run, 3000);
  bladegap_table *air = bladegap_run_table(run, "air", TEXT), *torch = bladegap_run_table(run, "torch", TEXT);
  const double ambient = number_at(air, row_of(air, "name", "ambient_kpa"), "value");
  double manifold;
  assert_good(bladegap_run_value(run, "manifold_kpa", &manifold, TEXT));
  check_close(ambient, 89.876, 0.005);
  check_close(number_at(air, row_of(air, "name", "pressure_ratio"), "value"), manifold / ambient, 1e-9);
  check_close(number_at(air, row_of(air, "name", "critical_ratio"), "value"), 0.5283, 5e-5);
  assert_non_null(strstr(text_at(torch, 0, "text"), "key off"));
  bladegap_table_destroy(air);
  bladegap_table_destroy(torch);
  bladegap_run_destroy(run);
}

/* The light all round is the area of the closed gap: gap times its way round, to the mean of a thin ring and but for where the shaft is. */
static void light_round_the_shut_blade_is_the_closed_gap(void **state) {
  (void)state;
  const double films_um[] = {0.0, 12.0};
  bladegap_engine *engine = bladegap_engine_shipped("four-16", TEXT);
  double radius_mm, closed_mm2;
  assert_good(bladegap_engine_get(engine, "throttle.bore_radius_mm", &radius_mm, TEXT));
  for (size_t i = 0; i < 2; i++) {
    bladegap_run *run = run_of("four-16", "settled", 1);
    assert_good(bladegap_run_set(run, "film_um", films_um[i], 0.0, TEXT));
    step(run, 2);
    bladegap_table *light = bladegap_run_table(run, "light", TEXT);
    const size_t rows = bladegap_table_row_count(light);
    double sum_um = 0.0;
    for (size_t row = 0; row < rows; row++) {
      const double gap_um = number_at(light, row, "gap_um");
      sum_um += isnan(gap_um) ? 0.0 : gap_um;
    }
    assert_good(bladegap_run_value(run, "closed_gap_mm2", &closed_mm2, TEXT));
    check_close(2.0 * 3.14159265 * radius_mm * sum_um / (double)rows / 1000.0 / closed_mm2, 1.0, 0.03);
    bladegap_table_destroy(light);
    bladegap_run_destroy(run);
  }
  bladegap_engine_destroy(engine);
}

static void a_saved_run_goes_on_as_if_it_had_not_stopped(void **state) {
  (void)state;
  bladegap_run *run = run_of("six-30", "settled", 3), *other = run_of("six-30", "idling", 3);
  assert_good(bladegap_run_set(run, "film_um", 30.0, 4.0, TEXT));
  step(run, 200); // on the way
  assert_good(bladegap_run_note(run, "saved", TEXT));
  const size_t size = bladegap_run_save_size(run);
  void *memory = malloc(size);
  assert_non_null(memory);
  assert_good(bladegap_run_save(run, memory, size, TEXT));
  double expected[CHANNEL_COUNT];
  assert_good(bladegap_run_set(run, "drive", 1.0, 0.0, TEXT));
  step(run, 500);
  values_of(run, expected);
  assert_good(bladegap_run_restore(run, memory, size, TEXT)); // back, and again
  check_close(bladegap_run_time_s(run), 2.0, 1e-9);
  assert_good(bladegap_run_set(run, "drive", 1.0, 0.0, TEXT));
  step(run, 500);
  assert_same("the same run", run, expected);
  bladegap_table *events = bladegap_run_table(run, "events", TEXT);
  size_t notes = 0;
  for (size_t row = 0; row < bladegap_table_row_count(events); row++) notes += strcmp(text_at(events, row, "text"), "saved") == 0;
  assert_int_equal(notes, 1); // what was undone is not told twice
  bladegap_table_destroy(events);
  assert_good(bladegap_run_restore(other, memory, size, TEXT));
  assert_good(bladegap_run_set(other, "drive", 1.0, 0.0, TEXT));
  step(other, 500);
  assert_same("another run", other, expected);
  free(memory);
  bladegap_run_destroy(run);
  bladegap_run_destroy(other);
}

static double settled_airflow_gps(const bladegap_engine *engine) {
  bladegap_point *point = bladegap_settle(engine, TEXT);
  double value;
  assert_good(bladegap_point_value(point, "airflow_gps", &value, TEXT));
  bladegap_point_destroy(point);
  return value;
}

static double airflow_gps(bladegap_run *run) {
  double value;
  assert_good(bladegap_run_value(run, "airflow_gps", &value, TEXT));
  return value;
}

/* More friction takes more air: each time that of the settled point, but for the scatter from cycle to cycle. */
static void an_engine_is_changed_while_it_runs(void **state) {
  (void)state;
  bladegap_engine *engine = bladegap_engine_shipped("four-16", TEXT), *cable = bladegap_engine_shipped("four-18-cable", TEXT);
  bladegap_run *run = bladegap_run_create(engine, "settled", 1, TEXT);
  assert_non_null(run);
  step(run, 100);
  const double before_gps = settled_airflow_gps(engine);
  check_close(airflow_gps(run), before_gps, 0.02 * before_gps);
  assert_good(bladegap_engine_set(engine, "friction.constant_bar", 1.0, TEXT));
  const double after_gps = settled_airflow_gps(engine);
  assert_true(after_gps > 1.08 * before_gps);
  assert_good(bladegap_run_change_engine(run, engine, TEXT));
  bladegap_engine_destroy(engine);
  step(run, 30000); // until what is learned has followed
  check_close(airflow_gps(run), after_gps, 0.02 * after_gps);
  assert_int_equal(bladegap_run_change_engine(run, cable, TEXT), BLADEGAP_USAGE);
  assert_non_null(strstr(text, "of the same kind"));
  step(run, 100); // and it goes on as it was
  bladegap_engine_destroy(cable);
  bladegap_run_destroy(run);
}

/* Step by step to the end of a record. */
static void to_the_end(bladegap_run *run, double end_s) {
  while (bladegap_run_time_s(run) < end_s - 0.005) step(run, 1);
}

static char *record_of(const bladegap_run *run, size_t *size) {
  assert_good(bladegap_run_record(run, NULL, 0, size, TEXT));
  char *record = malloc(*size);
  assert_non_null(record);
  assert_good(bladegap_run_record(run, record, *size, NULL, TEXT));
  assert_int_equal(strlen(record) + 1, *size);
  return record;
}

static void a_record_gives_the_same_bytes(void **state) {
  (void)state;
  static const char *const names[] = {"four-16", "four-18-cable", "six-30", "three-10", "four-15-turbo"};
  static const char *const starts[] = {"settled", "idling"};
  for (size_t i = 0; i < 5; i++)
    for (size_t k = 0; k < 2; k++) {
      bladegap_engine *engine = bladegap_engine_shipped(names[i], TEXT);
      assert_good(bladegap_engine_set(engine, "altitude_m", 333.3, TEXT));
      bladegap_run *run = bladegap_run_create(engine, starts[k], 12345678901234567u, TEXT), *again;
      assert_non_null(run);
      bladegap_engine_destroy(engine);
      act(run);
      double expected[CHANNEL_COUNT], end_s;
      size_t size;
      char *record = record_of(run, &size);
      values_of(run, expected);
      again = bladegap_run_replay("record", record, size - 1, &end_s, TEXT);
      if (!again) fail_msg("%s", text);
      check_close(end_s, 15.0, 1e-9);
      to_the_end(again, end_s);
      assert_same(names[i], again, expected);
      size_t size_again;
      char *record_again = record_of(again, &size_again); // and its record is the same text
      assert_string_equal(record_again, record);
      free(record);
      free(record_again);
      bladegap_run_destroy(run);
      bladegap_run_destroy(again);
    }
}

/* A step back in the same run is no part of its record; what another run has saved is no part of any. */
static void a_record_knows_what_was_undone(void **state) {
  (void)state;
  bladegap_run *run = run_of("four-16", "settled", 1), *other = run_of("four-16", "settled", 1), *again;
  assert_good(bladegap_run_set(run, "film_um", 30.0, 0.0, TEXT));
  step(run, 100);
  const size_t size = bladegap_run_save_size(run);
  void *memory = malloc(size);
  assert_non_null(memory);
  assert_good(bladegap_run_save(run, memory, size, TEXT));
  assert_good(bladegap_run_set(run, "film_um", 90.0, 0.0, TEXT));
  step(run, 300);
  assert_good(bladegap_run_restore(run, memory, size, TEXT));
  assert_good(bladegap_run_set(run, "leak_mm2", 2.0, 0.0, TEXT));
  step(run, 300);
  double expected[CHANNEL_COUNT], end_s;
  values_of(run, expected);
  size_t record_size;
  char *record = record_of(run, &record_size);
  assert_null(strstr(record, "90"));
  again = bladegap_run_replay("record", record, record_size - 1, &end_s, TEXT);
  to_the_end(again, end_s);
  assert_same("replayed", again, expected);
  step(other, 20);
  assert_good(bladegap_run_restore(other, memory, size, TEXT));
  assert_int_equal(bladegap_run_record(other, NULL, 0, &record_size, TEXT), BLADEGAP_USAGE);
  assert_non_null(strstr(text, "another run"));
  free(record);
  free(memory);
  bladegap_run_destroy(run);
  bladegap_run_destroy(other);
  bladegap_run_destroy(again);
}

/* One engine, asked by several threads at once; each has a run of its own. */
struct thread {
  pthread_t id;
  const bladegap_engine *engine;
  uint64_t seed;
  double settled_rpm, run_rpm;
};

static void *work(void *user) {
  struct thread *thread = user;
  char message[200];
  for (int i = 0; i < 20; i++) {
    bladegap_point *point = bladegap_settle(thread->engine, message, sizeof message);
    bladegap_run *run = bladegap_run_create(thread->engine, "settled", thread->seed, message, sizeof message);
    if (!point || !run) return NULL;
    if (bladegap_point_value(point, "speed_rpm", &thread->settled_rpm, message, sizeof message)) return NULL;
    if (bladegap_run_step(run, 200, message, sizeof message)) return NULL;
    if (bladegap_run_value(run, "speed_rpm", &thread->run_rpm, message, sizeof message)) return NULL;
    bladegap_point_destroy(point);
    bladegap_run_destroy(run);
  }
  return thread;
}

static void threads_do_not_disturb_each_other(void **state) {
  (void)state;
  enum { COUNT = 4 };
  bladegap_engine *engine = bladegap_engine_shipped("four-16", TEXT);
  struct thread threads[COUNT], alone[2];
  for (size_t i = 0; i < COUNT; i++) {
    threads[i] = (struct thread){.engine = engine, .seed = i % 2};
    assert_int_equal(pthread_create(&threads[i].id, NULL, work, &threads[i]), 0);
  }
  for (size_t i = 0; i < COUNT; i++) {
    void *done;
    assert_int_equal(pthread_join(threads[i].id, &done), 0);
    assert_ptr_equal(done, &threads[i]);
  }
  for (size_t i = 0; i < 2; i++) {
    alone[i] = (struct thread){.engine = engine, .seed = i};
    assert_ptr_equal(work(&alone[i]), &alone[i]);
  }
  for (size_t i = 0; i < COUNT; i++) {
    check_close_at((double)i, threads[i].settled_rpm, alone[i % 2].settled_rpm, 0.0);
    check_close_at((double)i, threads[i].run_rpm, alone[i % 2].run_rpm, 0.0);
  }
  assert_true(alone[0].run_rpm < alone[1].run_rpm || alone[0].run_rpm > alone[1].run_rpm); // another seed, another run
  bladegap_engine_destroy(engine);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_run_is_that_of_the_core),
      cmocka_unit_test(a_run_starts_with_the_key_off),
      cmocka_unit_test(a_learned_offset_is_begun_with),
      cmocka_unit_test(events_and_codes_are_told),
      cmocka_unit_test(monitors_tell_why_codes_are_set_or_not),
      cmocka_unit_test(air_outside_and_choking_are_told),
      cmocka_unit_test(light_round_the_shut_blade_is_the_closed_gap),
      cmocka_unit_test(a_saved_run_goes_on_as_if_it_had_not_stopped),
      cmocka_unit_test(an_engine_is_changed_while_it_runs),
      cmocka_unit_test(a_record_gives_the_same_bytes),
      cmocka_unit_test(a_record_knows_what_was_undone),
      cmocka_unit_test(threads_do_not_disturb_each_other),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
