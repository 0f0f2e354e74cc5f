/* The engine computer, run once every COMPUTER_PERIOD_S.
 *
 * Idle air is a sum, in shares of the base air of a new engine:
 *
 *   air   = feed-forward(target, loads) + base (effort + learned)
 *   blade = angle at which the *clean* bore passes that air, choked
 *   effort  = P + I on the speed error, clamped, no winding up at a limit
 *   learned = slow integral of the effort: what is steady moves from I into it; bounded; kept with the key off
 *   spark   = base + gain * speed error, between its limits and best spark
 *
 * A cable throttle has the same sum turned into steps of its bypass valve instead, less what passes the blade at rest.
 *
 * A deposit makes the real bore pass less than the clean one. Effort, then the learned offset, make it good, until both
 * stand at their limits. */
#ifndef CONTROL_COMPUTER_H
#define CONTROL_COMPUTER_H

#include "control/computer_state.h"

void computer_design_init(struct computer_design *design, const struct computer_params *params, const struct plant_params *plant);

/* The same with another bore too, whose gaps are integrated when they are asked for: one thread at a time. */
void computer_design_rebase(struct computer_design *design, const struct computer_params *params,
                            const struct plant_params *plant);

/* Another calibration or other metal round the same bore: clean_bore, which takes 0.1 ms, stays. */
void computer_design_change(struct computer_design *design, const struct computer_params *params,
                            const struct plant_params *plant);

void computer_init(struct computer_state *state, const struct computer_design *design);

/* The outputs of a computer whose engine idles: what it would have after a long while with nothing learned. */
void computer_init_running(struct computer_state *state, const struct computer_design *design,
                           const struct computer_sensors *sensors);

void computer_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state);

/* What a computer that has long been in its mode and its limp-home, with nothing changing, makes of its sensors: what it believes of
 * blade, pedal and air-flow sensor, whether it idles, whether the drive is on, and the blade command. idle_blade_rad stands. */
void computer_rest(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state);

/* Scan-tool functions. */
void computer_clear_codes(struct computer_state *state);
void computer_reset_learned(struct computer_state *state);                                     // idle air and fuel trims
void computer_lose_closed(const struct computer_design *design, struct computer_state *state); // closed-stop position

#endif
