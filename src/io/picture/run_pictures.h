/* The pictures of a run, drawn from its recording and its story. */
#ifndef IO_PICTURE_RUN_PICTURES_H
#define IO_PICTURE_RUN_PICTURES_H

#include "analysis/run/story.h"
#include "car/engine.h"
#include "io/picture/picture.h"

#include <stdbool.h>

struct run_pictures {
  const struct engine *engine; // NULL: its geometry is not known, only the run itself is drawn
  const struct recording *recording;
  const struct story *story;
  const char *title;
  const char *engine_title;
  const char *data_path; // the CSV, for the message where there is no gnuplot
};

/* Whether this run has what the picture shows: an engine for area and gap, load steps at several films for loads. The
 * picture of several runs beside each other is none of a run's. */
bool run_pictures_wanted(const struct run_pictures *pictures, enum picture picture);

/* Draws one picture to a path, or to stdout for NULL. */
MUST_CHECK enum status run_pictures_draw(const struct run_pictures *pictures, enum picture picture, enum picture_format format,
                                         const char *path, struct error *error);

#endif
