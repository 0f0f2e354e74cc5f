/* Why a run went as it did: a chain of sentences in numbers of that very run.
 *
 *   area lost at the clean blade angle -> what the controller added -> what was left over -> speed and steadiness
 *   -> which code, when, and what kept the others quiet -> what the clean changed
 *
 * A link that did not happen is not in the chain. */
#ifndef ANALYSIS_EXPLAIN_H
#define ANALYSIS_EXPLAIN_H

#include "analysis/story.h"
#include "sim/engine.h"
#include "sim/simulation.h"

enum { EXPLAIN_SENTENCE_MAX = 40, EXPLAIN_TEXT_SIZE = 500 };

struct explanation {
  size_t count;
  char text[EXPLAIN_SENTENCE_MAX][EXPLAIN_TEXT_SIZE];
};

/* sim: after the run, for what its monitors have seen. */
void explain_run(const struct simulation *sim, const struct recording *recording, const struct story *story,
                 struct explanation *explanation);

#endif
