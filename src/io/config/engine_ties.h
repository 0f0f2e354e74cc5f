/* What an engine file says of its deviations beyond their widths: of what they are, and how they hang together.
 *
 *   deviations_of = "models";                          or "cars", which is taken if it is left out: cars of one model
 *   ties = ( ("friction_pct", "efficiency_pct", 0.53) );   correlation of two rows of the group `scatter`; 0 if it is left out
 */
#ifndef IO_CONFIG_ENGINE_TIES_H
#define IO_CONFIG_ENGINE_TIES_H

#include "car/engine.h"
#include "io/config/config.h"

#include <stdio.h>

#define ENGINE_TIES_KEY    "ties"
#define ENGINE_TIES_OF_KEY "deviations_of"

/* Reads both, if they are there; faults are noted. */
void engine_ties_read(struct config *config, struct engine *engine);

/* Writes what differs from the base. */
void engine_ties_print(const struct engine *engine, const struct engine *base, FILE *stream);

#endif
