/* Bad input at the edge of the library: NULL, unknown names, values out of range, NaN, calls in the wrong order, handles whose
 * engine is gone. Truth: the contract in bladegap.h, a text and a code each time; the sanitizers watch. */
#include "refused.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void destroying_nothing_is_legal(void **state) {
  (void)state;
  bladegap_engine_destroy(NULL);
  bladegap_point_destroy(NULL);
  bladegap_table_destroy(NULL);
  bladegap_estimate_destroy(NULL);
  bladegap_run_destroy(NULL);
}

/* No text is wanted, or only its beginning. */
static void texts_are_cut_to_size(void **state) {
  (void)state;
  assert_null(bladegap_engine_shipped("four-17", NULL, 0));
  assert_null(bladegap_engine_shipped("four-17", NULL, 100));
  char little[8];
  memset(little, 'x', sizeof little);
  assert_null(bladegap_engine_shipped("four-17", little, 0));
  assert_int_equal(little[0], 'x');
  assert_null(bladegap_engine_shipped("four-17", little, 5));
  assert_string_equal(little, "ther");
  assert_int_equal(little[5], 'x');
}

static void engines_refuse(void **state) {
  (void)state;
  NOTHING(bladegap_engine_shipped(NULL, TEXT), "NULL");
  NOTHING(bladegap_engine_shipped("", TEXT), "there is no engine ''");
  NOTHING(bladegap_engine_shipped("four-17", TEXT), "did you mean 'four-16'?");
  NOTHING(bladegap_engine_copy(NULL, TEXT), "NULL");
  assert_null(bladegap_engine_title(NULL));
  bladegap_engine *engine = engine_of("four-16");
  REFUSED(bladegap_engine_set(NULL, "film_um", 1.0, TEXT), BLADEGAP_USAGE, "engine is NULL");
  REFUSED(bladegap_engine_set(engine, NULL, 1.0, TEXT), BLADEGAP_USAGE, "name of the quantity is NULL");
  REFUSED(bladegap_engine_set(engine, "", 1.0, TEXT), BLADEGAP_USAGE, "there is no quantity ''");
  REFUSED(bladegap_engine_set(engine, "film_nm", 1.0, TEXT), BLADEGAP_USAGE, "did you mean 'film_um'?");
  REFUSED(bladegap_engine_set(engine, "idle_air.", 1.0, TEXT), BLADEGAP_USAGE, "there is no quantity");
  REFUSED(bladegap_engine_set(engine, "throttle.kind", 1.0, TEXT), BLADEGAP_USAGE, "is a word, not a number");
  REFUSED(bladegap_engine_set(engine, "film_um", -1.0, TEXT), BLADEGAP_USAGE, "out of range");
  REFUSED(bladegap_engine_set(engine, "film_um", (double)NAN, TEXT), BLADEGAP_USAGE, "out of range");
  REFUSED(bladegap_engine_set(engine, "film_um", (double)INFINITY, TEXT), BLADEGAP_USAGE, "out of range");
  REFUSED(bladegap_engine_set(engine, "blade_jammed", 0.5, TEXT), BLADEGAP_USAGE, "switch");
  REFUSED(bladegap_engine_set(engine, "engine_off", 0.5, TEXT), BLADEGAP_USAGE, "switch");
  REFUSED(bladegap_engine_set(engine, "engine_off", (double)NAN, TEXT), BLADEGAP_USAGE, "switch");
  REFUSED(bladegap_engine_set(engine, "learned_pct", (double)NAN, TEXT), BLADEGAP_USAGE, "out of range");
  REFUSED(bladegap_engine_set(engine, "learned_pct", 201.0, TEXT), BLADEGAP_USAGE, "out of range");
  char *name = long_name();
  REFUSED(bladegap_engine_set(engine, name, 1.0, TEXT), BLADEGAP_USAGE, "there is no quantity");
  NOTHING(bladegap_engine_shipped(name, TEXT), "there is no engine");
  free(name);
  double value;
  REFUSED(bladegap_engine_get(NULL, "film_um", &value, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_engine_get(engine, NULL, &value, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_engine_get(engine, "film_um", NULL, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_engine_get(engine, "flim_um", &value, TEXT), BLADEGAP_USAGE, "did you mean 'film_um'?");
  REFUSED(bladegap_engine_relearn(NULL, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_engine_check(NULL, TEXT), BLADEGAP_USAGE, "NULL");
  bladegap_engine_destroy(engine);
}

/* Values that contradict each other are found by whatever uses the engine. */
static void contradictions_are_found_where_the_engine_is_used(void **state) {
  (void)state;
  bladegap_engine *engine = engine_of("four-16");
  assert_int_equal(bladegap_engine_set(engine, "supervision.running_rpm", 200.0, TEXT), BLADEGAP_OK);
  REFUSED(bladegap_engine_check(engine, TEXT), BLADEGAP_USAGE, "crank.stall_rpm");
  NOTHING(bladegap_settle(engine, TEXT), "crank.stall_rpm");
  NOTHING(bladegap_sweep_text(engine, "film_um=0,10", NULL, TEXT), "crank.stall_rpm");
  NOTHING(bladegap_estimate_create(engine, TEXT), "crank.stall_rpm");
  bladegap_engine_destroy(engine);
}

static void points_refuse(void **state) {
  (void)state;
  double value;
  NOTHING(bladegap_settle(NULL, TEXT), "engine is NULL");
  assert_null(bladegap_point_outcome(NULL));
  REFUSED(bladegap_point_value(NULL, "speed_rpm", &value, TEXT), BLADEGAP_USAGE, "point is NULL");
  NOTHING(bladegap_point_table(NULL, "codes", TEXT), "point is NULL");
  bladegap_engine *engine = engine_of("four-16");
  bladegap_point *point = bladegap_settle(engine, TEXT);
  bladegap_engine_destroy(engine);
  REFUSED(bladegap_point_value(point, NULL, &value, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_point_value(point, "speed_rpm", NULL, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_point_value(point, "speed", &value, TEXT), BLADEGAP_USAGE, "there is no channel 'speed'");
  NOTHING(bladegap_point_table(point, NULL, TEXT), "NULL");
  NOTHING(bladegap_point_table(point, "code", TEXT), "did you mean 'codes'?");
  bladegap_point_destroy(point);
}

static void tables_refuse(void **state) {
  (void)state;
  const char *cell;
  double number;
  NOTHING(bladegap_list(NULL, TEXT), "NULL");
  NOTHING(bladegap_list("engine", TEXT), "did you mean 'engines'?");
  NOTHING(bladegap_list("", TEXT), "there is no list ''");
  assert_int_equal(bladegap_table_row_count(NULL), 0);
  assert_int_equal(bladegap_table_column_count(NULL), 0);
  assert_null(bladegap_table_column(NULL, 0));
  bladegap_table *table = bladegap_list("channels", TEXT);
  const size_t rows = bladegap_table_row_count(table);
  assert_null(bladegap_table_column(table, bladegap_table_column_count(table)));
  assert_null(bladegap_table_column(table, (size_t)-1));
  REFUSED(bladegap_table_text(NULL, 0, "name", &cell, TEXT), BLADEGAP_USAGE, "table is NULL");
  REFUSED(bladegap_table_text(table, rows, "name", &cell, TEXT), BLADEGAP_USAGE, "there is no row");
  REFUSED(bladegap_table_text(table, (size_t)-1, "name", &cell, TEXT), BLADEGAP_USAGE, "there is no row");
  REFUSED(bladegap_table_text(table, 0, NULL, &cell, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_table_text(table, 0, "nam", &cell, TEXT), BLADEGAP_USAGE, "did you mean 'name'?");
  REFUSED(bladegap_table_text(table, 0, "name", NULL, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_table_number(NULL, 0, "decimals", &number, TEXT), BLADEGAP_USAGE, "table is NULL");
  REFUSED(bladegap_table_number(table, rows, "decimals", &number, TEXT), BLADEGAP_USAGE, "there is no row");
  REFUSED(bladegap_table_number(table, 0, NULL, &number, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_table_number(table, 0, "decimals", NULL, TEXT), BLADEGAP_USAGE, "NULL");
  double *numbers = calloc(rows, sizeof *numbers);
  assert_non_null(numbers);
  REFUSED(bladegap_table_numbers(NULL, "decimals", numbers, rows, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_table_numbers(table, NULL, numbers, rows, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_table_numbers(table, "decimals", NULL, rows, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_table_numbers(table, "decimals", numbers, rows - 1, TEXT), BLADEGAP_USAGE, "rows");
  assert_int_equal(bladegap_table_number(table, 0, "name", &number, TEXT), BLADEGAP_OK); // a text is no number
  assert_true(isnan(number));
  assert_int_equal(bladegap_table_text(table, 0, "decimals", &cell, TEXT), BLADEGAP_OK);
  assert_null(cell);
  free(numbers);
  bladegap_table_destroy(table);
}

static void sweeps_refuse(void **state) {
  (void)state;
  static const double rising[] = {0.0, 10.0}, falling[] = {10.0, 0.0}, nan[] = {0.0, (double)NAN}, far[] = {0.0, 1e9};
  bladegap_engine *engine = engine_of("four-16");
  NOTHING(bladegap_sweep(NULL, "film_um", rising, 2, NULL, NULL, 0, TEXT), "engine is NULL");
  NOTHING(bladegap_sweep(engine, NULL, rising, 2, NULL, NULL, 0, TEXT), "NULL");
  NOTHING(bladegap_sweep(engine, "film_um", NULL, 2, NULL, NULL, 0, TEXT), "NULL");
  NOTHING(bladegap_sweep(engine, "film_um", rising, 2, "leak_mm2", NULL, 2, TEXT), "NULL");
  NOTHING(bladegap_sweep(engine, "film_um", rising, 0, NULL, NULL, 0, TEXT), "empty");
  NOTHING(bladegap_sweep(engine, "film_um", rising, (size_t)-1, NULL, NULL, 0, TEXT), "points");
  NOTHING(bladegap_sweep(engine, "film_um", falling, 2, NULL, NULL, 0, TEXT), "increase");
  NOTHING(bladegap_sweep(engine, "film_um", nan, 2, NULL, NULL, 0, TEXT), "out of range");
  NOTHING(bladegap_sweep(engine, "film_um", far, 2, NULL, NULL, 0, TEXT), "out of range");
  NOTHING(bladegap_sweep(engine, "learned_pct", far, 2, NULL, NULL, 0, TEXT), "out of range");
  NOTHING(bladegap_sweep(engine, "film_mm", rising, 2, NULL, NULL, 0, TEXT), "did you mean 'film_um'?");
  NOTHING(bladegap_sweep(engine, "", rising, 2, NULL, NULL, 0, TEXT), "there is no quantity");
  NOTHING(bladegap_sweep(engine, "film_um", rising, 2, "film_um", rising, 2, TEXT), "twice");
  NOTHING(bladegap_sweep(engine, "engine_off", rising, 1, NULL, NULL, 0, TEXT), "there is no quantity");
  NOTHING(bladegap_sweep_text(NULL, "film_um=0,10", NULL, TEXT), "engine is NULL");
  NOTHING(bladegap_sweep_text(engine, NULL, NULL, TEXT), "NULL");
  NOTHING(bladegap_sweep_text(engine, "film_um", NULL, TEXT), "NAME=VALUES");
  NOTHING(bladegap_sweep_text(engine, "film_um=0:100:0", NULL, TEXT), "step");
  NOTHING(bladegap_sweep_text(engine, "film_um=0:100:nan", NULL, TEXT), "FROM:TO:STEP");
  NOTHING(bladegap_sweep_text(engine, "film_um=0:100:0.00001", NULL, TEXT), "values");
  NOTHING(bladegap_sweep_text(engine, "film_um=0:100:0.1", "leak_mm2=0:20:0.1", TEXT), "points");
  NOTHING(bladegap_sweep_text(engine, "film_um=0,10", "leak_mm=1", TEXT), "did you mean");
  char *name = long_name();
  NOTHING(bladegap_sweep(engine, name, rising, 2, NULL, NULL, 0, TEXT), "there is no quantity");
  NOTHING(bladegap_sweep_text(engine, name, NULL, TEXT), "--vary ffff");
  free(name);
  assert_int_equal(bladegap_engine_set(engine, "engine_off", 1.0, TEXT), BLADEGAP_OK);
  NOTHING(bladegap_sweep_text(engine, "hold_rpm=1000,2000", NULL, TEXT), "contradict");
  bladegap_engine_destroy(engine);
}

static bladegap_estimate *estimate_of(const bladegap_engine *engine) {
  bladegap_estimate *estimate = bladegap_estimate_create(engine, TEXT);
  assert_non_null(estimate);
  return estimate;
}

/* What an estimate looks for, or its readings say themselves, cannot be set of the engine. */
static void estimates_refuse_what_is_set(void **state) {
  (void)state;
  static const struct {
    const char *name;
    double value;
    const char *says;
  } rows[] = {
      {"film_um", 40.0, "what estimate looks for"},
      {"hold_rpm", 2500.0, "condition of each reading"},
      {"drive", 1.0, "condition of each reading"},
      {"controller_frozen", 1.0, "condition of each reading"},
      {"engine_off", 1.0, "key_on"},
  };
  NOTHING(bladegap_estimate_create(NULL, TEXT), "engine is NULL");
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    bladegap_engine *engine = engine_of("four-16");
    assert_int_equal(bladegap_engine_set(engine, rows[i].name, rows[i].value, TEXT), BLADEGAP_OK);
    NOTHING(bladegap_estimate_create(engine, TEXT), rows[i].says);
    bladegap_engine_destroy(engine);
  }
}

static void estimates_refuse_readings(void **state) {
  (void)state;
  const double nan = (double)NAN;
  bladegap_engine *engine = engine_of("four-16");
  bladegap_estimate *e = estimate_of(engine);
  bladegap_engine_destroy(engine);
  REFUSED(bladegap_estimate_add(NULL, "maf_gps", "idle", 2.5, nan, TEXT), BLADEGAP_USAGE, "estimate is NULL");
  REFUSED(bladegap_estimate_add(e, NULL, "idle", 2.5, nan, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_add(e, "maf_gps", NULL, 2.5, nan, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_add(e, "maf", "idle", nan, nan, TEXT), BLADEGAP_USAGE, "finite");
  REFUSED(bladegap_estimate_add(e, "maf_gps", "idle", (double)INFINITY, nan, TEXT), BLADEGAP_USAGE, "finite");
  REFUSED(bladegap_estimate_add(e, "maf_gps", "idle", 2.5, 0.0, TEXT), BLADEGAP_USAGE, "above 0");
  REFUSED(bladegap_estimate_add(e, "maf_gps", "idle", 2.5, -1.0, TEXT), BLADEGAP_USAGE, "above 0");
  REFUSED(bladegap_estimate_add(e, "maf_gps", "idle", 2.5, (double)INFINITY, TEXT), BLADEGAP_USAGE, "finite");
  REFUSED(bladegap_estimate_add(e, "mef_gps", "idle", 2.5, nan, TEXT), BLADEGAP_USAGE, "did you mean 'maf_gps'?");
  REFUSED(bladegap_estimate_add(e, "maf_gps", "idel", 2.5, nan, TEXT), BLADEGAP_USAGE, "did you mean 'idle'?");
  REFUSED(bladegap_estimate_add(e, "map_kpa", "idle", 30.0, nan, TEXT), BLADEGAP_USAGE, "has no map_kpa");
  REFUSED(bladegap_estimate_add(e, "barometer_kpa", "idle", 100.0, nan, TEXT), BLADEGAP_USAGE, "says nothing at idle");
  REFUSED(bladegap_estimate_add(e, "", "", 100.0, nan, TEXT), BLADEGAP_USAGE, "there is no");
  REFUSED(bladegap_estimate_add_baseline(NULL, "maf_gps", "idle", 2.5, nan, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_add_baseline(e, "maf_gps", "idel", 2.5, nan, TEXT), BLADEGAP_USAGE, "did you mean 'idle'?");
  char *name = long_name();
  REFUSED(bladegap_estimate_add(e, name, name, 2.5, nan, TEXT), BLADEGAP_USAGE, "there is no");
  REFUSED(bladegap_estimate_add_text(e, "long", name, strlen(name), TEXT), BLADEGAP_BAD_DATA, "long: there is no column");
  free(name);
  assert_int_equal(bladegap_estimate_add(e, "maf_gps", "idle", 2.5, nan, TEXT), BLADEGAP_OK);
  REFUSED(bladegap_estimate_add(e, "maf_gps", "idle", 2.5, nan, TEXT), BLADEGAP_USAGE, "there already");
  bladegap_estimate_destroy(e);
}

static void practice_refuses(void **state) {
  (void)state;
  bladegap_engine *engine = engine_of("four-16");
  double total;
  NOTHING(bladegap_practice_open(NULL, 1, 1, TEXT), "NULL");
  NOTHING(bladegap_practice_open(engine, 0, 1, TEXT), "level 0");
  NOTHING(bladegap_practice_resume(NULL, "a", 1, TEXT), "NULL");
  NOTHING(bladegap_practice_resume("case", "Dear all", 8, TEXT), "case");
  bladegap_practice *p = bladegap_practice_open(engine, 1, 1, TEXT);
  assert_non_null(p);
  bladegap_engine_destroy(engine);
  REFUSED(bladegap_practice_measure(NULL, "data_stream@idle", 1, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_practice_measure(p, NULL, 1, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_practice_measure(p, "data_stream@nowhere", 1, TEXT), BLADEGAP_USAGE, "data_stream@");
  REFUSED(bladegap_practice_answer(NULL, "film", "60", "clean_bore", 1, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_practice_answer(p, "film", NULL, "clean_bore", 1, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_practice_answer(p, "flim", "60", "clean_bore", 1, TEXT), BLADEGAP_USAGE, "film");
  REFUSED(bladegap_practice_mark(NULL, &total, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_practice_mark(p, NULL, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_practice_mark(p, &total, TEXT), BLADEGAP_USAGE, "answer");
  REFUSED(bladegap_practice_text(NULL, NULL, 0, NULL, TEXT), BLADEGAP_USAGE, "NULL");
  char small[8];
  REFUSED(bladegap_practice_text(p, small, sizeof small, NULL, TEXT), BLADEGAP_USAGE, "room");
  NOTHING(bladegap_practice_table(NULL, "tests", TEXT), "NULL");
  NOTHING(bladegap_practice_table(p, NULL, TEXT), "NULL");
  NOTHING(bladegap_practice_table(p, "test", TEXT), "tests");
  bladegap_practice_destroy(p);
  bladegap_practice_destroy(NULL);
}

static void estimates_refuse_symptoms(void **state) {
  (void)state;
  bladegap_engine *engine = engine_of("four-16");
  bladegap_estimate *e = estimate_of(engine);
  bladegap_engine_destroy(engine);
  REFUSED(bladegap_estimate_add_symptom(NULL, "codes", "P0506", TEXT), BLADEGAP_USAGE, "estimate is NULL");
  REFUSED(bladegap_estimate_add_symptom(e, NULL, "P0506", TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_add_symptom(e, "codes", NULL, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_add_symptom(e, "code", "P0506", TEXT), BLADEGAP_USAGE, "codes");
  REFUSED(bladegap_estimate_add_symptom(e, "codes", "P06", TEXT), BLADEGAP_USAGE, "'P06' is no code");
  REFUSED(bladegap_estimate_add_symptom(e, "complaint", "lowidle", TEXT), BLADEGAP_USAGE, "did you mean 'low-idle'?");
  REFUSED(bladegap_estimate_add_symptom(e, "freeze_frame", "speed_rpm", TEXT), BLADEGAP_USAGE, "NAME=VALUE");
  REFUSED(bladegap_estimate_compute(e, TEXT), BLADEGAP_USAGE, "no readings");
  assert_int_equal(bladegap_estimate_add_symptom(e, "codes", "P0506", TEXT), BLADEGAP_OK); // what was refused has left nothing
  REFUSED(bladegap_estimate_add_symptom(e, "codes_some", "P0171", TEXT), BLADEGAP_USAGE, "already given");
  assert_int_equal(bladegap_estimate_add_symptom(e, "complaint", "low-idle", TEXT), BLADEGAP_OK);
  assert_int_equal(bladegap_estimate_add_symptom(e, "freeze_frame", "speed_rpm=702,coolant_c=90", TEXT), BLADEGAP_OK);
  assert_int_equal(bladegap_estimate_compute(e, TEXT), BLADEGAP_OK);
  bladegap_estimate_destroy(e);
}

static void estimates_refuse_text(void **state) {
  (void)state;
  static const struct {
    const char *text;
    size_t size; // 0: all of it
    const char *says;
  } rows[] = {
      {"", 0, "r:1: the file is empty"},
      {"name,condition,value\n", 0, "r: no readings"},
      {"name,condition,value\nmaf_gps,idle,2.5\0", 39, "r:1: this is not a text file"},
      {"name,condition,value\nmaf_gps,idle,x\nspeed_rpm,idle,\n", 0, "r:2: value: 'x' is not a number"},
      {"name,condition,valu\nmaf_gps,idle,2.5\n", 0, "did you mean 'value'?"},
      {"name,condition,value\n\"maf_gps,idle,2.5\n", 0, "r:2: a quoted cell begins in this row and never ends"},
      {"name,condition,value\nmaf_gps,idle,nan\n", 0, "'nan' is not a number"},
      {"name,condition,value\nmaf_gps,idle,1e999\n", 0, "'1e999' is not a number"},
      {"time_s,speed_rpm\n0,850\n1,850\n", 0, "r: no idle, no 2500 rpm and no key on"},
      {"time_s,speed_rpm\n", 0, "r"},
  };
  bladegap_engine *engine = engine_of("four-16");
  bladegap_estimate *e = estimate_of(engine);
  bladegap_engine_destroy(engine);
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    const size_t size = rows[i].size ? rows[i].size : strlen(rows[i].text);
    char *exact = malloc(size ? size : 1); // no null behind it
    assert_non_null(exact);
    memcpy(exact, rows[i].text, size);
    REFUSED(bladegap_estimate_add_text(e, "r", exact, size, TEXT), BLADEGAP_BAD_DATA, rows[i].says);
    REFUSED(bladegap_estimate_add_baseline_text(e, "r", exact, size, TEXT), BLADEGAP_BAD_DATA, rows[i].says);
    free(exact);
  }
  REFUSED(bladegap_estimate_add_text(NULL, "r", "", 0, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_add_text(e, NULL, "", 0, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_add_text(e, "r", NULL, 0, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_add_baseline_text(e, "r", NULL, 0, TEXT), BLADEGAP_USAGE, "NULL");
  bladegap_estimate_destroy(e);
}

static void estimates_refuse_the_wrong_order(void **state) {
  (void)state;
  const double nan = (double)NAN;
  double value;
  bladegap_engine *engine = engine_of("four-16");
  bladegap_estimate *e = estimate_of(engine);
  bladegap_engine_destroy(engine);
  REFUSED(bladegap_estimate_compute(NULL, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_compute(e, TEXT), BLADEGAP_USAGE, "no readings");
  REFUSED(bladegap_estimate_value(e, "film_um", &value, TEXT), BLADEGAP_USAGE, "not computed yet");
  NOTHING(bladegap_estimate_table(e, "causes", TEXT), "not computed yet");
  REFUSED(bladegap_estimate_option(NULL, "pairs", 1, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_option(e, NULL, 1, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_option(e, "pair", 1, TEXT), BLADEGAP_USAGE, "did you mean 'pairs'?");
  REFUSED(bladegap_estimate_option(e, "pairs", 2, TEXT), BLADEGAP_USAGE, "switch");
  assert_int_equal(bladegap_estimate_add(e, "maf_gps", "cold_idle", 4.0, nan, TEXT), BLADEGAP_OK);
  REFUSED(bladegap_estimate_compute(e, TEXT), BLADEGAP_BAD_DATA, "how cold");
  bladegap_estimate_destroy(e);
  engine = engine_of("four-16");
  e = estimate_of(engine);
  assert_int_equal(bladegap_estimate_add(e, "maf_gps", "idle", 2.4, nan, TEXT), BLADEGAP_OK);
  assert_int_equal(bladegap_estimate_compute(e, TEXT), BLADEGAP_OK);
  REFUSED(bladegap_estimate_compute(e, TEXT), BLADEGAP_USAGE, "has been computed");
  REFUSED(bladegap_estimate_add(e, "tp_pct", "idle", 13.0, nan, TEXT), BLADEGAP_USAGE, "has been computed");
  REFUSED(bladegap_estimate_add_text(e, "r", "", 0, TEXT), BLADEGAP_USAGE, "has been computed");
  REFUSED(bladegap_estimate_option(e, "trust", 1, TEXT), BLADEGAP_USAGE, "has been computed");
  REFUSED(bladegap_estimate_value(NULL, "film_um", &value, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_value(e, NULL, &value, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_value(e, "film_um", NULL, TEXT), BLADEGAP_USAGE, "NULL");
  REFUSED(bladegap_estimate_value(e, "film_nm", &value, TEXT), BLADEGAP_USAGE, "did you mean 'film_um'?");
  NOTHING(bladegap_estimate_table(NULL, "causes", TEXT), "NULL");
  NOTHING(bladegap_estimate_table(e, NULL, TEXT), "NULL");
  NOTHING(bladegap_estimate_table(e, "cause", TEXT), "did you mean 'causes'?");
  bladegap_estimate_destroy(e);
  bladegap_engine_destroy(engine);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(destroying_nothing_is_legal),
      cmocka_unit_test(texts_are_cut_to_size),
      cmocka_unit_test(engines_refuse),
      cmocka_unit_test(contradictions_are_found_where_the_engine_is_used),
      cmocka_unit_test(points_refuse),
      cmocka_unit_test(tables_refuse),
      cmocka_unit_test(sweeps_refuse),
      cmocka_unit_test(estimates_refuse_what_is_set),
      cmocka_unit_test(estimates_refuse_readings),
      cmocka_unit_test(practice_refuses),
      cmocka_unit_test(estimates_refuse_symptoms),
      cmocka_unit_test(estimates_refuse_text),
      cmocka_unit_test(estimates_refuse_the_wrong_order),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
