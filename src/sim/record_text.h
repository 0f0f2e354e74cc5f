/* Lines, words and numbers of a record: words parted by blanks, a line to its end, numbers that read back equal. */
#ifndef SIM_RECORD_TEXT_H
#define SIM_RECORD_TEXT_H

#include "base/field.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { RECORD_TEXT_NUMBER_SIZE = 32 };

struct record_text_line {
  const char *next, *end; // text not yet looked at
  const char *at, *stop;  // rest of the line
  size_t number;          // of the line, from 1
};

/* Begins a text; a byte-order mark is passed over. */
void record_text_begin(struct record_text_line *line, const char *text, size_t size);

/* Goes to the next line that has a word and does not begin with #; false if there is none. */
bool record_text_next(struct record_text_line *line);

/* Whether the line has another word. */
bool record_text_more(const struct record_text_line *line);

/* Takes the next word, cut to fit and then ending in three dots, control characters shown as ?; false, and an empty word, if there is none. */
bool record_text_word(struct record_text_line *line, size_t size, char *word);

/* Takes the rest of the line without blanks at its ends; false if it does not fit or holds control characters. */
bool record_text_rest(struct record_text_line *line, size_t size, char *rest);

/* A decimal number as the whole word, finite. */
bool record_text_number(const char *word, double *value);

/* The same for a whole number without sign. */
bool record_text_whole(const char *word, uint64_t *value);

/* "a, b, c", as many as fit. */
void record_text_list(const char *const *words, size_t size, char *list);

/* The shortest decimal number that reads back equal; of a field, in the user's unit, so that its value in SI does. */
void record_text_shortest(const struct field *field, double value, char number[RECORD_TEXT_NUMBER_SIZE]);

#endif
