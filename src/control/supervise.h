/* Watches everything that has a fault code, and decides on limp-home. */
#ifndef CONTROL_SUPERVISE_H
#define CONTROL_SUPERVISE_H

#include "base/units.h"
#include "control/computer_state.h"

// Limp-home with the drive off: fuel is cut above the one speed, until it has fallen to the other. Our own choice within common
// practice, no source.
#define SUPERVISE_LIMP_SPEED_RAD_S  (1800.0 * UNITS_RAD_S_PER_RPM)
#define SUPERVISE_LIMP_RESUME_RAD_S (1600.0 * UNITS_RAD_S_PER_RPM)
// The rev limiter lets go so far below its limit: enough that it does not chatter. Common practice, no source.
#define SUPERVISE_REV_HYSTERESIS_RAD_S (200.0 * UNITS_RAD_S_PER_RPM)

/* Speed above which fuel is cut, and below which it comes back. */
struct supervise_cut {
  double above_rad_s, below_rad_s;
};
struct supervise_cut supervise_cut(const struct computer_design *design, const struct computer_state *state);

/* Forms the measures of this tick, runs the monitors and takes the consequences. */
void supervise_tick(const struct computer_design *design, const struct computer_sensors *sensors, struct computer_state *state);

/* The same once all it filters has come to rest, and faults have lasted: the strongest effect, what the monitors see, and a bit for each code that sets
 * (monitors_rest). Misfire's ripple is not looked at. */
enum monitor_effect supervise_rest(const struct computer_design *design, const struct computer_sensors *sensors,
                                   struct computer_state *state, struct monitor_measures *measures, uint64_t *codes);

#endif
