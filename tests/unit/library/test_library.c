/* What the library says is what is behind it. Truth: the core asked directly, on the engine files as the program reads them. */
#include "analysis/estimate/estimate.h"
#include "analysis/estimate/estimate_place.h"
#include "analysis/lists/lists.h"
#include "analysis/settle/settle.h"
#include "base/units.h"
#include "car/setting.h"
#include "io/config/engine_file.h"
#include "io/log/readings_file.h"
#include "library/bladegap.h"
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char text[BLADEGAP_ERROR_SIZE];
static struct error error;

static void assert_good(int code) {
  if (code != BLADEGAP_OK) fail_msg("%d: %s", code, text);
  assert_string_equal(text, "");
}

static void assert_there(const void *handle) {
  if (!handle) fail_msg("%s", text);
}

/* Equal, or both NaN. */
static void assert_equal(const char *what, double a, double b) {
  if (memcmp(&a, &b, sizeof a) != 0 && !(isnan(a) && isnan(b))) fail_msg("%s: %.17g and %.17g", what, a, b);
}

static bladegap_engine *shipped(const char *name) {
  bladegap_engine *engine = bladegap_engine_shipped(name, text, sizeof text);
  assert_there(engine);
  return engine;
}

static void set(bladegap_engine *engine, const char *name, double value) {
  assert_good(bladegap_engine_set(engine, name, value, text, sizeof text));
}

static double value_of(const bladegap_point *point, const char *channel) {
  double value;
  assert_good(bladegap_point_value(point, channel, &value, text, sizeof text));
  return value;
}

static double number_at(const bladegap_table *table, size_t row, const char *column) {
  double number;
  assert_good(bladegap_table_number(table, row, column, &number, text, sizeof text));
  return number;
}

static const char *text_at(const bladegap_table *table, size_t row, const char *column) {
  const char *cell;
  assert_good(bladegap_table_text(table, row, column, &cell, text, sizeof text));
  return cell;
}

/* ---- Engines and points ---- */

static void a_point_is_that_of_the_core(void **state) {
  (void)state;
  static const char *const names[] = {"four-16", "four-18-cable", "six-30", "three-10", "four-15-turbo"};
  for (size_t i = 0; i < 5; i++) {
    char path[64];
    static struct engine engine;
    snprintf(path, sizeof path, "models/%s.cfg", names[i]);
    assert_int_equal(engine_file_read(path, &engine, &error), STATUS_OK);
    struct settle_query query;
    settle_query_init(&query);
    query.all_balances = true; // as the library does
    assert_int_equal(setting_apply_text("set", "film_um=35", &engine, &query.conditions, &error), STATUS_OK);
    assert_int_equal(setting_apply_text("set", "idle_air.learned_most_pct=20", &engine, &query.conditions, &error), STATUS_OK);
    query.learning = SETTLE_STALE;
    query.learned_ratio = 12.0 * UNITS_RATIO_PER_PCT;
    struct settle *settle;
    struct settle_point expected;
    assert_int_equal(settle_create(&engine, &settle, &error), STATUS_OK);
    settle_solve(settle, &query, &expected);
    settle_destroy(settle);

    bladegap_engine *handle = shipped(names[i]);
    set(handle, "film_um", 35.0);
    set(handle, "idle_air.learned_most_pct", 20.0);
    set(handle, "learned_pct", 12.0);
    double back;
    assert_good(bladegap_engine_get(handle, "idle_air.learned_most_pct", &back, text, sizeof text));
    check_close(back, 20.0, 1e-12);
    bladegap_point *point = bladegap_settle(handle, text, sizeof text);
    assert_there(point);
    bladegap_engine_destroy(handle); // the point lives on
    assert_string_equal(bladegap_point_outcome(point), settle_outcome_names[expected.outcome]);
    for (int c = 1; c < CHANNEL_COUNT; c++)
      assert_equal(channel_rows[c].name, value_of(point, channel_rows[c].name), expected.values[c]);
    bladegap_table *channels = bladegap_point_table(point, "channels", text, sizeof text);
    assert_there(channels);
    assert_int_equal(bladegap_table_row_count(channels), CHANNEL_COUNT - 1);
    for (size_t row = 0; row < CHANNEL_COUNT - 1; row++)
      assert_equal("channel", number_at(channels, row, "value"), value_of(point, text_at(channels, row, "name")));
    bladegap_table_destroy(channels);
    bladegap_point_destroy(point);
  }
}

static void an_engine_is_set_back_and_copied(void **state) {
  (void)state;
  bladegap_engine *engine = shipped("four-16");
  double value;
  assert_good(bladegap_engine_get(engine, "learned_pct", &value, text, sizeof text));
  assert_true(isnan(value));
  set(engine, "learned_pct", 36.0);
  bladegap_engine *copy = bladegap_engine_copy(engine, text, sizeof text);
  assert_there(copy);
  assert_good(bladegap_engine_relearn(engine, text, sizeof text));
  bladegap_point *fresh = bladegap_settle(engine, text, sizeof text), *stale = bladegap_settle(copy, text, sizeof text);
  assert_there(fresh);
  assert_there(stale);
  assert_string_equal(bladegap_point_outcome(fresh), "idles");
  check_close(value_of(stale, "learned_pct"), 36.0, 1e-9);
  bladegap_point_destroy(fresh);
  bladegap_point_destroy(stale);
  set(copy, "engine_off", 1.0);
  stale = bladegap_settle(copy, text, sizeof text);
  assert_string_equal(bladegap_point_outcome(stale), "stands");
  bladegap_point_destroy(stale);
  set(copy, "hold_rpm", 2500.0);
  assert_int_equal(bladegap_engine_check(copy, text, sizeof text), BLADEGAP_USAGE);
  assert_non_null(strstr(text, "contradict"));
  assert_string_equal(bladegap_engine_title(copy), bladegap_engine_title(engine));
  bladegap_engine_destroy(engine);
  bladegap_engine_destroy(copy);
}

/* The film's droop sets no code at once, a large air leak does: codes and speeds are told as tables. */
static void codes_of_a_point_are_told(void **state) {
  (void)state;
  bladegap_engine *engine = shipped("four-16");
  set(engine, "film_um", 90.0);
  bladegap_point *point = bladegap_settle(engine, text, sizeof text);
  assert_string_equal(bladegap_point_outcome(point), "droops");
  bladegap_table *codes = bladegap_point_table(point, "codes", text, sizeof text);
  assert_there(codes);
  bool found = false;
  for (size_t row = 0; row < bladegap_table_row_count(codes); row++)
    found = found || strcmp(text_at(codes, row, "code"), "P0506") == 0;
  assert_true(found); // idle speed below its target
  bladegap_table *speeds = bladegap_point_table(point, "speeds", text, sizeof text);
  assert_there(speeds);
  check_close(number_at(speeds, 0, "speed_rpm"), value_of(point, "speed_rpm"), 1e-6);
  bladegap_table_destroy(codes);
  bladegap_table_destroy(speeds);
  bladegap_point_destroy(point);
  bladegap_engine_destroy(engine);
}

/* ---- Sweeps ---- */

/* A point at a time gives the same but for the last digits: a sweep starts from its neighbours. */
static void a_sweep_is_its_points(void **state) {
  (void)state;
  static const double films[] = {0.0, 40.0, 80.0}, altitudes[] = {0.0, 1500.0};
  bladegap_engine *engine = shipped("three-10");
  bladegap_table *numbers = bladegap_sweep(engine, "film_um", films, 3, "altitude_m", altitudes, 2, text, sizeof text);
  assert_there(numbers);
  bladegap_table *words = bladegap_sweep_text(engine, "film_um=0:80:40", "altitude_m=0,1500", text, sizeof text);
  assert_there(words);
  assert_int_equal(bladegap_table_row_count(numbers), 6);
  assert_int_equal(bladegap_table_row_count(words), 6);
  double all[6];
  assert_good(bladegap_table_numbers(words, "speed_rpm", all, 6, text, sizeof text));
  for (size_t row = 0; row < 6; row++) {
    assert_equal("film", number_at(numbers, row, "film_um"), films[row / 2]);
    assert_equal("altitude", number_at(numbers, row, "altitude_m"), altitudes[row % 2]);
    for (size_t c = 0; c < bladegap_table_column_count(words); c++) {
      const char *column = bladegap_table_column(words, c);
      assert_equal(column, number_at(numbers, row, column), number_at(words, row, column));
    }
    assert_equal("column", all[row], number_at(words, row, "speed_rpm"));
    set(engine, "film_um", films[row / 2]);
    set(engine, "altitude_m", altitudes[row % 2]);
    bladegap_point *point = bladegap_settle(engine, text, sizeof text);
    assert_string_equal(text_at(numbers, row, "outcome"), bladegap_point_outcome(point));
    check_close(value_of(point, "speed_rpm"), number_at(numbers, row, "speed_rpm"), 1e-5);
    check_close(value_of(point, "map_kpa"), number_at(numbers, row, "map_kpa"), 1e-5);
    bladegap_point_destroy(point);
  }
  bladegap_table_destroy(numbers);
  bladegap_table_destroy(words);
  bladegap_engine_destroy(engine);
}

/* ---- Estimates ---- */

/* The readings that are shipped, with those of the same car when it was good. */
static char *contents(const char *path, size_t *size) {
  FILE *file = fopen(path, "rb");
  assert_non_null(file);
  enum { ROOM = 1 << 18 };
  char *bytes = malloc(ROOM);
  assert_non_null(bytes);
  *size = fread(bytes, 1, ROOM, file);
  assert_true(*size < ROOM);
  assert_int_equal(fclose(file), 0);
  return bytes;
}

#define READINGS "scenarios/readings/film-full.csv"
#define BASELINE "scenarios/readings/film-full-when-good.csv"

/* As the program does it. */
static struct estimate *core_estimate(struct estimate_question *question, struct engine *engine) {
  static struct estimate_readings_input input, baseline;
  question->engine = engine;
  estimate_setting_init(&question->setting);
  estimate_place_unknown(engine, &question->setting.conditions);
  question->baseline_setting = question->setting;
  assert_int_equal(estimate_readings_init(&input, engine, &error), STATUS_OK);
  baseline = input;
  assert_int_equal(readings_file_add(&input, READINGS, &error), STATUS_OK);
  assert_int_equal(readings_file_add(&baseline, BASELINE, &error), STATUS_OK);
  assert_int_equal(estimate_readings_finish(&input, &question->setting, &question->readings, &error), STATUS_OK);
  assert_int_equal(estimate_readings_finish(&baseline, &question->baseline_setting, &question->baseline, &error), STATUS_OK);
  struct estimate *estimate;
  assert_int_equal(estimate_create(question, &for_each_serial, &estimate, &error), STATUS_OK);
  return estimate;
}

static void add_shipped(bladegap_estimate *estimate) {
  size_t size;
  char *readings = contents(READINGS, &size);
  assert_good(bladegap_estimate_add_text(estimate, READINGS, readings, size, text, sizeof text));
  free(readings);
  readings = contents(BASELINE, &size);
  assert_good(bladegap_estimate_add_baseline_text(estimate, BASELINE, readings, size, text, sizeof text));
  free(readings);
}

static double estimate_value(const bladegap_estimate *estimate, const char *name) {
  double value;
  assert_good(bladegap_estimate_value(estimate, name, &value, text, sizeof text));
  return value;
}

static void an_estimate_is_that_of_the_core(void **state) {
  (void)state;
  static struct engine engine;
  static struct estimate_question question;
  assert_int_equal(engine_file_read("models/four-16.cfg", &engine, &error), STATUS_OK);
  struct estimate *expected = core_estimate(&question, &engine);

  bladegap_engine *handle = shipped("four-16");
  bladegap_estimate *estimate = bladegap_estimate_create(handle, text, sizeof text);
  assert_there(estimate);
  bladegap_engine_destroy(handle); // the estimate lives on
  add_shipped(estimate);
  assert_good(bladegap_estimate_compute(estimate, text, sizeof text));
  assert_equal("film", estimate_value(estimate, "film_um"), expected->film_best_um);
  assert_equal("film, low", estimate_value(estimate, "film_low_um"), expected->film_low_um);
  assert_equal("film, high", estimate_value(estimate, "film_high_um"), expected->film_high_um);
  assert_equal("probability", estimate_value(estimate, "film_probability"), expected->film_probability);
  assert_equal("fit", estimate_value(estimate, "p_value"), expected->p_value);
  assert_equal("baseline", estimate_value(estimate, "baseline_p_value"), expected->baseline_p_value);
  bladegap_table *causes = bladegap_estimate_table(estimate, "causes", text, sizeof text);
  assert_there(causes);
  assert_int_equal(bladegap_table_row_count(causes), expected->count);
  double sum = 0.0;
  for (size_t row = 0; row < expected->count; row++) {
    const struct estimate_hypothesis *h = &expected->hypotheses[expected->order[row]];
    assert_equal("probability", number_at(causes, row, "probability"), h->probability);
    sum += h->probability;
  }
  check_close(sum, 1.0, 1e-9);
  assert_string_equal(text_at(causes, 0, "cause"), "film");
  assert_string_equal(text_at(causes, 0, "severity_of"), "film_um");
  bladegap_table_destroy(causes);
  static const char *const tables[] = {"comparisons", "after", "why", "limits", "cautions"};
  for (size_t i = 0; i < sizeof tables / sizeof tables[0]; i++) {
    bladegap_table *table = bladegap_estimate_table(estimate, tables[i], text, sizeof text);
    assert_there(table);
    assert_true(bladegap_table_row_count(table) > 0);
    bladegap_table_destroy(table);
  }
  bladegap_estimate_destroy(estimate);
  estimate_destroy(expected);
}

/* A log, as the program reads its file: the same readings, hence the same estimate, and what was taken from where. */
static void a_log_is_taken_as_the_program_does(void **state) {
  (void)state;
  static const char path[] = "scenarios/logs/film-before.csv";
  static struct engine engine;
  static struct estimate_question question;
  static struct estimate_readings_input input;
  assert_int_equal(engine_file_read("models/four-16.cfg", &engine, &error), STATUS_OK);
  question.engine = &engine;
  estimate_setting_init(&question.setting);
  estimate_place_unknown(&engine, &question.setting.conditions);
  question.baseline_setting = question.setting;
  assert_int_equal(estimate_readings_init(&input, &engine, &error), STATUS_OK);
  assert_int_equal(readings_file_add(&input, path, &error), STATUS_OK);
  assert_int_equal(estimate_readings_finish(&input, &question.setting, &question.readings, &error), STATUS_OK);
  struct estimate *expected;
  assert_int_equal(estimate_create(&question, &for_each_serial, &expected, &error), STATUS_OK);
  bladegap_engine *engine_there = shipped("four-16");
  bladegap_estimate *estimate = bladegap_estimate_create(engine_there, text, sizeof text);
  assert_there(estimate);
  size_t size;
  char *log = contents(path, &size);
  assert_good(bladegap_estimate_add_text(estimate, path, log, size, text, sizeof text));
  assert_good(bladegap_estimate_compute(estimate, text, sizeof text));
  assert_equal("film_um", estimate_value(estimate, "film_um"), expected->film_best_um);
  assert_equal("p_value", estimate_value(estimate, "p_value"), expected->p_value);
  bladegap_table *notes = bladegap_estimate_table(estimate, "notes", text, sizeof text);
  assert_there(notes);
  bool idle = false;
  for (size_t row = 0; row < bladegap_table_row_count(notes); row++)
    idle |= strstr(text_at(notes, row, "text"), "idle from ") != NULL;
  assert_true(idle);
  bladegap_table_destroy(notes);
  bladegap_estimate_destroy(estimate);
  bladegap_engine_destroy(engine_there);
  estimate_destroy(expected);
  free(log);
}

/* The same readings as text, as text with decimal commas, and one by one. */
static void readings_may_come_in_any_form(void **state) {
  (void)state;
  static const char *const texts[] = {"name,condition,value\nmaf_gps,idle,2.3\nspeed_rpm,idle,811\n",
                                      "name;condition;value\r\nMAF (kg/h);Idle;8,28\r\nEngine RPM;idle;811\r\n"};
  bladegap_engine *engine = shipped("four-16");
  double films[3];
  for (size_t i = 0; i < 3; i++) {
    bladegap_estimate *estimate = bladegap_estimate_create(engine, text, sizeof text);
    assert_there(estimate);
    if (i < 2) {
      assert_good(bladegap_estimate_add_text(estimate, "text", texts[i], strlen(texts[i]), text, sizeof text));
    } else {
      assert_good(bladegap_estimate_add(estimate, "maf_gps", "idle", 2.3, (double)NAN, text, sizeof text));
      assert_good(bladegap_estimate_add(estimate, "speed_rpm", "idle", 811.0, (double)NAN, text, sizeof text));
    }
    assert_good(bladegap_estimate_compute(estimate, text, sizeof text));
    films[i] = estimate_value(estimate, "film_um");
    bladegap_table *next = bladegap_estimate_table(estimate, "next", text, sizeof text); // two readings leave much open
    assert_there(next);
    assert_true(number_at(next, 0, "gain_bits") > 0.0);
    assert_true(strlen(text_at(next, 0, "cautions")) > 3); // to be told before the text
    bladegap_table_destroy(next);
    bladegap_estimate_destroy(estimate);
  }
  check_close(films[1], films[0], 0.5); // the instrument's resolution is given in the unit of the name as written
  assert_equal("film", films[2], films[0]);
  bladegap_engine_destroy(engine);
}

/* A reading that no such engine shows is asked about, unless it is to be trusted. */
static void a_doubtful_reading_is_asked_about(void **state) {
  (void)state;
  bladegap_engine *engine = shipped("four-16");
  bladegap_estimate *estimate = bladegap_estimate_create(engine, text, sizeof text);
  assert_good(bladegap_estimate_add(estimate, "maf_gps", "idle", 9.0, (double)NAN, text, sizeof text)); // kg/h
  assert_int_equal(bladegap_estimate_compute(estimate, text, sizeof text), BLADEGAP_BAD_DATA);
  assert_non_null(strstr(text, "kg/h"));
  bladegap_estimate_destroy(estimate);
  bladegap_engine_destroy(engine);
}

/* ---- Lists ---- */

static void every_list_has_the_rows_of_its_table(void **state) {
  (void)state;
  for (int i = 0; i < LISTS_COUNT; i++) {
    struct grid grid;
    grid_init(&grid);
    lists_fill((enum lists_kind)i, &grid);
    bladegap_table *table = bladegap_list(lists_names[i], text, sizeof text);
    assert_there(table);
    assert_int_equal(bladegap_table_row_count(table), grid_row_count(&grid));
    assert_true(bladegap_table_row_count(table) > 3);
    for (size_t c = 0; c < grid.column_count; c++) assert_string_equal(bladegap_table_column(table, c), grid.columns[c]);
    bladegap_table_destroy(table);
    grid_destroy(&grid);
  }
  bladegap_table *engines = bladegap_list("engines", text, sizeof text);
  assert_int_equal(bladegap_table_row_count(engines), 5);
  for (size_t row = 0; row < 4; row++) {
    bladegap_engine *engine = shipped(text_at(engines, row, "name"));
    assert_string_equal(bladegap_engine_title(engine), text_at(engines, row, "title"));
    bladegap_engine_destroy(engine);
  }
  bladegap_table_destroy(engines);
}

/* What is listed can be set, at both ends of its range, and no further. */
static void what_is_listed_can_be_set(void **state) {
  (void)state;
  bladegap_engine *engine = shipped("six-30");
  bladegap_table *faults = bladegap_list("faults", text, sizeof text);
  for (size_t row = 0; row < bladegap_table_row_count(faults); row++) {
    const char *name = text_at(faults, row, "name");
    const double min = number_at(faults, row, "min"), max = number_at(faults, row, "max"),
                 start = number_at(faults, row, "start");
    set(engine, name, min);
    set(engine, name, max);
    set(engine, name, start);
    assert_int_equal(bladegap_engine_set(engine, name, max + 1.0, text, sizeof text), BLADEGAP_USAGE);
    assert_non_null(strstr(text, name));
    double value;
    assert_good(bladegap_engine_get(engine, name, &value, text, sizeof text));
    check_close(value, start, 1e-9 * (1.0 + fabs(start))); // a failed call changed nothing
  }
  bladegap_table_destroy(faults);
  bladegap_engine_destroy(engine);
}

/* A card is what `estimate --car` makes of it; the film of docs/examples is found, and slips are told with their lines. */
static void a_car_without_a_file(void **state) {
  (void)state;
  static const char card[] =
      "name,value,unit\nkind,electronic,\ndisplacement_l,1390,ccm\nidle_rpm,780,rpm\naltitude_m,120,m\nkey_on_means,stop,\n";
  static const char good[] =
      "name,condition,value\nspeed_rpm,idle,781\ntarget_rpm,idle,780\ntp_pct,idle,14.1\nmaf_gps,idle,1.83\ntp_pct,key_on,11.4\n";
  static const char now[] =
      "name,condition,value\nspeed_rpm,idle,779\ntarget_rpm,idle,780\ntp_pct,idle,16\nmaf_gps,idle,1.83\ntp_pct,key_on,11.4\n";
  bladegap_engine *engine = bladegap_engine_card(card, sizeof card - 1, good, sizeof good - 1, text, sizeof text);
  assert_there(engine);
  assert_non_null(strstr(bladegap_engine_title(engine), "1.39 l"));
  bladegap_estimate *estimate = bladegap_estimate_create(engine, text, sizeof text);
  assert_there(estimate);
  assert_good(bladegap_estimate_add_baseline_text(estimate, "good", good, sizeof good - 1, text, sizeof text));
  assert_good(bladegap_estimate_add_text(estimate, "now", now, sizeof now - 1, text, sizeof text));
  assert_good(bladegap_estimate_compute(estimate, text, sizeof text));
  bladegap_table *causes = bladegap_estimate_table(estimate, "causes", text, sizeof text);
  assert_there(causes);
  assert_string_equal(text_at(causes, 0, "cause"), "film"); // the same car needs more opening for the same air
  bladegap_table_destroy(causes);
  bladegap_estimate_destroy(estimate);
  bladegap_engine_destroy(engine);

  static const char words[] = "kind=cable,displacement_l=1.8";
  engine = bladegap_engine_card(words, sizeof words - 1, NULL, 0, text, sizeof text);
  assert_there(engine);
  bladegap_engine_destroy(engine);
  static const struct {
    const char *card, *good, *said;
  } slips[] = {
      {"name,value\ndisplacement,1.6\n", NULL, "card:2: a card has no 'displacement'; did you mean 'displacement_l'"},
      {"kind=cable", NULL, "the card has no displacement_l"},
      {"displacement_l=1.6", "name,condition,value\nspeed,idle,780\n", "good:2"},
      {"displacement_l=1.6", "name,condition,value\nspeed_rpm,idle,780\nmaf_gps,idle,9.5\n", "good car of this card"},
  };
  for (size_t i = 0; i < sizeof slips / sizeof slips[0]; i++) {
    const size_t size = slips[i].good ? strlen(slips[i].good) : 0;
    assert_null(bladegap_engine_card(slips[i].card, strlen(slips[i].card), slips[i].good, size, text, sizeof text));
    if (!strstr(text, slips[i].said)) fail_msg("'%s' does not say '%s'", text, slips[i].said);
  }
  assert_null(bladegap_engine_card(NULL, 0, NULL, 0, text, sizeof text));
}

int main(void) {
  error_clear(&error);
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_point_is_that_of_the_core),
      cmocka_unit_test(an_engine_is_set_back_and_copied),
      cmocka_unit_test(codes_of_a_point_are_told),
      cmocka_unit_test(a_sweep_is_its_points),
      cmocka_unit_test(an_estimate_is_that_of_the_core),
      cmocka_unit_test(readings_may_come_in_any_form),
      cmocka_unit_test(a_log_is_taken_as_the_program_does),
      cmocka_unit_test(a_doubtful_reading_is_asked_about),
      cmocka_unit_test(every_list_has_the_rows_of_its_table),
      cmocka_unit_test(what_is_listed_can_be_set),
      cmocka_unit_test(a_car_without_a_file),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
