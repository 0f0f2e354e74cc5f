/* CSV out and in. Truth: printf for the numbers; texts read by hand; RFC 4180 for quotes. */
#include "io/format/csv_read.h"
#include "io/format/csv_write.h"
#include "support/check.h"

#include <float.h>
#include <locale.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* ---- Numbers ---- */

static void assert_number(double value, int decimals, const char *expected) {
  char text[CSV_WRITE_NUMBER_SIZE + 1];
  text[csv_write_number(text, value, decimals)] = '\0';
  assert_string_equal(text, expected);
}

static void numbers_written_by_hand(void **state) {
  (void)state;
  assert_number(0.0, 0, "0");
  assert_number(0.0, 3, "0.000");
  assert_number(-0.0004, 3, "0.000");
  assert_number(-0.0006, 3, "-0.001");
  assert_number(0.06, 1, "0.1");
  assert_number(7.0, 2, "7.00");
  assert_number(1234567.891, 2, "1234567.89");
  assert_number(NAN, 2, "");
  assert_number(INFINITY, 2, "inf");
  assert_number(-INFINITY, 2, "-inf");
  assert_number(1e20, 2, "100000000000000000000");
  char longest[CSV_WRITE_NUMBER_SIZE];
  assert_int_equal(csv_write_number(longest, -DBL_MAX, 9), 310); // a sign and 309 digits
}

/* printf rounds the exact binary value, the writer the scaled one: they may differ where both neighbours
 * are equally far, by one unit of the last decimal. */
static void numbers_agree_with_printf(void **state) {
  (void)state;
  uint64_t seed = 7;
  for (int i = 0; i < 200000; i++) {
    seed = seed * 6364136223846793005u + 1442695040888963407u;
    const int decimals = (int)(seed >> 60) % 7;
    const double value = ((double)(int64_t)seed / 9.3e18) * pow(10.0, (double)((seed >> 40) % 8));
    char text[CSV_WRITE_NUMBER_SIZE + 1], expected[64];
    text[csv_write_number(text, value, decimals)] = '\0';
    snprintf(expected, sizeof expected, "%.*f", decimals, value);
    check_close_at(value, strtod(text, NULL), strtod(expected, NULL), 1.01 * pow(10.0, -decimals));
    check_close_at(value, strtod(text, NULL), value, 0.50001 * pow(10.0, -decimals) + 4.0 * DBL_EPSILON * fabs(value));
    const char *point = strchr(text, '.');
    assert_int_equal(point ? (int)strlen(point + 1) : 0, decimals);
  }
}

/* ---- Round trip ---- */

static char *recording_text(const struct recording *recording, size_t *size) {
  char *text = NULL;
  FILE *stream = open_memstream(&text, size);
  assert_non_null(stream);
  csv_write_recording(stream, recording);
  assert_int_equal(fclose(stream), 0);
  return text;
}

static void fill(struct recording *recording, size_t rows) {
  struct error error;
  error_clear(&error);
  recording_init(recording);
  for (size_t row = 0; row < rows; row++) {
    double values[CHANNEL_COUNT];
    for (int i = 0; i < CHANNEL_COUNT; i++) values[i] = sin((double)row + 0.1 * i) * pow(10.0, i % 5);
    values[CHANNEL_time_s] = 0.01 * (double)row;
    values[CHANNEL_maf_gps] = row % 3 ? 2.5 : NAN;
    assert_int_equal(recording_append(recording, values, &error), STATUS_OK);
  }
}

static void a_run_comes_back_within_its_decimals(void **state) {
  (void)state;
  struct recording recording;
  struct csv_table table;
  struct error error;
  size_t size;
  fill(&recording, 500);
  char *text = recording_text(&recording, &size);
  assert_int_equal(csv_table_read("run.csv", text, size, &table, &error), STATUS_OK);
  assert_int_equal(table.column_count, CHANNEL_COUNT);
  assert_int_equal(table.row_count, 500);
  assert_int_equal(table.bad_row_count, 0);
  for (size_t i = 0; i < CHANNEL_COUNT; i++) {
    assert_string_equal(table.columns[i].name, channel_rows[i].name);
    assert_int_equal(csv_table_find(&table, channel_rows[i].name), i);
  }
  for (size_t row = 0; row < 500; row++) {
    assert_int_equal(table.lines[row], row + 2);
    for (size_t i = 0; i < CHANNEL_COUNT; i++) {
      const double written = recording_value(&recording, row, (enum channel)i), read = csv_table_value(&table, row, i);
      if (isnan(written))
        assert_true(isnan(read));
      else
        check_close_at((double)row, read, written, 0.50001 * pow(10.0, -channel_rows[i].decimals));
    }
  }
  csv_table_destroy(&table);
  recording_destroy(&recording);
  free(text);
}

static void header_names_are_quoted_when_they_must(void **state) {
  (void)state;
  static const char *const names[] = {"plain", "with, comma", "with \"quote\"", "two\nlines"};
  const double values[] = {1, 2, 3, 4};
  const int decimals[] = {0, 1, 0, 0};
  char *text = NULL;
  size_t size;
  FILE *stream = open_memstream(&text, &size);
  assert_non_null(stream);
  csv_write_header(stream, names, 4);
  csv_write_row(stream, values, decimals, 4);
  assert_int_equal(fclose(stream), 0);
  assert_string_equal(text, "plain,\"with, comma\",\"with \"\"quote\"\"\",\"two\nlines\"\n1,2.0,3,4\n");
  struct csv_table table;
  struct error error;
  assert_int_equal(csv_table_read("names.csv", text, size, &table, &error), STATUS_OK);
  for (size_t i = 0; i < 4; i++) assert_string_equal(table.columns[i].name, names[i]);
  assert_int_equal(table.lines[0], 3);
  csv_table_destroy(&table);
  free(text);
}

/* ---- Reading ---- */

static enum status read_text(const char *text, struct csv_table *table, struct error *error) {
  error_clear(error);
  return csv_table_read("log.csv", text, strlen(text), table, error);
}

/* Two columns, rows (1.5, 2) and (3, NaN), whatever the spelling. */
static void spellings_of_the_same_table(void **state) {
  (void)state;
  static const char *const texts[] = {
      "a,b\n1.5,2\n3,\n",
      "\357\273\277a,b\r\n1.5,2\r\n3,\r\n",
      "a,b\r1.5,2\r3,",
      "a;b\n1,5;2\n3;\n",
      "a\tb\n1.5\t2\n3\t\n",
      "\"a\",\"b\"\n\"1.5\",\"2\"\n3,\"\"\n",
      "\n\n a , b \n\n 1.5 , +2 \n  \n3,  ",
      "a,b,\n1.5,2,\n3,,\n",
      "a,b\n15e-1,2e0\n3,\n",
  };
  for (size_t i = 0; i < ARRAY_COUNT(texts); i++) {
    struct csv_table table;
    struct error error;
    assert_int_equal(read_text(texts[i], &table, &error), STATUS_OK);
    assert_int_equal(table.column_count, 2);
    assert_string_equal(table.columns[0].name, "a");
    assert_string_equal(table.columns[1].name, "b");
    assert_int_equal(table.row_count, 2);
    assert_int_equal(table.bad_row_count, 0);
    check_close_at((double)i, csv_table_value(&table, 0, 0), 1.5, 0.0);
    check_close_at((double)i, csv_table_value(&table, 0, 1), 2.0, 0.0);
    check_close_at((double)i, csv_table_value(&table, 1, 0), 3.0, 0.0);
    assert_true(isnan(csv_table_value(&table, 1, 1)));
    csv_table_destroy(&table);
  }
}

static void numbers_do_not_depend_on_the_locale(void **state) {
  (void)state;
  if (!setlocale(LC_NUMERIC, "de_DE.UTF-8") && !setlocale(LC_NUMERIC, "fr_FR.UTF-8"))
    skip(); // this machine has no locale with a decimal comma
  numbers_written_by_hand(state);
  spellings_of_the_same_table(state);
  assert_non_null(setlocale(LC_NUMERIC, "C"));
}

/* Line numbers counted by hand: a quoted cell spans lines 3 and 4, line 6 is blank. */
static void bad_rows_are_counted_and_named_by_line(void **state) {
  (void)state;
  static const char text[] = "time,speed,remark\n" // 1
                             "0,850,ok\n"          // 2
                             "1,851,\"two\n"       // 3
                             "lines\"\n"           // 4
                             "2,n/a,ok\n"          // 5: text among numbers
                             "\n"                  // 6
                             "3,853\n"             // 7: short
                             "4,854,ok,5\n"        // 8: long
                             "5,8\"5,ok\n"         // 9: quote in the wrong place
                             "6,856,ok\n"          // 10
                             "7,0x10,ok\n"         // 11: no decimal number
                             "8,nan,ok\n"          // 12: nor is this
                             "9,859,ok\n";         // 13
  static const size_t bad_lines[] = {5, 7, 8, 9, 11, 12}, good_lines[] = {2, 3, 10, 13};
  struct csv_table table;
  struct error error;
  assert_int_equal(read_text(text, &table, &error), STATUS_OK);
  assert_int_equal(table.bad_row_count, ARRAY_COUNT(bad_lines));
  assert_int_equal(table.fault_count, ARRAY_COUNT(bad_lines));
  for (size_t i = 0; i < ARRAY_COUNT(bad_lines); i++) assert_int_equal(table.faults[i].line, bad_lines[i]);
  assert_string_equal(table.faults[0].text, "speed: \"n/a\" is not a number");
  assert_string_equal(table.faults[1].text, "2 cells, the header has 3");
  assert_string_equal(table.faults[2].text, "4 cells, the header has 3; if 4,854 is one number, write 4854");
  assert_int_equal(table.row_count, ARRAY_COUNT(good_lines));
  for (size_t i = 0; i < ARRAY_COUNT(good_lines); i++) assert_int_equal(table.lines[i], good_lines[i]);
  check_close(csv_table_value(&table, 3, 1), 859.0, 0.0);
  assert_true(table.columns[2].is_text);
  assert_false(table.columns[1].is_text);
  csv_table_destroy(&table);
}

static void many_bad_rows_are_all_counted(void **state) {
  (void)state;
  char text[4000] = "a,b\n";
  for (int i = 0; i < 300; i++) strcat(text, i % 3 ? "1,2\n" : "1\n");
  struct csv_table table;
  struct error error;
  assert_int_equal(read_text(text, &table, &error), STATUS_OK);
  assert_int_equal(table.bad_row_count, 100);
  assert_int_equal(table.fault_count, CSV_TABLE_FAULT_MAX);
  assert_int_equal(table.row_count, 200);
  csv_table_destroy(&table);
}

static void files_that_cannot_be_used(void **state) {
  (void)state;
  static const struct {
    const char *text, *says;
  } rows[] = {
      {"", "log.csv:1: the file is empty"},
      {"\n \r\n", "log.csv:1: the file is empty"},
      {"1,2\n3,4\n", "log.csv:1: no header"},
      {"a,b,a\n1,2,3\n", "log.csv:1: columns 1 and 3 are both named \"a\""},
      {"a,,b\n1,2,3\n", "log.csv:1: column 2 has no name"},
      {"a,b\n1,2\n3,\"4\n5,6\n", "log.csv:3: a quoted cell begins in this row and never ends"},
      {"a\"b,c\n1,2\n", "log.csv:1: the header has a quote in the wrong place"},
      {"\377\376a", "log.csv:1: the text is in UTF-16"},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    struct csv_table table;
    struct error error;
    assert_int_equal(read_text(rows[i].text, &table, &error), STATUS_BAD_DATA);
    assert_memory_equal(error.text, rows[i].says, strlen(rows[i].says));
    assert_null(table.columns);
  }
  struct csv_table table;
  struct error error;
  assert_int_equal(csv_table_read("log.csv", "a,b\n1,\0\n", 8, &table, &error), STATUS_BAD_DATA);
  assert_int_equal(csv_read_file("/nonexistent/log.csv", &table, &error), STATUS_NO_INPUT);
  assert_non_null(strstr(error.text, "/nonexistent/log.csv"));
  assert_int_equal(csv_read_file("/tmp", &table, &error), STATUS_NO_INPUT);
}

static void header_alone_is_a_table_without_rows(void **state) {
  (void)state;
  struct csv_table table;
  struct error error;
  assert_int_equal(read_text("a,b", &table, &error), STATUS_OK);
  assert_int_equal(table.column_count, 2);
  assert_int_equal(table.row_count, 0);
  assert_int_equal(csv_table_find(&table, "c"), -1);
  csv_table_destroy(&table);
}

/* Every beginning of a difficult file is either read or refused; the sanitizers watch. */
static void any_cut_is_read_or_refused(void **state) {
  (void)state;
  static const char text[] = "\357\273\277t;\"s\nx\"\r\n1,5;\"2\"\r\n;\"a \"\"b\"\";\"\n\r\r9;8";
  for (size_t size = 0; size < sizeof text; size++) {
    struct csv_table table;
    struct error error;
    char *copy = malloc(size + 1);
    assert_non_null(copy);
    memcpy(copy, text, size);
    const enum status status = csv_table_read("cut.csv", copy, size, &table, &error);
    assert_true(status == STATUS_OK || status == STATUS_BAD_DATA);
    csv_table_destroy(&table);
    free(copy);
  }
}

static void a_file_on_disk_is_the_same_as_memory(void **state) {
  (void)state;
  char path[] = "/tmp/test_csv_XXXXXX";
  const int descriptor = mkstemp(path);
  assert_true(descriptor >= 0);
  FILE *file = fdopen(descriptor, "w");
  assert_non_null(file);
  fputs("a,b\n", file);
  for (int i = 0; i < 30000; i++) fprintf(file, "%d,%d.25\n", i, -i); // more than one block of the reader
  assert_int_equal(fclose(file), 0);
  struct csv_table table;
  struct error error;
  const enum status status = csv_read_file(path, &table, &error);
  unlink(path);
  assert_int_equal(status, STATUS_OK);
  assert_int_equal(table.row_count, 30000);
  check_close(csv_table_value(&table, 29999, 1), -29999.25, 0.0);
  csv_table_destroy(&table);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(numbers_written_by_hand),
      cmocka_unit_test(numbers_agree_with_printf),
      cmocka_unit_test(a_run_comes_back_within_its_decimals),
      cmocka_unit_test(header_names_are_quoted_when_they_must),
      cmocka_unit_test(spellings_of_the_same_table),
      cmocka_unit_test(numbers_do_not_depend_on_the_locale),
      cmocka_unit_test(bad_rows_are_counted_and_named_by_line),
      cmocka_unit_test(many_bad_rows_are_all_counted),
      cmocka_unit_test(files_that_cannot_be_used),
      cmocka_unit_test(header_alone_is_a_table_without_rows),
      cmocka_unit_test(any_cut_is_read_or_refused),
      cmocka_unit_test(a_file_on_disk_is_the_same_as_memory),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
