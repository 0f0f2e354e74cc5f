/* What explain.h tells of a run. */
#ifndef ANALYSIS_RUN_EXPLANATION_H
#define ANALYSIS_RUN_EXPLANATION_H

#include "analysis/run/claim.h"
#include "analysis/run/story.h"

enum {
  EXPLAIN_CLAIM_MAX = 96,
  EXPLAIN_HEADLINE_MAX = 2,
  EXPLAIN_CHAIN_MAX = 5,
  EXPLAIN_SURPRISE_MAX = 3,
  EXPLAIN_LINK_NUMBERS = 3, // printed in a link of the chain
  EXPLAIN_CODE_SHOWN = 5,   // codes of this weight are read first, others only with all the rest
  EXPLAIN_MOMENT_MAX = 12,
  EXPLAIN_LABEL_SIZE = 40
};

/* A stretch that the sentences compare, for the table of readings. */
struct explain_moment {
  char label[EXPLAIN_LABEL_SIZE];
  struct story_moment moment;
};

struct explanation {
  size_t count;
  struct claim claims[EXPLAIN_CLAIM_MAX]; // in the order they are read; a place more than there can be
  size_t moment_count;                    // of faults and of the engine held off idle; those of the film are in the story
  struct explain_moment moments[EXPLAIN_MOMENT_MAX];
};

#endif
