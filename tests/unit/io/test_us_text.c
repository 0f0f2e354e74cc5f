/* io/format/us_text. Truth: converted by hand (NIST SP 811: 1 inHg = 3.386 38 kPa; F = 32 + 1.8 C). */
#include "io/format/us_text.h"

#include "car/conditions.h"
#include "support/check.h"

#include <stdlib.h>
#include <string.h>

static void becomes(const char *text, const char *wanted) {
  char *converted = us_text(text);
  assert_non_null(converted);
  assert_string_equal(converted, wanted);
  free(converted);
}

static void a_number_with_its_unit(void **state) {
  (void)state;
  becomes("manifold at 27.7 kPa.", "manifold at 8.18 inHg.");
  becomes("oil at -10 C (oil_c)", "oil at 14 F (oil_c)");
  becomes("at 90 C, and", "at 194 F, and");
  becomes("100 km/h", "62 mph");
  becomes("-0.1 kPa", "-0.03 inHg");
  becomes("-17.8 C", "0.0 F"); // -0.04: nothing is written -0.0
}

static void what_goes_before(void **state) {
  (void)state;
  becomes("from 27.7 to 33.2 kPa, then 3 to 4 rpm", "from 8.18 to 9.80 inHg, then 3 to 4 rpm");
  becomes("between 0 and 100 C", "between 32 and 212 F");
  becomes("after 20 and 100 C", "after 20 and 212 F"); // no range: the first may be anything
  becomes("27.7 to 29 to 33.2 kPa", "8.18 to 8.6 to 9.80 inHg");
}

static void differences(void **state) {
  (void)state;
  becomes("10 C warmer than before", "18 F warmer than before");
  becomes("10 C, warmer days", "50 F, warmer days");
}

static void lines_that_were_wrapped(void **state) {
  (void)state;
  becomes("manifold at 27.7\n     kPa, and", "manifold at 8.18\n     inHg, and");
  becomes("from 27.7\n  to 33.2 kPa", "from 8.18\n  to 9.80 inHg");
}

static void the_rest_stays(void **state) {
  (void)state;
  static const char *const texts[] = {"",
                                      "coolant_c 90 and map_kpa 27.7",
                                      "P0128 C", // a code is no number
                                      "28  kPa", // columns of a table
                                      "28 kPaX and 28 C_x and 28 Cold",
                                      "1.2.3 C",
                                      "bank 1 of 2",
                                      "0.05 mm at 850 rpm, 12 %"};
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) becomes(texts[i], texts[i]);
}

static void reading_becomes(const char *text, const char *wanted) {
  char *converted = us_text_of_readings(text);
  assert_non_null(converted);
  assert_string_equal(converted, wanted);
  free(converted);
}

static void words_about_readings(void **state) {
  (void)state;
  reading_becomes("For film: map_kpa@idle is 33.2, 5.5 above expected (27.7, spread 0.9); an average car shows 32.0.",
                  "For film: map_inhg@idle is 9.80, 1.62 above expected (8.18, spread 0.27); an average car shows 9.45.");
  reading_becomes("coolant_c=90. 3 bits are open, 20 C outside", "coolant_f=194. 3 bits are open, 68 F outside");
  reading_becomes("map_kpa and tp_pct@idle 12.9", "map_inhg and tp_pct@idle 12.9"); // the second name takes over
  reading_becomes("barometer_kpa 100 with 90 % (+1.3) (-2.1)", "barometer_inhg 29.5 with 90 % (+1.3) (-2.1)");
}

/* The unit of the table says whether 0 in it is 0 of ours: a difference is 1.8 times as many F, a temperature 32 more. */
static void errors_of_sensors(void **state) {
  (void)state;
  size_t found = 0;
  for (size_t i = 0; i < condition_count; i++) {
    const struct field *field = &condition_rows[i].field;
    const struct us_unit *unit = us_unit_of_own(field->key);
    if (!unit || strcmp(unit->text, "F") != 0) continue;
    char text[80], name[64], wanted[80];
    assert_true(us_unit_us_name(unit, field->key, sizeof name, name));
    snprintf(text, sizeof text, "%s 10", field->key);
    snprintf(wanted, sizeof wanted, "%s %s", name, field->unit.si_at_zero == 0.0 ? "18" : "50");
    reading_becomes(text, wanted);
    found++;
  }
  assert_true(found >= 4);
}

static void cells_of_readings(void **state) {
  (void)state;
  const struct us_unit *kpa = us_text_unit_of_name("map_kpa@idle");
  assert_non_null(kpa);
  assert_null(us_text_unit_of_name("tp_pct@idle"));
  assert_null(us_text_unit_of_name("idle speed"));
  static const struct {
    const char *cell, *wanted;
    bool difference;
  } rows[] = {{"27.7 (24.6 to 30.8)", "8.18 (7.26 to 9.10)", false},
              {"27.7 (-1.3)", "8.18 (-1.3)", false},
              {"0.35", "0.103", true},
              {"does not run", "does not run", false}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    char *converted = us_text_cell(rows[i].cell, kpa, rows[i].difference);
    assert_non_null(converted);
    assert_string_equal(converted, rows[i].wanted);
    free(converted);
  }
  const struct us_unit *celsius = us_text_unit_of_name("coolant_c");
  char *converted = us_text_cell("0.5", celsius, true);
  assert_non_null(converted);
  assert_string_equal(converted, "0.9"); // of a difference no 32
  free(converted);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_number_with_its_unit),  cmocka_unit_test(what_goes_before), cmocka_unit_test(differences),
      cmocka_unit_test(lines_that_were_wrapped), cmocka_unit_test(the_rest_stays),   cmocka_unit_test(words_about_readings),
      cmocka_unit_test(errors_of_sensors),       cmocka_unit_test(cells_of_readings)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
