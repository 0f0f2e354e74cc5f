/* What reading a log has noticed, on stderr. */
#ifndef COMMANDS_LOG_NOTES_H
#define COMMANDS_LOG_NOTES_H

#include "commands/options.h"
#include "io/log/log_file.h"
#include "io/log/readings_file.h"

/* A line each; none with --quiet. */
void log_notes_text(const struct command_line *line, const char *notes);
void log_notes_print(const struct command_line *line, const struct log_text *log);

/* The same of a log that readings were taken from, and of what was taken. */
void log_notes_readings(const struct command_line *line, const struct readings_file_log *log);

#endif
