/* Where results go if the user named no folder. */
#ifndef COMMANDS_OUT_FOLDER_H
#define COMMANDS_OUT_FOLDER_H

#include <stddef.h>

/* "out"; where the current folder cannot be written to, as /usr cannot, the folder bladegap in $HOME. The text is cut to fit. */
void out_folder(size_t size, char *path);

#endif
