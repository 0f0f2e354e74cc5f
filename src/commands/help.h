/* Help text, man page and shell completion: all from the tables of commands, options and statuses. */
#ifndef COMMANDS_HELP_H
#define COMMANDS_HELP_H

#include <stdio.h>

struct command;

void help_version(FILE *stream);
void help_overview(FILE *stream);
void help_command(FILE *stream, const struct command *command);
void help_man(FILE *stream);        // roff with the man macros
void help_completion(FILE *stream); // bash

#endif
