/* What was wrong in a run, and when: the timeline of a scenario cut where a fault comes, changes or goes.
 *
 * The film on the wall is no fault here: it has a story of its own (analysis/run/story.h). */
#ifndef ANALYSIS_RUN_PHASES_H
#define ANALYSIS_RUN_PHASES_H

#include "sim/scenario.h"

enum { PHASES_MAX = 32, PHASES_FAULT_MAX = 8 };

struct phase_fault {
  const struct condition_row *row;
  double value; // user's unit, at the end of its ramp
};

struct phase {
  double from_s;      // the change begins; 0 for the first
  double full_s;      // its own values are reached
  double rest_s;      // and so are those that were still on their way; beyond to_s if they never are
  double to_s;        // the next change, or the end of the run
  size_t fault_count; // 0: sound
  struct phase_fault faults[PHASES_FAULT_MAX];
};

/* Cuts the scenario; returns how many phases there are, at least one. In order of time; where there are more than
 * PHASES_MAX the later ones are left out. */
size_t phases_find(const struct scenario *scenario, struct phase phases[PHASES_MAX]);

/* Whether all faults of `small` are in `large` at the same values, and `large` has more. */
bool phases_within(const struct phase *small, const struct phase *large);

/* Whether the phase has this condition away from its sound value. */
bool phases_have(const struct phase *phase, const char *key);

/* The same at this value. */
bool phases_have_at(const struct phase *phase, const struct phase_fault *fault);

#endif
