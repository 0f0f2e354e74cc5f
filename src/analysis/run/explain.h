/* Why a run went as it did: a chain of sentences in numbers of that very run.
 *
 *   how it started -> area lost, what the controller added, what was left over (film) -> what else was wrong: air, mixture,
 *   idle control, spark, speed -> loads and stalls -> what the clean changed -> which code, when, and what kept others quiet
 *
 * A link that did not happen is not in the chain. Each theme has a file explain_THEME.c. */
#ifndef ANALYSIS_RUN_EXPLAIN_H
#define ANALYSIS_RUN_EXPLAIN_H

#include "analysis/run/story.h"
#include "car/engine.h"
#include "sim/simulation.h"

enum { EXPLAIN_SENTENCE_MAX = 48, EXPLAIN_TEXT_SIZE = 500, EXPLAIN_MOMENT_MAX = 12, EXPLAIN_LABEL_SIZE = 40 };

/* A stretch that the sentences compare, for the table of readings. */
struct explain_moment {
  char label[EXPLAIN_LABEL_SIZE];
  struct story_moment moment;
};

struct explanation {
  size_t count;
  char text[EXPLAIN_SENTENCE_MAX][EXPLAIN_TEXT_SIZE];
  size_t moment_count; // of faults and of the engine held off idle; those of the film are in the story
  struct explain_moment moments[EXPLAIN_MOMENT_MAX];
};

/* sim: after the run, for what its monitors have seen. */
void explain_run(const struct simulation *sim, const struct recording *recording, const struct story *story,
                 struct explanation *explanation);

#endif
