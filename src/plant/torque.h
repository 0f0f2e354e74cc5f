/* Mixture, work and what the crank turns. */
#ifndef PLANT_TORQUE_H
#define PLANT_TORQUE_H

#include "plant/inputs.h"
#include "plant/plant_params.h"
#include "plant/signals.h"
#include "plant/state.h"

/* Lambda where there is no fuel to speak of. */
#define TORQUE_LAMBDA_NO_FUEL 100.0

/* Fills the second and third group of the signals; the first must be there. */
void torque_signals(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                    struct plant_signals *signals);

/* Lambda that an oxygen sensor makes of one bank's exhaust: all its air over the fuel that has burned, for what a cylinder without spark
 * sends along is oxygen to the sensor, and petrol that it does not take for fuel (docs/physics.md section 4). TORQUE_LAMBDA_NO_FUEL
 * where nothing burns. bank1_ratio: bank 1's share of the air. */
double torque_exhaust_lambda(const struct plant_params *params, const struct plant_inputs *inputs,
                             const struct plant_state *state, double bank1_ratio, int bank);

/* Rates of crank speed, burning air and fuel, and wall films. */
void torque_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                  const struct plant_signals *signals, struct plant_state *rates);

/* Bank 1 before bank 2, whose fuel may come from there too. What burns in one bank once `signals`' air and the fuel asked for have long been what they are, from a wall film off which as much
 * evaporates as lands there; and that film. Their rates are nothing. */
void torque_fuel_rest(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_signals *signals,
                      struct plant_state *state, int bank);
void torque_wall_rest(const struct plant_params *params, const struct plant_inputs *inputs, struct plant_state *state, int bank);

#endif
