#include "sim/scan.h"

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
  return !(monitor_rows[code].enable & ~monitors_possible(engine_features(engine)));
}
