/* Blade and pedal position from two tracks each: which to believe, and what the closed stop reads.
 *
 * Each track is a potentiometer on the sensors' 5 V supply; the computer reads volts, knows what closed and open should be, and
 * has learned the closed stop at key-on. Out of range: the other track serves. In range but apart: neither can be told
 * right, both are given up. */
#ifndef CONTROL_POSITION_H
#define CONTROL_POSITION_H

#include "control/computer_state.h"

#define POSITION_SUPPLY_V 5.0 // sensor supply; common practice, no source
#define POSITION_LOW_V    0.2 // below: circuit low; common practice, no source
#define POSITION_HIGH_V   4.8 // above: circuit high; common practice, no source

#define POSITION_CLOSED_WINDOW_V 0.15 // a closed stop further from its design value is not believed; common practice, no source
#define POSITION_REST_LOOK_S     0.3  // the drive stays off so long after key-on: the springs show where they leave the blade

/* Reads both pairs: sets blade_seen_rad, pedal_seen_ratio, track differences and validity in the state. */
void position_read(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state);

/* Learning of the closed stop in the first moments of key-on. True while it drives the blade against the stop. */
bool position_learn_tick(const struct computer_design *design, const struct computer_sensors *sensors,
                         struct computer_state *state);

#endif
