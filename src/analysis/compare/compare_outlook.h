/* What the film that the readings before imply lets expect of the readings after, and whether it came. */
#ifndef ANALYSIS_COMPARE_COMPARE_OUTLOOK_H
#define ANALYSIS_COMPARE_COMPARE_OUTLOOK_H

#include "analysis/compare/compare.h"

enum compare_outlook_answer {
  COMPARE_OUTLOOK_NONE,  // no film was implied, or nothing to hold against it
  COMPARE_OUTLOOK_MET,   // all of what the film took came back, as far as that can be told
  COMPARE_OUTLOOK_SHORT, // less came back
};

/* stale: the car has not relearned. Fills `expected` and `won` of the result and adds what it says. */
enum compare_outlook_answer compare_outlook_hold(const struct compare_model *model, bool stale, struct compare_result *result);

/* What is expected of a reading at warm idle; NULL where nothing is. */
const struct estimate_after_reading *compare_outlook_find(const struct compare_model *model, enum estimate_quantity quantity);

#endif
