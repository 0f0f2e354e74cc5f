/* Whether the baseline may be what it is called: readings of the car when it was good. Asked before an estimate, as a bad one that is
 * given as good misleads all that follows. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_BASELINE_H
#define ANALYSIS_ESTIMATE_ESTIMATE_BASELINE_H

#include "analysis/estimate/estimate.h"

/* STATUS_NO if the baseline fits no good car, by ESTIMATE_P_VALUE_LEAST, while the readings of now do: then the two were likely
 * swapped. STATUS_NO_MEMORY. Without a baseline there is nothing to ask. */
MUST_CHECK enum status estimate_baseline_check(const struct estimate_question *question, struct error *error);

#endif
