/* What an engine can show: the plausible range of every reading over all that can be wrong with it, and where it usually lies.
 *
 *   range   = least to most of the nominal car's readings over every cause, from its least to its most severe, and two that
 *             come together if pairs are asked about; widened on both sides by PLAUSIBLE_SPREADS standard deviations and
 *             PLAUSIBLE_SHARE of its width, as other cars bear a fault with which the nominal one stalls, and by what something
 *             that is not listed does as a rule (estimate_unlisted.h)
 *   usual   = the same with nothing wrong or a film, not widened
 *   spread  = standard deviation of a good car's reading: cars, days, rounding and flicker; of what the deviations do to it,
 *             linear, at the nominal car
 *
 * A reading out of its plausible range is more likely a slip of the pen or of the unit than anything an engine did. */
#ifndef ANALYSIS_ESTIMATE_PLAUSIBLE_H
#define ANALYSIS_ESTIMATE_PLAUSIBLE_H

#include "analysis/estimate/estimate_forward.h"
#include "analysis/estimate/estimate_reading.h"
#include "base/for_each.h"

/* So wide that hardly a car of the model is turned away (bench_readings --check), and narrow against a slip of units, which is a
 * factor of two at least. */
#define PLAUSIBLE_SPREADS 6.0
#define PLAUSIBLE_SHARE   0.25

struct plausible_range {
  double low, high;             // plausible range; low > high if no cause lets the engine run there
  double usual_low, usual_high; // usual range
  double good;                  // of the nominal car
  double spread;
};

struct plausible_ranges {
  struct plausible_range rows[ESTIMATE_READING_MAX]; // one for each reading
};

/* STATUS_NO_MEMORY; STATUS_BAD_DATA if the nominal car does not run on that day with nothing wrong. */
MUST_CHECK enum status plausible_find(const struct engine *engine, const struct estimate_setting *setting,
                                      const struct estimate_readings *readings, bool pairs, const struct for_each *for_each,
                                      struct plausible_ranges *ranges, struct error *error);

bool plausible_holds(const struct plausible_range *row, double value);

/* How many spreads a value lies outside the usual range; 0 within. */
double plausible_off(const struct plausible_range *row, double value);

#endif
