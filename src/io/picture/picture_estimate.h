/* Draws what an estimate says: how thick a film would be, how likely each cause is, and how far every reading lies from what the
 * leading causes let expect, in units of its uncertainty. */
#ifndef IO_PICTURE_PICTURE_ESTIMATE_H
#define IO_PICTURE_PICTURE_ESTIMATE_H

#include "analysis/estimate/estimate_findings.h"
#include "io/picture/picture.h"

MUST_CHECK enum status picture_estimate_draw(const struct estimate_findings *findings, const struct picture_target *target,
                                             struct error *error);

/* The same into a stream, whatever target->path says. */
MUST_CHECK enum status picture_estimate_draw_into(const struct estimate_findings *findings, const struct picture_target *target,
                                                  FILE *stream, struct error *error);

#endif
