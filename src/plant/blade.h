/* Movement of the throttle blade: by its electric drive, by an ideal position loop, or by the pedal's cable. */
#ifndef PLANT_BLADE_H
#define PLANT_BLADE_H

#include "plant/plant.h"

/* True if the engine file describes the drive's electrics. */
static inline bool blade_has_drive(const struct plant_params *params) { return params->drive.gear_ratio > 0.0; }

/* Voltage on the motor; 0 while the drive has no power. */
double blade_motor_v(const struct plant_params *params, const struct plant_inputs *inputs,
                     const struct plant_state *state);

double blade_motor_a(const struct plant_params *params, const struct plant_inputs *inputs,
                     const struct plant_state *state);

void blade_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                 struct plant_state *rates);

/* The events of the blade within plant_event_values(); values are 1 before. */
void blade_event_values(const struct plant_params *params, const struct plant_inputs *inputs,
                        const struct plant_state *state, double values[PLANT_EVENT_COUNT]);

/* The blade came to rest, reached a stop, or broke loose: the next mode. */
void blade_event_apply(const struct plant_params *params, const struct plant_inputs *inputs, enum plant_event event,
                       struct plant_mode *mode, struct plant_state *state);

/* A blade that is held and need not be: called at every tick, when the inputs have jumped. */
void blade_release(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                   struct plant_mode *mode, double *rate_rad_s);

#endif
