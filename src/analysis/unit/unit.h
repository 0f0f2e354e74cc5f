/* One engine as a co-simulation unit: values by reference, steps of whole ticks, states to go back to. What FMI calls them is src/fmu's matter.
 *
 * Before it begins inputs and parameters are its initial conditions; afterwards an input acts at the tick of the moment it is set at, as a step
 * of a scenario at that time does, whether outputs have been looked at before or not. The same calls give the same bits, however many units a
 * process has. Not to be used by two threads at once. */
#ifndef ANALYSIS_UNIT_UNIT_H
#define ANALYSIS_UNIT_UNIT_H

#include "analysis/unit/unit_variables.h"
#include "base/error.h"
#include "sim/events.h"

#include <stddef.h>

struct unit;

/* A unit of this engine; it keeps a copy. STATUS_NO_MEMORY. */
MUST_CHECK enum status unit_create(const struct engine *engine, struct unit **unit, struct error *error);
void unit_destroy(struct unit *unit);

/* Back to how it was created. */
void unit_reset(struct unit *unit);

/* Tells events as they happen: stalls, codes, and what the computer does. NULL ends it. */
void unit_watch(struct unit *unit, events_sink sink, void *user);

/* Time at which it begins, seconds. */
void unit_start_at(struct unit *unit, double start_s);
double unit_time_s(const struct unit *unit);

/* Begins: STATUS_BAD_CONFIG if parameters contradict each other or the engine does not idle where it is to. From now on parameters are fixed. */
MUST_CHECK enum status unit_begin(struct unit *unit, struct error *error);
bool unit_begun(const struct unit *unit);

/* Sets an input, or before it has begun a parameter, in the user's unit. STATUS_USAGE, and nothing has changed, if it is out of its range, none
 * of its type, an output, or fixed by now. */
MUST_CHECK enum status unit_set(struct unit *unit, uint32_t reference, enum unit_type type, double value, struct error *error);

/* Value of now. An output of a unit that has not begun is that of the moment it would begin with. */
MUST_CHECK enum status unit_get(struct unit *unit, uint32_t reference, enum unit_type type, double *value, struct error *error);

/* Whether a step of this many seconds is one of whole ticks, and of how many. */
bool unit_ticks(double seconds, size_t *ticks);

/* Goes on. STATUS_USAGE beyond a day in all; STATUS_INTERNAL if the equations cannot be solved. */
MUST_CHECK enum status unit_step(struct unit *unit, size_t ticks, struct error *error);

/* All that it is, in memory of the caller, of unit_save_size() bytes; a process of the same build goes on from it bit for bit, in the same unit
 * or another. STATUS_USAGE for memory that holds nothing whole, or was saved by another build; nothing has changed then. */
size_t unit_save_size(struct unit *unit);
MUST_CHECK enum status unit_save(struct unit *unit, void *memory, size_t size, struct error *error);
MUST_CHECK enum status unit_restore(struct unit *unit, const void *memory, size_t size, struct error *error);

#endif
