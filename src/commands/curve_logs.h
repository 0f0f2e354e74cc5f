/* The two logs of an opening curve, read and cut: of the car now, and of the same car when it was clean. */
#ifndef COMMANDS_CURVE_LOGS_H
#define COMMANDS_CURVE_LOGS_H

#include "analysis/curve/opening_curve.h"
#include "commands/options.h"
#include "io/log/log_file.h"

// What is known of the pressure of the day, one standard deviation each.
#define CURVE_LOGS_BARO_SD_PA    300.0  // a barometer's reading
#define CURVE_LOGS_WEATHER_SD_PA 1000.0 // sea-level pressure from day to day, from memory
#define CURVE_LOGS_UNKNOWN_SD_PA 3000.0 // 250 m of altitude

struct curve_logs {
  const char *path, *clean_path; // clean_path: NULL for none
  const char *at;                // option with the stretches that count, NAME=FROM:TO, opening or clean
  struct log_text log, clean;
};

/* Reads both, prints their notes on stderr, and leaves only the rows that count. What log_file_read() says; STATUS_USAGE for a stretch that
 * cannot be taken, STATUS_BAD_DATA for one without a row. Destroy it in any case; zero before. */
MUST_CHECK enum status curve_logs_read(const struct command_line *line, struct curve_logs *logs, struct error *error);
void curve_logs_destroy(struct curve_logs *logs);

/* opening_curve_find() of them, or opening_curve_compare() without the fit; both logged in the same setting. */
MUST_CHECK enum status curve_logs_find(const struct curve_logs *logs, const struct opening_setting *setting, bool with_fit,
                                       struct opening_curve *curve, struct error *error);

#endif
