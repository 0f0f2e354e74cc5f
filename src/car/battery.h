/* Battery at rest, charging and cranking, in its simplest form. */
#ifndef CAR_BATTERY_H
#define CAR_BATTERY_H

#include <stdbool.h>

/* Terminal voltage: 14 V while the alternator gives all (share 1), the rest voltage without it, two volts less while the
 * starter pulls. Common practice, no source. */
double battery_terminal_v(double rest_v, double alternator_share, bool starter);

/* Strength of the starter: 1 with a full battery, falling to nothing where the solenoid no longer holds. */
double battery_starter_ratio(double rest_v);

#endif
