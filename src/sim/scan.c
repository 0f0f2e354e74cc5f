#include "sim/scan.h"

#include "plant/blade.h"
#include "sim/simulation.h"

void scan_take(const struct simulation *sim, struct scan *scan) {
  reading_take(sim, &scan->reading);
  scan->monitors = sim->computer.memory.monitors;
  scan->frame = sim->freeze_frame;
  scan->taken = true;
}

void scan_ask(struct simulation *sim, struct scan *scans, size_t count) {
  sim->scans = scans;
  sim->scan_count = count;
}

void scan_tick(struct simulation *sim) {
  const double nearest_from_s = simulation_time_s(sim) + 0.5 * COMPUTER_PERIOD_S;
  for (size_t i = 0; i < sim->scan_count; i++)
    if (!sim->scans[i].taken && sim->scans[i].wanted_s < nearest_from_s) scan_take(sim, &sim->scans[i]);
}

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
