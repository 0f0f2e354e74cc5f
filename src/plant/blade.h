/* Movement of the throttle blade: by its electric drive, by an ideal position loop, or by the pedal's cable. */
#ifndef PLANT_BLADE_H
#define PLANT_BLADE_H

#include "plant/events.h"
#include "plant/inputs.h"
#include "plant/plant_params.h"
#include "plant/state.h"

/* True if the engine file describes the drive's electrics. */
static inline bool blade_has_drive(const struct plant_params *params) { return params->drive.gear_ratio > 0.0; }

/* Voltage on the motor; 0 while the drive has no power. */
double blade_motor_v(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state);

double blade_motor_a(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state);

void blade_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                 struct plant_state *rates);

/* False while springs, friction and a hand have the blade: no supply, or the motor interrupted. */
bool blade_is_driven(const struct plant_inputs *inputs);

/* Where a driven blade comes to rest under these inputs, its rate and the loop's integral part with it, friction taken as overcome:
 * where the position sensor shows the command, within the stops and what the motor can hold against spring and hand. A blade that is
 * not driven stands where it is (blade_let_go); an open winding leaves the loop at the supply's limit. */
void blade_rest(const struct plant_params *params, const struct plant_inputs *inputs, struct plant_state *state);

/* Moves a blade that is not driven for a while, as the solvers do: its own equations and events, mode in `inputs`. */
void blade_let_go(const struct plant_params *params, double duration_s, struct plant_inputs *inputs, struct plant_state *state);

/* The blade's states in struct plant_state are blade_rad, its rate and drive_integral_v. They feel none of the others. */
enum { BLADE_STATE_COUNT = 3 };

/* The longest step an explicit fourth-order method may take in these three alone, s. */
double blade_step_s(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state);

/* The events of the blade, from PLANT_BLADE_EVENT_FIRST on. */
void blade_event_values(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                        double values[PLANT_EVENT_COUNT]);

/* The blade came to rest, reached a stop, or broke loose: the next mode. */
void blade_event_apply(const struct plant_params *params, const struct plant_inputs *inputs, enum plant_event event,
                       struct plant_mode *mode, struct plant_state *state);

/* A blade that is held and need not be: called at every tick, when the inputs have jumped. */
void blade_release(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                   struct plant_mode *mode, double *rate_rad_s);

#endif
