/* Commands: one file and one row each.
 *
 * A command's file defines `const struct command command_NAME`; the row in COMMAND_LIST declares it and puts
 * it in the table, from which dispatch, help, man page and completion come. A command writes results to
 * stdout, and reports everything else through its error. */
#ifndef COMMANDS_COMMAND_H
#define COMMANDS_COMMAND_H

#include "commands/command_row.h"
#include "commands/options.h"

/* In the order of the help text. Adding a command: a row here and its file. */
#define COMMAND_LIST(COMMAND) \
  COMMAND(run) \
  COMMAND(live) \
  COMMAND(plot) \
  COMMAND(settle) \
  COMMAND(sweep) \
  COMMAND(merge) \
  COMMAND(fit) \
  COMMAND(estimate) \
  COMMAND(curve) \
  COMMAND(compare) \
  COMMAND(jobcard) \
  COMMAND(phases) \
  COMMAND(testsheet) \
  COMMAND(practice) \
  COMMAND(page) \
  COMMAND(lesson) \
  COMMAND(fmu) \
  COMMAND(list) \
  COMMAND(check) \
  COMMAND(help)

#define COMMAND(name) extern const struct command command_##name;
COMMAND_LIST(COMMAND)
#undef COMMAND

enum { COMMAND_OPERANDS_ANY = 10000 }; // operand_most of a command that takes a list of files

extern const struct command *const command_rows[];
extern const size_t command_count;

/* The command with this name, NULL if none. */
const struct command *command_find(const char *name);

/* STATUS_USAGE: there is no command of this name, with the nearest that there is. */
enum status command_unknown(const char *word, struct error *error);

#endif
