/* What the symptoms say, in sentences whose values stand in the JSON report. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_SYMPTOMS_WORDS_H
#define ANALYSIS_ESTIMATE_ESTIMATE_SYMPTOMS_WORDS_H

#include "analysis/estimate/estimate_compare.h"

/* Appends them: each stored code with how often it sets with the leading cause and with nothing wrong, a code that is not there and should be,
 * freeze frame, complaint, and what was left out. Where nothing explains the readings, only the last. */
void estimate_symptoms_words(const struct estimate *estimate, struct estimate_why *why);

/* Whether a code is told of: it is stored, or it is known not to be and a cause that is likely enough would set it. */
bool estimate_symptoms_words_tells(const struct estimate *estimate, enum monitor_code code);

/* Whether any likely cause lets expect the complaint: else it is the same for all. */
bool estimate_symptoms_words_felt(const struct estimate *estimate);

/* By how much the frame makes this hypothesis likelier than nothing wrong. */
double estimate_symptoms_words_frame_factor(const struct estimate *estimate, size_t hypothesis);

#endif
