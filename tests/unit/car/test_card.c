/* Car cards: what they take, in which units, and what they refuse. Truth: units by definition; the table walked row by row. */
#include "car/card.h"
#include "support/check.h"

#include <stdio.h>
#include <string.h>

static enum status take(struct card *card, const char *key, const char *value, const char *unit, struct error *error) {
  error_clear(error);
  return card_set(card, "card.csv:7", key, value, unit, error);
}

static void units_as_people_write_them(void **state) {
  (void)state;
  static const struct {
    const char *key, *value, *unit;
    enum card_item item;
    double expected;
  } cases[] = {
      {"displacement_l", "1.6", "", CARD_displacement_l, 1.6},
      {"Displacement-L", "1598 cc", "", CARD_displacement_l, 1.598},
      {"displacement_l", "1,6", "L", CARD_displacement_l, 1.6},
      {"displacement_l", "305", "ci", CARD_displacement_l, 4.998},
      {"bore_mm", "5.2cm", "", CARD_bore_mm, 52.0},
      {"bore_mm", "2", "in", CARD_bore_mm, 50.8},
      {"intake_c", "86", "F", CARD_intake_c, 30.0},
      {"altitude_m", "1000 ft", "", CARD_altitude_m, 304.8},
      {"stop_pct", "11.8%", "%", CARD_stop_pct, 11.8},
      {"compression", "10.5:1", "", CARD_compression, 10.5},
      {"spark_idle_deg", "-3 \xC2\xB0", "", CARD_spark_idle_deg, -3},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct card card;
    struct error error;
    card_init(&card);
    if (take(&card, cases[i].key, cases[i].value, cases[i].unit, &error) != STATUS_OK) fail_msg("%s", error.text);
    check_relative_at((double)i, card.values[cases[i].item], cases[i].expected, 1e-4);
  }
}

static void open_entries(void **state) {
  (void)state;
  struct card card;
  struct error error;
  card_init(&card);
  assert_int_equal(take(&card, "bore_mm", "", "mm", &error), STATUS_OK);
  assert_int_equal(take(&card, "fuel", " ? ", "", &error), STATUS_OK);
  for (int i = 0; i < CARD_COUNT; i++) assert_false(card_has(&card, (enum card_item)i));
  assert_int_equal(card_check(&card, &error), STATUS_OK);
}

/* Every number below and above its range is refused with place, range and unit; every choice that is none with the words there are. */
static void every_row_has_limits(void **state) {
  (void)state;
  for (int i = 0; i < CARD_COUNT; i++) {
    const struct card_row *row = &card_rows[i];
    struct card card;
    struct error error;
    char text[40], range[60];
    card_init(&card);
    if (row->choices) {
      assert_int_equal(take(&card, row->key, "nonsense", "", &error), STATUS_BAD_DATA);
      assert_non_null(strstr(error.text, row->choices[0]));
      for (size_t k = 0; row->choices[k]; k++) {
        card_init(&card);
        assert_int_equal(take(&card, row->key, row->choices[k], "", &error), STATUS_OK);
        check_close(card.values[i], (double)k, 0.0);
        card_text(&card, (enum card_item)i, sizeof text, text);
        assert_string_equal(text, row->choices[k]);
      }
      continue;
    }
    snprintf(range, sizeof range, "it can be %g to %g", row->least, row->most);
    for (int above = 0; above < 2; above++) {
      snprintf(text, sizeof text, "%.6f",
               above ? 1.0001 * row->most + 0.001 : row->least - 0.001 - 1e-4 * (row->most - row->least));
      assert_int_equal(take(&card, row->key, text, "", &error), STATUS_BAD_DATA);
      assert_non_null(strstr(error.text, "card.csv:7"));
      assert_non_null(strstr(error.text, range));
    }
    snprintf(text, sizeof text, "%g", row->least);
    assert_int_equal(take(&card, row->key, text, "", &error), STATUS_OK);
    assert_int_equal(take(&card, row->key, text, "", &error), STATUS_BAD_DATA); // twice
    card_init(&card);
    assert_int_equal(take(&card, row->key, text, "bananas", &error), STATUS_BAD_DATA);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(units_as_people_write_them), cmocka_unit_test(open_entries),
                                     cmocka_unit_test(every_row_has_limits)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
