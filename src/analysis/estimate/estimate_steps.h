/* Every step that could be taken now, by what it comes to: mend, look and then decide, search by hand, hand back; and the one to take.
 *
 * The one to take is that of least expected cost; but where that would clean or buy something, the look that confirms it comes first:
 * of those that find its cause the one of least expected cost. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_STEPS_H
#define ANALYSIS_ESTIMATE_ESTIMATE_STEPS_H

#include "analysis/estimate/estimate_next.h"

enum estimate_step_kind { ESTIMATE_STEP_BACK, ESTIMATE_STEP_SEARCH, ESTIMATE_STEP_MEND, ESTIMATE_STEP_LOOK };

struct estimate_step {
  enum estimate_step_kind kind;
  char name[ESTIMATE_NAME_SIZE], text[ESTIMATE_NEXT_TEXT_SIZE];
  double cost;       // all that it comes to, expected, money
  double own;        // of the step itself
  double minutes;    // of a look
  unsigned cautions; // of a look: bits of enum caution
  size_t action;     // of struct estimate_decide; looks have none
};

enum { ESTIMATE_STEP_MAX = ESTIMATE_DECIDE_ACTION_MAX + ESTIMATE_NEXT_MAX };

struct estimate_steps {
  size_t count;
  struct estimate_step steps[ESTIMATE_STEP_MAX]; // least cost first
  struct estimate_step chosen;
  bool confirms;                      // chosen is a look before the first of the steps, which mends
  char mend[ESTIMATE_NEXT_TEXT_SIZE]; // what that would do
};

void estimate_steps_init(struct estimate_steps *steps, const struct estimate *estimate, const struct estimate_decide *decide,
                         const struct estimate_next *next);

#endif
