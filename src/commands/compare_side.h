/* One of the two moments of `compare`: a log, of which the idle is taken, or a list of readings. */
#ifndef COMMANDS_COMPARE_SIDE_H
#define COMMANDS_COMPARE_SIDE_H

#include "analysis/compare/compare_log.h"
#include "analysis/estimate/estimate_readings.h"
#include "commands/stretch_option.h"
#include "io/log/log_file.h"

/* Some 20 kB beside what the log holds. */
struct compare_moment {
  const char *path;
  struct compare_side side;
  bool is_log;
  struct log_text log;               // of a log; else empty
  struct estimate_log_window window; // of a log: the longest idle
};

/* Which moment it is, as --at before.idle=30:60 names its stretches, and of what moments the command speaks. */
struct compare_side_which {
  const struct stretch_option_moments *moments;
  const char *moment;
};

/* Reads it. engine: that readings are checked for, NULL for any. STATUS_BAD_DATA also for a log without idle; what log_file_read()
 * and readings_file_add() say. compare_side_end() in any case. */
MUST_CHECK enum status compare_side_read(const struct command_line *line, const struct compare_side_which *which,
                                         const char *path, const struct engine *engine, struct compare_moment *moment,
                                         struct error *error);

/* Adds a side's readings as an estimate takes them: those that the engine has, no surer than an instrument is. */
MUST_CHECK enum status compare_side_explain(const struct compare_side *side, struct estimate_readings_input *input,
                                            struct error *error);
void compare_side_end(struct compare_moment *moment);

#endif
