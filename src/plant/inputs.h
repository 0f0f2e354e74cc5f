/* What is held while the plant is integrated from one controller tick to the next. SI throughout. */
#ifndef PLANT_INPUTS_H
#define PLANT_INPUTS_H

#include "physics/bore_table.h"

#include <stdbool.h>

enum blade_contact { BLADE_FREE, BLADE_AT_CLOSED_STOP, BLADE_AT_OPEN_STOP };

/* Which set of equations holds; changed only between integrations, by plant_event_apply() and plant_release(). */
struct plant_mode {
  bool crank_held;                // the engine stands
  enum blade_contact blade;
};

struct plant_inputs {
  struct plant_mode mode;
  const struct bore_table *bore;  // gap area over blade angle, film included
  // from the engine computer
  double blade_command_rad;       // blade angle psi
  double spark_rad;               // before top dead centre
  bool firing;                    // fuel and spark on
  bool starter;                   // engaged
  bool compressor_clutch;
  // from the world
  double ambient_pa, ambient_k;
  double leak_area_m2;            // sharp opening into the manifold that no sensor has seen
  double drive_engaged;           // 1 in gear, 0 in neutral
  double electrical_load_w;
  double drag_nm;                 // anything else on the crank, whatever the speed
  double scatter;                 // this tick's cycle scatter, standard normal, band-limited
};

#endif
