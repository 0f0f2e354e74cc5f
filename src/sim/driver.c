#include "sim/driver.h"

#include "base/bounds.h"

// An unloaded engine answers a tenth of the travel with some 700 rpm within two seconds; these gains bring it to the speed
// asked for in a few seconds with little overshoot, as a practised foot does.
#define PROPORTIONAL_S_RAD 0.0012
#define INTEGRAL_1_RAD     0.0010

double driver_pedal_ratio(struct driver *driver, double hold_rad_s, double speed_rad_s, double pedal_ratio, double period_s) {
  if (hold_rad_s <= 0.0) {
    driver->integral_ratio = 0.0;
    return pedal_ratio;
  }
  const double error = hold_rad_s - speed_rad_s;
  const double wanted = PROPORTIONAL_S_RAD * error + driver->integral_ratio;
  const double pedal = bounds_clamp(wanted, 0.0, DRIVER_TRAVEL_MOST);
  const int pushing = (wanted > DRIVER_TRAVEL_MOST && error > 0.0) || (wanted < 0.0 && error < 0.0);
  if (!pushing) driver->integral_ratio += INTEGRAL_1_RAD * error * period_s;
  return pedal;
}
