/* Draws a sweep: a chart over one input (a line each for a few values of the second), or a map over two.
 *
 * Chart: what the engine does and which codes set, as bars over the input; speed; opening; learned offset and controller.
 * Of runs: speeds, times to settle and to relearn, times to codes. Map: speed in shades, with lines where the idle begins to
 * droop or race, where each code sets, and where the engine stalls. */
#ifndef IO_PICTURE_PICTURE_SWEEP_H
#define IO_PICTURE_PICTURE_SWEEP_H

#include "io/picture/picture_sweep_input.h"

enum { PICTURE_SWEEP_LINE_MAX = 6 }; // values of an input that can be lines of a chart

/* Which picture suits: PICTURE_OF_sweep, PICTURE_OF_sweepmap, or PICTURE_COUNT for a single point, which has none. */
enum picture picture_sweep_kind(const struct sweep *sweep);

/* Parts of a chart: the bars of outcomes and codes, and each panel. 0 for a map, which is one. */
size_t picture_sweep_part_count(const struct picture_sweep *picture);

/* Of the picture's part, for its file; "" for the whole. */
const char *picture_sweep_part_name(const struct picture_sweep *picture);

MUST_CHECK enum status picture_sweep_draw(const struct picture_sweep *picture, const struct picture_target *target,
                                          struct error *error);

#endif
