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

#include "analysis/run/explanation.h"
#include "car/engine.h"
#include "sim/simulation.h"

/* sim: after the run, for what its monitors have seen. */
void explain_run(const struct simulation *sim, const struct recording *recording, const struct story *story,
                 struct explanation *explanation);

#endif
