/* Numbers and clock times of logs. Truth: by hand; the C library's strtod for plain numbers; days by its timegm. */
#include "analysis/log/log_clock.h"
#include "analysis/log/log_number.h"
#include "base/attributes.h"
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static void numbers_are_read_as_their_mark_says(void **state) {
  (void)state;
  static const struct {
    const char *text;
    enum log_number_shape shape;
    double with_point, with_comma; // NaN: none
  } rows[] = {
      {"850", LOG_NUMBER_WHOLE, 850, 850},
      {"-12", LOG_NUMBER_WHOLE, -12, -12},
      {"8.5", LOG_NUMBER_POINT, 8.5, NAN},
      {"8,5", LOG_NUMBER_COMMA, NAN, 8.5},
      {".5", LOG_NUMBER_POINT, 0.5, NAN},
      {"5,", LOG_NUMBER_COMMA, NAN, 5},
      {"0.123", LOG_NUMBER_POINT, 0.123, NAN},
      {"1.234", LOG_NUMBER_EITHER_POINT, 1.234, 1234},
      {"1,234", LOG_NUMBER_EITHER_COMMA, 1234, 1.234},
      {"-1,234", LOG_NUMBER_EITHER_COMMA, -1234, -1.234},
      {"1234.567", LOG_NUMBER_POINT, 1234.567, NAN},
      {"1,234.5", LOG_NUMBER_POINT, 1234.5, NAN},
      {"1.234,5", LOG_NUMBER_COMMA, NAN, 1234.5},
      {"1,234,567", LOG_NUMBER_POINT, 1234567, NAN},
      {"1.234.567", LOG_NUMBER_COMMA, NAN, 1234567},
      {"1 234", LOG_NUMBER_PARTED, 1234, 1234},
      {"1'234", LOG_NUMBER_PARTED, 1234, 1234},
      {"1\xC2\xA0"
       "234",
       LOG_NUMBER_PARTED, 1234, 1234},
      {"1 234.5", LOG_NUMBER_POINT, 1234.5, NAN},
      {"12 34", LOG_NUMBER_NONE, NAN, NAN},
      {"1,23,456", LOG_NUMBER_NONE, NAN, NAN},
      {"1e3", LOG_NUMBER_WHOLE, 1000, 1000},
      {"1.5e-3", LOG_NUMBER_POINT, 1.5e-3, NAN},
      {"1.234e3", LOG_NUMBER_POINT, 1234, NAN},
      {"", LOG_NUMBER_NONE, NAN, NAN},
      {".", LOG_NUMBER_NONE, NAN, NAN},
      {"-", LOG_NUMBER_NONE, NAN, NAN},
      {"nan", LOG_NUMBER_NONE, NAN, NAN},
      {"inf", LOG_NUMBER_NONE, NAN, NAN},
      {"0x10", LOG_NUMBER_NONE, NAN, NAN},
      {"1-2", LOG_NUMBER_NONE, NAN, NAN},
      {"12:30", LOG_NUMBER_NONE, NAN, NAN},
      {"850 rpm", LOG_NUMBER_NONE, NAN, NAN},
      {"1.2.3", LOG_NUMBER_NONE, NAN, NAN},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    print_message("'%s'\n", rows[i].text);
    assert_int_equal(log_number_shape(rows[i].text), rows[i].shape);
    for (int comma = 0; comma < 2; comma++) {
      const double wanted = comma ? rows[i].with_comma : rows[i].with_point;
      double value;
      const bool read = log_number_read(rows[i].text, comma ? ',' : '.', &value);
      assert_int_equal(read, !isnan(wanted));
      if (read) check_close(value, wanted, 0.0);
    }
  }
}

/* The quick way rounds as the C library does, to the last bit. */
static void plain_numbers_are_those_of_the_library(void **state) {
  (void)state;
  srand(1);
  for (int i = 0; i < 20000; i++) {
    char text[40];
    snprintf(text, sizeof text, "%.*f", rand() % 9, (rand() - RAND_MAX / 2) / pow(10.0, rand() % 9));
    double value;
    assert_true(log_number_read(text, '.', &value));
    check_close(value, strtod(text, NULL), 0.0);
  }
}

static void clocks_are_read(void **state) {
  (void)state;
  static const struct {
    const char *text;
    double time_s;
    bool half_day;
  } rows[] = {
      {"00:00:00", 0, false},
      {"23:59:40.250", 86380.25, false},
      {"23:59:40,25", 86380.25, false},
      {"23:59:40:250", 86380.25, false},
      {"7:05:09", 25509, true},
      {"11:59:40.250 PM", 86380.25, false},
      {"12:00:01 am", 1, false},
      {"12:00:01 p.m.", 43201, false},
      {"1:15 PM", 47700, false},
      {"5:03.25", 303.25, false},
      {"61:03.5", 3663.5, false},
      {"31.12.2024 23:59:40", 86380, false},
      {"12/31/2024, 11:59:40 PM", 86380, false},
  };
  struct log_clock clock;
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    print_message("%s\n", rows[i].text);
    assert_int_equal(log_clock_read(rows[i].text, &clock), LOG_CLOCK_TOLD);
    check_close(clock.time_s, rows[i].time_s, 1e-9);
    assert_false(clock.has_date);
    assert_int_equal(clock.half_day, rows[i].half_day);
  }
  assert_int_equal(log_clock_read("12:34", &clock), LOG_CLOCK_UNTOLD);
  static const char *const none[] = {"",          "850",        "12:60:00", "25:00:00",    "1:2:3:4:5",
                                     "12:34:56x", "12:",        ":30",      "13:00:00 PM", "ab:cd:ef",
                                     "12:34 rpm", "2024-12-31", "12:3:4",   "1.5:30",      "2024-13-01T00:00:00"};
  for (size_t i = 0; i < ARRAY_COUNT(none); i++) {
    print_message("'%s'\n", none[i]);
    assert_int_equal(log_clock_read(none[i], &clock), LOG_CLOCK_NONE);
  }
}

static void dates_are_those_of_the_calendar(void **state) {
  (void)state;
  srand(2);
  struct log_clock clock;
  for (int i = 0; i < 2000; i++) {
    const time_t moment = (time_t)rand() % 4000000000 + (i % 2 ? 0 : 1000);
    struct tm parts;
    char text[64];
    gmtime_r(&moment, &parts);
    strftime(text, sizeof text, i % 3 == 0 ? "%Y-%m-%dT%H:%M:%SZ" : i % 3 == 1 ? "%Y%m%dT%H%M%S" : "%Y/%m/%d %H:%M:%S", &parts);
    assert_int_equal(log_clock_read(text, &clock), LOG_CLOCK_TOLD);
    assert_true(clock.has_date);
    check_close(clock.time_s, (double)moment, 0.0);
  }
  assert_int_equal(log_clock_read("2024-12-31T23:59:40.5+01:30", &clock), LOG_CLOCK_TOLD);
  check_close(clock.time_s, 1735684180.5, 0.0); // date -u -d 2024-12-31T22:29:40
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(numbers_are_read_as_their_mark_says),
      cmocka_unit_test(plain_numbers_are_those_of_the_library),
      cmocka_unit_test(clocks_are_read),
      cmocka_unit_test(dates_are_those_of_the_calendar),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
