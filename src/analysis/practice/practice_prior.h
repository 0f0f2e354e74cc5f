/* How the cases of a level are drawn: what may be wrong, how often, how badly, and how far the cars differ. Both who draws a case and
 * who looks for its best plan go by this.
 *
 *   1  one cause, and severe
 *   2  a film, or something that reads like one
 *   3  one cause, two (one of them a film), none, or a car that is otherwise than its file; also slight, and cars differ more
 *
 * Which causes read like a film is worked out on the nominal engine: at the middle of its range the cause moves the idle's air, the
 * blade or the speed to the side to which a film moves it. How often each stands behind a complaint is in cause_prior(). */
#ifndef ANALYSIS_PRACTICE_PRACTICE_PRIOR_H
#define ANALYSIS_PRACTICE_PRACTICE_PRIOR_H

#include "analysis/estimate/estimate_forward.h"

enum { PRACTICE_LEVEL_LEAST = 1, PRACTICE_LEVEL_MOST = 3 };

struct practice_level_row {
  const char *text;
  double film, nothing, pair; // share of cases; film: 0: as often as cause_prior() says
  bool mimics, odd_cars;
  double share_least, share_most; // of a cause's range
  double spread;                  // cars differ so many times as much as the engine's scatter says
};

/* The row of a level. */
const struct practice_level_row *practice_prior_level(int level);

struct practice_prior {
  const struct practice_level_row *level;
  double single[CAUSE_COUNT]; // probability of each alone; of CAUSE_nothing, that nothing is wrong
  double pair[CAUSE_COUNT];   // of a film and this; sums with the others to 1
};

void practice_prior_find(const struct engine *engine, int level, struct estimate_forward *forward, struct practice_prior *prior);

#endif
