/* Draws the lowest speed after each load step against the thickness of the film, one line per kind of load: why an engine
 * stalls when it is stopped or when the compressor cuts in. */
#ifndef IO_PICTURE_PICTURE_LOADS_H
#define IO_PICTURE_PICTURE_LOADS_H

#include "analysis/run/story.h"
#include "io/picture/picture.h"
#include "sim/scenario.h"

struct picture_loads {
  const struct story *story;
  const struct scenario *scenario; // NULL for a log: what else was wrong is not known
  const char *title;
  const char *engine_title;
};

/* Whether some kind of load came at more than one film with the same faults beside it: only such are compared. */
bool picture_loads_drawable(const struct picture_loads *loads);

MUST_CHECK enum status picture_loads_draw(const struct picture_loads *loads, const struct picture_target *target,
                                          struct error *error);

#endif
