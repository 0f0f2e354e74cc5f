/* From effects to a verdict, its reasons, and what to do next. */
#ifndef ANALYSIS_COMPARE_COMPARE_VERDICT_H
#define ANALYSIS_COMPARE_COMPARE_VERDICT_H

#include "analysis/compare/compare.h"

/* Sets all of the result but its effects, which are there. */
void compare_verdict(const struct compare_side *before, const struct compare_side *after, const struct compare_model *model,
                     struct compare_result *result);

#endif
