/* The idle-speed controller: target, air and spark of one tick. Equations: computer.h. */
#ifndef CONTROL_IDLE_H
#define CONTROL_IDLE_H

#include "control/computer_state.h"

/* Sets target, effort, learned offset, idle_blade_rad and spark in the state. */
void idle_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state);

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
