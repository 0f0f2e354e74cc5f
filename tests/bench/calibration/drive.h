/* A simulated car is driven through all that can be read on it, with the model that runs: settled in, warm idle, air conditioning,
 * in gear, 2500 rpm, key on, and a cold start. Nothing here balances anything; it waits and takes means, as a technician does. */
#ifndef CALIBRATION_DRIVE_H
#define CALIBRATION_DRIVE_H

#include "analysis/estimate/estimate_forward.h"
#include "sim/simulation.h"

/* Means over ten seconds under cycle scatter, and lowest speeds, before any instrument's rounding and flicker. A condition under
 * which the engine stalls, and those that would have come after it, have `runs` false; so have those that the engine has not.
 * z: the car and the day; cold_c: before the cold start, all through. Errors: memory, solver. */
MUST_CHECK enum status drive_car(const struct engine *nominal, const double *z, const struct estimate_fault *fault, double cold_c,
                                 uint64_t seed, struct estimate_point points[ESTIMATE_CONDITION_COUNT], struct error *error);

#endif
