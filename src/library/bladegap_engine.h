/* What is behind a bladegap_engine. */
#ifndef LIBRARY_BLADEGAP_ENGINE_H
#define LIBRARY_BLADEGAP_ENGINE_H

#include "analysis/settle/settle.h"
#include "car/engine.h"
#include "library/bladegap.h"
#include "library/edge.h"

struct bladegap_engine {
  struct engine engine;
  struct settle_query query; // conditions, learned offset, engine off
  bool place_told;           // altitude_m, ambient_kpa or its scatter was set: an estimate then knows where the car stands
};

/* Whether it can be used: not NULL, no contradictions. STATUS_OK, or the status that was told. */
int bladegap_engine_ready(const bladegap_engine *engine, struct edge edge);

#endif
