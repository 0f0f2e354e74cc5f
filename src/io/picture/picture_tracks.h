/* Draws a key-on sweep over the blade's opening: the position tracks with their sum, and the motor's current. Each note of the
 * scenario begins a curve of its own, so that a clean and a sticky sweep stand in one picture. */
#ifndef IO_PICTURE_PICTURE_TRACKS_H
#define IO_PICTURE_PICTURE_TRACKS_H

#include "io/picture/picture.h"
#include "sim/recording.h"

#include <stdbool.h>

struct picture_tracks {
  const struct recording *recording;
  const char *title;
  const char *engine_title;
};

/* True if the blade travelled a good part of its way with the engine standing. */
bool picture_tracks_drawable(const struct recording *recording);

MUST_CHECK enum status picture_tracks_draw(const struct picture_tracks *tracks, const struct picture_target *target,
                                           struct error *error);

#endif
