/* Where results go if the user named no folder. */
#ifndef COMMANDS_OUT_FOLDER_H
#define COMMANDS_OUT_FOLDER_H

#include "commands/options.h"

/* "out"; where the current folder cannot be written to, as /usr cannot, the folder bladegap in $HOME. The text is cut to fit.
 * True if it is that one. */
bool out_folder(size_t size, char *path);

/* What --out says, else that folder. */
void out_folder_choose(const struct command_line *line, size_t size, char *path);

/* Says on stdout where the files are, if nobody named a folder and they are not where one would look. */
void out_folder_tell(const struct command_line *line, const char *folder);

#endif
