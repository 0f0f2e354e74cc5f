/* Each reading of the model that runs against what the estimate's forward model expects of the same car. */
#ifndef CALIBRATION_COMPARE_H
#define CALIBRATION_COMPARE_H

#include "base/error.h"
#include "base/for_each.h"
#include "car/engine.h"

#include <stdint.h>

/* Prints tables of Markdown: differences in standard deviations of the reading, over many cars or of one. */
MUST_CHECK enum status compare_print(const struct engine *engine, size_t car_count, uint64_t seed,
                                     const struct for_each *for_each, struct error *error);
MUST_CHECK enum status compare_print_car(const struct engine *engine, size_t number, uint64_t seed, struct error *error);

#endif
