/* Every row of docs/validation.md: the program against figures from outside, each with its source (reference/validation). */
#include "support/check.h"

#include "reference/validation/validation.h"
#include "support/page_compare.h"

#include "base/attributes.h"

#include <math.h>

struct tally {
  const char *title;
  size_t failed;
};

static void note(const struct validation_row *row, double ours, void *user) {
  struct tally *tally = user;
  if (validation_judge(row, ours) != VALIDATION_FAILS) return;
  tally->failed++;
  print_error("%s: %s: ours %.*f, theirs %.*f, off by %.3g; tolerance %g, known miss %g\n", tally->title, row->quantity,
              row->decimals + 1, ours, row->decimals, row->theirs, ours - row->theirs, row->tolerance, row->known_miss);
}

static void check_section(size_t index) {
  struct tally tally = {validation_sections[index]->title, 0};
  validation_each(validation_sections[index], note, &tally);
  if (tally.failed) fail_msg("%zu rows of \"%s\" are further off than they were", tally.failed, tally.title);
}

#define SECTION(name, index) \
  static void name(void **state) { \
    (void)state; \
    check_section(index); \
  }
SECTION(gas, 0)
SECTION(throttle, 1)
SECTION(film, 2)
SECTION(charge, 3)
SECTION(spark, 4)
SECTION(friction, 5)
SECTION(idle, 6)
SECTION(scan, 7)
SECTION(real_car_idle, 8)
SECTION(real_car_drive, 9)

/* What the page promises: 60 quantities, 12 independent sources, a third of the rows never used to choose a value; and that a row
 * says something: a known miss is larger than the tolerance, or there is none. */
static void enough_of_them(void **state) {
  (void)state;
  size_t rows = 0, never = 0, sources = 0;
  bool seen[VALIDATION_SOURCE_COUNT] = {false};
  for (size_t s = 0; s < VALIDATION_SECTION_COUNT; s++)
    for (size_t i = 0; i < validation_sections[s]->count; i++) {
      const struct validation_row *row = &validation_sections[s]->rows[i];
      rows++;
      never += row->use == VALIDATION_NEVER;
      seen[row->source] = true;
      if (row->known_miss > 0.0) check_above(row->known_miss, row->tolerance);
    }
  for (size_t i = 0; i < VALIDATION_SOURCE_COUNT; i++) {
    assert_true(seen[i]);
    sources += validation_sources[i].independent;
  }
  check_above((double)rows, 59.0);
  check_above((double)sources, 11.0);
  check_above(3.0 * (double)never, (double)rows - 1.0);
}

/* The judge itself: inside the tolerance, a known miss, worse than known, not a number. */
static void judges(void **state) {
  (void)state;
  const struct validation_row row = {.theirs = 10.0, .tolerance = 1.0, .known_miss = 2.0};
  assert_int_equal(validation_judge(&row, 11.0), VALIDATION_HOLDS);
  assert_int_equal(validation_judge(&row, 8.0), VALIDATION_MISSES);
  assert_int_equal(validation_judge(&row, 12.1), VALIDATION_FAILS);
  assert_int_equal(validation_judge(&row, NAN), VALIDATION_FAILS);
  const struct validation_row strict = {.theirs = 10.0, .tolerance = 1.0};
  assert_int_equal(validation_judge(&strict, 8.9), VALIDATION_FAILS);
}

/* Page against fresh page (docs/make/validation.c --check): what it lets pass, and what not. */
static void compares_pages(void **state) {
  (void)state;
  assert_true(page_compare_line("| air, g/s | 1.259 | +0.339 | 0.1 |", "| air, g/s | 1.259 | +0.339 | 0.1 |"));
  assert_true(page_compare_line("| 1.259 |", "| 1.260 |")); // a rounding
  assert_true(page_compare_line("| -0.0 |", "| 0.0 |"));
  assert_false(page_compare_line("| 1.259 |", "| 1.261 |"));
  assert_false(page_compare_line("| 1.259 |", "| 1.2590 |"));
  assert_false(page_compare_line("| 91 hold |", "| 93 hold |"));
  assert_false(page_compare_line("| -0.3 |", "| 0.3 |"));
  assert_false(page_compare_line("| holds |", "| **misses** |"));
  assert_false(page_compare_line("| a", "| a | b"));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(judges),         cmocka_unit_test(compares_pages),
      cmocka_unit_test(enough_of_them), cmocka_unit_test(gas),
      cmocka_unit_test(throttle),       cmocka_unit_test(film),
      cmocka_unit_test(charge),         cmocka_unit_test(spark),
      cmocka_unit_test(friction),       cmocka_unit_test(idle),
      cmocka_unit_test(scan),           cmocka_unit_test(real_car_idle),
      cmocka_unit_test(real_car_drive),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
