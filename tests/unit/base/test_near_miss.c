/* Distances: hand values; "kitten/sitting" 3 and "ca/abc" 3 are the textbook ones (the latter is 2 only where
 * a letter may be touched twice, which optimal string alignment forbids). */
#include "base/attributes.h"
#include "base/near_miss.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static void distance_is_that_of_the_textbooks(void **state) {
  (void)state;
  static const struct {
    const char *a, *b;
    size_t distance;
  } rows[] = {
      {"", "", 0},        {"", "abc", 3},      {"film_um", "film_um", 0}, {"film_um", "film_u", 1},
      {"film", "fim", 1}, {"ab", "ba", 1},     {"flim_um", "film_um", 1}, {"kitten", "sitting", 3},
      {"ca", "abc", 3},   {"abcd", "badc", 2},
  };
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    assert_int_equal(near_miss_distance(rows[i].a, rows[i].b), rows[i].distance);
    assert_int_equal(near_miss_distance(rows[i].b, rows[i].a), rows[i].distance);
  }
}

static const char *const keys[] = {"film_um", "edge_film_um", "leak_mm2", "pedal_pct", "at_s"};

static void nearest_key_is_found(void **state) {
  (void)state;
  assert_string_equal(near_miss_best("flim_um", keys, ARRAY_COUNT(keys)), "film_um");
  assert_string_equal(near_miss_best("edge_film_mm", keys, ARRAY_COUNT(keys)), "edge_film_um");
  assert_string_equal(near_miss_best("Pedal_pct", keys, ARRAY_COUNT(keys)), "pedal_pct");
  assert_string_equal(near_miss_best("leakmm", keys, ARRAY_COUNT(keys)), "leak_mm2");
}

/* The unit is what a person leaves out; film is not edge_film. */
static void a_name_without_its_unit_is_near(void **state) {
  (void)state;
  static const char *const names[] = {"edge_film_um", "film_um", "leak_mm2", "leak_bank1_pct", "manifold_kpa_of_before"};
  assert_string_equal(near_miss_best("film", names, ARRAY_COUNT(names)), "film_um");
  assert_string_equal(near_miss_best("edge_film", names, ARRAY_COUNT(names)), "edge_film_um");
  assert_string_equal(near_miss_best("leak", names, ARRAY_COUNT(names)), "leak_mm2");
  assert_null(near_miss_best("manifold", names, ARRAY_COUNT(names)));
  assert_null(near_miss_best("f", names, ARRAY_COUNT(names)));
}

/* 12 letters allow 4 slips, 9 letters 3, up to 8 letters 2. */
static void what_is_far_is_not_offered(void **state) {
  (void)state;
  assert_null(near_miss_best("gearbox", keys, ARRAY_COUNT(keys)));
  assert_string_equal(near_miss_best("edge_fi", &keys[1], 1) ? "near" : "far", "far");
  assert_string_equal(near_miss_best("xdgx_xixm_um", keys, ARRAY_COUNT(keys)), "edge_film_um");
  assert_null(near_miss_best("xdgx_xixx_ux", keys, ARRAY_COUNT(keys)));
  assert_null(near_miss_best("", keys, ARRAY_COUNT(keys)));
  assert_null(near_miss_best("film_um", keys, 0));
}

static void a_word_without_a_common_letter_is_never_near(void **state) {
  (void)state;
  static const char *const two[] = {"on"};
  assert_null(near_miss_best("xy", two, 1));
  assert_string_equal(near_miss_best("no", two, 1), "on");
}

static void a_word_of_any_length_is_safe(void **state) {
  (void)state;
  char word[4 * NEAR_MISS_WORD_MAX];
  memset(word, 'a', sizeof word - 1);
  word[sizeof word - 1] = '\0';
  assert_null(near_miss_best(word, keys, ARRAY_COUNT(keys)));
  const char *const long_candidate[] = {word};
  assert_null(near_miss_best("aaaa", long_candidate, 1));
  word[NEAR_MISS_WORD_MAX] = '\0';
  assert_ptr_equal(near_miss_best(word, long_candidate, 1), word);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(distance_is_that_of_the_textbooks),
      cmocka_unit_test(nearest_key_is_found),
      cmocka_unit_test(a_name_without_its_unit_is_near),
      cmocka_unit_test(what_is_far_is_not_offered),
      cmocka_unit_test(a_word_without_a_common_letter_is_never_near),
      cmocka_unit_test(a_word_of_any_length_is_safe),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
