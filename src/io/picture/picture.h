/* Pictures: what is common to all of them. Each picture has a row in picture_rows, a .c file that sends
 * its data, and a layout in plots/ of the same name.
 *
 * A picture's script is: this file's preamble (terminal, colours), the picture's variables and data
 * blocks, the layout. Text from users goes in single quotes only, in which gnuplot neither runs commands
 * nor expands anything. */
#ifndef IO_PICTURE_PICTURE_H
#define IO_PICTURE_PICTURE_H

#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* FORMAT(name, ending of the file, what it is) */
#define PICTURE_FORMAT_LIST(FORMAT) \
  FORMAT(png, ".png", "pixels, for slides and documents") \
  FORMAT(svg, ".svg", "lines, for web pages and print") \
  FORMAT(pdf, ".pdf", "a page, for print") \
  FORMAT(dumb, ".txt", "letters, for a terminal")

enum picture_format {
#define FORMAT(name, ending, text) PICTURE_##name,
  PICTURE_FORMAT_LIST(FORMAT)
#undef FORMAT
      PICTURE_FORMAT_COUNT
};

struct picture_format_row {
  const char *name, *ending, *text;
};
extern const struct picture_format_row picture_format_rows[PICTURE_FORMAT_COUNT];

/* FORM(name, width of a 1400 px picture, height, size of letters, what it is for): what a picture will be looked at on. A height of
 * 0 is the picture's own. The letters of a slide: digits are 0.73 of the letters' size in DejaVu Sans, and 1.8 makes the smallest
 * of them (13 pt) 2.5 % of the height. */
#define PICTURE_FORM_LIST(FORM) \
  FORM(paper, 1400, 0, 1.0, "portrait, all panels: to read from close by (default)") \
  FORM(screen, 1900, 0, 1.0, "landscape, all panels: a monitor") \
  FORM(slide, 1600, 900, 1.8, "landscape, one idea a picture, large letters: a projector")

enum picture_form {
#define FORM(name, width, height, letters, text) PICTURE_FORM_##name,
  PICTURE_FORM_LIST(FORM)
#undef FORM
      PICTURE_FORM_COUNT
};

struct picture_form_row {
  const char *name;
  int width, height;
  double letters;
  const char *text;
};
extern const struct picture_form_row picture_form_rows[PICTURE_FORM_COUNT];

/* PICTURE(name, width, height in pixels, height in lines of text, what it shows); the height is that of a
 * usual run, notes and codes make it grow. */
#define PICTURE_LIST(PICTURE) \
  PICTURE(run, 1400, 1500, 46, "a run over time: speed, opening, air, gap, spark reserve, film, codes") \
  PICTURE(area, 1400, 1000, 36, "gap area against blade opening, for several films") \
  PICTURE(gap, 1500, 1060, 40, "blade edge, wall and film at one blade angle, to scale") \
  PICTURE(loads, 1400, 1000, 36, "lowest speed after each load step against the film's thickness") \
  PICTURE(tracks, 1400, 1100, 36, "position tracks and motor current over blade opening, key on") \
  PICTURE(sweep, 1400, 1300, 44, "a sweep over one input: outcome and codes, speed, opening, learned offset") \
  PICTURE(sweepmap, 1400, 1080, 40, "a sweep over two inputs: speed, and where it droops, sets codes, stalls") \
  PICTURE(estimate, 1500, 1165, 30, "what readings imply: film, causes, and how well each cause fits each reading") \
  PICTURE(opening, 1400, 1000, 36, "a car's open area against position, from a log, beside a clean blade's") \
  PICTURE(practice, 1400, 900, 30, "where a class lost its minutes: by test, beyond what the best plans spent") \
  PICTURE(beside, 1500, 1240, 50, "two or more runs side by side on the same scales")

enum picture {
#define PICTURE(name, width, height, lines, text) PICTURE_OF_##name,
  PICTURE_LIST(PICTURE)
#undef PICTURE
      PICTURE_COUNT
};

struct picture_row {
  const char *name;
  int width, height, lines;
  const char *text;
};
extern const struct picture_row picture_rows[PICTURE_COUNT];

/* Where a picture goes. */
struct picture_target {
  enum picture_format format;
  const char *path;      // NULL: stdout
  const char *data_path; // where the data can be found if there is no gnuplot, for the message; NULL for nowhere
  int columns;           // width of the terminal for PICTURE_dumb; 0: COLUMNS, or 100
  enum picture_form form;
  char *note;       // PICTURE_NOTE_SIZE: what gnuplot said beside a whole picture, empty if nothing; NULL: nobody wants to know
  double timeout_s; // how long gnuplot may take; 0: GNUPLOT_TIMEOUT_S
};

enum { PICTURE_NOTE_SIZE = 512 };

/* A script in the making. Errors of memory are kept until picture_finish(). */
struct picture_script {
  FILE *stream; // the script so far; the drawing code prints into it
  char *text;
  size_t size;
  enum picture picture;
  const struct picture_target *target;
  int width, height; // pixels, or letters for PICTURE_dumb
};

/* Starts a script. more_height is added to the height, in pixels; letters ignore it. */
MUST_CHECK enum status picture_begin(struct picture_script *script, enum picture picture, const struct picture_target *target,
                                     int more_height, struct error *error);

/* `name = value` and `name = 'text'`. */
void picture_number(struct picture_script *script, const char *name, double value);
void picture_text(struct picture_script *script, const char *name, const char *text);

/* A text as an expression of gnuplot's: single quotes, joined by the variable `apostrophe` where the text has one. Doubled ones end a
 * text too early at its start or in a row, and double quotes beside single ones let gnuplot expand @ in the text that follows. Control
 * characters become blanks, broken UTF-8 becomes `?`. */
void picture_quote(struct picture_script *script, const char *text);

/* One number of a data block, and a blank; NaN as gnuplot writes it. */
void picture_value(struct picture_script *script, double value);

/* A data block `$name` begins; rows follow; the block ends. */
void picture_block_begin(struct picture_script *script, const char *name);
void picture_block_end(struct picture_script *script);

/* Adds the layout, draws, writes the target whole or not at all, and frees the script. */
MUST_CHECK enum status picture_finish(struct picture_script *script, struct error *error);

/* The same into a stream, whatever the target's path is: a picture within another file. */
MUST_CHECK enum status picture_finish_into(struct picture_script *script, FILE *stream, struct error *error);

/* Frees a script that will not be drawn. */
void picture_abandon(struct picture_script *script);

#endif
