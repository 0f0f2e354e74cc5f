/* What passes between world, plant and computer at a tick: sensors to the computer, inputs to the plant, channels to the
 * recording. A settled point is formed by the same functions as a run (analysis/settle/settle.c). */
#ifndef SIM_EXCHANGE_H
#define SIM_EXCHANGE_H

#include "sim/channels.h"
#include "sim/vehicle.h"

/* Everything the computer reads, from the state and the conditions of now. */
struct computer_sensors exchange_sensors(struct vehicle *vehicle);

/* Sets vehicle->inputs from the computer's outputs and the conditions, and lets go what need not be held. */
void exchange_hold(struct vehicle *vehicle);

/* What long use would have taught the computer of its closed stop: the tracks' readings there, where it would believe them. */
void exchange_learn_closed(struct vehicle *vehicle);

/* All channels of a moment; roughness is the unsteadiness of speed to report. */
void exchange_sample(const struct vehicle *vehicle, double time_s, double roughness_rad_s, double values[CHANNEL_COUNT]);

#endif
