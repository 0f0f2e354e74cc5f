/* What is held while the plant is integrated from one controller tick to the next. SI throughout. */
#ifndef PLANT_INPUTS_H
#define PLANT_INPUTS_H

#include "physics/bore_table.h"
#include "plant/faults.h"

#include <stdbool.h>

enum { PLANT_BANK_MAX = 2 }; // cylinder banks, each with its own mixture

/* FREE: an ideal loop or a cable moves it. With a drive it is held by friction or a stop, or slides one way. */
enum blade_mode { BLADE_FREE, BLADE_HELD, BLADE_OPENING, BLADE_CLOSING };

/* Which set of equations holds; changed only between integrations, by plant_event_apply() and plant_release(). */
struct plant_mode {
  bool crank_held; // the engine stands
  enum blade_mode blade;
};

struct plant_inputs {
  struct plant_mode mode;
  const struct bore_table *bore; // gap area over blade angle, film included
  // from the engine computer
  double blade_command_rad;                 // blade angle psi; with a cable, where the pedal holds it
  bool drive_powered;                       // the throttle drive is awake
  double holding_v;                         // what the loop adds to hold a clean blade against its spring at the command
  double position_error_rad;                // what the position sensor says less where the blade is
  double bypass_steps;                      // of the bypass valve; not used by an electronic throttle
  double purge_ratio;                       // how far the computer opens the canister purge, 0 to 1
  double spark_rad;                         // before top dead centre, as the computer wants it
  double fuel_per_cycle_kg[PLANT_BANK_MAX]; // asked for, per engine cycle
  bool firing;                              // fuel and spark on
  bool starter;                             // engaged
  bool compressor_clutch;
  // from the world
  double ambient_pa, ambient_k;
  double drive_engaged;  // 1 in gear, 0 in neutral
  double steering_ratio; // 1: wheel held at its stop
  double electrical_load_w;
  double starter_ratio;      // strength of the starter, 1 with a full battery
  double motor_supply_v;     // of the throttle drive
  double slide_nm, stick_nm; // friction of the blade now, film included
  double hand_nm;            // somebody pushes the blade; positive opens
  bool warmth_held;          // coolant and oil keep their temperature
  struct plant_faults faults;
  double scatter;           // this tick's cycle scatter, standard normal, band-limited
  double cylinder1_pattern; // where cylinder 1 is in its cycle: mean 1, high while it should push
  double no_spark_ratio;    // of the firing that it is at; in the mean faults.spark_missing_ratio
};

#endif
