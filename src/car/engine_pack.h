/* An engine as a row of numbers, by the tables of its groups: so engines travel inside a library that reads no files.
 *
 * Numbers are SI, in the order of engine_parts. A number, switch, count or choice is one; a curve is how many points it has (none
 * in a group that the engine leaves out), then all x, then all y; its slopes are worked out anew. Names are not in it. A struct
 * is never copied as it lies in memory: its layout differs from machine to machine. */
#ifndef CAR_ENGINE_PACK_H
#define CAR_ENGINE_PACK_H

#include "base/attributes.h"
#include "car/engine.h"

#include <stdbool.h>

/* How many numbers an engine takes at most. */
size_t engine_pack_size(void);

/* Packs; returns how many numbers it took. */
size_t engine_pack(const struct engine *engine, double *numbers);

/* Fills all but names of an engine, whose calibrated_on is NULL then. False if these are not the numbers of one. */
MUST_CHECK bool engine_pack_undo(const double *numbers, size_t count, struct engine *engine);

#endif
