/* Battery at rest, charging and cranking, in its simplest form. */
#ifndef CAR_BATTERY_H
#define CAR_BATTERY_H

#include <stdbool.h>

/* Terminal voltage: what the alternator charges to (14 V on a sound car) while it gives all (share 1), the rest voltage without it or
 * where that is higher, two volts less while the starter pulls. Common practice, no source. */
double battery_terminal_v(double rest_v, double charging_v, double alternator_share, bool starter);

/* Strength of the starter: 1 with a full battery, falling to nothing where the solenoid no longer holds. */
double battery_starter_ratio(double rest_v);

#endif
