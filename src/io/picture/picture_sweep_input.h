/* What a picture of a sweep is drawn from, chart and map alike. */
#ifndef IO_PICTURE_PICTURE_SWEEP_INPUT_H
#define IO_PICTURE_PICTURE_SWEEP_INPUT_H

#include "io/picture/picture.h"
#include "io/report/sweep_file.h"

struct picture_sweep {
  const struct sweep *sweep;
  const struct sweep_table *table;
  const char *title;
  const char *engine_title;
  size_t part; // 0: the whole; else one of its parts, for a slide
};

#endif
