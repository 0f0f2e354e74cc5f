/* The options --format and --for of every command that draws, and what drawing has to tell. */
#ifndef COMMANDS_PICTURE_OPTION_H
#define COMMANDS_PICTURE_OPTION_H

#include "commands/options.h"
#include "io/format/output_file.h"
#include "io/picture/run_pictures.h"

extern const char *const picture_option_names[]; // NULL after the last
extern const char *const picture_option_forms[];

#define PICTURE_OPTION_ROW \
  OPTION_ROW_CHOICE("format", "FORMAT", picture_option_names, \
                    "pictures as png (default), svg, both, pdf, as letters on this terminal (dumb), or none")

#define PICTURE_OPTION_FOR_ROW \
  OPTION_ROW_CHOICE( \
      "for", "FORM", picture_option_forms, \
      "pictures for paper (portrait, default), a screen (landscape), or slides (landscape, large letters, one idea each)")

/* Which formats the command line asks for. Letters only where JSON does not want stdout for itself. */
void picture_option_formats(const struct command_line *line, bool formats[PICTURE_FORMAT_COUNT]);

/* For what; letters are always for paper. */
enum picture_form picture_option_form(const struct command_line *line, enum picture_format format);

/* The pictures of one command: a picture that fails does not keep the others back; the first failure is kept. */
struct picture_option_drawing {
  const struct command_line *line;
  enum status status; // of the first that failed, STATUS_OK if none
  struct error error;
  char note[PICTURE_NOTE_SIZE]; // of the picture that is being drawn
  char told[PICTURE_NOTE_SIZE]; // the last one printed: the same for every picture is told once
  double began_s;               // of the picture that is being drawn, by a clock that only goes on
  bool hung;                    // gnuplot did not end: the other pictures do not wait so long again
};

void picture_option_begin(struct picture_option_drawing *drawing, const struct command_line *line);

/* The target of the next picture; path NULL for stdout. */
struct picture_target picture_option_target(struct picture_option_drawing *drawing, enum picture_format format, const char *path,
                                            const char *data_path);

/* Takes what the picture came to, and tells gnuplot's notes on stderr; whether it is there. */
bool picture_option_end(struct picture_option_drawing *drawing, enum status status, const struct error *error);

/* The first failure, for the command to return. */
MUST_CHECK enum status picture_option_result(const struct picture_option_drawing *drawing, struct error *error);

#endif
