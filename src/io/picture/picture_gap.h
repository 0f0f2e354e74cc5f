/* Draws the gap to scale at one blade angle: the whole bore cut along its axis and square to the shaft,
 * and both edges of the blade enlarged, with the free gap dimensioned. */
#ifndef IO_PICTURE_PICTURE_GAP_H
#define IO_PICTURE_PICTURE_GAP_H

#include "io/picture/picture.h"
#include "physics/bore.h"

struct picture_gap {
  const struct bore_geometry *bore;
  const struct bore_film_shape *shape;
  const struct bore_film *film;
  double angle_rad;  // of the blade, from the plane square to the bore
  const char *title; // what moment it is
  const char *engine_title;
};

MUST_CHECK enum status picture_gap_draw(const struct picture_gap *gap, const struct picture_target *target, struct error *error);

#endif
