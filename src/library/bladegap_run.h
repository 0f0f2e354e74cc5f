/* What is behind a bladegap_run. */
#ifndef LIBRARY_BLADEGAP_RUN_H
#define LIBRARY_BLADEGAP_RUN_H

#include "library/bladegap.h"
#include "library/edge.h"
#include "sim/recording.h"
#include "sim/simulation.h"

struct bladegap_run {
  struct engine *engine;    // what the simulation works with; owned
  struct scenario scenario; // how it began; no timeline
  struct simulation *sim;   // owned
  struct recording events;  // no rows
  struct scenario record;   // what was done
  const char *unrecorded;   // what a record cannot say; NULL: nothing
};

/* A number that tells what has been done. */
uint64_t bladegap_run_digest(const bladegap_run *run);

/* Begins: run->engine and run->scenario are set. learned_ratio: NaN for what long use brings. */
MUST_CHECK enum status bladegap_run_begin(bladegap_run *run, double learned_ratio, struct error *error);

/* An empty one; NULL and a text if there is no memory. */
bladegap_run *bladegap_run_allocate(struct edge edge);

/* Whether it can be acted on; else the code of the text. */
int bladegap_run_ready(const bladegap_run *run, struct edge edge);

#endif
