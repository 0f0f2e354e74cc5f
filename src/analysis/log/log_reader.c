#include "analysis/log/log_reader.h"

#include <stdarg.h>
#include <stdio.h>

enum { NOTE_SIZE = 1024 };

void log_reader_note(struct log_reader *reader, const char *format, ...) {
  char text[NOTE_SIZE];
  va_list values;
  va_start(values, format);
  vsnprintf(text, sizeof text, format, values);
  va_end(values);
  log_said_add(&reader->notes, "%s: %s\n", reader->name, text);
}

enum status log_reader_no_memory(struct log_reader *reader) {
  return error_set(reader->error, STATUS_NO_MEMORY, "%s: out of memory", reader->name);
}
