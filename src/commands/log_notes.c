#include "commands/log_notes.h"

#include <stdio.h>
#include <string.h>

void log_notes_text(const struct command_line *line, const char *notes) {
  for (const char *at = notes; at && *at && !line->quiet;) {
    const int size = (int)strcspn(at, "\n");
    fprintf(stderr, "bladegap: %.*s\n", size, at);
    at += size + (at[size] == '\n');
  }
}

void log_notes_print(const struct command_line *line, const struct log_text *log) { log_notes_text(line, log->notes); }

void log_notes_readings(const struct command_line *line, const struct readings_file_log *log) {
  log_notes_text(line, log->file_notes);
  log_notes_text(line, log->log.notes);
}
