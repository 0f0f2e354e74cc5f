/* A car drawn from what an estimate takes for granted before it reads anything: which cause stands behind the complaint, how
 * severe it is, how the car differs from the nominal one, today and on the day when it was known good.
 *
 * Its readings are off by the model's errors too (estimate_discrepancy.h). Every number is a function of seed and car number, whoever draws it and in whatever order. */
#ifndef ANALYSIS_ESTIMATE_DRAWN_CAR_H
#define ANALYSIS_ESTIMATE_DRAWN_CAR_H

#include <stdint.h>

#include "analysis/estimate/estimate_forward.h"

struct drawn_car {
  uint64_t seed, key; // of its random numbers
  enum cause cause;
  double share;                 // of the cause's range
  struct estimate_fault fault;  // count 0 where nothing is wrong
  double z[SCATTER_COUNT];      // today
  double z_then[SCATTER_COUNT]; // when it was good: the same car, another day
  double cold_c, cold_then_c;   // all through, before the cold start
};

enum { DRAWN_CAR_ATTEMPT_MAX = 32 };

/* attempt: 0, or one more than the last if that car did not run; below DRAWN_CAR_ATTEMPT_MAX. */
void drawn_car_draw(const struct engine *engine, uint64_t seed, uint64_t number, uint64_t attempt, struct drawn_car *car);

/* What its condition is then: a fault today, none when it was good. */
extern const struct estimate_fault drawn_car_good;

/* Adds what stands on the instrument at a point: flicker of the size that the estimate takes it for, rounded to the instrument's
 * resolution; none where the engine has no such quantity. `then`: on the day when it was good. spread: standard deviation of
 * what flickers in the value already. */
void drawn_car_add_reading(const struct drawn_car *car, enum estimate_quantity quantity, enum estimate_condition condition,
                           bool then, const struct estimate_point *point, double spread, struct estimate_readings *readings);

#endif
