/* The idle-speed controller: target, air and spark of one tick. Equations: computer.h. */
#ifndef CONTROL_IDLE_H
#define CONTROL_IDLE_H

#include "control/computer_state.h"

/* Sets target, effort, learned offset, idle_blade_rad and spark in the state. */
void idle_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state);

/* True while idle control has the engine: pedal released as far as it can tell, and a drive to work with. */
bool idle_in_control(const struct computer_design *design, const struct computer_state *state);

/* Least and most that effort and learned offset come to together, share of base air; kept_ratio: the learned offset where nothing
 * is learned, NaN where it is. */
void idle_limits(const struct computer_params *params, double kept_ratio, double *low, double *high);

/* Where idle control has the actuator when it has long added so much in all, share of base air, at the state's target. Steps of a bypass
 * valve are not rounded: it swings between two, and their mean is what the engine feels. */
void idle_rest(const struct computer_design *design, const struct computer_sensors *sensors, double added_ratio,
               struct computer_state *state);

/* How effort and learned offset share what is added once nothing moves any more: all of it learned, as far as that goes.
 * kept_ratio: as above. */
void idle_learned_rest(const struct computer_params *params, double added_ratio, double kept_ratio, struct computer_state *state);

/* Its parts, without memory: what a settled idle follows too. */

/* Speed aimed at. Cold raises it, gear lowers the warm one, the compressor holds it up. */
double idle_target_rad_s(const struct computer_design *design, const struct computer_sensors *sensors);

/* All the air asked for: what a new engine would need at this target with these loads, and base air times added_ratio
 * (effort, learned offset, extra after the start). */
double idle_air_kg_s(const struct computer_design *design, const struct computer_sensors *sensors, double target_rad_s,
                     double added_ratio);

/* Spark aimed at; error: target less speed. Never beyond best spark. */
double idle_spark_goal_rad(const struct computer_design *design, double speed_rad_s, double error_rad_s, bool idling);

/* True while effort and learned offset stand at their limits on the same side. */
bool idle_at_limit(const struct computer_design *design, const struct computer_state *state);

#endif
