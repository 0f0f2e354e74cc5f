#include "sim/scan.h"

bool scan_monitor_fitted(const struct engine *engine, enum monitor_code code) {
  return !(monitor_rows[code].enable & ~monitors_possible(engine_features(engine)));
}
