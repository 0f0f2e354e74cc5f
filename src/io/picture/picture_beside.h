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
  int part;     // of a slide, which shows one row alone: 1 to PICTURE_BESIDE_PARTS; 0 for all
};

/* The rows, as parts of a slide are named. */
#define PICTURE_BESIDE_PARTS 5
extern const char *const picture_beside_parts[PICTURE_BESIDE_PARTS];

/* Whether a run has something to show in that row, from 1. */
bool picture_beside_has(const struct picture_beside *beside, int part);

MUST_CHECK enum status picture_beside_draw(const struct picture_beside *beside, const struct picture_target *target,
                                           struct error *error);

#endif
