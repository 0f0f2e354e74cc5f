/* What the engine computer is built with, reads, remembers and puts out: the data of control/computer.h and of its parts. */
#ifndef CONTROL_COMPUTER_STATE_H
#define CONTROL_COMPUTER_STATE_H

#include "control/computer_params.h"
#include "control/monitors.h"
#include "physics/bore_table.h"
#include "plant/plant.h"

#include <stdbool.h>

#define COMPUTER_PERIOD_S 0.01 // 10 ms: usual for idle control; slower shows in the damping of the idle

enum key { KEY_OFF, KEY_ON, KEY_START };
enum computer_mode { COMPUTER_OFF, COMPUTER_KEY_ON, COMPUTER_CRANKING, COMPUTER_RUNNING };
extern const char *const computer_key_names[]; // NULL after the last

/* What is left of the driver's command when something is wrong. REDUCED: one source of a pair lost, little opening allowed.
 * REST: the drive is switched off, the springs hold the blade a little open, speed is held down by cutting fuel. */
enum computer_limp { COMPUTER_LIMP_NONE, COMPUTER_LIMP_REDUCED, COMPUTER_LIMP_REST };
extern const char *const computer_limp_names[];

/* What the computer was built with. */
struct computer_design {
  const struct computer_params *params;
  const struct plant_params *plant; // metal and maps that its calibration was made on
  struct bore_table clean_bore;
  double closed_cda_m2, open_cda_m2;      // of the clean bore at its stops
  double start_air_keep, start_fuel_keep; // what is left of the extra air and fuel after one tick
};
/* What it reads at a tick. */
struct computer_sensors {
  enum key key;
  double speed_rad_s;
  double coolant_k, intake_k;
  double barometer_pa;
  double air_flow_kg_s;          // air-flow sensor; not used where metering is by pressure
  double manifold_pa;            // pressure sensor; not used where metering is by air flow
  double lambda[PLANT_BANK_MAX]; // oxygen sensors
  double track_v[2];             // blade position tracks
  double pedal_v[2];             // pedal tracks
  double battery_v;
  double motor_v, motor_a;                   // throttle drive, as its driver stage measures them
  double alternator_w;                       // what the alternator delivers
  double field_w;                            // what it is asked for, as its field duty tells
  double air_flow_v;                         // air-flow sensor's signal
  bool bypass_low, bypass_high, bypass_open; // the bypass valve's wire at ground, at the supply, nowhere, as its driver finds it
  bool compressor_request;
  bool drive_selected;
  bool steering;                     // power steering pressure switch
  bool frozen;                       // teaching: outputs stay what they are
  bool learned_frozen, spark_frozen; // teaching: only the learned offset, only spark
};

/* Long-term trim is learned apart at idle and off it. */
enum computer_cell { COMPUTER_CELL_IDLE, COMPUTER_CELL_OFF_IDLE, COMPUTER_CELL_COUNT };

/* What survives a key-off. */
struct computer_memory {
  double learned_ratio;
  double closed_ratio[2]; // what the position tracks read at the closed stop, share of 5 V
  bool closed_learned;
  double long_trim[PLANT_BANK_MAX][COMPUTER_CELL_COUNT]; // share of fuel
  struct monitors monitors;
};

/* What the misfire monitor (control/misfire.h) holds. */
enum { COMPUTER_MISFIRE_TICKS = 64 }; // one engine cycle and a little at 200 rpm
struct computer_misfire {
  double speed_rad_s[COMPUTER_MISFIRE_TICKS]; // of the last ticks, round and round
  unsigned long count;                        // ticks written into it since the engine runs
  bool found;                                 // in one now
  double ratio;                               // share of firings that misfired of late
};

struct computer_state {
  struct computer_memory memory;
  enum computer_mode mode;
  double target_rad_s;
  double integral_ratio;       // I part of the effort
  double effort_ratio;         // what the idle controller adds
  double idle_blade_rad;       // blade angle for the idle air alone
  double usual_load_w;         // electrical load of the last while, to see it change
  double start_extra_ratio;    // of base air, fades after a start
  double filtered_speed_rad_s; // for the monitors
  double cranked_rad;          // turned by the starter so far
  double running_s;            // since the start
  double settled_s;            // since the last start, change of load or pedal
  double coolant_at_start_k, coolant_highest_k;
  bool idling;                                       // idle control at work
  bool compressor_request, drive_selected, steering; // at the last tick, to see changes
  bool ran_this_cycle;
  // blade and pedal, as read
  double blade_seen_rad;
  double blade_before_rad; // at the last tick
  double track_opening_rad[2];
  bool track_good[2], pedal_good[2];                     // in range
  double track_difference_ratio, pedal_difference_ratio; // between two good tracks, share of travel
  double pedal_seen_ratio;                               // 0 released, 1 floored
  double key_on_s;                                       // since the key came on
  double closed_error_v;      // of the closed stop against its design value, when it was last looked at
  double rest_error_rad;      // of the unpowered blade against its rest angle
  double asleep_in_s;         // until the drive sleeps after key-off
  enum computer_limp limp;    // until the key is turned off
  bool fuel_cut;              // limp-home: speed held down
  double motor_current_ratio; // measured over expected, filtered
  double position_off_rad;    // command less what is seen, filtered
  struct computer_misfire misfire;
  struct monitor_measures measures; // what the monitors measured at the last tick
  // fuel
  bool air_flow_good;        // sensor's signal in range
  double asked_air_kg_s;     // all the air the computer wants
  double air_expected_ratio; // air-flow sensor over what blade and clean bore should pass, filtered
  double manifold_pa;        // the computer's own idea of the manifold pressure
  double short_trim[PLANT_BANK_MAX], short_integral[PLANT_BANK_MAX];
  double wall_fuel_kg[PLANT_BANK_MAX]; // its own idea of the wall film
  double start_fuel_ratio;             // extra fuel, fades after a start
  double cut_seen_s;                   // how long the oxygen sensor will still see the last fuel cut
  bool closed_loop;                    // oxygen sensors heeded
  enum computer_cell cell;
  // outputs
  double purge_ratio;       // how far the canister purge is open, 0 to 1
  double blade_command_rad; // electronic throttle
  bool drive_powered;
  double bypass_steps; // cable throttle
  double spark_rad;
  double fuel_per_cycle_kg[PLANT_BANK_MAX];
  bool firing, starter, compressor_clutch;
};

#endif
