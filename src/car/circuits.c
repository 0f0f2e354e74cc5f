#include "car/circuits.h"

#include "base/bounds.h"
#include "base/units.h"

#include <math.h>

#define TRACK_OHM  1000.0                    // resistance of the track; 1 to 2 kilo-ohm, common practice, no source
#define WORN_RAD   (0.7 * UNITS_RAD_PER_DEG) // half-width of a worn spot
#define WORN_RATIO 0.03                      // the same on the pedal's travel
#define HOT_WIRE_A 1.0                       // V^2 without flow
#define HOT_WIRE_B 49.7                      // V^2 per sqrt(kg/s): 4.5 V at 0.15 kg/s

static double bump(double off, double half_width) {
  const double u = off / half_width;
  return fabs(u) < 1.0 ? 0.5 * (1.0 + cos(UNITS_PI * u)) : 0.0;
}

/* Signal over supply at the ends of a track. */
struct ends {
  double low, high;
};

static struct ends ends_of(const struct throttle_params *throttle, enum circuit circuit) {
  switch (circuit) {
  case CIRCUIT_TRACK1:
    return (struct ends){throttle->closed_position_ratio, throttle->open_position_ratio};
  case CIRCUIT_TRACK2:
    return (struct ends){throttle->closed2_position_ratio, throttle->open2_position_ratio};
  case CIRCUIT_PEDAL1:
    return (struct ends){throttle->released_pedal_ratio[0], throttle->floored_pedal_ratio[0]};
  case CIRCUIT_PEDAL2:
    return (struct ends){throttle->released_pedal_ratio[1], throttle->floored_pedal_ratio[1]};
  case CIRCUIT_COUNT:
    break;
  }
  return (struct ends){0.0, 0.0};
}

double circuits_track_v(const struct throttle_params *throttle, const struct circuit_faults *faults, enum circuit circuit,
                        double opening_rad, double pedal_ratio) {
  const struct circuit_fault *fault = &faults->track[circuit];
  const bool blade = circuit == CIRCUIT_TRACK1 || circuit == CIRCUIT_TRACK2;
  const struct ends ends = ends_of(throttle, circuit);
  if (ends.high <= 0.0) return 0.0; // this engine has no such track
  if (fault->shorted_to_supply > 0.5) return faults->supply_v;
  if (fault->open > 0.5 || fault->shorted_to_ground > 0.5) return 0.0;
  const double span = 0.5 * UNITS_PI - throttle->bore.closed_angle_rad;
  double share = ends.low + (ends.high - ends.low) * (blade ? opening_rad / span : pedal_ratio);
  if (blade) {
    const double ground = faults->ground_ohm / (TRACK_OHM + faults->ground_ohm);
    share = ground + (1.0 - ground) * share;
    if (faults->supply_swapped > 0.5) share = 1.0 - share;
  }
  double volts = fault->gain_ratio * faults->supply_v * share + fault->offset_v;
  if (fault->worn_v > 0.0)
    volts -= fault->worn_v * (blade ? bump(opening_rad - faults->worn_at_rad, WORN_RAD)
                                    : bump(pedal_ratio - faults->worn_pedal_ratio, WORN_RATIO));
  return bounds_clamp(volts, 0.0, faults->supply_v);
}

bool circuits_blade_smooth(const struct circuit_faults *faults) {
  return faults->track[CIRCUIT_TRACK1].worn_v <= 0.0 && faults->track[CIRCUIT_TRACK2].worn_v <= 0.0;
}

bool circuits_blade_worn(const struct circuit_faults *faults, enum circuit track, double opening_rad) {
  return faults->track[track].worn_v > 0.0 && fabs(opening_rad - faults->worn_at_rad) < WORN_RAD;
}

double circuits_air_flow_v(const struct circuit_faults *faults, double flow_kg_s) {
  if (faults->air_flow_open > 0.5) return 0.0;
  if (faults->air_flow_shorted > 0.5) return 5.0;
  return bounds_smaller(sqrt(HOT_WIRE_A + HOT_WIRE_B * sqrt(bounds_larger(flow_kg_s, 0.0))), 4.85);
}

bool circuits_bypass_moves(const struct circuit_faults *faults) {
  return faults->bypass_open < 0.5 && faults->bypass_grounded < 0.5 && faults->bypass_shorted < 0.5;
}
