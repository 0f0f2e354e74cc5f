/* `estimate --curve`: the log of a slow opening, held against that of the same car clean, as a reading. */
#ifndef COMMANDS_CURVE_READING_H
#define COMMANDS_CURVE_READING_H

#include "analysis/estimate/estimate_curve.h"
#include "commands/options.h"

// clang-format off
#define CURVE_READING_OPTION_ROWS                                                                                                  \
  OPTION_ROW_TEXT("curve", "LOG", "a log of a slow opening, as bladegap curve takes it: area lost at idle, a reading of its own"), \
  OPTION_ROW_TEXT("curve-baseline", "CLEANLOG", "the same of this car when it was clean; without it the curve tells nothing"),     \
  OPTION_ROW_TEXTS("curve-at", "NAME=FROM:TO",                                                                                     \
                   "seconds that count: opening=30:150 of the curve's log, clean=10:120 of its baseline; repeats")
// clang-format on

/* To be called when all other readings are in: a barometer among them tells the day. Nothing happens, and taken->log is NULL, where the line
 * has no --curve. STATUS_USAGE, what log_file_read() says, and that of logs without a curve. */
MUST_CHECK enum status curve_reading_take(const struct command_line *line, const struct engine *engine,
                                          struct estimate_readings_input *input, struct estimate_setting *setting,
                                          struct estimate_curve *taken, struct error *error);

#endif
