/* What passes between world, plant and computer at a tick: sensors to the computer, inputs to the plant, channels to the
 * recording. A settled point is formed by the same functions as a run (analysis/settle/settle_balance.c). */
#ifndef SIM_EXCHANGE_H
#define SIM_EXCHANGE_H

#include "sim/channels.h"
#include "sim/vehicle.h"

/* Everything the computer reads, from the state and the conditions of now. */
struct computer_sensors exchange_sensors(struct vehicle *vehicle);

/* Where the idle bypass valve stands: where the computer has put it or, if a coil is dead, half open, as the last key-off has parked it
 * for the next start; common practice, no source. A coil that dies while it runs takes that place too. */
double exchange_bypass_steps(const struct vehicle *vehicle);

/* What the alternator is asked for, W: nothing if it does not charge, for then the battery delivers. */
double exchange_load_w(const struct conditions *conditions);

/* What the alternator delivers now, W. */
double exchange_alternator_w(const struct vehicle *vehicle);

/* Of all that only what is read of speed and air, volts left out; the rest stays. */
void exchange_read_engine(const struct vehicle *vehicle, struct computer_sensors *sensors);

/* Sets vehicle->inputs from the computer's outputs and the conditions, and lets go what need not be held. */
void exchange_hold(struct vehicle *vehicle);

/* The same of a settled engine: nothing scatters, cylinder 1 pushes as in the mean, and nothing is let go that is held. */
void exchange_rest(struct vehicle *vehicle);

/* What the computer makes of its sensors at rest (computer_rest), and blade and bypass valve where they come to rest under its
 * command, which the position sensor's error goes into. The way there begins where the blade stands. Positions are read anew, the
 * rest of `sensors` stands. */
void exchange_blade_rest(struct vehicle *vehicle, struct computer_sensors *sensors);

/* What long use would have taught the computer of its closed stop: the tracks' readings there, where it would believe them, but for a
 * share of what they have shifted by since it learned. */
void exchange_learn_closed(struct vehicle *vehicle, double kept_ratio);

/* All channels of a moment; roughness is the unsteadiness of speed to report. */
void exchange_sample(const struct vehicle *vehicle, double time_s, double roughness_rad_s, double values[CHANNEL_COUNT]);

#endif
