#include "analysis/log/log.h"

#include <stdlib.h>

void log_text_destroy(struct log_text *log) {
  if (!log) return;
  for (size_t i = 0; i < log->column_count; i++) free(log->columns[i].name);
  free(log->columns);
  free(log->notes);
  recording_destroy(&log->recording);
  *log = (struct log_text){0};
}

const struct log_text_column *log_text_column_of(const struct log_text *log, enum channel channel) {
  for (size_t i = 0; i < log->column_count; i++)
    if (log->columns[i].channel == (int)channel) return &log->columns[i];
  return NULL;
}
