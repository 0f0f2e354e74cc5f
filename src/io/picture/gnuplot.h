/* The only place that starts gnuplot: a script goes in, a picture comes out.
 *
 * The picture comes back through a pipe, so gnuplot itself never opens a file for it and no file name is
 * ever part of a script. What counts is its exit status and a picture that is whole; what it says on stderr
 * beside one ("no writable cache directories") is a note. */
#ifndef IO_PICTURE_GNUPLOT_H
#define IO_PICTURE_GNUPLOT_H

#include "base/error.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

enum {
  GNUPLOT_TIMEOUT_S = 60, // a picture takes 0.3 s; only a hanging helper takes this long
  GNUPLOT_NOTE_SIZE = 512,
};

/* Runs the script with gnuplot, found on PATH, without the user's start-up file; what it draws goes to
 * picture. data_path: where the same data can be found if no picture can be made, for the message; NULL if
 * nowhere. note: what it said beside a whole picture, on one line, empty if nothing; NULL if nobody wants to know.
 * STATUS_NO_HELPER if gnuplot is not there, STATUS_INTERNAL with its own words if it fails, draws nothing, breaks off
 * within the picture, writes without end or takes longer than timeout_s. Errors of writing to picture show when its owner closes it. */
MUST_CHECK enum status gnuplot_draw(const char *script, size_t size, FILE *picture, const char *data_path, double timeout_s,
                                    char note[GNUPLOT_NOTE_SIZE], struct error *error);

/* Whether a picture with this beginning and end is whole. PNG, SVG and PDF each close with a mark of their own (PNG
 * specification, 11.2.5; SVG; ISO 32000-1, 7.5.5); of letters one line is enough. */
bool gnuplot_picture_is_whole(const char *head, size_t head_size, const char *tail, size_t tail_size);

#endif
