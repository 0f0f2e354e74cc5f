/* docs/codes.md has one row per fault code, and each says what the table of monitors says. Truth:
 * monitor_rows. A row that is missing or differs is printed as it should stand. */
#include "support/check.h"

#include "control/monitors.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DEBOUNCE_S 10.0 // supervision.debounce_s of models/four-16.cfg

enum { DOC_SIZE = 1 << 17, ROW_SIZE = 1024 };

static const char *const effects[] = {"none", "reduced power", "blade on its rest angle"};

static void write_row(const struct monitor_row *row, char text[ROW_SIZE]) {
  int length = snprintf(text, ROW_SIZE, "| %s | %s | %s | %.1f | ", row->code, row->text, row->condition,
                        DEBOUNCE_S * row->debounce_ratio);
  const char *between = "";
  for (int i = 0; i < MONITOR_ENABLE_COUNT; i++) {
    if (!(row->enable >> i & 1u)) continue;
    length += snprintf(text + length, (size_t)(ROW_SIZE - length), "%s%s", between, monitor_enable_texts[i]);
    between = "; ";
  }
  snprintf(text + length, (size_t)(ROW_SIZE - length), " | %s | ", effects[row->effect]);
}

static void every_code_is_there(void **state) {
  (void)state;
  char *doc = calloc(1, DOC_SIZE);
  FILE *file = fopen("docs/codes.md", "r");
  assert_non_null(file);
  assert_non_null(doc);
  assert_true(fread(doc, 1, DOC_SIZE - 1, file) > 0);
  fclose(file);
  int wrong = 0, rows = 0;
  for (const char *at = doc; (at = strstr(at, "\n| P")) != NULL; at++) rows++;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    char row[ROW_SIZE];
    write_row(&monitor_rows[i], row);
    if (strstr(doc, row)) continue;
    print_error("%s\n", row);
    wrong++;
  }
  free(doc);
  assert_int_equal(wrong, 0);
  assert_int_equal(rows, MONITOR_CODE_COUNT);
}

/* The sentence and the number were written apart: the number in the words is the threshold in the unit that people read. */
static void words_give_the_threshold(void **state) {
  (void)state;
  int numbers = 0;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const struct monitor_row *row = &monitor_rows[i];
    char threshold[32], words[160];
    snprintf(threshold, sizeof threshold, " %.10g ", fabs(row->threshold * row->user_factor));
    snprintf(words, sizeof words, "%s ", row->condition);
    for (char *at = words; *at; at++)
      if (*at == '+' || *at == '-') *at = ' ';                                      // "above +25 %": the sign is the measure's
    if (strcspn(row->user_unit, " ") == 0 || strchr(row->user_unit, ' ')) continue; // yes or no, or a share of a window
    numbers++;
    if (!strstr(words, threshold)) fail_msg("%s:%s is not in: %s", row->code, threshold, row->condition);
  }
  assert_true(numbers > 20);
}

/* What is there or is not is 0 or 1, and half-way is the threshold; a share of a window is one. */
static void switches_are_told_in_the_middle(void **state) {
  (void)state;
  static const enum monitor_code switches[] = {MONITOR_P0508, MONITOR_P0509, MONITOR_P0511, MONITOR_P2106, MONITOR_P2176};
  for (size_t i = 0; i < sizeof switches / sizeof switches[0]; i++) check_close(monitor_rows[switches[i]].threshold, 0.5, 0.0);
  check_close(monitor_rows[MONITOR_P2119].threshold, 1.0, 0.0);
}

/* The page gives debounce times to a tenth of a second: they are no finer. */
static void debounce_in_tenths(void **state) {
  (void)state;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const double tenths = 10.0 * DEBOUNCE_S * monitor_rows[i].debounce_ratio;
    check_close_at(i, tenths, round(tenths), 1e-9);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(debounce_in_tenths), cmocka_unit_test(every_code_is_there),
                                     cmocka_unit_test(words_give_the_threshold),
                                     cmocka_unit_test(switches_are_told_in_the_middle)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
