/* Draws runs side by side, one column each, all on the same scales: speed, opening or steps, air, trims. */
#ifndef IO_PICTURE_PICTURE_BESIDE_H
#define IO_PICTURE_PICTURE_BESIDE_H

#include "io/picture/picture.h"
#include "sim/recording.h"

enum { PICTURE_BESIDE_MAX = 6 };

struct picture_beside_run {
  const struct recording *recording;
  const char *title;
  const char *engine_title;
};

struct picture_beside {
  const struct picture_beside_run *runs;
  size_t count; // 2 to PICTURE_BESIDE_MAX
};

MUST_CHECK enum status picture_beside_draw(const struct picture_beside *beside, const struct picture_target *target,
                                           struct error *error);

#endif
