/* Watches everything that has a fault code, and decides on limp-home. */
#ifndef CONTROL_SUPERVISE_H
#define CONTROL_SUPERVISE_H

#include "base/units.h"
#include "control/computer_state.h"

// Limp-home with the drive off: fuel is cut above the one speed, until it has fallen to the other. Our own choice within common
// practice, no source.
#define SUPERVISE_LIMP_SPEED_RAD_S  (1800.0 * UNITS_RAD_S_PER_RPM)
#define SUPERVISE_LIMP_RESUME_RAD_S (1600.0 * UNITS_RAD_S_PER_RPM)

/* Forms the measures of this tick, runs the monitors and takes the consequences. */
void supervise_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state);

#endif
