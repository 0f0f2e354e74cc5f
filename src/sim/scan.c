#include "sim/scan.h"

#include "plant/blade.h"

bool scan_monitor_fitted(const struct engine *engine, enum monitor_code code) {
  const struct throttle_params *throttle = &engine->plant.throttle;
  const bool air_flow = engine->computer.fuel.metering == METERING_AIR_FLOW;
  const bool by_wire = throttle->kind == THROTTLE_ELECTRONIC, drive = by_wire && blade_has_drive(&engine->plant);
  const bool two_tracks = throttle->open2_position_ratio > 0.0;
  unsigned lacking = 0;
  lacking |= air_flow ? MONITOR_ENABLE_pressure : MONITOR_ENABLE_air_flow;
  lacking |= two_tracks ? MONITOR_ENABLE_one_track : MONITOR_ENABLE_two_tracks;
  if (!by_wire) lacking |= MONITOR_ENABLE_pedal_sensor;
  if (!drive) lacking |= MONITOR_ENABLE_electronic | MONITOR_ENABLE_drive;
  if (engine->plant.charge.bank_count != 2) lacking |= MONITOR_ENABLE_two_banks;
  return !(monitor_rows[code].enable & lacking);
}
