#include "io/lesson/lesson_question.h"

#include "io/format/html.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LINES_USUAL = 4, LINES_MOST = 20, DECIMALS_MOST = 6 };

/* ---- options ---- */

/* Which option's condition holds: -1 after a fault, which has been told. */
static int find_right(const struct lesson_text *text, const struct lesson_item *item) {
  int right = -1, nth = 0, count = 0;
  bool good = true;
  for (size_t i = 0; i < item->field_count; i++) {
    const struct lesson_field *field = &item->fields[i];
    char *left;
    const char *condition;
    bool holds = false;
    if (strcmp(field->key, "option") != 0) continue;
    good = lesson_text_split(text, field, &left, &condition) && lesson_text_holds(text, condition, field->line, &holds) && good;
    free(left);
    if (holds) right = nth;
    count += holds;
    nth++;
  }
  if (!good || nth == 0) return -1;
  if (count == 1 && nth > 1) return right;
  char what[120];
  snprintf(what, sizeof what, "of the %d options of this question the conditions of %d hold on the runs; exactly one must", nth,
           count);
  lesson_text_fault(text, item->line, nth > 1 ? what : "a question with options needs at least two");
  return -1;
}

static void put_options(const struct lesson_text *text, const struct lesson_item *item, size_t number, int right, bool fields) {
  int nth = 0;
  fputs("<ol class=\"options\">\n", text->stream);
  for (size_t i = 0; i < item->field_count; i++) {
    const struct lesson_field *field = &item->fields[i];
    char *left;
    const char *condition;
    if (strcmp(field->key, "option") != 0) continue;
    if (!lesson_text_split(text, field, &left, &condition)) continue;
    char *words = lesson_text_fill(text, left, field->line);
    fputs("<li>", text->stream);
    if (fields) fprintf(text->stream, "<label><input type=\"radio\" name=\"q%zu\"/> ", number);
    if (nth == right) fputs("<b class=\"right\">", text->stream);
    if (words) html_put(text->stream, words);
    if (nth == right) fputs(" ✓</b>", text->stream);
    fputs(fields ? "</label></li>\n" : "</li>\n", text->stream);
    free(words);
    free(left);
    nth++;
  }
  fputs("</ol>\n", text->stream);
}

/* ---- numbers ---- */

/* "2 %" of the answer, or an expression. */
static bool find_tolerance(const struct lesson_text *text, const struct lesson_field *field, double answer, double *tolerance) {
  const size_t size = strlen(field->value);
  if (size == 0 || field->value[size - 1] != '%') return lesson_text_number(text, field, tolerance);
  char *end;
  const double share = strtod(field->value, &end);
  if (end == field->value || !(share > 0.0) || share > 100.0 || strspn(end, " ") + 1 != strlen(end)) {
    lesson_text_fault(text, field->line, "a tolerance in per cent is a number above 0, up to 100, and a %");
    return false;
  }
  *tolerance = 0.01 * share * fabs(answer);
  return true;
}

static void put_number(const struct lesson_text *text, const struct lesson_item *item, bool key) {
  char words[LESSON_TEXT_NUMBER_SIZE], off[LESSON_TEXT_NUMBER_SIZE];
  double answer, tolerance, decimals;
  if (!lesson_text_number(text, lesson_file_field(item, "answer"), &answer) ||
      !lesson_text_number(text, lesson_file_field(item, "decimals"), &decimals) ||
      !find_tolerance(text, lesson_file_field(item, "tolerance"), answer, &tolerance))
    return;
  if (!(decimals >= 0.0 && decimals <= DECIMALS_MOST && tolerance > 0.0)) {
    lesson_text_fault(text, item->line, "decimals are 0 to 6, and the tolerance is above 0");
    return;
  }
  if (!key) return;
  lesson_text_number_words(answer, (int)decimals, words);
  lesson_text_number_words(tolerance, (int)decimals + 1, off);
  fprintf(text->stream, "<p class=\"right\" data-answer=\"%.9g\" data-tolerance=\"%.9g\"><b>%s ", answer, tolerance, words);
  html_put(text->stream, lesson_file_value(item, "unit"));
  fprintf(text->stream, "</b> (right within ±%s)</p>\n", off);
}

/* ---- free text ---- */

static size_t find_lines(const struct lesson_text *text, const struct lesson_item *item) {
  const struct lesson_field *field = lesson_file_field(item, "lines");
  double lines = LINES_USUAL;
  if (field && lesson_text_number(text, field, &lines) && !(lines >= 1.0 && lines <= LINES_MOST)) {
    lesson_text_fault(text, field->line, "room to write is 1 to 20 lines");
    lines = LINES_USUAL;
  }
  return (size_t)lines;
}

static void put_model(const struct lesson_text *text, const struct lesson_item *item) {
  lesson_text_put(text, "<p class=\"right\"><b>A good answer:</b> ", lesson_file_field(item, "model"), "</p>\n");
  if (!lesson_file_field(item, "point")) return;
  fputs("<p>It must contain:</p>\n<ul>\n", text->stream);
  for (size_t i = 0; i < item->field_count; i++)
    if (strcmp(item->fields[i].key, "point") == 0) lesson_text_put(text, "<li>", &item->fields[i], "</li>\n");
  fputs("</ul>\n", text->stream);
}

/* What only the key tells is tried in every edition, so that a fault of it is told whichever is written. */
static void try_hidden(const struct lesson_text *text, const struct lesson_item *item) {
  for (size_t i = 0; i < item->field_count; i++) {
    const char *key = item->fields[i].key;
    if (strcmp(key, "why") == 0 || strcmp(key, "model") == 0 || strcmp(key, "point") == 0)
      free(lesson_text_fill(text, item->fields[i].value, item->fields[i].line));
  }
}

static void put_field(const struct lesson_text *text, const struct lesson_item *item, size_t number) {
  if (item->sort == LESSON_SORT_number)
    html_put_in(text->stream, "<p><label>Your answer: <input type=\"text\" size=\"8\"/> ", lesson_file_value(item, "unit"),
                "</label></p>\n");
  const bool writes = item->sort == LESSON_SORT_text || (item->sort == LESSON_SORT_predict && !lesson_file_field(item, "option"));
  if (writes)
    fprintf(text->stream, "<p><textarea rows=\"%zu\" cols=\"40\" aria-label=\"Your answer to question %zu\"></textarea></p>\n",
            find_lines(text, item), number);
}

void lesson_question_put(const struct lesson_text *text, const struct lesson_item *item, size_t number, bool key, bool fields) {
  const bool has_options = lesson_file_field(item, "option") != NULL;
  const int right = has_options ? find_right(text, item) : -1;
  fprintf(text->stream, "<div class=\"question\">\n<p><b>Question %zu%s.</b> ", number,
          item->sort == LESSON_SORT_predict ? ": predict" : "");
  lesson_text_put(text, "", lesson_file_field(item, "ask"), "</p>\n");
  if (has_options) put_options(text, item, number, key ? right : -1, fields && !key);
  if (fields && !key) put_field(text, item, number);
  if (item->sort == LESSON_SORT_number) put_number(text, item, key);
  if (key && item->sort == LESSON_SORT_text) put_model(text, item);
  const struct lesson_field *why = lesson_file_field(item, "why");
  if (key && why) lesson_text_put(text, "<p class=\"why\"><b>Why:</b> ", why, "</p>\n");
  if (!key) try_hidden(text, item);
  fputs("</div>\n", text->stream);
}
