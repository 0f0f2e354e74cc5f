/* What is asked of a settled point. */
#ifndef ANALYSIS_SETTLE_SETTLE_QUERY_H
#define ANALYSIS_SETTLE_SETTLE_QUERY_H

#include "car/conditions.h"

/* What the learned offset is taken to be. */
enum settle_learning {
  SETTLE_LEARNED, // where long use brings it: the controller's own effort is nil inside its limits
  SETTLE_STALE,   // a given value; the controller does what it can on top
};

/* What is asked. */
struct settle_query {
  struct conditions conditions;
  enum settle_learning learning;
  double learned_ratio;             // SETTLE_STALE: the offset; share of base air
  double long_trim[PLANT_BANK_MAX]; // long-term trims where none are learned, cold or open loop: what was kept; share of fuel
  double stop_kept_ratio; // share of a shifted track that the computer has not learned as its new stop; 0: all is learned
  bool engine_off;        // key on, engine standing
  bool all_balances;      // look for all of a point's branches, which takes longer; else the first one is all there is
};

void settle_query_init(struct settle_query *query);
#endif
