/* Help text, man page and shell completion: all from the tables of commands, options and statuses. */
#ifndef COMMANDS_HELP_H
#define COMMANDS_HELP_H

#include <stddef.h>
#include <stdio.h>

struct command;

void help_version(FILE *stream);
void help_overview(FILE *stream);
void help_command(FILE *stream, const struct command *command);
void help_man(FILE *stream); // roff with the man macros

/* Completion for a shell, one of help_shells: what it offers are commands, options, choices, and the names of shipped engines,
 * scenarios and faults, which it asks the program for. */
void help_completion(FILE *stream, size_t shell);
extern const char *const help_shells[]; // NULL after the last

#endif
