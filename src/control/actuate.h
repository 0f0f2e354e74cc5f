/* From an air flow wanted to what the idle actuator must do, by the maps of a clean engine. */
#ifndef CONTROL_ACTUATE_H
#define CONTROL_ACTUATE_H

#include "control/computer_state.h"

/* Effective area of the clean bore at a blade angle, discharge coefficient included. */
double actuate_clean_cda_m2(const struct computer_design *design, double angle_rad);

/* Air that a clean engine would pass, choked, with the blade command and bypass steps of now. */
double actuate_clean_air_kg_s(const struct computer_design *design, const struct computer_sensors *sensors,
                              const struct computer_state *state);

/* Blade angle at which the clean bore passes this much air when choked. Between the closed stop and wide open. */
double actuate_clean_angle_rad(const struct computer_design *design, double air_kg_s, double barometer_pa, double intake_k);

/* What the idle actuator should do to pass so much air in all: a blade angle, rad, or steps of the bypass valve, unrounded.
 * near_rad: a guess of the angle, for speed. */
double actuate_wanted(const struct computer_design *design, const struct computer_sensors *sensors, double air_kg_s,
                      double near_rad);

/* Moves the idle actuator towards passing so much air in all: sets idle_blade_rad, or bypass_steps as far as the stepper
 * gets in one tick. */
void actuate_idle_air(const struct computer_design *design, const struct computer_sensors *sensors, double air_kg_s,
                      struct computer_state *state);

/* Blade angle with the pedal's demand on top of an idle angle. */
double actuate_with_pedal_rad(const struct computer_design *design, double pedal_ratio, double idle_rad);

#endif
