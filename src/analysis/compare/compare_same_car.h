/* Whether two moments are of one car. */
#ifndef ANALYSIS_COMPARE_COMPARE_SAME_CAR_H
#define ANALYSIS_COMPARE_COMPARE_SAME_CAR_H

#include "analysis/compare/compare.h"

/* From the effects of the result, which are there; what speaks against it is said among its reasons. One sign alone is said and no more:
 * two, or one that no repair can bring, mean another car. */
bool compare_same_car(const struct compare_side *before, const struct compare_side *after, struct compare_result *result);

#endif
