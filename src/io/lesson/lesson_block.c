#include "io/lesson/lesson_block.h"

#include "analysis/estimate/estimate_brief.h"
#include "base/near_miss.h"
#include "car/caution.h"
#include "io/config/engine_file.h"
#include "io/config/find_file.h"
#include "io/format/html.h"
#include "io/lesson/lesson_chart.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { WORDS_SIZE = 400, NAME_SIZE = 120, CAUSES_SHOWN = 6 };

static void put_caption(const struct lesson_text *text, const struct lesson_item *item) {
  const struct lesson_field *caption = lesson_file_field(item, "caption");
  if (caption) lesson_text_put(text, "<figcaption>", caption, "</figcaption>\n");
}

static double time_of(const struct lesson_text *text, const struct lesson_item *item, const char *key) {
  const struct lesson_field *field = lesson_file_field(item, key);
  double time = NAN;
  return field && lesson_text_number(text, field, &time) ? time : NAN;
}

size_t lesson_block_picture_parts(const struct lesson_item *item) {
  const char *list = lesson_file_value(item, "show");
  char word[LESSON_RESULT_WHAT_SIZE];
  size_t count = 0;
  while (list && lesson_text_next_word(&list, sizeof word, word)) count++;
  return count > 0 ? count : 1;
}

void lesson_block_picture(const struct lesson_text *text, const struct lesson_item *item, size_t part) {
  struct lesson_text_shown shown;
  const char *draw = lesson_file_value(item, "draw");
  const bool gap = draw && strcmp(draw, "gap") == 0;
  if (draw && !gap && strcmp(draw, "lines") != 0) {
    lesson_text_fault(text, lesson_file_field(item, "draw")->line, "draw is lines or gap");
    return;
  }
  if (!lesson_text_shown(text, item, &shown)) return;
  const enum lesson_result_kind kind = shown.results[0]->kind;
  if (gap && kind != LESSON_RESULT_POINT) lesson_text_fault(text, item->line, "draw = gap is for settled points");
  if (!gap && shown.channel_count == 0) lesson_text_fault(text, item->line, "this picture needs the key 'show': which channels");
  if ((gap && kind != LESSON_RESULT_POINT) || (!gap && shown.channel_count == 0)) return;
  if (!gap && part > 0 && part <= shown.channel_count) {
    shown.channels[0] = shown.channels[part - 1];
    shown.channel_count = 1;
  }
  const struct lesson_field *title = lesson_file_field(item, "title");
  fputs("<figure>\n", text->stream);
  if (title) lesson_text_put(text, "<p class=\"title\">", title, "</p>\n");
  if (gap)
    lesson_chart_gap(text, &shown);
  else if (kind == LESSON_RESULT_POINT)
    lesson_chart_bars(text, &shown);
  else
    lesson_chart_lines(text, &shown, time_of(text, item, "from"), time_of(text, item, "to"));
  put_caption(text, item);
  fputs("</figure>\n", text->stream);
  lesson_text_put_stalls(text, &shown);
}

static void put_reading(const struct lesson_text *text, const struct lesson_result *result, enum channel channel, double at,
                        int line) {
  char words[LESSON_TEXT_NUMBER_SIZE];
  double value = NAN;
  struct error what;
  error_clear(&what);
  const enum status status = lesson_lookup_value(result, channel, at, &value, &what);
  if (status != STATUS_OK && !isnan(at) && isnan(value) && strstr(what.text, "nothing at"))
    lesson_text_fault(text, line, what.text);
  lesson_text_number_words(value, lesson_lookup_decimals(channel), words);
  fprintf(text->stream, "<td>%s</td>", status == STATUS_OK ? words : "–");
}

void lesson_block_readings(const struct lesson_text *text, const struct lesson_item *item) {
  struct lesson_text_shown shown;
  char name[NAME_SIZE];
  if (!lesson_text_shown(text, item, &shown)) return;
  const double at = time_of(text, item, "at");
  if (shown.results[0]->kind == LESSON_RESULT_SWEEP && isnan(at)) {
    lesson_text_fault(text, item->line, "readings of a sweep need the key 'at': one of its inputs");
    return;
  }
  fputs("<figure>\n<div class=\"wide\"><table>\n<tr><th scope=\"col\">reading</th>", text->stream);
  for (size_t i = 0; i < shown.count; i++) html_put_in(text->stream, "<th scope=\"col\">", shown.results[i]->label, "</th>");
  fputs("</tr>\n", text->stream);
  for (size_t k = 0; k < shown.channel_count; k++) {
    lesson_text_channel(shown.channels[k], sizeof name, name);
    html_put_in(text->stream, "<tr><th scope=\"row\">", name, ", ");
    html_put_in(text->stream, "", lesson_text_unit(shown.channels[k]), "</th>");
    for (size_t i = 0; i < shown.count; i++) put_reading(text, shown.results[i], shown.channels[k], at, item->line);
    fputs("</tr>\n", text->stream);
  }
  fputs("</table></div>\n", text->stream);
  put_caption(text, item);
  fputs("</figure>\n", text->stream);
  lesson_text_put_stalls(text, &shown);
}

/* Cells separated by |. Returns how many. */
static size_t put_cells(const struct lesson_text *text, const struct lesson_field *field, const char *cell) {
  char *filled = lesson_text_fill(text, field->value, field->line);
  size_t count = 0;
  fputs("<tr>", text->stream);
  for (char *at = filled; at; count++) {
    char *bar = strchr(at, '|');
    if (bar) *bar = '\0';
    while (*at == ' ') at++;
    for (size_t size = strlen(at); size > 0 && at[size - 1] == ' ';) at[--size] = '\0';
    fprintf(text->stream, "<%s>", cell);
    html_put(text->stream, at);
    fprintf(text->stream, "</%.2s>", cell);
    at = bar ? bar + 1 : NULL;
  }
  fputs("</tr>\n", text->stream);
  free(filled);
  return count;
}

void lesson_block_table(const struct lesson_text *text, const struct lesson_item *item) {
  fputs("<figure>\n<div class=\"wide\"><table>\n", text->stream);
  const size_t columns = put_cells(text, lesson_file_field(item, "head"), "th scope=\"col\"");
  for (size_t i = 0; i < item->field_count; i++) {
    if (strcmp(item->fields[i].key, "row") != 0) continue;
    if (put_cells(text, &item->fields[i], "td") != columns)
      lesson_text_fault(text, item->fields[i].line, "this row does not have as many cells as the head; cells are separated by |");
  }
  fputs("</table></div>\n", text->stream);
  put_caption(text, item);
  fputs("</figure>\n", text->stream);
}

void lesson_block_estimate(const struct lesson_text *text, const struct lesson_item *item) {
  const struct lesson_result *result = lesson_result_find(text->results, item->name);
  if (!result || !result->estimate) return;
  struct estimate_brief *brief = calloc(1, sizeof *brief);
  if (!brief) return;
  estimate_brief(&result->findings, brief);
  const char *statements[] = {brief->what.text, brief->sure.text, brief->next.text, brief->after.text};
  fputs("<div class=\"estimate\">\n", text->stream);
  for (size_t i = 0; i < CAUTION_COUNT; i++)
    if (brief->cautions & 1u << i) html_put_in(text->stream, "<p class=\"caution\">", caution_rows[i].text, "</p>\n");
  for (size_t i = 0; i < ARRAY_COUNT(statements); i++)
    if (*statements[i]) html_put_in(text->stream, "<p>", statements[i], "</p>\n");
  fputs("<table>\n<tr><th scope=\"col\">cause</th><th scope=\"col\">probability</th></tr>\n", text->stream);
  for (size_t i = 0; i < result->estimate->count && i < CAUSES_SHOWN; i++) {
    const struct estimate_hypothesis *one = &result->estimate->hypotheses[result->estimate->order[i]];
    char name[ESTIMATE_NAME_SIZE];
    estimate_hypothesis_name(one, name);
    const bool plain = one->fault.count <= 1 && !one->fault.fresh;
    const char *words = estimate_hypothesis_is_unlisted(one) ? "something not listed"
                        : plain                              ? cause_rows[estimate_hypothesis_cause(one)].text
                                                             : name;
    html_put_in(text->stream, "<tr><td>", words, "</td><td>");
    fprintf(text->stream,
            one->probability < 0.01   ? "below 1 %%</td></tr>\n"
            : one->probability > 0.99 ? "over 99 %%</td></tr>\n"
                                      : "%.0f %%</td></tr>\n",
            100.0 * one->probability);
  }
  fputs("</table>\n</div>\n", text->stream);
  free(brief);
}

static bool read_features(const struct lesson_text *text, const struct lesson_item *item, unsigned *features) {
  const struct lesson_field *field = lesson_file_field(item, "engine");
  char path[FIND_FILE_PATH_SIZE];
  struct error what;
  error_clear(&what);
  struct engine *engine = calloc(1, sizeof *engine);
  enum status status = engine ? find_file("models", field->value, path, &what) : STATUS_NO_MEMORY;
  if (status == STATUS_OK) status = engine_file_read(path, engine, &what);
  if (status == STATUS_OK)
    *features = engine_features(engine);
  else
    lesson_text_fault(text, field->line, what.text);
  free(engine);
  return status == STATUS_OK;
}

/* Bits of the steps that a field names. */
static unsigned read_steps(const struct lesson_text *text, const struct lesson_field *field) {
  static const char *const names[] = {
#define STEP(name, words) #name,
      CAUTION_STEP_LIST(STEP)
#undef STEP
  };
  const char *list = field->value;
  char word[32], what[200];
  unsigned steps = 0;
  while (lesson_text_next_word(&list, sizeof word, word)) {
    size_t step = 0;
    while (step < ARRAY_COUNT(names) && strcmp(names[step], word) != 0) step++;
    if (step < ARRAY_COUNT(names)) {
      steps |= 1u << step;
      continue;
    }
    const char *near = near_miss_best(word, names, ARRAY_COUNT(names));
    snprintf(what, sizeof what, "there are no cautions for '%s'%s%s%s", word, near ? "; did you mean '" : "", near ? near : "",
             near ? "'?" : "");
    lesson_text_fault(text, field->line, what);
  }
  return steps;
}

void lesson_block_caution(const struct lesson_text *text, const struct lesson_item *item) {
  unsigned steps = 0, features = 0;
  for (size_t i = 0; i < item->field_count; i++)
    if (strcmp(item->fields[i].key, "step") == 0) steps |= read_steps(text, &item->fields[i]);
  if (!read_features(text, item, &features)) return;
  const unsigned cautions = caution_for(steps, features);
  fputs("<div class=\"caution\">\n<p><b>Before you begin</b></p>\n<ul>\n", text->stream);
  for (size_t i = 0; i < CAUTION_COUNT; i++)
    if (cautions & 1u << i) html_put_in(text->stream, "<li>", caution_rows[i].text, "</li>\n");
  fputs("</ul>\n", text->stream);
  html_put_in(text->stream, "<p>", caution_disclaimer, "</p>\n</div>\n");
}

void lesson_block_say(const struct lesson_text *text, const struct lesson_item *item) {
  fputs("<div class=\"say\">\n<p><b>For the instructor</b></p>\n<ul>\n", text->stream);
  for (size_t i = 0; i < item->field_count; i++) lesson_text_put(text, "<li>", &item->fields[i], "</li>\n");
  fputs("</ul>\n</div>\n", text->stream);
}

void lesson_block_check(const struct lesson_text *text, const struct lesson_item *item, bool show) {
  char numbers[WORDS_SIZE], what[2 * WORDS_SIZE];
  if (show) fputs("<div class=\"say\">\n<p><b>What this lesson states, checked on its runs</b></p>\n<ul>\n", text->stream);
  for (size_t i = 0; i < item->field_count; i++) {
    const struct lesson_field *field = &item->fields[i];
    char *condition;
    const char *sentence;
    bool holds;
    if (!lesson_text_split(text, field, &condition, &sentence)) continue;
    if (lesson_text_holds(text, condition, field->line, &holds)) {
      lesson_value_numbers(text->results, condition, sizeof numbers, numbers);
      snprintf(what, sizeof what, "\"%.200s\" is not true on the runs: %s", sentence, numbers);
      if (!holds) lesson_text_fault(text, field->line, what);
      char *words = lesson_text_fill(text, sentence, field->line);
      if (show && words) {
        html_put_in(text->stream, "<li>", words, " <small>(");
        html_put_in(text->stream, "", numbers, ")</small></li>\n");
      }
      free(words);
    }
    free(condition);
  }
  if (show) fputs("</ul>\n</div>\n", text->stream);
}
