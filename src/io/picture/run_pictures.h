/* The pictures of a run, drawn from its recording and its story. */
#ifndef IO_PICTURE_RUN_PICTURES_H
#define IO_PICTURE_RUN_PICTURES_H

#include "analysis/run/story.h"
#include "car/engine.h"
#include "io/picture/picture.h"
#include "io/picture/picture_panels.h"

#include <stdbool.h>

struct run_pictures {
  const struct engine *engine; // NULL: its geometry is not known, only the run itself is drawn
  const struct recording *recording;
  const struct story *story;
  const struct scenario *scenario; // NULL: of a log
  const char *title;
  const char *engine_title;
  bool is_log;                   // of a car: every channel is drawn
  const struct recording *other; // laid over it; NULL for none. Then nothing else is drawn
  const char *other_title;
};

enum { RUN_PICTURES_MAX = PICTURE_PANELS_MAX + PICTURE_COUNT };

/* One picture to draw, and the name of its file without folder and ending. */
struct run_pictures_item {
  enum picture picture;
  int part; // of the run, as in picture_run.h
  char stem[PICTURE_PANELS_TEXT_SIZE + 8];
};

/* What this run gives on a form: the run; with an engine area and gap; load steps at several films; a swept blade. On slides the run
 * is a picture a panel. Returns how many. */
size_t run_pictures_list(const struct run_pictures *pictures, enum picture_form form,
                         struct run_pictures_item items[RUN_PICTURES_MAX]);

/* Draws one of them. */
MUST_CHECK enum status run_pictures_draw(const struct run_pictures *pictures, const struct run_pictures_item *item,
                                         const struct picture_target *target, struct error *error);

#endif
