/* From two moments of a car to what changed, and whether it was repaired. */
#ifndef ANALYSIS_COMPARE_COMPARE_JUDGE_H
#define ANALYSIS_COMPARE_COMPARE_JUDGE_H

#include "analysis/compare/compare.h"

/* Judges; model may be NULL. Nothing can fail: what is missing makes the verdict not_told, and is said. */
void compare_judge(const struct compare_side *before, const struct compare_side *after, const struct compare_model *model,
                   struct compare_result *result);

#endif
