/* Texts of logs, and what is made and said of them. Truth: by hand; each text is as small as shows the point. */
#include "analysis/log/log_text.h"

#include "base/attributes.h"
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct log_text log_read; // of the last text
static struct error error;

static enum status read_with(const char *text, size_t size, const struct log_text_setting *setting) {
  log_text_destroy(&log_read);
  error_clear(&error);
  char *copy = malloc(size + 1); // so that a byte beyond it is found out by the sanitizer
  memcpy(copy, text, size);
  char *exact = realloc(copy, size ? size : 1);
  const enum status status = log_text_read("log", exact, size, setting, &log_read, &error);
  free(exact);
  if (status != STATUS_OK) print_message("%s\n", error.text);
  if (log_read.notes) print_message("%s", log_read.notes);
  return status;
}

static enum status read_text(const char *text) { return read_with(text, strlen(text), NULL); }

static double value(size_t row, enum channel channel) { return recording_value(&log_read.recording, row, channel); }

static bool said(const char *sentence) { return log_read.notes && strstr(log_read.notes, sentence); }

/* What must be said of a text that cannot be read. */
static void refused(const char *text, const char *sentence) {
  assert_int_equal(read_text(text), STATUS_BAD_DATA);
  assert_non_null(strstr(error.text, sentence));
}

/* ---- What cannot be read ---- */

static void a_bad_text_has_its_sentence(void **state) {
  (void)state;
  refused("", "log:1: the file is empty");
  refused("\n\n \n", "log:1: the file is empty");
  refused("Time (s),Engine RPM\n", "log: has a header and no row below it");
  refused("1,2\n3,4\n", "log:1: no header: the first line has numbers, it must name the columns");
  refused("Time (s),Engine RPM\n0,\"800\n", "log:2: a quoted cell begins in this row and never ends");
  refused("Time (s),Engine \"RPM\n0,800\n", "log:1: the header has a quote in the wrong place");
  refused("Engine RPM,MAP\n800,35\n", "log:1: no column of numbers has the time");
  refused("Sample,Engine RPM\n0,800\n",
          "log:1: 'Sample' counts the rows, and nothing says how many there are per second: give it with --rate HZ");
  refused("Time (s),Vehicle Speed\n0,0\n", "log:1: no column but the time is understood");
  refused("Time (s),Engine RPM\nx,800\ny,801\n", "column 'Time (s)' left out: it has words instead of numbers");
  refused("Time (s),Engine RPM\n,800\n,801\n", "column 'Time (s)' left out: it is empty");
  refused("Time,Engine RPM\n12:01,800\n12:02,801\n", "times such as 12:34 may be hours and minutes or minutes and seconds");
  refused("Time (s),Name,Value\n0,Oil,3\n1,Water,4\n", "no reading in column 'Name' is understood, not 'Oil' for instance");
  refused("Time (s),Engine RPM\n0,1,2\n3,4,5\n", "none of its 2 rows can be used");
  refused("Time,Engine RPM\n0,800\n9000000,801\n", "covers 9e+06 s, which is 104 days");
  static const char png[] = "\x89PNG\r\n\x1a\n\0\0\0\rIHDR";
  assert_int_equal(read_with(png, sizeof png, NULL), STATUS_BAD_DATA);
  assert_non_null(strstr(error.text, "log:1: this is not a text file"));
}

static void a_line_without_end_is_refused(void **state) {
  (void)state;
  enum { SIZE = 3 << 20 };
  char *text = malloc(SIZE);
  memset(text, 'a', SIZE);
  memcpy(text, "Time (s),Engine RPM\n0,800\n", 26);
  assert_int_equal(read_with(text, SIZE, NULL), STATUS_BAD_DATA);
  assert_non_null(strstr(error.text, "log:3: the line is longer than 1048576 bytes, so this is not a log"));
  free(text);
}

/* ---- What is left out, and said ---- */

static void what_is_no_reading_is_left_out_and_said(void **state) {
  (void)state;
  assert_int_equal(
      read_text("Time (s),Engine RPM,MAF (g/s)\n0,800,3\n1,65535,3.1\n2,NaN,3.2\n3,n/a,3.3\n4,810,655.35\n5,,\n6,820,3.5\n"),
      STATUS_OK);
  assert_int_equal(log_read.recording.row_count, 7);
  assert_true(isnan(value(1, CHANNEL_speed_rpm)));
  assert_true(isnan(value(2, CHANNEL_speed_rpm)));
  assert_true(isnan(value(4, CHANNEL_maf_gps)));
  check_close(value(3, CHANNEL_maf_gps), 3.3, 0.0);
  assert_true(said("log:3: value left out: Engine RPM: 65535 is not a reading\n"));
  assert_true(said("log:4: value left out: Engine RPM: \"NaN\" is not a number\n"));
  assert_true(said("log:5: value left out: Engine RPM: \"n/a\" is not a number\n"));
  assert_true(said("log:6: value left out: MAF (g/s): 655.35 is not a reading\n"));
  assert_int_equal(log_read.values.count, 4);
  assert_int_equal(log_read.rows.count, 0);
}

static void each_row_left_out_is_counted_with_its_reason(void **state) {
  (void)state;
  assert_int_equal(read_text("Time (s),Engine RPM\n0,800\n1,n/a\n2,802\n2,803\n,804\n3,805,1\n4,\"8\"06\n5,807\n1,808\n6,809\n"),
                   STATUS_OK);
  assert_int_equal(log_read.recording.row_count, 4);
  assert_int_equal(log_read.rows.count, 6);
  assert_true(said("log:3: row left out: Engine RPM: \"n/a\" is not a number\n"));
  assert_true(said("log:5: row left out: the time does not increase: 2 s, after 2 s in line 4\n"));
  assert_true(said("log:6: row left out: nothing in column 'Time (s)', which is the time\n"));
  assert_true(said("log:7: row left out: 3 cells, the header has 2; if 3,805 is one number, write 3805\n"));
  assert_true(said("log:8: row left out: a quote in the wrong place\n"));
  assert_true(said("log:10: row left out: the time does not increase: 1 s, after 5 s in line 9\n"));
  assert_true(said("log: 6 of 10 rows left out, first at line 3: 1 without a time, 2 with a time that does not increase, 1 with "
                   "more cells than the header, 1 with a quote in the wrong place, 1 with nothing but words\n"));
}

static void columns_that_are_not_understood_are_listed(void **state) {
  (void)state;
  assert_int_equal(read_text("Time (s),Engine RPM,RPM,Oil,,MAP (torr),VSS,Absolut Throttle Position\n0,800,801,1,2,3,4,5\n"),
                   STATUS_OK);
  assert_true(said("log: column 'RPM' left out: 'Engine RPM' already gives speed_rpm\n"));
  assert_true(said("log: column 'MAP (torr)' left out: its unit 'torr' is not understood; understood: kPa"));
  assert_true(
      said("log: 3 columns not understood and left out: 'Oil', the 5. (no name), 'Absolut Throttle Position' (did you mean "
           "'absolute throttle position'?)\n"));
  assert_true(said("log: 1 column known but not used here: 'VSS'\n"));
}

static void short_rows_are_read_as_far_as_they_go(void **state) {
  (void)state;
  assert_int_equal(read_text("Time (s),Engine RPM,MAF (g/s),TPS\n0,800\n1,801,3\n2,802,3.1,15\n"), STATUS_OK);
  assert_int_equal(log_read.recording.row_count, 3);
  check_close(value(0, CHANNEL_speed_rpm), 800, 0.0);
  check_close(value(1, CHANNEL_maf_gps), 3, 0.0);
  assert_true(isnan(value(1, CHANNEL_tp_pct)));
  assert_true(said("log: 2 of 3 rows are shorter than the header; they were read as far as they go\n"));
}

/* ---- Numbers ---- */

static void thousands_are_told_from_decimals_or_it_is_said(void **state) {
  (void)state;
  assert_int_equal(read_text("Time (s);Engine RPM;MAF (g/s)\n0;1.700;2,5\n1;850;2,6\n"), STATUS_OK);
  check_close(value(0, CHANNEL_speed_rpm), 1700, 0.0);
  assert_true(said("log: column 'Engine RPM': thousands are separated, 1.700 read as 1700\n"));
  assert_int_equal(read_text("Time (s),Engine RPM,MAF (g/s)\n0,\"1,700\",2.5\n1,850,2.6\n"), STATUS_OK);
  check_close(value(0, CHANNEL_speed_rpm), 1700, 0.0);
  // the file marks decimals with a comma; among 850 and 900, 1,700 is hardly 1.7, but nothing says so
  assert_int_equal(read_text("Time (s);Engine RPM;MAF (g/s)\n0;850;2,5\n1;1,700;2,6\n2;900;2,7\n"), STATUS_OK);
  assert_true(isnan(value(1, CHANNEL_speed_rpm)));
  assert_true(said("log:3: value left out: Engine RPM: \"1,700\" may be 1700 or 1.7\n"));
  refused("Time (s);Engine RPM\n0;1,650\n1;1,700\n",
          "column 'Engine RPM' left out: 1,650 may be 1650 or 1.65, and nothing shows which");
  // both marks in one column: the rarer is left out
  assert_int_equal(read_text("Time (s);MAF (g/s)\n0;2,5\n1;2.6\n2;2,7\n"), STATUS_OK);
  assert_true(said("log:3: value left out: MAF (g/s): \"2.6\" is not a number if ',' is the decimal mark\n") ||
              log_read.rows.count == 1);
}

static void units_stand_in_a_row_a_column_or_the_name(void **state) {
  (void)state;
  assert_int_equal(read_text("Time,Engine RPM,MAF\nms,1/min,kg/h\n0,800,10.8\n500,801,7.2\n"), STATUS_OK);
  check_close(value(1, CHANNEL_time_s), 0.5, 1e-15);
  check_close(value(0, CHANNEL_maf_gps), 3.0, 1e-12);
  assert_true(said("log: units taken from line 2\n"));
  assert_int_equal(read_text("Time (s),MAF (kg/h)\ns,g/s\n0,3\n"), STATUS_BAD_DATA);
  assert_non_null(strstr(error.text, "column 'MAF (kg/h)' left out: its name says kg/h, and elsewhere its unit is 'g/s'"));
  // mixed units: each row in its own
  assert_int_equal(read_text("Time (s),MAP,Unit\n0,35,kPa\n1,10,inHg\n2,5,psi\n3,3,torr\n"), STATUS_OK);
  check_close(value(1, CHANNEL_manifold_kpa), 33.8638, 1e-12);
  check_close(value(2, CHANNEL_manifold_kpa), 34.473785, 1e-12);
  assert_true(said("log: 'MAP': its unit changes from row to row; each row was read in its own unit\n"));
  assert_true(said("log:5: row left out: MAP: the unit 'torr' of this row is not understood, or not that of the name\n"));
}

/* ---- Time ---- */

static void run_time_repeated_is_spread_and_no_row_lost(void **state) {
  (void)state;
  // four rows a second, begun in the middle of one: rows are 0.25 s apart
  char text[4000] = "Time Since Engine Start (s),Engine RPM\n";
  for (int i = 2; i < 42; i++) snprintf(text + strlen(text), 64, "%d,%d\n", 100 + i / 4, 800 + i);
  assert_int_equal(read_text(text), STATUS_OK);
  assert_int_equal(log_read.recording.row_count, 40);
  for (size_t i = 0; i < 40; i++) check_close_at((double)i, value(i, CHANNEL_time_s), 100.5 + 0.25 * (double)i, 1e-9);
  assert_true(said("log: several rows share each time, and these are some 0.25 s apart: the rows were spread over them\n"));
}

static void run_time_may_begin_again(void **state) {
  (void)state;
  assert_int_equal(read_text("Run Time (s),Engine RPM\n500,800\n501,801\n502,0\n0,0\n1,850\n2,860\n"), STATUS_OK);
  assert_true(said("log: the run time of the engine begins again in line 5"));
  assert_int_equal(log_read.rows.count, 1); // at the very time of the row before
  check_close(value(log_read.recording.row_count - 1, CHANNEL_speed_rpm), 860, 0.0);
}

static void values_polled_at_one_time_are_one_row(void **state) {
  (void)state;
  assert_int_equal(read_text("Time (s),Engine RPM,MAF (g/s)\n0,800,\n0,,3\n1,801,\n1,,3.1\n"), STATUS_OK);
  assert_int_equal(log_read.recording.row_count, 2);
  check_close(value(1, CHANNEL_speed_rpm), 801, 0.0);
  check_close(value(1, CHANNEL_maf_gps), 3.1, 0.0);
}

static void clocks_pass_midnight_and_noon(void **state) {
  (void)state;
  assert_int_equal(read_text("Time,Engine RPM\n23:59:59.5,800\n00:00:00.5,801\n00:00:01,802\n"), STATUS_OK);
  check_close(value(1, CHANNEL_time_s), 1.0, 1e-9);
  assert_true(said("log: the clock passes midnight before line 3\n"));
  assert_int_equal(read_text("Time,Engine RPM\n12:59:59,800\n1:00:00,801\n"), STATUS_OK); // a clock of twelve hours
  check_close(value(1, CHANNEL_time_s), 1.0, 1e-9);
  assert_int_equal(read_text("Time,Engine RPM\n11:59:59 PM,800\n12:00:00 AM,801\n"), STATUS_OK);
  check_close(value(1, CHANNEL_time_s), 1.0, 1e-9);
  assert_int_equal(read_text("Time,Engine RPM\n10:00:05,800\n10:00:03,801\n10:00:06,802\n"), STATUS_OK); // runs back
  assert_int_equal(log_read.rows.count, 1);
}

static void rows_may_be_counted_only(void **state) {
  (void)state;
  const struct log_text_setting setting = {.rate_hz = 20.0};
  static const char text[] = "Sample,Engine RPM\n5,800\n6,801\n8,802\n";
  assert_int_equal(read_with(text, strlen(text), &setting), STATUS_OK);
  check_close(value(2, CHANNEL_time_s) - value(0, CHANNEL_time_s), 0.15, 1e-12);
  static const char bare[] = "Engine RPM,MAP\n800,35\n801,36\n";
  assert_int_equal(read_with(bare, strlen(bare), &setting), STATUS_OK);
  check_close(value(1, CHANNEL_time_s), 0.05, 1e-15);
  assert_true(said("log: no column gives the time: rows counted at 20 per second\n"));
  static const char timed[] = "Time (s),Engine RPM\n0,800\n1,801\n";
  assert_int_equal(read_with(timed, strlen(timed), &setting), STATUS_OK);
  assert_true(said("log: the rate of 20 rows per second is not used: column 'Time (s)' gives the time\n"));
  assert_int_equal(read_text("Sampling rate: 4 Hz\nSample,Engine RPM\n0,800\n1,801\n"), STATUS_OK);
  check_close(value(1, CHANNEL_time_s), 0.25, 1e-15);
}

/* ---- Shapes of real logs ---- */

/* As in two open data sets: clock time with milliseconds, a garbled degree sign, "Mass Flow Sensor", rows of fewer cells than the
 * header, run time repeated. */
static void logs_of_real_cars_are_read(void **state) {
  (void)state;
  assert_int_equal(
      read_text("Time,Engine RPM [RPM],Air Flow Rate from Mass Flow Sensor [g/s],Engine Coolant Temperature [\xC3\x82\xC2\xB0"
                "C],Oil,Fuel\n10:18:22.123,651,2.1,90\n10:18:22.613,652,2.2,90\n"),
      STATUS_OK);
  check_close(value(1, CHANNEL_time_s), 0.49, 1e-9);
  check_close(value(1, CHANNEL_coolant_c), 90, 0.0);
  check_close(value(1, CHANNEL_maf_gps), 2.2, 0.0);
  assert_int_equal(log_read.rows.count, 0);
}

static void a_map_names_what_is_not_known(void **state) {
  (void)state;
  struct log_map map = {0};
  static const char saved[] =
      "# what is what\nheader,name\nZeit [ms],time_s\nDrehzahl,engine rpm\n\"Luft, gesamt\",MAF (kg/h)\nNotiz,\n";
  static const char text[] = "Zeit [ms];Drehzahl;\"Luft, gesamt\";Notiz\n0;850;10,8;7\n500;851;10,9;7\n";
  assert_int_equal(log_map_add_table(&map, "map", saved, strlen(saved), &error), STATUS_OK);
  const struct log_text_setting setting = {.map = &map};
  assert_int_equal(read_with(text, strlen(text), &setting), STATUS_OK);
  check_close(value(1, CHANNEL_time_s), 0.5, 1e-15);
  check_close(value(1, CHANNEL_speed_rpm), 851, 0.0);
  check_close(value(0, CHANNEL_maf_gps), 3.0, 1e-12);
  assert_false(said("not understood"));
  error_clear(&error);
  static const char bad[] = "header,name\nA,speed_rmp\n,speed_rpm\nB,MAF (furlongs)\n";
  assert_int_equal(log_map_add_table(&map, "map", bad, strlen(bad), &error), STATUS_BAD_DATA);
  assert_non_null(strstr(error.text, "map:2: 'speed_rmp' is not a reading; did you mean 'speed_rpm'?"));
  assert_non_null(strstr(error.text, "map:3: there is no header in this row"));
  assert_non_null(strstr(error.text, "map:4: the unit 'furlongs' of 'MAF (furlongs)' is not understood"));
  error_clear(&error);
  assert_int_equal(log_map_add(&map, "Drehzahl", &error), STATUS_USAGE);
  error_clear(&error);
  assert_int_equal(log_map_add(&map, "a = b=MAP", &error), STATUS_OK);
  assert_string_equal(log_map_find(&map, "A = B (kPa)"), "MAP");
  assert_null(log_map_find(&map, "a"));
  log_map_destroy(&map);
}

/* A list of readings, which has a name and a value too, is no log. */
static void a_log_is_told_from_a_list(void **state) {
  (void)state;
  static const struct {
    const char *text;
    bool is_log;
  } rows[] = {{"Time (s),Engine RPM\n", true},
              {"Made today\n\nTime;RPM\n", true},
              {"Time (s),Name,Value\n", true},
              {"Sample,RPM\n", true},
              {"name,condition,value\nspeed_rpm,idle,850\n", false},
              {"# comment\nname,condition,value\n", false},
              {"", false}};
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    print_message("%s", rows[i].text);
    assert_int_equal(log_text_is_log(rows[i].text, strlen(rows[i].text), NULL), rows[i].is_log);
  }
  static const char bare[] = "RPM,TP\n850,13\n", list[] = "name,condition,value\nspeed_rpm,idle,850\n";
  const struct log_text_setting setting = {.rate_hz = 10.0}; // rows of nothing but signals, their rate being told
  assert_true(log_text_is_log(bare, strlen(bare), &setting));
  assert_false(log_text_is_log(bare, strlen(bare), NULL));
  assert_false(log_text_is_log(list, strlen(list), &setting));
}

/* Invariant: any beginning of a good text, and any text with one byte changed, is read or refused, and nothing breaks. */
static void damaged_texts_do_no_harm(void **state) {
  (void)state;
  static const char text[] =
      "Rate 4\nTime,\"Engine RPM\",MAF [kg/h],A/C\r\nms,rpm,,\r\n0,\"1,800\",3.5,ON\r\n250,801,,OFF\r\n12:00:01,x,y\r\n";
  char copy[sizeof text];
  for (size_t size = 0; size < sizeof text; size++) (void)read_with(text, size, NULL);
  for (size_t i = 0; i + 1 < sizeof text; i++)
    for (const char *c = ",;\t\"\n\r0\xFF"; *c; c++) {
      memcpy(copy, text, sizeof text);
      copy[i] = *c;
      (void)read_with(copy, sizeof text - 1, NULL);
    }
}

static int end(void **state) {
  (void)state;
  log_text_destroy(&log_read);
  return 0;
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_bad_text_has_its_sentence),
      cmocka_unit_test(a_line_without_end_is_refused),
      cmocka_unit_test(what_is_no_reading_is_left_out_and_said),
      cmocka_unit_test(each_row_left_out_is_counted_with_its_reason),
      cmocka_unit_test(columns_that_are_not_understood_are_listed),
      cmocka_unit_test(short_rows_are_read_as_far_as_they_go),
      cmocka_unit_test(thousands_are_told_from_decimals_or_it_is_said),
      cmocka_unit_test(units_stand_in_a_row_a_column_or_the_name),
      cmocka_unit_test(run_time_repeated_is_spread_and_no_row_lost),
      cmocka_unit_test(run_time_may_begin_again),
      cmocka_unit_test(values_polled_at_one_time_are_one_row),
      cmocka_unit_test(clocks_pass_midnight_and_noon),
      cmocka_unit_test(rows_may_be_counted_only),
      cmocka_unit_test(logs_of_real_cars_are_read),
      cmocka_unit_test(a_map_names_what_is_not_known),
      cmocka_unit_test(a_log_is_told_from_a_list),
      cmocka_unit_test(damaged_texts_do_no_harm),
  };
  return cmocka_run_group_tests(tests, NULL, end);
}
