/* Car cards (car/card.h) as files: a CSV with the columns name and value, and where wanted unit; or settings, `displacement_l = 1.6;`. */
#ifndef IO_CONFIG_CARD_FILE_H
#define IO_CONFIG_CARD_FILE_H

#include "car/card.h"

#include <stdio.h>

/* Reads a card and checks it. Every fault is appended to the error, with file and line: STATUS_NO_INPUT, STATUS_IO, STATUS_NO_MEMORY,
 * STATUS_BAD_CONFIG for settings that are none, else STATUS_BAD_DATA. */
MUST_CHECK enum status card_file_read(const char *path, struct card *card, struct error *error);

/* The same, or what stands in the words themselves, as in kind=electronic,displacement_l=1.4. */
MUST_CHECK enum status card_file_read_or_words(const char *words, struct card *card, struct error *error);

/* Writes a card as a CSV, a line each; what is open stands there as a comment, so that it can be filled in. STATUS_IO. */
MUST_CHECK enum status card_file_write(const struct card *card, FILE *stream, struct error *error);

#endif
