#include "base/error.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void error_clear(struct error *error) {
  error->status = STATUS_OK;
  error->line_count = 0;
  error->text[0] = '\0';
}

static void append(struct error *error, const char *format, va_list values) {
  const size_t used = strlen(error->text);
  const size_t room = sizeof error->text - used;
  error->line_count++;
  if (room < 256) return; // a whole line may not fit: it is counted only
  char *end = error->text + used;
  if (used > 0) {
    *end++ = '\n';
    vsnprintf(end, room - 1, format, values);
  } else {
    vsnprintf(end, room, format, values);
  }
}

enum status error_set(struct error *error, enum status status, const char *format, ...) {
  assert(status != STATUS_OK);
  error_clear(error);
  error->status = status;
  va_list values;
  va_start(values, format);
  append(error, format, values);
  va_end(values);
  return status;
}

enum status error_append(struct error *error, enum status status, const char *format, ...) {
  assert(status != STATUS_OK);
  if (error->status == STATUS_OK) error->status = status;
  va_list values;
  va_start(values, format);
  append(error, format, values);
  va_end(values);
  return error->status;
}
