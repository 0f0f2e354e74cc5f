/* Draws a run, or two laid over each other: stacked panels over one time axis, with codes, notes and stalls. */
#ifndef IO_PICTURE_PICTURE_RUN_H
#define IO_PICTURE_PICTURE_RUN_H

#include "io/picture/picture.h"
#include "io/picture/picture_panels.h"

struct picture_run {
  const struct recording *recording;
  const char *title; // of the scenario
  const char *engine_title;
  bool is_log;                   // of a car: every channel is drawn
  const struct recording *other; // laid over it; NULL for none. Notes and codes are then left out
  const char *other_title;
};

/* The parts of the picture for a slide, each a picture of its own: the panels, and the codes where there are many. */
size_t picture_run_part_count(const struct picture_run *run);

/* Name of a part, for its file. */
void picture_run_part_name(const struct picture_run *run, size_t part, char name[PICTURE_PANELS_TEXT_SIZE]);

enum { PICTURE_RUN_WHOLE = -1 };

/* The whole, or one part. STATUS_BAD_DATA if the run has no rows. Also whatever gnuplot_draw() and output_file give. */
MUST_CHECK enum status picture_run_draw(const struct picture_run *run, int part, const struct picture_target *target,
                                        struct error *error);

#endif
