/* Draws a run: stacked panels over one time axis, with codes, notes and stalls. */
#ifndef IO_PICTURE_PICTURE_RUN_H
#define IO_PICTURE_PICTURE_RUN_H

#include "io/picture/picture.h"
#include "sim/recording.h"

struct picture_run {
  const struct recording *recording;
  const char *title; // of the scenario
  const char *engine_title;
};

/* STATUS_BAD_DATA if the run has fewer than two rows. Also whatever gnuplot_draw() and output_file give. */
MUST_CHECK enum status picture_run_draw(const struct picture_run *run, const struct picture_target *target, struct error *error);

#endif
