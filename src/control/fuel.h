/* Fuel of one tick: air in the cylinders as the computer knows it, lambda asked for, trims.
 *
 *   air per cycle = charge(p, T, w) with  p from the pressure sensor, or from filling the manifold with the sensor's air:
 *                   dp/dt = R T / V (m_sensor - m_cylinder(p))            so that at rest it is exactly the sensor's air
 *   fuel per cycle and bank = air / (banks AFR lambda) (1 + short + long) (1 + start extra)
 *   short trim = kp e + I,  dI/dt = ki e,  e = lambda measured - 1, clamped; while the loop is closed
 *   long trim  = slow integral of the short one, apart at idle and off idle; bounded; kept with the key off
 *
 * The oxygen sensor's switching is taken by its mean: the trim is what the switching controller's trim is on average.
 * Wall film: the computer injects what its own X-tau model says will bring the wanted fuel into the cylinder. */
#ifndef CONTROL_FUEL_H
#define CONTROL_FUEL_H

#include "control/computer_state.h"

void fuel_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state);

/* Where the computer's own idea of manifold pressure and wall film stands once air flow, fuel and speed have long been what
 * `sensors` and the state's outputs say. */
void fuel_rest(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state);

/* Lambda that the computer asks for before its trims; coolant_k: as the sensor says. */
double fuel_wanted_lambda(const struct fuel_params *fuel, double coolant_k, const struct computer_state *state);

/* Temperature in the manifold as the calibration has it: so much air warmed by walls that follow the coolant. */
double fuel_manifold_k(const struct computer_design *design, const struct computer_sensors *sensors, double air_kg_s);

#endif
