/* What a scan tool can ask the engine computer for at one moment: the channels, and what no channel holds. */
#ifndef SIM_SCAN_DATA_H
#define SIM_SCAN_DATA_H

#include "sim/channels.h"
#include "sim/vehicle.h"

#include <stdbool.h>

/* Fuel-system status. The numbers are those of SAE J1979 service 01 identifier 03, from memory. */
enum scan_data_fuel {
  SCAN_DATA_FUEL_NONE = 0x00,      // engine not running
  SCAN_DATA_FUEL_OPEN = 0x01,      // too cold or too early for the oxygen sensors
  SCAN_DATA_FUEL_CLOSED = 0x02,    // oxygen sensors heeded
  SCAN_DATA_FUEL_OPEN_LOAD = 0x04, // open loop because of load, or fuel cut
};

struct scan_data {
  bool awake;                   // key on: the computer answers
  double values[CHANNEL_COUNT]; // in the channels' edge units; NaN: not fitted
  double run_time_s;            // since the engine started; 0 while it does not run
  double wanted_lambda;         // NaN while the engine does not run
  double closed_position_pct;   // what track 1 reads at the closed stop, as learned
  enum scan_data_fuel fuel;
};

/* Reads everything at this moment; roughness is the unsteadiness of speed to report. */
void scan_data_take(const struct vehicle *vehicle, double time_s, double roughness_rad_s, struct scan_data *reading);

#endif
