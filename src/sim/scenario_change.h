/* What if: a scenario changed after it was read. */
#ifndef SIM_SCENARIO_CHANGE_H
#define SIM_SCENARIO_CHANGE_H

#include "sim/scenario.h"

/* Told of a step before a set is taken out of it. */
typedef void (*scenario_change_told)(const struct scenario_step *step, const struct scenario_set *set, void *user);

/* Fixes a condition, SI, from start to end: at the start, and no step sets it any more. A step that is left with nothing to do goes, and
 * so does the note of one that did nothing else, as it speaks of what no longer happens. told may be NULL. */
void scenario_change_fix(struct scenario *scenario, size_t condition, double value, scenario_change_told told, void *user);

/* Takes every set of a condition out of the timeline, as above. */
void scenario_change_drop(struct scenario *scenario, size_t condition, scenario_change_told told, void *user);

/* Puts a step into the timeline behind all that are not later. STATUS_USAGE if it is after the end or faulty under the conditions that
 * hold before it (scenario_check_step), STATUS_NO_MEMORY. scenario_append() is for scenarios that were not changed like this. */
MUST_CHECK enum status scenario_change_insert(struct scenario *scenario, const struct scenario_step *step, struct error *error);

#endif
