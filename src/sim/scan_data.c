#include "sim/scan_data.h"

#include "control/fuel.h"
#include "sim/exchange.h"

#include <math.h>

static enum scan_data_fuel fuel_status(const struct vehicle *vehicle) {
  const struct computer_state *computer = &vehicle->computer;
  const struct fuel_params *fuel = &vehicle->engine->computer.fuel;
  if (computer->mode != COMPUTER_RUNNING) return SCAN_DATA_FUEL_NONE;
  if (computer->closed_loop) return SCAN_DATA_FUEL_CLOSED;
  if (computer->fuel_cut || computer->pedal_seen_ratio >= fuel->open_loop_pedal_ratio) return SCAN_DATA_FUEL_OPEN_LOAD;
  return SCAN_DATA_FUEL_OPEN;
}

void scan_data_take(const struct vehicle *vehicle, double time_s, double roughness_rad_s, struct scan_data *reading) {
  const struct computer_state *computer = &vehicle->computer;
  const bool running = computer->mode == COMPUTER_RUNNING;
  exchange_sample(vehicle, time_s, roughness_rad_s, reading->values);
  const double coolant_k = reading->values[CHANNEL_coolant_c] + UNITS_KELVIN_AT_ZERO_C; // as the sensor says
  reading->awake = computer->mode != COMPUTER_OFF;
  reading->run_time_s = running ? computer->running_s : 0.0;
  reading->wanted_lambda = running ? fuel_wanted_lambda(&vehicle->engine->computer.fuel, coolant_k, computer) : NAN;
  reading->closed_position_pct = 100.0 * computer->memory.closed_ratio[0];
  reading->fuel = fuel_status(vehicle);
}
