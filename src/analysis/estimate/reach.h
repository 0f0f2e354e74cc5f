/* What an engine can show: the reach of every reading over all that can be wrong with it, and where it usually lies.
 *
 *   reach   = least to most of the nominal car's readings over every cause, from its least to its most severe, and two that
 *             come together if pairs are asked about; widened on both sides by REACH_SPREADS standard deviations and
 *             REACH_SHARE of its width, as other cars bear a fault with which the nominal one stalls
 *   usual   = the same with nothing wrong or a film, not widened
 *   spread  = standard deviation of a good car's reading: cars, days, rounding and flicker; of what the deviations do to it,
 *             linear, at the nominal car
 *
 * A reading out of reach is more likely a slip of the pen or of the unit than anything an engine did. */
#ifndef ANALYSIS_ESTIMATE_REACH_H
#define ANALYSIS_ESTIMATE_REACH_H

#include "analysis/estimate/estimate_forward.h"
#include "analysis/estimate/estimate_reading.h"
#include "base/for_each.h"

/* So wide that hardly a car of the model is turned away (bench_readings --doubts), and narrow against a slip of units, which is a
 * factor of two at least. */
#define REACH_SPREADS 6.0
#define REACH_SHARE   0.25

struct reach_row {
  double low, high;             // reach; low > high if no cause lets the engine run there
  double usual_low, usual_high; // usual range
  double spread;
};

struct reach {
  struct reach_row rows[ESTIMATE_READING_MAX]; // one for each reading
};

/* STATUS_NO_MEMORY; STATUS_BAD_DATA if the nominal car does not run on that day with nothing wrong. */
MUST_CHECK enum status reach_find(const struct engine *engine, const struct estimate_setting *setting,
                                  const struct estimate_readings *readings, bool pairs, const struct for_each *for_each,
                                  struct reach *reach, struct error *error);

bool reach_holds(const struct reach_row *row, double value);

/* How many spreads a value lies outside the usual range; 0 within. */
double reach_off(const struct reach_row *row, double value);

#endif
