/* Commands: one file and one row each.
 *
 * A command's file defines `const struct command command_NAME`; the row in COMMAND_LIST declares it and puts
 * it in the table, from which dispatch, help, man page and completion come. A command writes results to
 * stdout, and reports everything else through its error. */
#ifndef COMMANDS_COMMAND_H
#define COMMANDS_COMMAND_H

#include "commands/options.h"

struct command {
  const char *name;
  const char *text;     // one line for the list of commands
  const char *operands; // as the usage line shows them, "" for none
  size_t operand_least, operand_most;
  const struct option_row *options; // NULL if it has none of its own
  size_t option_count;
  enum status (*run)(const struct command_line *line, struct error *error);
  const char *details;                // help and man page: paragraphs, parted by "\n\n"; a line that begins with two blanks is
                                      // printed as it stands (examples); NULL for none
  const char *const *operand_choices; // for completion: NULL after the last; NULL itself: file names
};

/* In the order of the help text. Adding a command: a row here and its file. */
#define COMMAND_LIST(COMMAND) \
  COMMAND(run) \
  COMMAND(plot) \
  COMMAND(settle) \
  COMMAND(sweep) \
  COMMAND(merge) \
  COMMAND(estimate) \
  COMMAND(testsheet) \
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

/* The whole program: parses, runs, and says how it went. Results go to stdout. */
MUST_CHECK enum status command_main(int argc, char **argv, struct error *error);

#endif
