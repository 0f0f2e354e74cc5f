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

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(every_code_is_there)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
