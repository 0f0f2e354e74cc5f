#include "commands/log_notes.h"

#include <stdio.h>
#include <string.h>

void log_notes_print(const struct command_line *line, const struct log_file *log) {
  for (const char *at = log->notes; at && *at && !line->quiet;) {
    const int size = (int)strcspn(at, "\n");
    fprintf(stderr, "bladegap: %.*s\n", size, at);
    at += size + (at[size] == '\n');
  }
}
