/* Options of every command that reads logs: what their columns are, and how many rows a second there are. */
#ifndef COMMANDS_LOG_OPTIONS_H
#define COMMANDS_LOG_OPTIONS_H

#include "commands/options.h"
#include "io/log/log_file.h"

// clang-format off
#define LOG_OPTIONS_MAP_ROW                                                                                                  \
  OPTION_ROW_TEXTS("map", "HEADER=NAME|FILE", "the column of a log with this header is this reading (list channels): 'Luft=MAF (kg/h)'; or a file of such pairs; may be repeated")
#define LOG_OPTIONS_RATE_ROW OPTION_ROW_REAL("rate", "HZ", 0.001, 100000, "rows per second of a log that only counts its rows")
#define LOG_OPTIONS_ROWS                                                                                                     \
  LOG_OPTIONS_MAP_ROW,                                                                                                       \
  OPTION_ROW_TEXT("save-map", "FILE", "write what each column of the log is understood as, as a file for --map; fill in what is not understood"), \
  LOG_OPTIONS_RATE_ROW
// clang-format on

struct log_options {
  struct log_map map; // owned
  struct log_text_setting setting;
};

/* Takes what was given to a command that has some of these options. STATUS_USAGE, or what log_file_read_map() says. log_options_end() in any case. */
MUST_CHECK enum status log_options_take(const struct command_line *line, struct log_options *options, struct error *error);
void log_options_end(struct log_options *options);

/* Whether a file is a log and not a list of readings, with what --map says of its columns. As log_options_take(). */
MUST_CHECK enum status log_options_is_log(const struct command_line *line, const char *path, bool *is_log, struct error *error);

/* Reads a log with them, prints its notes, and saves the map of the first operand if that was asked for. */
MUST_CHECK enum status log_options_read(const struct command_line *line, const char *path, struct log_text *log,
                                        struct error *error);

#endif
