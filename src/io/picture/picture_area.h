/* Draws gap area against blade opening for a clean bore and several films, with the places where a run
 * idled. */
#ifndef IO_PICTURE_PICTURE_AREA_H
#define IO_PICTURE_PICTURE_AREA_H

#include "io/picture/picture.h"
#include "physics/bore.h"

#include <stdbool.h>

enum { PICTURE_AREA_LABEL_SIZE = 64, PICTURE_AREA_POINT_MAX = 8 };

/* A place where the engine idled. The first one is the clean idle: its area is what idle needs. */
struct picture_area_point {
  double opening_rad; // above the closed stop
  double area_m2;
  double film_m;
  char label[PICTURE_AREA_LABEL_SIZE];
};

struct picture_area {
  const struct bore_geometry *bore;
  const struct bore_film_shape *shape;
  double largest_film_m; // of the run; 0 for none
  const struct picture_area_point *points;
  size_t point_count; // at most PICTURE_AREA_POINT_MAX are drawn; 0 is allowed
  const char *title;
  const char *engine_title;
  bool on_a_screw; // the computer cannot open the blade: a cable throttle
};

MUST_CHECK enum status picture_area_draw(const struct picture_area *area, const struct picture_target *target,
                                         struct error *error);

#endif
