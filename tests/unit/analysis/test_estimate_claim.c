/* analysis/estimate_claim: sentences and the values in them. Truth: the contract in estimate_claim.h, by hand. */
#include "support/check.h"

#include "analysis/estimate/estimate_claim.h"

#include <string.h>

static struct estimate_claim claim;

static void is_value(size_t i, const char *printed, double value, const char *source) {
  assert_true(i < claim.count);
  assert_string_equal(claim.values[i].printed, printed);
  check_close(claim.values[i].value, value, 1e-12);
  assert_string_equal(claim.values[i].source, source);
}

static void an_interval_has_as_many_decimals_as_it_deserves(void **state) {
  (void)state;
  static const struct {
    double best, low, high;
    const char *text;
  } cases[] = {{61.72, 50.1, 75.4, "62 (50 to 75)"},
               {2.981, 2.75, 3.25, "2.98 (2.75 to 3.25)"},
               {6.98, 7.04, 7.05, "7.040 (7.040 to 7.050)"}, // the best never outside
               {-6.9, -2.2, -10.7, "-6.9 (-10.7 to -2.2)"},
               {0.001, -0.04, 12.0, "0 (0 to 12)"}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    estimate_claim_begin(&claim);
    estimate_claim_interval(&claim, cases[i].best, cases[i].low, cases[i].high, "film_%s", "um");
    assert_string_equal(claim.text, cases[i].text);
    assert_int_equal(claim.count, 3);
    assert_string_equal(claim.values[0].source, "film_um.best");
    assert_string_equal(claim.values[2].source, "film_um.high");
  }
}

/* By hand: to no decimal 100 and 99.6 are both 100; 5.34 and 5.31 part at the second, what is the same at none. */
static void numbers_that_differ_are_printed_as_two(void **state) {
  (void)state;
  assert_int_equal(estimate_claim_decimals_apart(100.0, 99.6, 0), 1);
  assert_int_equal(estimate_claim_decimals_apart(5.34, 5.31, 1), 2);
  assert_int_equal(estimate_claim_decimals_apart(100.0, 90.0, 0), 0);
  assert_int_equal(estimate_claim_decimals_apart(12.6, 14.0, 1), 1);
  assert_int_equal(estimate_claim_decimals_apart(7.0, 7.0, 0), 3);
}

static void a_probability_is_never_quite_certain(void **state) {
  (void)state;
  estimate_claim_begin(&claim);
  estimate_claim_share(&claim, 0.9999, "a");
  estimate_claim_words(&claim, ", ");
  estimate_claim_share(&claim, 0.294, "b");
  estimate_claim_words(&claim, ", ");
  estimate_claim_share(&claim, 0.0, "c");
  assert_string_equal(claim.text, "over 99 %, 29 %, below 1 %");
  assert_int_equal(claim.values[0].how, ESTIMATE_CLAIM_OVER);
  assert_int_equal(claim.values[1].how, ESTIMATE_CLAIM_ROUNDED);
  assert_int_equal(claim.values[2].how, ESTIMATE_CLAIM_BELOW);
}

/* A digit in a name is no number. */
static void numbers_of_a_fixed_text(void **state) {
  (void)state;
  estimate_claim_begin(&claim);
  estimate_claim_text(&claim, "tps1_v at hold_2500, mm2: more than 10 bar, 0.5 V. At 2500.", "text:%s", "x");
  assert_int_equal(claim.count, 3);
  is_value(0, "10", 10.0, "text:x");
  is_value(1, "0.5", 0.5, "text:x");
  is_value(2, "2500", 2500.0, "text:x");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(an_interval_has_as_many_decimals_as_it_deserves),
      cmocka_unit_test(numbers_that_differ_are_printed_as_two),
      cmocka_unit_test(a_probability_is_never_quite_certain),
      cmocka_unit_test(numbers_of_a_fixed_text),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
