/* Where the car stands, if nobody says: the pressure of the air is an unknown then, as wide as people live high.
 *
 * Half of all people live below 194 m, a third below 100 m (J. E. Cohen, C. Small, PNAS 95 (1998) 14009); one in fifteen above 1500 m, one
 * in a hundred above 2500 m (J. C. Tremblay, P. N. Ainslie, PNAS 118 (2021) e2102463118); cited from memory. With an exponential between
 * these points the mean is 450 m and the standard deviation 570 m, which is 6.5 kPa in the standard atmosphere. The normal distribution that
 * stands for it has too much below the sea and too little above 2500 m. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_PLACE_H
#define ANALYSIS_ESTIMATE_ESTIMATE_PLACE_H

#include "car/scatter.h"

#include <stdbool.h>

#define ESTIMATE_PLACE_ALTITUDE_M 450.0
#define ESTIMATE_PLACE_SD_PA      6500.0

/* Takes the altitude as not told: the mean of where people live, and the scatter of the air's pressure as wide as that and the weather. */
void estimate_place_unknown(struct engine *engine, struct conditions *conditions);

/* Whether a setting, NAME or NAME=VALUE, says where the car stands, or how far the pressure of the air may be off. */
bool estimate_place_tells(const char *setting);

/* How far a deviation of another day is the same today, a correlation: 1 for the car's own, 0 for the day's; between for the
 * air's pressure, as a car mostly stands where it stood and only the weather changes. */
double estimate_place_lasts(const struct engine *engine, enum scatter scatter);

#endif
