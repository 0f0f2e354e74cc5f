/* The only place that starts gnuplot: a script goes in, a picture comes out.
 *
 * The picture comes back through a pipe, so gnuplot itself never opens a file for it and no file name is
 * ever part of a script. Anything gnuplot says on stderr is a failure: a bad column or a missing terminal
 * still end with status 0. */
#ifndef IO_PICTURE_GNUPLOT_H
#define IO_PICTURE_GNUPLOT_H

#include "base/error.h"

#include <stddef.h>
#include <stdio.h>

enum { GNUPLOT_TIMEOUT_S = 60 }; // a picture takes 0.3 s; only a hanging helper takes this long

/* Runs the script with gnuplot, found on PATH, without the user's start-up file; what it draws goes to
 * picture. data_path: where the same data can be found if no picture can be made, for the message; NULL if
 * nowhere. STATUS_NO_HELPER if gnuplot is not there, STATUS_INTERNAL with its own words if it fails, draws
 * nothing or takes longer than timeout_s. Errors of writing to picture show when its owner closes it. */
MUST_CHECK enum status gnuplot_draw(const char *script, size_t size, FILE *picture, const char *data_path, double timeout_s,
                                    struct error *error);

#endif
