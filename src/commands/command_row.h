/* What a command is to everything that works from its row: option parser, help, man page, completion, dispatch. */
#ifndef COMMANDS_COMMAND_ROW_H
#define COMMANDS_COMMAND_ROW_H

#include "base/error.h"

#include <stddef.h>

struct option_row;   // commands/options.h
struct command_line; // commands/options.h

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

#endif
