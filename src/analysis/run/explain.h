/* What a run shows, told for its reader: sentences each of which is a claim checked on that very run (analysis/run/claim.h).
 *
 *   headline   one or two: the scenario's question answered in numbers
 *   chain      at most five links in order of time, at most three numbers each
 *   surprise   at most three: what a class does not expect
 *   code       which codes were set, when, and why others were not
 *   more       everything else
 *
 * A link that did not happen is not told. Each theme has a file explain_THEME.c; what wants a place in the first three parts and finds none
 * goes to the last. */
#ifndef ANALYSIS_RUN_EXPLAIN_H
#define ANALYSIS_RUN_EXPLAIN_H

#include "analysis/run/claim.h"
#include "analysis/run/story.h"
#include "car/engine.h"
#include "sim/simulation.h"

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

/* sim: after the run, for what its monitors have seen. */
void explain_run(const struct simulation *sim, const struct recording *recording, const struct story *story,
                 struct explanation *explanation);

#endif
