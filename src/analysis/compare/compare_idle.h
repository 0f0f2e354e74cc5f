/* Where a log idles warm with nothing switched on, where no column says what is switched on.
 *
 * Stretches at idle speed are cut where air, load or pressure steps and stays: a compressor asks for some 15 to 50 % more air than idle, and
 * no data name of SAE J1979 says that it runs. Of the pieces the longest of those with the least air is idle. */
#ifndef ANALYSIS_COMPARE_COMPARE_IDLE_H
#define ANALYSIS_COMPARE_COMPARE_IDLE_H

#include "base/attributes.h"
#include "sim/recording.h"

#include <stdbool.h>

struct compare_idle_piece {
  double from_s, to_s;
  double air; // mean of what air is told by; NAN where nothing does
};

struct compare_idle {
  enum channel channel; // what tells air: air flow, load or pressure
  bool told;            // some channel does
  struct compare_idle_piece best;
};

void compare_idle_begin(const struct recording *log, struct compare_idle *idle);

/* A stretch at idle speed: cut, and held against the best so far. One that is cut into nothing but scraps counts whole. */
void compare_idle_offer(const struct recording *log, double from_s, double to_s, struct compare_idle *idle);

#endif
