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
};

/* Whether it can be acted on; else the code of the text. */
int bladegap_run_ready(const bladegap_run *run, struct edge edge);

#endif
