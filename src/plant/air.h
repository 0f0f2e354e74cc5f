/* Air paths, intake duct, manifold. */
#ifndef PLANT_AIR_H
#define PLANT_AIR_H

#include "plant/inputs.h"
#include "plant/plant_params.h"
#include "plant/signals.h"
#include "plant/state.h"

/* A leak is a torn hose or a lifted gasket: a sharp-edged hole. 0.6 is the textbook figure for one. */
#define AIR_SHARP_DISCHARGE_RATIO 0.6

/* Temperature of the manifold's walls, K: between the air outside and the coolant. The gas of a standing engine has it too. */
double air_wall_k(const struct plant_params *params, double ambient_k, double coolant_k);

/* The most that can stand before the blade, Pa: the open's, and a charger's greatest rise. */
double air_charge_most_pa(const struct plant_params *params, double ambient_pa);

/* Fills the first group of the signals. */
void air_signals(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
                 struct plant_signals *signals);

/* Rates of manifold pressure, temperature and exhaust-gas share. */
void air_rates(const struct plant_params *params, const struct plant_inputs *inputs, const struct plant_state *state,
               const struct plant_signals *signals, struct plant_state *rates);

/* Manifold pressure at which as much comes in as the cylinders draw, with the temperature and exhaust share that go with those flows:
 * rates of the three are nothing. Begins at the pressure that the state has; fills the first group of the signals. */
void air_rest(const struct plant_params *params, const struct plant_inputs *inputs, struct plant_state *state,
              struct plant_signals *signals);

#endif
