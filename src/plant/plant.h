/* The engine as a set of ordinary differential equations: pure functions of (params, inputs, state).
 *
 * plant.c puts together what three files compute: air.c the air paths and the manifold, torque.c mixture, work and the crank,
 * blade.c the throttle drive; and adds the rest (sensor, clutches, warmth) and the events. Equations: docs/physics.md. */
#ifndef PLANT_PLANT_H
#define PLANT_PLANT_H

#include "plant/events.h"
#include "plant/inputs.h"
#include "plant/plant_params.h"
#include "plant/signals.h"
#include "plant/state.h"

void plant_signals(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                   struct plant_signals *signals);

/* Time derivative of every state. */
void plant_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                 struct plant_state *rates);

/* Of every state but the blade's. */
void plant_engine_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                        struct plant_state *rates);

/* Everything but the blade where it comes to rest at this speed with the inputs and signals of now: what follows air and commands by a
 * lag, and the oil unless warmth is held. Air, fuel and blade have functions of their own (air_rest, torque_fuel_rest, blade_rest). */
void plant_lags_rest(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_signals *signals,
                     struct plant_state *state);

/* The longest step an explicit fourth-order method may take from here, the blade's movement apart (plant/blade.h), with errors far
 * below what anybody reads: set by the manifold near ambient pressure, by burning lag and sensor. At most PLANT_STEP_MOST_S. */
double plant_step_s(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state);

/* How far each state's rate times the step may bend in that step (h |k1 - k2 - k3 + k4|, solver/solver_fast.c): a hint cannot know where the
 * computer has just sent the blade, nor where a mixture begins to burn. */
void plant_step_bends(const struct plant_params *params, struct plant_state *most);

/* Lambda that an oxygen sensor makes of the exhaust of what burns now and of what does not, per bank. */
void plant_lambda(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                  double lambda[PLANT_BANK_MAX]);

/* One value per event; it falls through zero when the event happens. An event that the mode rules out keeps 1. */
void plant_event_values(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                        double values[PLANT_EVENT_COUNT]);

/* Those before PLANT_BLADE_EVENT_FIRST. */
void plant_engine_event_values(const struct plant_params *params, const struct plant_inputs *inputs,
                               const struct plant_state *state, double values[PLANT_EVENT_COUNT]);

/* Changes mode and state as the event demands. */
void plant_event_apply(const struct plant_params *params, const struct plant_inputs *inputs, enum plant_event event,
                       struct plant_mode *mode, struct plant_state *state);

/* Leaves a held mode when what held it is gone; called once a tick, after the inputs are set. */
void plant_release(const struct plant_params *params, const struct plant_inputs *inputs, struct plant_mode *mode,
                   struct plant_state *state);

/* A standing engine: ambient pressure everywhere, blade at the angle given. */
void plant_state_at_rest(double ambient_pa, double manifold_k, double coolant_k, double oil_k, double blade_rad,
                         struct plant_state *state);

/* Blade angle at rest: on the stop screw of a cable throttle, where the springs leave an unpowered drive, and the closed stop
 * with an ideal loop. */
double plant_rest_angle_rad(const struct plant_params *params);

/* From the closed stop to along the bore. */
double plant_travel_rad(const struct throttle_params *throttle);

/* Share of the travel at which track 1, as it was built, gives this ratio of its supply; not bounded. */
double plant_track_share(const struct throttle_params *throttle, double position_ratio);

#endif
