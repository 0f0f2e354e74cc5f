#include "control/actuate.h"

#include "base/bounds.h"
#include "base/root.h"
#include "base/units.h"
#include "physics/orifice.h"
#include "physics/slot.h"

#include <math.h>

enum { ITERATION_MAX = 60, NEAR_ITERATION_MAX = 8 };
#define ANGLE_TOLERANCE_RAD 1e-12
#define CDA_TOLERANCE_M2    1e-15 // a billionth of a square millimetre: 1e-10 of idle air
#define NEAR_RAD            0.002 // a tenth of a degree: further than idle control moves the blade in one tick

static double clean_cda_m2(const struct computer_design *design, double angle_rad, double relative_viscosity) {
  const struct throttle_params *throttle = &design->plant->throttle;
  const struct bore_passage gap = bore_table_at(&design->clean_bore, angle_rad);
  return slot_cda_m2(gap.area_m2, gap.passing_m2, curve_value(&throttle->discharge, angle_rad - throttle->bore.closed_angle_rad),
                     relative_viscosity);
}

static double idle_viscosity(double barometer_pa, double intake_k) {
  return slot_relative_viscosity(barometer_pa, intake_k, SLOT_REFERENCE_RATIO);
}

double actuate_clean_cda_m2(const struct computer_design *design, double angle_rad, double barometer_pa, double intake_k) {
  return clean_cda_m2(design, angle_rad, idle_viscosity(barometer_pa, intake_k));
}

/* The clean bore, the air in it, and the area that it should have. */
struct wanted_area {
  const struct computer_design *design;
  double relative_viscosity;
  double cda_m2;
};

static double area_miss_m2(double angle_rad, void *user) {
  const struct wanted_area *wanted = user;
  return clean_cda_m2(wanted->design, angle_rad, wanted->relative_viscosity) - wanted->cda_m2;
}

struct bracket {
  double low, high, low_miss, high_miss;
};

/* Between the stops. near_rad: where to look first. */
static double angle_between_stops_rad(struct wanted_area *wanted, double near_rad) {
  static const struct root_limits limits = {ANGLE_TOLERANCE_RAD, CDA_TOLERANCE_M2, ITERATION_MAX};
  const double closed = wanted->design->plant->throttle.bore.closed_angle_rad, open = 0.5 * UNITS_PI;
  struct bracket b = {bounds_clamp(near_rad - NEAR_RAD, closed, open), bounds_clamp(near_rad + NEAR_RAD, closed, open), 0.0, 0.0};
  b.low_miss = area_miss_m2(b.low, wanted);
  if (b.low_miss >= 0.0) { // further closed
    b.high = b.low;
    b.high_miss = b.low_miss;
    b.low = closed;
    b.low_miss = area_miss_m2(closed, wanted);
    if (b.low_miss >= 0.0) return closed;
  } else {
    b.high_miss = area_miss_m2(b.high, wanted);
    if (b.high_miss <= 0.0) { // further open
      b.low = b.high;
      b.low_miss = b.high_miss;
      b.high = open;
      b.high_miss = area_miss_m2(open, wanted);
      if (b.high_miss <= 0.0) return open;
    }
  }
  return root_between(area_miss_m2, wanted, b.low, b.low_miss, b.high, b.high_miss, &limits);
}

/* Angle between the stops at which the clean bore has the wanted area. near_rad: where it was last; from one tick to the next it
 * hardly moves, and a secant is there in a few steps. The first goes as if area grew from the closed stop by a line. */
static double angle_for_cda_rad(struct wanted_area wanted, double near_rad) {
  const double closed = wanted.design->plant->throttle.bore.closed_angle_rad;
  double last = near_rad, last_miss = area_miss_m2(near_rad, &wanted);
  if (fabs(last_miss) < CDA_TOLERANCE_M2 && near_rad > closed) return near_rad;
  double angle = last - last_miss * (last - closed) / (last_miss + wanted.cda_m2);
  for (int i = 0; i < NEAR_ITERATION_MAX && angle > closed && fabs(angle - near_rad) < NEAR_RAD; i++) {
    const double miss = area_miss_m2(angle, &wanted);
    if (fabs(miss) < CDA_TOLERANCE_M2) return angle;
    const double next = angle - miss * (angle - last) / (miss - last_miss);
    last = angle;
    last_miss = miss;
    angle = next;
  }
  return angle_between_stops_rad(&wanted, near_rad);
}

double actuate_clean_angle_rad(const struct computer_design *design, double air_kg_s, double barometer_pa, double intake_k) {
  const struct wanted_area wanted = {design, idle_viscosity(barometer_pa, intake_k),
                                     orifice_choked_cda_m2(bounds_larger(air_kg_s, 0.0), barometer_pa, intake_k)};
  return angle_for_cda_rad(wanted, design->plant->throttle.bore.closed_angle_rad);
}

/* The stepper goes whole steps, at most so many in a tick. */
static double stepped(const struct bypass_params *bypass, double from, double wanted) {
  const double most = bounds_larger(floor(bypass->steps_per_s * COMPUTER_PERIOD_S), 1.0);
  return from + bounds_clamp(round(wanted) - from, -most, most);
}

double actuate_wanted(const struct computer_design *design, const struct computer_sensors *sensors, double air_kg_s,
                      double purge_ratio, double near_rad) {
  double wanted_m2 = orifice_choked_cda_m2(bounds_larger(air_kg_s, 0.0), sensors->barometer_pa, sensors->intake_k);
  // pass air that the actuator need not
  wanted_m2 -= design->plant->intake.ventilation_cda_m2 + design->plant->intake.purge_cda_m2 * purge_ratio;
  const double viscosity = idle_viscosity(sensors->barometer_pa, sensors->intake_k);
  if (design->plant->throttle.kind == THROTTLE_ELECTRONIC)
    return angle_for_cda_rad((struct wanted_area){design, viscosity, bounds_larger(wanted_m2, 0.0)}, near_rad);
  const struct bypass_params *bypass = &design->plant->bypass;
  wanted_m2 -= clean_cda_m2(design, plant_rest_angle_rad(design->plant), viscosity);
  return bypass_clean_steps(bypass, bounds_larger(wanted_m2, 0.0) / bypass->discharge_ratio);
}

void actuate_idle_air_rest(const struct computer_design *design, const struct computer_sensors *sensors, double air_kg_s,
                           struct computer_state *state) {
  const double wanted = actuate_wanted(design, sensors, air_kg_s, state->purge_ratio, state->idle_blade_rad);
  if (design->plant->throttle.kind == THROTTLE_ELECTRONIC) {
    state->idle_blade_rad = wanted;
    return;
  }
  state->bypass_steps = wanted;
  state->idle_blade_rad = plant_rest_angle_rad(design->plant);
}

void actuate_idle_air(const struct computer_design *design, const struct computer_sensors *sensors, double air_kg_s,
                      struct computer_state *state) {
  const double before = state->bypass_steps;
  actuate_idle_air_rest(design, sensors, air_kg_s, state);
  if (design->plant->throttle.kind == THROTTLE_CABLE)
    state->bypass_steps = stepped(&design->plant->bypass, before, state->bypass_steps);
}

double actuate_clean_air_kg_s(const struct computer_design *design, const struct computer_sensors *sensors,
                              const struct computer_state *state) {
  const double viscosity = idle_viscosity(sensors->barometer_pa, sensors->intake_k);
  double cda_m2 = design->plant->intake.ventilation_cda_m2;
  if (design->plant->throttle.kind == THROTTLE_CABLE) {
    const struct bypass_params *bypass = &design->plant->bypass;
    cda_m2 += clean_cda_m2(design, state->blade_seen_rad, viscosity) +
              bypass->discharge_ratio * bypass_area_m2(bypass, state->bypass_steps, 0.0);
  } else {
    cda_m2 += clean_cda_m2(design, state->blade_command_rad, viscosity);
  }
  return cda_m2 / orifice_choked_cda_m2(1.0, sensors->barometer_pa, sensors->intake_k);
}

double actuate_with_pedal_rad(const struct computer_design *design, double pedal_ratio, double idle_rad) {
  const double added = curve_value(&design->params->pedal.opening_rad, pedal_ratio);
  return bounds_smaller(idle_rad + added, 0.5 * UNITS_PI);
}
