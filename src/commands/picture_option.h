/* The option --format of every command that draws. */
#ifndef COMMANDS_PICTURE_OPTION_H
#define COMMANDS_PICTURE_OPTION_H

#include "commands/options.h"
#include "io/picture/picture.h"

extern const char *const picture_option_names[]; // NULL after the last

#define PICTURE_OPTION_ROW \
  OPTION_ROW_CHOICE("format", "FORMAT", picture_option_names, \
                    "pictures as png (default), svg, both, as letters on this terminal (dumb), or none")

/* Which formats the command line asks for. Letters only where JSON does not want stdout for itself. */
void picture_option_formats(const struct command_line *line, bool formats[PICTURE_FORMAT_COUNT]);

#endif
