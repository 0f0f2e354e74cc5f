/* A map over the two inputs of a sweep. Drawn through picture_sweep_draw(). */
#ifndef IO_PICTURE_PICTURE_SWEEPMAP_H
#define IO_PICTURE_PICTURE_SWEEPMAP_H

#include "io/picture/picture_sweep_input.h"

MUST_CHECK enum status picture_sweepmap_draw(const struct picture_sweep *picture, const struct picture_target *target,
                                             struct error *error);

#endif
