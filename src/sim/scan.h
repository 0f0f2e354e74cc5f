/* All that a scan tool finds in the engine computer at one moment: reading, codes, readiness, freeze frame. */
#ifndef SIM_SCAN_H
#define SIM_SCAN_H

#include "car/engine.h"
#include "sim/freeze_frame.h"

struct scan {
  double wanted_s; // moment asked for; the tick nearest it is taken
  bool taken;
  struct scan_data reading;
  struct monitors monitors;
  struct freeze_frame frame;
};

/* True if this engine has what the code's monitor watches. */
bool scan_monitor_fitted(const struct engine *engine, enum monitor_code code);

#endif
