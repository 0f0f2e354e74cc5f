/* Stretches of a log on the command line: NAME=FROM:TO in seconds, either end may be left out. */
#ifndef COMMANDS_STRETCH_OPTION_H
#define COMMANDS_STRETCH_OPTION_H

#include "analysis/log/log_phases.h"
#include "commands/options.h"

enum { STRETCH_OPTION_NAME_SIZE = 32, STRETCH_OPTION_MAX = 32 };

struct stretch_option {
  char name[STRETCH_OPTION_NAME_SIZE];
  double from_s, to_s; // infinite where left out
};

/* Reads one; example: for the message. STATUS_USAGE. Which names there are is for the caller to say. */
MUST_CHECK enum status stretch_option_read(const char *option, const char *text, const char *example,
                                           struct stretch_option *stretch, struct error *error);

/* Reads all of an option as phases by hand; *count of them. STATUS_USAGE, also for a name that is no phase. */
MUST_CHECK enum status stretch_option_phases(const struct command_line *line, const char *option,
                                             struct log_phase phases[STRETCH_OPTION_MAX], size_t *count, struct error *error);

/* The same where several logs may be meant, MOMENT.NAME=FROM:TO. */
struct stretch_option_moments {
  size_t count;
  const char *const *names;
  bool bare; // NAME=FROM:TO is of the first of them
};
MUST_CHECK enum status stretch_option_phases_of(const struct command_line *line, const char *option,
                                                const struct stretch_option_moments *moments, const char *moment,
                                                struct log_phase phases[STRETCH_OPTION_MAX], size_t *count, struct error *error);

#endif
