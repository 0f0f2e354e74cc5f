/* Cars are drawn, driven and put before the estimate. */
#ifndef CALIBRATION_JUDGE_H
#define CALIBRATION_JUDGE_H

#include "base/error.h"
#include "base/for_each.h"
#include "car/engine.h"

#include <stdint.h>
#include <stdio.h>

struct judge_order {
  const struct engine *engine;
  size_t first, count; // cars by number
  uint64_t seed;
};

/* Prints results as CSV, some cars at a time as they are done, what happened on the way on stderr. The same numbers with any number
 * of workers, but for the CPU time. */
MUST_CHECK enum status judge_cars(const struct judge_order *order, const struct for_each *for_each, FILE *stream,
                                  struct error *error);

#endif
