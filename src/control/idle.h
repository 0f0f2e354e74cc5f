/* The idle-speed controller: target, air and spark of one tick. Equations: computer.h. */
#ifndef CONTROL_IDLE_H
#define CONTROL_IDLE_H

#include "control/computer.h"

/* Sets target, effort, learned offset, idle_blade_rad and spark in the state. */
void idle_tick(const struct computer_design *design, const struct computer_sensors *sensors,
               struct computer_state *state);

#endif
