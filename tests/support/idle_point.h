/* One engine at one plausible instant of a warm idle, for tests of plant and computer by parts: sound,
 * clean, nothing switched on. The state is typical but not an equilibrium. Run from the top of the source
 * tree. */
#ifndef TESTS_SUPPORT_IDLE_POINT_H
#define TESTS_SUPPORT_IDLE_POINT_H

#include "car/engine.h"
#include "control/computer.h"

#define IDLE_POINT_AMBIENT_PA  100e3
#define IDLE_POINT_AMBIENT_K   298.15
#define IDLE_POINT_MANIFOLD_PA 32e3
#define IDLE_POINT_MANIFOLD_K  320.0
#define IDLE_POINT_SPEED_RAD_S 90.0
#define IDLE_POINT_WARM_K      363.15

struct idle_point {
  struct engine engine;
  struct computer_design design;
  struct computer_sensors sensors; // what a computer reads there; lambda one
  struct computer_state computer;  // one that runs, released pedal, long after the start
  struct plant_inputs inputs;
  struct plant_state state;
};

/* model: the stem of a file in models/. Not to be moved afterwards. */
void idle_point_init(struct idle_point *point, const char *model);

/* Signals of the plant there. */
struct plant_signals idle_point_signals(const struct idle_point *point);

#endif
