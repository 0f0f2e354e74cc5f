/* What an estimate comes to, in four statements: what it is, how sure that is, what to do next, what to expect after. Each is true
 * of the readings given; what they do not tell is said to be not told. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_BRIEF_H
#define ANALYSIS_ESTIMATE_ESTIMATE_BRIEF_H

#include "analysis/estimate/estimate_findings.h"

struct estimate_brief {
  struct estimate_claim what, sure, next, after;
  unsigned cautions; // bits of enum caution: for what `next` sends somebody to do; they stand before it
};

void estimate_brief(const struct estimate_findings *findings, struct estimate_brief *brief);

#endif
