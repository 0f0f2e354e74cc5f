/* Engine, computer, sensors, world and film at one moment: all that a run moves from tick to tick, and that a settled point sets
 * to rest. It knows no time, no timeline, no solver and no recording. */
#ifndef SIM_VEHICLE_H
#define SIM_VEHICLE_H

#include "car/conditions.h"
#include "car/engine.h"
#include "car/sensors.h"
#include "sim/film_bore.h"

struct vehicle {
  const struct engine *engine;
  struct computer_design design;
  struct conditions conditions;
  double ambient_pa, ambient_altitude_m, ambient_given_pa; // pressure of now, and what it was formed from
  struct film_bore film_bore;
  double pedal_ratio;
  enum key key;
  struct sensors sensors;
  struct computer_state computer;
  double firing_rad;       // crank angle in the engine cycle, for what cylinder 1 does apart
  double spark_draw;       // drawn for its firing; no spark where it is below the share that misses
  double motor_v, motor_a; // throttle drive, at the last tick
  double stick_rad;        // where a sticking blade last let itself be moved to
  double faced_ratio, faced_of_film_m,
      faced_of_blade_rad; // share of the film that the blade's edge faces, and for what film and blade
  double scatter;         // band-limited cycle scatter, standard normal
  struct plant_inputs inputs;
  struct plant_state state;
};

#endif
