/* The message that goes with a status. It is written where the fact is known and printed once, by main.c.
 *
 * A reader that finds several faults in one file appends a line for each, so that the user mends them in one go. */
#ifndef BASE_ERROR_H
#define BASE_ERROR_H

#include "base/attributes.h"
#include "base/status.h"

#include <stddef.h>

enum { ERROR_TEXT_SIZE = 8192 }; // room for some fifty lines; later ones are counted, not shown

struct error {
  enum status status;
  size_t line_count; // lines appended, shown or not
  char text[ERROR_TEXT_SIZE];
};

/* An error that says nothing yet. */
void error_clear(struct error *error);

/* Replaces the text and sets the status; returns the status, so that a caller can `return error_set(...)`. */
enum status error_set(struct error *error, enum status status, const char *format, ...) PRINTF_LIKE(3, 4);

/* Adds one line; the first status that was set stays. Returns that status. */
enum status error_append(struct error *error, enum status status, const char *format, ...) PRINTF_LIKE(3, 4);

#endif
