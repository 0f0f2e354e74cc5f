/* Draws an opening curve: the points with their errors, the clean car's or a clean blade's with its band, and where it idles. */
#ifndef IO_PICTURE_PICTURE_OPENING_H
#define IO_PICTURE_PICTURE_OPENING_H

#include "analysis/curve/opening_curve.h"
#include "io/picture/picture.h"

MUST_CHECK enum status picture_opening_draw(const struct opening_curve *curve, const char *title,
                                            const struct picture_target *target, struct error *error);

#endif
