/* Plays a scenario's steps: at each tick, which conditions hold now. */
#ifndef SIM_TIMELINE_H
#define SIM_TIMELINE_H

#include "sim/scenario.h"

struct timeline_ramp {
  size_t condition;
  double start_s, end_s;
  double from, to; // SI
};

struct timeline {
  const struct scenario *scenario;
  size_t next; // first step not yet played
  size_t ramp_count;
  struct timeline_ramp ramps[CONDITION_MOST]; // one a condition at most
};

void timeline_init(struct timeline *timeline, const struct scenario *scenario);

/* The next step that is due at this time and not yet played, with its sets done or its ramps begun; NULL when there is no
 * further one. Call until NULL at every tick, then timeline_ramps(). */
const struct scenario_step *timeline_step(struct timeline *timeline, double time_s, struct conditions *conditions);

/* Does a step's sets or begins its ramps, whatever its at_s, as if it were due at this time. */
void timeline_apply(struct timeline *timeline, const struct scenario_step *step, double at_s, struct conditions *conditions);

/* Moves the conditions that are on a ramp. */
void timeline_ramps(struct timeline *timeline, double time_s, struct conditions *conditions);

#endif
