/* io/format/us_text. Truth: converted by hand (NIST SP 811: 1 inHg = 3.386 38 kPa; F = 32 + 1.8 C). */
#include "io/format/us_text.h"

#include "support/check.h"

#include <stdlib.h>

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

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(a_number_with_its_unit), cmocka_unit_test(what_goes_before),
                                     cmocka_unit_test(differences), cmocka_unit_test(lines_that_were_wrapped),
                                     cmocka_unit_test(the_rest_stays)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
