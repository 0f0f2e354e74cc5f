/* A file of readings on the command line, list or log, with what its command says of logs. */
#ifndef COMMANDS_READINGS_OPTION_H
#define COMMANDS_READINGS_OPTION_H

#include "analysis/estimate/estimate_findings.h"
#include "commands/options.h"
#include "commands/stretch_option.h"
#include "io/log/readings_file.h"

struct readings_option {
  const struct command_line *line;              // how logs are read
  const struct stretch_option_moments *moments; // that --at of the line speaks of; NULL: the line has none
  const char *moment;                           // the one that the file is
  struct estimate_findings_wish *wish;          // gets what a log has columns for; NULL: nothing does
  bool silent;                                  // nothing is told
};

/* Adds its readings. Faults are appended: STATUS_USAGE for a stretch that is none, else what readings_file_add_any() says. */
MUST_CHECK enum status readings_option_add(const struct readings_option *option, const char *path,
                                           struct estimate_readings_input *input, struct error *error);

#endif
