/* The driver's right foot: holds an engine speed with the pedal, as in "2500 rpm, no load". */
#ifndef SIM_DRIVER_H
#define SIM_DRIVER_H

#define DRIVER_TRAVEL_MOST 0.6    // nobody floors an unloaded engine to hold a speed
#define DRIVER_TEST_RPM    2500.0 // held without load to read an engine off idle; common practice, no source

struct driver {
  double integral_ratio; // slow part of the pedal travel
};

/* Pedal travel for this tick, 0 to 1. hold_rad_s 0: the foot does what pedal_ratio says. */
double driver_pedal_ratio(struct driver *driver, double hold_rad_s, double speed_rad_s, double pedal_ratio, double period_s);

#endif
