/* What an engine file says of the engine computer: its calibration. SI throughout.
 *
 * The computer was calibrated on a new engine. It knows the *clean* bore, and knows nothing of a film but what its idle
 * controller and the learned offset make good. */
#ifndef CONTROL_COMPUTER_PARAMS_H
#define CONTROL_COMPUTER_PARAMS_H

#include "base/field.h"

struct idle_target_params {
  struct curve by_coolant; // target speed, rad/s, over coolant temperature, K
  double drive_rad_s;      // warm target in gear
  double compressor_rad_s; // least target with the compressor on
};

struct idle_air_params {
  double base_kg_s;             // what a new warm engine needs at the warm target, nothing switched on
  struct curve cold_ratio;      // air relative to warm at the same target, over coolant temperature, K
  double compressor_kg_s;       // added with the compressor
  double drive_kg_s;            // added in gear
  double steering_kg_s;         // added while the power steering is at its stop
  double electrical_kg_j;       // added per watt that the alternator delivers: kg/s per W
  double start_ratio;           // extra air after the start, share of base
  double start_decay_s;         // and how fast it goes
  double proportional_s_rad;    // effort (share of base air) per rad/s of speed error
  double integral_1_rad;        // effort per second and rad/s
  double integral_window_rad_s; // no integration when the error is larger
  double effort_least_ratio, effort_most_ratio;
  double learned_least_ratio, learned_most_ratio;
  double learn_time_s;  // the steady effort moves into the learned offset with this time constant
  double learn_delay_s; // not before so long after a start or a change of load
};

struct idle_spark_params {
  double base_rad;          // before top dead centre at the target: the distance to best spark is the reserve
  double gain_s;            // rad of spark per rad/s of speed error
  double advance_limit_rad; // most that may be added
  double retard_limit_rad;  // most that may be taken
  struct curve running_rad; // off idle, over crank speed
  double slew_rad_s;        // how fast spark may move between the two
};

/* For a minute after a cold start spark is held late and air is added, so that hot exhaust warms the catalyst. */
struct catalyst_heating_params {
  double retard_rad; // 0: not done
  double air_ratio;  // air added, share of what the engine needs at that moment
  double time_s;     // how long, from the start
  double below_k;    // coolant at the start; done only below
};

struct driver_demand_params {
  struct curve opening_rad; // blade opening that the pedal adds, over pedal travel (0 to 1)
  double closed_ratio;      // pedal travel below which the pedal counts as released
};

struct supervision_params {
  double running_rad_s;   // the start is done when speed passes this
  double sync_rad;        // crank angle the starter turns before the computer knows where the crank is and fires
  double warm_k;          // coolant temperature from which the idle monitors work
  double monitor_delay_s; // they wait so long after a start
  double debounce_s;      // how long a fault must last
  double rev_limit_rad_s; // fuel is cut above
};

/* What the air in the cylinders is known from: the air-flow sensor, or manifold pressure and speed. */
enum metering { METERING_AIR_FLOW, METERING_PRESSURE };

struct fuel_params {
  int metering;        // enum metering
  struct curve lambda; // asked for over coolant temperature, K
  double start_ratio;  // extra fuel after a start
  double start_decay_s;
  double crank_ratio;           // extra fuel while cranking
  double closed_loop_k;         // coolant from which the oxygen sensor is heeded
  double closed_loop_delay_s;   // and how long after the start
  double open_loop_pedal_ratio; // full load: not heeded
  double proportional;          // short-term trim per unit of lambda error
  double integral_1_s;
  double short_limit_ratio, long_limit_ratio;
  double long_time_s;         // short-term trim moves into the long-term one with this time constant
  double sensor_delay_cycles; // exhaust valve to sensor, engine cycles
  double sensor_lag_s;
};

/* What the makers of computers mean by three readings of a scan tool. UNKNOWN: nothing is inferred from such a reading. */
enum computer_load_definition {
  COMPUTER_LOAD_STANDARD,       // of the most air at this speed on that day
  COMPUTER_LOAD_PRESSURE_RATIO, // manifold over barometer
  COMPUTER_LOAD_SEA_LEVEL,      // of the most air at this speed at sea level and 25 C
  COMPUTER_LOAD_UNKNOWN,
  COMPUTER_LOAD_COUNT
};
enum computer_relative_definition {
  COMPUTER_RELATIVE_TRAVEL,     // 0 at the closed stop, 100 wide open
  COMPUTER_RELATIVE_ABOVE_STOP, // absolute position less that at the closed stop
  COMPUTER_RELATIVE_ABOVE_REST, // less that where the springs leave the blade; never negative
  COMPUTER_RELATIVE_UNKNOWN,
  COMPUTER_RELATIVE_COUNT
};
enum computer_key_on_definition {
  COMPUTER_KEY_ON_STOP, // the drive holds the blade where the computer wants it
  COMPUTER_KEY_ON_REST, // the drive sleeps: the blade stands where its springs leave it
  COMPUTER_KEY_ON_UNKNOWN,
  COMPUTER_KEY_ON_COUNT
};

struct scan_params {
  int load_definition;        // enum computer_load_definition, of PID 04
  double relative_zero_ratio; // absolute position at which the relative one (PID 45 hex) reads 0; 0: the learned closed stop
  int relative_definition;    // enum computer_relative_definition, of what a reading blade_pct is
  int key_on_definition;      // enum computer_key_on_definition, of the position with the key on
};

struct computer_params {
  struct idle_target_params target;
  struct idle_air_params air;
  struct idle_spark_params spark;
  struct fuel_params fuel;
  struct catalyst_heating_params catalyst;
  struct driver_demand_params pedal;
  struct supervision_params supervision;
  struct scan_params scan;
};

extern const struct field_group computer_params_groups[];
extern const size_t computer_params_group_count;

#endif
