/* What to expect after the bore has been cleaned, with the learned offset still what it was and when it has been relearned. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_AFTER_H
#define ANALYSIS_ESTIMATE_ESTIMATE_AFTER_H

#include "analysis/estimate/estimate.h"

struct estimate_range {
  double middle, low, high; // ESTIMATE_INTERVAL of what an instrument would read
};

struct estimate_after_reading {
  enum estimate_quantity quantity;
  enum estimate_condition condition;
  struct estimate_range now, stale, relearned; // before the clean; cleaned; cleaned and relearned
};

enum { ESTIMATE_AFTER_MAX = 24 };

struct estimate_after {
  bool applies; // false: no film worth telling; nothing below is set
  size_t count;
  struct estimate_after_reading readings[ESTIMATE_AFTER_MAX];
  double relearn_s;        // until the speed is on target and the learned offset at rest, idling; NaN: not within an hour
  double learned_now_pct;  // what the computer has learned
  double cure_probability; // that it then idles on its target, no other cause standing in the way
};

MUST_CHECK enum status estimate_after(const struct estimate *estimate, struct estimate_after *after, struct error *error);

#endif
