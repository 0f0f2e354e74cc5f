/* The raw text of a settings file, before libconfig sees it.
 *
 * libconfig 1.5 takes several slips without a word, so they are looked for here: an unclosed comment swallows
 * the rest of the file; an unclosed string swallows the lines up to the next quotation mark; `@include` opens
 * files relative to the working directory; a whole number beyond 32 bits wraps (4294967297 reads as 1). */
#ifndef IO_CONFIG_CONFIG_TEXT_H
#define IO_CONFIG_CONFIG_TEXT_H

#include "base/attributes.h"
#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>

enum { CONFIG_TEXT_SIZE_MAX = 1 << 20 }; // bytes in a file; the longest scenario by hand has some ten thousand

/* Reads a whole file into memory, ended by a line break and a NUL; a byte-order mark is left off. The caller
 * frees *text. STATUS_NO_INPUT if it cannot be opened or is a folder, STATUS_IO if reading fails half-way,
 * STATUS_BAD_CONFIG if it is empty, too large or holds a NUL byte. */
MUST_CHECK enum status config_text_read(const char *path, char **text, struct error *error);

struct config_text_scan {
  char *at;
  int line; // of at, from 1
};

/* The next slip of those above from scan->at on: what to tell the user, with its line; NULL when there are no
 * more. A whole number that would wrap is no slip yet: it is overwritten by one that reads as infinity, so
 * that the key's own range check names it. */
const char *config_text_next_slip(struct config_text_scan *scan, int *line);

/* Copies one line of the text, trimmed at both ends, cut to size - 1 bytes, fit to be shown. Empty beyond the
 * end. */
void config_text_line(const char *text, int line, size_t size, char *copy);

/* Valid UTF-8 without control characters. */
bool config_text_is_plain(const char *text);

/* Overwrites what would upset a terminal: control characters become spaces. */
void config_text_make_plain(char *text);

#endif
