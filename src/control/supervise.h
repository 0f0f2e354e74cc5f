/* Watches everything that has a fault code, and decides on limp-home. */
#ifndef CONTROL_SUPERVISE_H
#define CONTROL_SUPERVISE_H

#include "control/computer.h"

/* Forms the measures of this tick, runs the monitors and takes the consequences. */
void supervise_tick(const struct computer_design *design, const struct computer_sensors *sensors,
                    struct computer_state *state);

#endif
