/* From two lists of readings to what each did, and how sure that is. */
#ifndef ANALYSIS_COMPARE_COMPARE_EFFECTS_H
#define ANALYSIS_COMPARE_COMPARE_EFFECTS_H

#include "analysis/compare/compare.h"
#include "analysis/compare/compare_rows.h"

/* Of a 90 % interval, and of a change that chance alone brings once in 200 at a single reading. */
#define COMPARE_EFFECTS_90      1.645
#define COMPARE_EFFECTS_CERTAIN 2.6

/* Where a side has a reading: its value, else NAN. Short- and long-term trim, learned and momentary idle air also as sums. */
double compare_effects_value(const struct compare_side *side, enum estimate_condition condition, enum estimate_quantity quantity);

/* What the two sides' conditions differ by: coolant and intake air at warm idle, barometer with the key on. */
struct compare_unlike compare_effects_unlike(const struct compare_side *before, const struct compare_side *after);

/* Sets effects of the result, and what it says of unequal conditions. */
void compare_effects(const struct compare_side *before, const struct compare_side *after, const struct compare_model *model,
                     struct compare_result *result);

/* Adds a sentence; those that no longer fit are left out. */
void compare_effects_say(struct compare_words *words, const char *format, ...) PRINTF_LIKE(2, 3);

#endif
