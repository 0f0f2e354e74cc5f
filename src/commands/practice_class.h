/* Cases opened, one or a class of them; and a class that comes back. */
#ifndef COMMANDS_PRACTICE_CLASS_H
#define COMMANDS_PRACTICE_CLASS_H

#include "commands/options.h"

/* practice open, and practice class FOLDER. */
MUST_CHECK enum status practice_class_open(const struct command_line *line, struct error *error);
MUST_CHECK enum status practice_class_tell(const struct command_line *line, struct error *error);

#endif
