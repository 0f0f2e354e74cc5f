#include "io/report/practice_report.h"

#include "analysis/estimate/estimate_findings.h"
#include "analysis/practice/practice_words.h"
#include "io/format/json.h"
#include "io/format/text.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum { LINE_SIZE = PRACTICE_WORDS_SIZE };

static void say(FILE *stream, size_t margin, const char *format, ...) PRINTF_LIKE(3, 4);
static void say(FILE *stream, size_t margin, const char *format, ...) {
  char line[LINE_SIZE];
  va_list arguments;
  va_start(arguments, format);
  vsnprintf(line, sizeof line, format, arguments);
  va_end(arguments);
  text_paragraphs(stream, margin, line);
}

/* ---- the case and its tests ---- */

double practice_report_minutes(const struct practice_tests *tests, const struct practice_record *record) {
  double minutes = 0.0;
  for (size_t i = 0; i < record->done_count; i++) {
    const size_t test = practice_tests_find(tests, record->done[i].test);
    if (test < tests->count) minutes += tests->tests[test].what.minutes;
  }
  return minutes;
}

static void put_value(const struct practice_tests *tests, const struct practice_test *test, const struct practice_result *result,
                      size_t i, FILE *stream) {
  const struct estimate_reading *r = &tests->readings.readings[test->shown[i]];
  const int decimals = estimate_findings_decimals(r->quantity);
  fprintf(stream, "    %-16s %10.*f   %s\n", estimate_quantities[r->quantity].name, decimals,
          estimate_reading_plain(result->values[i], decimals), estimate_quantities[r->quantity].text);
}

void practice_report_result(const struct practice_tests *tests, const struct practice_result *result, FILE *stream) {
  const struct practice_test *test = &tests->tests[result->test];
  fprintf(stream, "  %s (%.0f min): ", test->what.name, test->what.minutes);
  if (result->outcome == PRACTICE_STALLS) fputs("the engine stalls, nothing can be read\n", stream);
  if (result->outcome == PRACTICE_YES) fputs("yes, something is found\n", stream);
  if (result->outcome == PRACTICE_NO) fputs("no, nothing is found\n", stream);
  if (result->outcome != PRACTICE_READ) return;
  fputc('\n', stream);
  for (size_t i = 0; i < test->count; i++)
    if (isfinite(result->values[i])) put_value(tests, test, result, i, stream);
}

enum status practice_report_result_json(const struct practice_tests *tests, const struct practice_result *result, FILE *stream,
                                        struct error *error) {
  static const char *const outcomes[] = {"read", "stalls", "yes", "no"};
  const struct practice_test *test = &tests->tests[result->test];
  struct json *json = json_create();
  json_put_text(json, "test", test->what.name);
  json_put_real(json, "minutes", test->what.minutes, 1);
  json_put_text(json, "outcome", outcomes[result->outcome]);
  json_open_object(json, "readings");
  for (size_t i = 0; result->outcome == PRACTICE_READ && i < test->count; i++) {
    const struct estimate_reading *r = &tests->readings.readings[test->shown[i]];
    json_put_real(json, estimate_quantities[r->quantity].name, result->values[i], estimate_findings_decimals(r->quantity));
  }
  json_close(json);
  const enum status status = json_print(json, stream, error);
  json_destroy(json);
  return status;
}

void practice_report_case(const struct practice_case *drawn, const struct practice_tests *tests,
                          const struct practice_record *record, FILE *stream) {
  for (int i = 0; i < PRACTICE_WORDS_CASE_LINES; i++) {
    char text[PRACTICE_WORDS_SIZE];
    practice_words_case(drawn, i, text);
    say(stream, 0, "%s", text);
  }
  fprintf(stream, "Spent so far: %.0f min, %zu tests.\n", practice_report_minutes(tests, record), record->done_count);
  for (size_t i = 0; i < record->done_count; i++) {
    struct practice_result result;
    if (practice_mark_shown(drawn, tests, record, i, &result)) practice_report_result(tests, &result, stream);
  }
  for (size_t i = 0; i < record->note_count; i++) say(stream, 2, "Note: %s", record->notes[i]);
  if (record->words[0][0]) say(stream, 0, "Answered: %s, %s, %s.", record->words[0], record->words[1], record->words[2]);
}

void practice_report_tests(const struct practice_tests *tests, FILE *stream) {
  for (size_t i = 0; i < tests->count; i++) {
    fprintf(stream, "  %-28s %3.0f min  ", tests->tests[i].what.name, tests->tests[i].what.minutes);
    text_wrap(stream, 40, tests->tests[i].what.text);
  }
}

void practice_report_work(FILE *stream) {
  for (size_t i = 0; i < REMEDY_COUNT; i++)
    if (remedy_rows[i].kind != REMEDY_NONE) fprintf(stream, "  %-24s %s\n", remedy_rows[i].name, remedy_rows[i].text);
  for (size_t i = 0; i < PRACTICE_WORDS_ACT_COUNT; i++)
    fprintf(stream, "  %-24s %s\n", practice_words_acts[i].name, practice_words_acts[i].text);
}

void practice_report_cautions(unsigned cautions, FILE *stream) {
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((cautions >> i) & 1u) {
      fputs("  - ", stream);
      text_wrap(stream, 4, caution_rows[i].text);
    }
}

/* ---- the mark ---- */

static void put_steps(const struct practice_bank *bank, const struct practice_step *steps, size_t count, FILE *stream) {
  static const char *const headings[] = {"test", "min", "bits expected", "likeliest after it", "what is hidden"};
  struct text_table table;
  text_table_init(&table, 5, headings);
  for (size_t i = 0; i < count; i++) {
    char likeliest[PRACTICE_WORDS_NAME_SIZE], share[PRACTICE_WORDS_SHARE_SIZE], after[PRACTICE_WORDS_SHARE_SIZE];
    practice_words_fault(&bank->hypotheses[steps[i].likeliest].fault, likeliest);
    text_table_add(&table, "%s", bank->tests->tests[steps[i].result.test].what.name);
    text_table_add(&table, "%.0f", steps[i].minutes);
    text_table_add(&table, "%.2f", steps[i].gain_bits);
    text_table_add(&table, "%s, %s", likeliest, practice_words_share(steps[i].probability, share));
    text_table_add(&table, "%s, then %s", practice_words_share(steps[i].truth_before, share),
                   practice_words_share(steps[i].truth_after, after));
  }
  if (count > 0 && text_table_print(&table, stream, 2) != 0) fputs("  (out of memory)\n", stream);
  text_table_destroy(&table);
}

static void put_best(const struct practice_bank *bank, const struct practice_plan *best, FILE *stream) {
  char text[PRACTICE_WORDS_SIZE];
  fputs("\nThe best plan on this car: always the most valuable test next\n", stream);
  put_steps(bank, best->steps, best->count, stream);
  practice_words_best(bank, best, text);
  say(stream, 0, "%s", text);
}

void practice_report_mark(const struct practice_bank *bank, const struct practice_case *drawn, const struct practice_answer *a,
                          const struct practice_mark *m, FILE *stream) {
  char text[PRACTICE_WORDS_SIZE];
  fprintf(stream, "Mark: %.0f of 100\n", m->total);
  for (int i = 0; i < PRACTICE_PART_COUNT; i++)
    fprintf(stream, "  %-10s %5.1f of %2.0f\n", practice_mark_parts[i].name, m->points[i], practice_mark_parts[i].most);
  fputc('\n', stream);
  for (size_t i = 0; i < practice_words_truth_count(drawn); i++) {
    practice_words_truth(drawn, i, text);
    say(stream, 0, "%s", text);
  }
  practice_words_backed(a, m, text);
  say(stream, 0, "%s", text);
  fprintf(stream, "\nWhat each test was worth (%.0f min in all)\n", m->minutes);
  put_steps(bank, m->steps, m->count, stream);
  practice_words_settled(bank, m, text);
  say(stream, 0, "%s", text);
  put_best(bank, &m->best, stream);
  fputc('\n', stream);
  say(stream, 0, "%s", caution_disclaimer);
}

static void put_steps_json(struct json *json, const char *key, const struct practice_bank *bank,
                           const struct practice_step *steps, size_t count) {
  json_open_array(json, key);
  for (size_t i = 0; i < count; i++) {
    json_open_object(json, NULL);
    json_put_text(json, "test", bank->tests->tests[steps[i].result.test].what.name);
    json_put_real(json, "minutes", steps[i].minutes, 1);
    json_put_real(json, "gain_bits", steps[i].gain_bits, 3);
    json_put_real(json, "before", steps[i].truth_before, 4);
    json_put_real(json, "after", steps[i].truth_after, 4);
    json_close(json);
  }
  json_close(json);
}

enum status practice_report_mark_json(const struct practice_bank *bank, const struct practice_case *drawn,
                                      const struct practice_mark *m, FILE *stream, struct error *error) {
  char name[PRACTICE_WORDS_NAME_SIZE];
  struct json *json = json_create();
  json_put_real(json, "total", m->total, 1);
  json_open_object(json, "points");
  for (int i = 0; i < PRACTICE_PART_COUNT; i++) json_put_real(json, practice_mark_parts[i].name, m->points[i], 1);
  json_close(json);
  practice_words_fault(&drawn->fault, name);
  json_put_text(json, "hidden", name);
  json_put_real(json, "minutes", m->minutes, 1);
  json_put_real(json, "backed", m->backed, 4);
  put_steps_json(json, "tests", bank, m->steps, m->count);
  json_open_object(json, "best");
  json_put_flag(json, "told", m->best.told);
  practice_words_fault(&bank->hypotheses[m->best.likeliest].fault, name);
  json_put_text(json, "likeliest", name);
  json_put_real(json, "minutes", m->best.minutes, 1);
  put_steps_json(json, "tests", bank, m->best.steps, m->best.count);
  json_close(json);
  const enum status status = json_print(json, stream, error);
  json_destroy(json);
  return status;
}
