/* A record: what was done to an engine and when, as plain text. Played again it gives the same bytes, because a run is a function of
 * its actions alone. Text in, text out; docs/records.md describes it.
 *
 *   bladegap-record 1 four-16
 *   start state settled
 *   start film_um 12
 *   0.57 film_um 40 7
 *   12 action reset_learned
 *   15.1 key off
 *   16 note engine off
 *   25 end
 *
 * In memory a record is a scenario whose engine_path holds the engine's name as the record gives it. */
#ifndef SIM_RECORD_H
#define SIM_RECORD_H

#include "base/error.h"
#include "sim/scenario.h"

#include <stdbool.h>
#include <stddef.h>

#define RECORD_MARK "bladegap-record"
enum { RECORD_FORMAT = 1 };

/* Whether a text is a record, by its first word. */
bool record_is(const char *text, size_t size);

/* Reads a record; name stands before the line number in messages. The caller owns *scenario and ends it with scenario_destroy, also
 * after a fault. STATUS_BAD_CONFIG with a line for each fault: what is wrong, what is allowed, a near miss; STATUS_NO_MEMORY. */
MUST_CHECK enum status record_read(const char *text, size_t size, const char *name, struct scenario *scenario,
                                   struct error *error);

/* Writes a scenario as a record of that engine, up to duration_s, ended by a NUL, as far as there is room; returns the bytes needed
 * without the NUL. Every number is the shortest that reads back equal. text may be NULL if size is 0. */
size_t record_write(const struct scenario *scenario, const char *engine, char *text, size_t size);

#endif
