#include "analysis/log/log_said.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *const log_said_reasons[LOG_SAID_REASON_COUNT] = {
#define REASON(name, text) [LOG_SAID_##name] = text,
    LOG_SAID_REASON_LIST(REASON)
#undef REASON
};

static bool make_room(struct log_said *said, size_t more) {
  if (said->size + more + 1 <= said->room) return true;
  const size_t room = 2 * (said->size + more + 1);
  char *text = realloc(said->text, room);
  if (!text) {
    said->failed = true;
    return false;
  }
  said->text = text;
  said->room = room;
  return true;
}

void log_said_add(struct log_said *said, const char *format, ...) {
  va_list values;
  va_start(values, format);
  const int length = vsnprintf(NULL, 0, format, values);
  va_end(values);
  if (length < 0 || !make_room(said, (size_t)length)) return;
  va_start(values, format);
  vsnprintf(said->text + said->size, said->room - said->size, format, values);
  va_end(values);
  said->size += (size_t)length;
}

void log_said_destroy(struct log_said *said) {
  free(said->text);
  *said = (struct log_said){0};
}

void log_said_fault(struct log_faults *faults, enum log_said_reason reason, size_t line, const char *format, ...) {
  faults->count++;
  faults->reasons[reason]++;
  const bool full = faults->shown == CSV_TABLE_FAULT_MAX;
  if (full && line >= faults->items[faults->shown - 1].line) return;
  size_t at = full ? faults->shown - 1 : faults->shown++;
  for (; at > 0 && faults->items[at - 1].line > line; at--) faults->items[at] = faults->items[at - 1];
  faults->items[at].line = line;
  va_list values;
  va_start(values, format);
  vsnprintf(faults->items[at].text, sizeof faults->items[at].text, format, values);
  va_end(values);
}
