#include "car/battery.h"

#include <math.h>

#define FULL_V         12.6 // common practice, no source
#define CRANKING_SAG_V 2.2  // common practice, no source: a good battery stays above 10 V
#define SOLENOID_V     8.0  // below this a starter only clicks; common practice, no source

double battery_terminal_v(double rest_v, double charging_v, double alternator_share, bool starter) {
  if (starter) return rest_v - CRANKING_SAG_V;
  return rest_v + alternator_share * fmax(charging_v - rest_v, 0.0);
}

double battery_starter_ratio(double rest_v) { return fmin(fmax((rest_v - SOLENOID_V) / (FULL_V - SOLENOID_V), 0.0), 1.1); }
