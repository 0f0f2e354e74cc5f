/* The short sheet: for each complaint a few tests, each with its cautions before it, on less than a page. */
#include "io/report/testsheet.h"

#include "analysis/testsheet/sheet_complaint.h"
#include "io/format/html.h"
#include "io/format/text.h"

#include <string.h>

enum { CAUTION_WIDTH = 16, TITLE_WIDTH = 35, GOOD_WIDTH = 26 };

/* One test as the short sheet has it. */
struct line {
  char caution[TESTSHEET_TEXT_SIZE], good[3 * TESTSHEET_TEXT_SIZE], with[TESTSHEET_TEXT_SIZE];
};

static void make_line(const struct sheet_reading *reading, unsigned appear, const struct sheet_fault *fault, struct line *line) {
  char value[TESTSHEET_TEXT_SIZE], range[TESTSHEET_TEXT_SIZE];
  testsheet_caution_numbers(appear, reading->cautions, line->caution);
  testsheet_value(reading, reading->good, value);
  testsheet_range(reading, range);
  snprintf(line->good, sizeof line->good, "%s%s%s%s", value, *range ? " (" : "", range, *range ? ")" : "");
  const struct sheet_departure *departure = fault ? sheet_complaint_departure(reading, fault) : NULL;
  snprintf(line->with, sizeof line->with, "-");
  if (departure && departure->seen)
    testsheet_value(reading, departure->value, line->with);
  else if (departure)
    snprintf(line->with, sizeof line->with, "in range");
}

/* Whether a look with a torch is among the tests of the short sheet. */
static bool has_torch(const struct sheet *sheet) {
  for (size_t k = 0; k < sheet_complaint_count; k++) {
    const struct sheet_reading *tests[SHEET_COMPLAINT_TEST_MAX];
    const size_t count = sheet_complaint_tests(sheet, &sheet_complaints[k], tests);
    for (size_t i = 0; i < count; i++)
      if (tests[i]->row->torch) return true;
  }
  return false;
}

/* ---- text ---- */
static void print_complaint(const struct sheet *sheet, const struct sheet_complaint *complaint, unsigned appear, FILE *stream) {
  const struct sheet_fault *fault = sheet_complaint_fault(sheet, complaint);
  const struct sheet_reading *tests[SHEET_COMPLAINT_TEST_MAX];
  const size_t count = sheet_complaint_tests(sheet, complaint, tests);
  fprintf(stream, "%s%s%s\n", complaint->text, fault ? "; last column: with " : "", fault ? fault->label : "");
  for (size_t i = 0; i < count; i++) {
    struct line line;
    make_line(tests[i], appear, fault, &line);
    fprintf(stream, "  [%-*s] %-*s %-*s %s\n", CAUTION_WIDTH, line.caution, TITLE_WIDTH, tests[i]->row->title, GOOD_WIDTH,
            line.good, line.with);
  }
}

void testsheet_print_short(const struct sheet *sheet, FILE *stream) {
  const unsigned appear = sheet_complaint_cautions(sheet);
  fprintf(stream, "Short test sheet: ");
  text_wrap(stream, 18, sheet->engine->title);
  text_wrap(stream, 0, caution_disclaimer);
  fputs("Cautions; their numbers stand before each test\n", stream);
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((appear >> i) & 1u) {
      fprintf(stream, "  %2d ", testsheet_caution_number(appear, i));
      text_wrap(stream, 5, caution_rows[i].brief);
    }
  fputs("First: ", stream);
  text_wrap(stream, 7, testsheet_before);
  if (has_torch(sheet)) {
    fputs("Torch: ", stream);
    text_wrap(stream, 7, caution_torch(engine_features(sheet->engine)));
  }
  for (size_t k = 0; k < sheet_complaint_count; k++)
    if (sheet_complaint_applies(sheet, &sheet_complaints[k])) print_complaint(sheet, &sheet_complaints[k], appear, stream);
  fputs("- not tried. One reading alone proves nothing. Every test and what each departure means: --all\n", stream);
}

/* ---- page ---- */
static void put_complaint(const struct sheet *sheet, const struct sheet_complaint *complaint, unsigned appear, FILE *stream) {
  const struct sheet_fault *fault = sheet_complaint_fault(sheet, complaint);
  const struct sheet_reading *tests[SHEET_COMPLAINT_TEST_MAX];
  const size_t count = sheet_complaint_tests(sheet, complaint, tests);
  html_put_in(stream, "<table class=\"short\"><thead><tr><th class=\"number\">Caution</th><th>", complaint->text,
              "</th><th>Good unit</th><th>Measured</th>");
  html_put_in(stream, "<th>", fault ? "With " : "", "");
  html_put_in(stream, "", fault ? fault->label : "", "</th></tr></thead><tbody>\n");
  for (size_t i = 0; i < count; i++) {
    struct line line;
    make_line(tests[i], appear, fault, &line);
    html_put_in(stream, "<tr><td><b>", line.caution, "</b></td>");
    html_put_in(stream, "<td>", tests[i]->row->title, "</td>");
    html_put_in(stream, "<td>", line.good, "</td><td><span class=\"line\"></span></td>");
    html_put_in(stream, "<td>", line.with, "</td></tr>\n");
  }
  fputs("</tbody></table>\n", stream);
}

void testsheet_put_short(const struct sheet *sheet, unsigned appear, FILE *stream) {
  html_put_in(stream, "<p><b>First:</b> ", testsheet_before, "</p>\n");
  if (has_torch(sheet)) html_put_in(stream, "<p><b>Torch:</b> ", caution_torch(engine_features(sheet->engine)), "</p>\n");
  for (size_t k = 0; k < sheet_complaint_count; k++)
    if (sheet_complaint_applies(sheet, &sheet_complaints[k])) put_complaint(sheet, &sheet_complaints[k], appear, stream);
}
