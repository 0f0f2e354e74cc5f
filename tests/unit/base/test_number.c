/* Numbers in text. Truth: by hand; printf's %g in the C locale. */
#include "base/number.h"

#include "base/attributes.h"
#include "support/check.h"

#include <locale.h>
#include <stdio.h>
#include <string.h>

static void numbers_by_hand(void **state) {
  (void)state;
  static const struct {
    const char *word;
    double value;
  } good[] = {{"0", 0.0}, {"-1.5", -1.5}, {"+2", 2.0}, {".5", 0.5}, {"5.", 5.0}, {"1e3", 1000.0}, {"1E-3", 0.001}};
  static const char *const bad[] = {"",  " 1", "1 ", "0x10", "nan", "inf", "1e999", "1,5", "1.5.2",
                                    "e", "-",  "1e", "--1",  "1-2", ".",   "-.",    "..5"};
  double value;
  for (size_t i = 0; i < ARRAY_COUNT(good); i++) {
    assert_true(number_read(good[i].word, &value));
    check_close_at((double)i, value, good[i].value, 0.0);
  }
  for (size_t i = 0; i < ARRAY_COUNT(bad); i++)
    if (number_read(bad[i], &value)) fail_msg("'%s' is read as %g", bad[i], value);
}

static void numbers_are_written_as_printf_does(void **state) {
  (void)state;
  static const double values[] = {0.0, -0.5, 1.0 / 3.0, 1e300, -1e-300, 123456789.0, 0.1, 100000.0, 1e15};
  for (size_t i = 0; i < ARRAY_COUNT(values); i++)
    for (int digits = 1; digits <= 17; digits++) {
      char text[40], expected[40];
      snprintf(expected, sizeof expected, "%.*g", digits, values[i]);
      assert_int_equal(number_write(values[i], digits, text, sizeof text), strlen(expected));
      assert_string_equal(text, expected);
    }
}

static void the_locale_does_not_matter(void **state) {
  (void)state;
  if (!setlocale(LC_NUMERIC, "de_DE.UTF-8") && !setlocale(LC_NUMERIC, "fr_FR.UTF-8"))
    skip(); // this machine has no locale with a decimal comma
  char text[40];
  number_write(-0.5, 3, text, sizeof text);
  assert_string_equal(text, "-0.5");
  numbers_by_hand(state);
  assert_non_null(setlocale(LC_NUMERIC, "C"));
}

/* ISO 80000-1: thousands may be parted by a thin space, never by a comma or point; trade tools part them by comma, blank or apostrophe. */
static void parted_thousands(void **state) {
  (void)state;
  const struct {
    const char *word, *plain; // NULL: none
  } rows[] = {{"1,234", "1234"},
              {"1 234.5", "1234.5"},
              {"-12'345'678", "-12345678"},
              {"1\302\240700", "1700"},
              {"1\342\200\257700", "1700"},
              {"1234", NULL},
              {"1,23", NULL},
              {"1,2345", NULL},
              {"0,123", NULL},
              {"1234,567", NULL},
              {"1,234,56", NULL},
              {"1,234x", NULL},
              {"1,,234", NULL},
              {"", NULL},
              {",234", NULL},
              {"+1,234", "+1234"},
              {"--1,234", NULL},
              {"1,234.5.6", NULL}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    char plain[32] = "";
    const bool parted = number_grouped(rows[i].word, plain, sizeof plain);
    if (parted != (rows[i].plain != NULL)) fail_msg("'%s' is%s parted", rows[i].word, parted ? "" : " not");
    if (parted) assert_string_equal(plain, rows[i].plain);
  }
  char tight[4];
  assert_false(number_grouped("1,234", tight, sizeof tight));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(numbers_by_hand),
      cmocka_unit_test(numbers_are_written_as_printf_does),
      cmocka_unit_test(the_locale_does_not_matter),
      cmocka_unit_test(parted_thousands),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
