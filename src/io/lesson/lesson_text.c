#include "io/lesson/lesson_text.h"

#include "base/number.h"
#include "io/format/html.h"
#include "io/picture/picture_range.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

void lesson_text_fault(const struct lesson_text *text, int line, const char *what) {
  error_append(text->error, STATUS_BAD_CONFIG, "%s:%d: %s", text->file->path, line, what);
}

void lesson_text_number_words(double number, int decimals, char words[LESSON_TEXT_NUMBER_SIZE]) {
  char plain[LESSON_TEXT_NUMBER_SIZE - 8];
  snprintf(plain, sizeof plain, "%.*f", decimals, number);
  const bool minus = *plain == '-', nought = strspn(plain, "-0.") == strlen(plain);
  snprintf(words, LESSON_TEXT_NUMBER_SIZE, "%s%s", minus && !nought ? "\u2212" : "", plain + minus);
}

/* ---- {{ }} ---- */

/* What one {{ }} says: an expression, and how many decimals after a colon. */
static bool put_value(const struct lesson_text *text, const char *inside, size_t size, int line, FILE *to) {
  char expression[300], words[LESSON_TEXT_NUMBER_SIZE];
  struct lesson_value value;
  struct error what;
  error_clear(&what);
  if (size >= sizeof expression) {
    lesson_text_fault(text, line, "the text in {{ }} is too long");
    return false;
  }
  snprintf(expression, sizeof expression, "%.*s", (int)size, inside);
  char *colon = strrchr(expression, ':');
  int decimals = -1;
  if (colon) {
    char *end;
    const long asked = strtol(colon + 1, &end, 10);
    if (end == colon + 1 || *end || asked < 0 || asked > 6) {
      lesson_text_fault(text, line, "after the colon in {{ }} comes the number of decimals, 0 to 6");
      return false;
    }
    decimals = (int)asked;
    *colon = '\0';
  }
  if (lesson_value_find(text->results, expression, &value, &what) != STATUS_OK) {
    lesson_text_fault(text, line, what.text);
    return false;
  }
  if (value.is_words) {
    fputs(value.words, to);
    return true;
  }
  lesson_text_number_words(value.number, decimals < 0 ? value.decimals : decimals, words);
  fputs(words, to);
  return true;
}

char *lesson_text_fill(const struct lesson_text *text, const char *words, int line) {
  char *filled = NULL;
  size_t size = 0;
  bool good = true;
  FILE *memory = open_memstream(&filled, &size);
  if (!memory) return NULL;
  for (const char *open; (open = strstr(words, "{{"));) {
    const char *close = strstr(open, "}}");
    fwrite(words, 1, (size_t)(open - words), memory);
    if (!close) {
      lesson_text_fault(text, line, "{{ without its }} in the same line");
      good = false;
      words = open + strlen(open);
      break;
    }
    good = put_value(text, open + 2, (size_t)(close - open - 2), line, memory) && good;
    words = close + 2;
  }
  fputs(words, memory);
  if (fclose(memory) != 0) good = false;
  if (good) return filled;
  free(filled);
  return NULL;
}

char *lesson_text_filler(const char *words, int line, void *user) { return lesson_text_fill(user, words, line); }

void lesson_text_put(const struct lesson_text *text, const char *before, const struct lesson_field *field, const char *after) {
  char *filled = lesson_text_fill(text, field->value, field->line);
  if (filled) html_put_in(text->stream, before, filled, after);
  free(filled);
}

/* ---- expressions ---- */

bool lesson_text_number(const struct lesson_text *text, const struct lesson_field *field, double *number) {
  struct lesson_value value;
  struct error what;
  error_clear(&what);
  if (lesson_value_find(text->results, field->value, &value, &what) != STATUS_OK) {
    lesson_text_fault(text, field->line, what.text);
    return false;
  }
  if (value.is_words) lesson_text_fault(text, field->line, "a number is needed here, not words");
  *number = value.number;
  return !value.is_words;
}

bool lesson_text_split(const struct lesson_text *text, const struct lesson_field *field, char **left, const char **right) {
  const char *mark = strstr(field->value, "::");
  *left = NULL;
  if (!mark || mark == field->value || mark[2 + strspn(mark + 2, " ")] == '\0') {
    lesson_text_fault(text, field->line,
                      strcmp(field->key, "option") == 0 ? "an option is TEXT :: CONDITION" : "a claim is CONDITION :: SENTENCE");
    return false;
  }
  size_t size = (size_t)(mark - field->value);
  while (size > 0 && field->value[size - 1] == ' ') size--;
  *left = strndup(field->value, size);
  *right = mark + 2 + strspn(mark + 2, " ");
  return *left != NULL;
}

bool lesson_text_holds(const struct lesson_text *text, const char *condition, int line, bool *holds) {
  struct error what;
  error_clear(&what);
  if (lesson_value_holds(text->results, condition, holds, &what) == STATUS_OK) return true;
  lesson_text_fault(text, line, what.text);
  return false;
}

/* ---- channels ---- */

void lesson_text_channel(enum channel channel, size_t size, char *name) {
  const char *words = channel_rows[channel].text;
  const size_t end = strcspn(words, ",;:");
  snprintf(name, size, "%.*s", (int)end, words);
}

const char *lesson_text_unit(enum channel channel) { return picture_range_unit(channel_rows[channel].name); }

bool lesson_text_next_word(const char **list, size_t size, char *word) {
  while (**list == ' ' || **list == ',') (*list)++;
  const size_t length = strcspn(*list, " ,");
  if (length == 0) return false;
  snprintf(word, size, "%.*s", (int)length, *list);
  *list += length;
  return true;
}

static bool take_results(const struct lesson_text *text, const struct lesson_field *field, struct lesson_text_shown *shown) {
  const char *list = field->value;
  char word[LESSON_RESULT_NAME_SIZE];
  struct error what;
  while (lesson_text_next_word(&list, sizeof word, word)) {
    error_clear(&what);
    if (shown->count == LESSON_TEXT_OF_MAX) {
      lesson_text_fault(text, field->line, "at most six results can be shown together");
      return false;
    }
    if (lesson_lookup_result(text->results, word, &shown->results[shown->count], &what) != STATUS_OK) {
      lesson_text_fault(text, field->line, what.text);
      return false;
    }
    const struct lesson_result *one = shown->results[shown->count++];
    if (one->kind == LESSON_RESULT_ESTIMATE || one->kind != shown->results[0]->kind) {
      lesson_text_fault(text, field->line, "only results of one kind can be shown together: runs, sweeps, or settled points");
      return false;
    }
    if (one->kind == LESSON_RESULT_SWEEP && strcmp(one->axis, shown->results[0]->axis) != 0) {
      lesson_text_fault(text, field->line, "sweeps over different inputs cannot be in one picture");
      return false;
    }
  }
  return true;
}

static bool take_channels(const struct lesson_text *text, const struct lesson_field *field, struct lesson_text_shown *shown) {
  const char *list = field->value;
  char word[64];
  struct error what;
  while (lesson_text_next_word(&list, sizeof word, word)) {
    error_clear(&what);
    if (shown->channel_count == LESSON_TEXT_CHANNEL_MAX) {
      lesson_text_fault(text, field->line, "at most eight channels can be shown together");
      return false;
    }
    if (lesson_lookup_channel(word, &shown->channels[shown->channel_count], &what) != STATUS_OK) {
      lesson_text_fault(text, field->line, what.text);
      return false;
    }
    shown->channel_count++;
  }
  return true;
}

bool lesson_text_shown(const struct lesson_text *text, const struct lesson_item *item, struct lesson_text_shown *shown) {
  *shown = (struct lesson_text_shown){0};
  const struct lesson_field *show = lesson_file_field(item, "show");
  return take_results(text, lesson_file_field(item, "of"), shown) && (!show || take_channels(text, show, shown));
}

void lesson_text_put_stalls(const struct lesson_text *text, const struct lesson_text_shown *shown) {
  for (size_t i = 0; i < shown->count; i++) {
    const struct lesson_result *result = shown->results[i];
    double at_s;
    if (!lesson_result_stalls(result, &at_s)) continue;
    html_put_in(text->stream, "<p class=\"stall\"><b>", result->label, "</b>: ");
    if (isnan(at_s))
      fputs("the engine does not keep running; it stalls.</p>\n", text->stream);
    else
      fprintf(text->stream, "the engine stalls at %.0f s.</p>\n", at_s);
  }
}
