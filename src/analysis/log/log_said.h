/* What is to be said of a log: text that grows, and rows or values that were left out. */
#ifndef ANALYSIS_LOG_LOG_SAID_H
#define ANALYSIS_LOG_LOG_SAID_H

#include "base/attributes.h"
#include "base/csv_table.h"

#include <stdbool.h>
#include <stddef.h>

struct log_said {
  char *text; // NULL while nothing is said; owned
  size_t size, room;
  bool failed; // out of memory
};

/* Adds text; a line's end is the caller's. */
void log_said_add(struct log_said *said, const char *format, ...) PRINTF_LIKE(2, 3);
void log_said_destroy(struct log_said *said);

/* REASON(name, why a row was left out, for the count of them) */
#define LOG_SAID_REASON_LIST(REASON) \
  REASON(no_time, "without a time") \
  REASON(back, "with a time that does not increase") \
  REASON(cells, "with more cells than the header") \
  REASON(quote, "with a quote in the wrong place") \
  REASON(words, "with nothing but words") \
  REASON(value, "")

enum log_said_reason {
#define REASON(name, text) LOG_SAID_##name,
  LOG_SAID_REASON_LIST(REASON)
#undef REASON
      LOG_SAID_REASON_COUNT
};
extern const char *const log_said_reasons[LOG_SAID_REASON_COUNT];

/* The first of them by their line are described. */
struct log_faults {
  size_t count; // all
  size_t shown; // described ones, in order of lines
  struct csv_fault items[CSV_TABLE_FAULT_MAX];
  size_t reasons[LOG_SAID_REASON_COUNT];
};

/* Counts one, and describes it if it is among the first. */
void log_said_fault(struct log_faults *faults, enum log_said_reason reason, size_t line, const char *format, ...)
    PRINTF_LIKE(4, 5);

#endif
