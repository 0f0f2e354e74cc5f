/* Words and numbers of a lesson's page, and where its faults are told. */
#ifndef IO_LESSON_LESSON_TEXT_H
#define IO_LESSON_LESSON_TEXT_H

#include "analysis/lesson/lesson_value.h"
#include "io/lesson/lesson_file.h"

#include <stdio.h>

/* A page being written. Faults are collected in `error`, a line each. */
struct lesson_text {
  const struct lesson_file *file;
  const struct lesson_results *results;
  FILE *stream;
  struct error *error;
};

/* One more fault of the file: "file:line: what". */
void lesson_text_fault(const struct lesson_text *text, int line, const char *what);

/* The text with what stands in {{ }} replaced; the caller frees it. NULL after a fault, which has been told. */
char *lesson_text_fill(const struct lesson_text *text, const char *words, int line);

/* The same, with user a struct lesson_text, for lesson_file_put_prose(). */
char *lesson_text_filler(const char *words, int line, void *user);

/* Writes a field's text, filled and escaped, between two pieces of markup. */
void lesson_text_put(const struct lesson_text *text, const char *before, const struct lesson_field *field, const char *after);

/* The value of a field, an expression. False after a fault, which has been told. */
MUST_CHECK bool lesson_text_number(const struct lesson_text *text, const struct lesson_field *field, double *number);

/* Splits "LEFT :: RIGHT"; false after a fault. right points into the field, left is to be freed. */
MUST_CHECK bool lesson_text_split(const struct lesson_text *text, const struct lesson_field *field, char **left,
                                  const char **right);

/* The condition holds or not; false after a fault. */
MUST_CHECK bool lesson_text_holds(const struct lesson_text *text, const char *condition, int line, bool *holds);

/* A number with so many decimals and a proper minus; never "-0". */
enum { LESSON_TEXT_NUMBER_SIZE = 48 };
void lesson_text_number_words(double number, int decimals, char words[LESSON_TEXT_NUMBER_SIZE]);

/* "engine speed" and "rpm" of a channel. */
void lesson_text_channel(enum channel channel, size_t size, char *name);
const char *lesson_text_unit(enum channel channel);

/* What a list of words names, taken one by one; false at the end. */
bool lesson_text_next_word(const char **list, size_t size, char *word);

/* Results and channels of "of" and "show". False after a fault. */
enum { LESSON_TEXT_CHANNEL_MAX = 8, LESSON_TEXT_OF_MAX = 6 };
struct lesson_text_shown {
  size_t count, channel_count;
  const struct lesson_result *results[LESSON_TEXT_OF_MAX];
  enum channel channels[LESSON_TEXT_CHANNEL_MAX];
};
MUST_CHECK bool lesson_text_shown(const struct lesson_text *text, const struct lesson_item *item,
                                  struct lesson_text_shown *shown);

/* A sentence for each of these in which the engine stalls. */
void lesson_text_put_stalls(const struct lesson_text *text, const struct lesson_text_shown *shown);

#endif
