/* The option --format of every command that draws. */
#ifndef COMMANDS_PICTURE_OPTION_H
#define COMMANDS_PICTURE_OPTION_H

#include "commands/options.h"
#include "io/format/output_file.h"
#include "io/picture/run_pictures.h"

extern const char *const picture_option_names[]; // NULL after the last

#define PICTURE_OPTION_ROW \
  OPTION_ROW_CHOICE("format", "FORMAT", picture_option_names, \
                    "pictures as png (default), svg, both, as letters on this terminal (dumb), or none")

/* Which formats the command line asks for. Letters only where JSON does not want stdout for itself. */
void picture_option_formats(const struct command_line *line, bool formats[PICTURE_FORMAT_COUNT]);

/* Where a picture goes: folder, prefix, the picture's name, the format's ending. An empty folder is the one we are in.
 * STATUS_CANNOT_CREATE if that is too long. */
MUST_CHECK enum status picture_option_path(const char *folder, const char *prefix, enum picture picture,
                                           enum picture_format format, char path[OUTPUT_FILE_PATH_SIZE], struct error *error);

/* Files that were written, listed for the report. */
struct picture_option_files {
  size_t *count, most;
  char (*paths)[OUTPUT_FILE_PATH_SIZE];
};

/* All the pictures that a run has, in the formats asked for. */
MUST_CHECK enum status picture_option_draw_run(const struct command_line *line, const struct run_pictures *pictures,
                                               const char *folder, const char *prefix, const struct picture_option_files *files,
                                               struct error *error);

#endif
