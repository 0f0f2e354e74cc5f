/* Misfires, from how the crank turns: a firing that brings nothing lets it fall back for one firing interval, which a loop that hunts,
 * a load or a slow change does not.
 *
 * Every tick looks at the firing interval in the middle of one engine cycle that lies behind it, t_f = 4 pi/(cylinders w):
 *
 *      t - t_c                                              t          t_c = cylinders t_f
 *      |-------------------|#########|-------------------|
 *                               t_f
 *
 *   missing = ( (w(t) - w(t - t_c))/cylinders - gain over t_f ) J / ( T t_f (1 - 1/cylinders) )
 *
 * that is, how far the crank's gain of speed over the interval stays behind the cycle's mean, over what it would lose if one firing did no
 * work at all: T, the indicated torque that fuel and spark should give. A trend, and what bends as slowly as a hunting idle, falls
 * out, the interval being centred. Misfire monitors judge segment times of the crank wheel in this way (common practice, no source).
 *
 * Limits. Speed is known every 10 ms only, with straight lines between: firings closer together than two ticks (four cylinders above
 * 1500 rpm, six above 1000) are not judged, and the last judgement stands. Which cylinder it was is not known, since a tick is
 * not tied to the crank's angle; a dead cylinder reads 0.7 to 0.95 and not 1. */
#ifndef CONTROL_MISFIRE_H
#define CONTROL_MISFIRE_H

#include "control/computer_state.h"

/* Takes the speed of this tick and moves state->misfire.ratio, the share of firings that misfired of late. */
void misfire_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state);

#endif
