#include "control/actuate.h"

#include "base/units.h"
#include "physics/orifice.h"

#include <math.h>

enum { ITERATION_MAX = 60 };
#define ANGLE_TOLERANCE_RAD 1e-12
#define CDA_TOLERANCE_M2    1e-15 // a billionth of a square millimetre: 1e-10 of idle air
#define NEAR_IDLE_RAD       0.09  // 5 degrees

double actuate_clean_cda_m2(const struct computer_design *design, double angle_rad) {
  const struct throttle_params *throttle = &design->plant->throttle;
  return bore_table_area_m2(&design->clean_bore, angle_rad) *
         curve_value(&throttle->discharge, angle_rad - throttle->bore.closed_angle_rad);
}

/* Root of clean area less wanted area between the stops: regula falsi with the Illinois halving, which keeps the bracket. */
static double angle_for_cda_rad(const struct computer_design *design, double cda_m2) {
  double low = design->plant->throttle.bore.closed_angle_rad, high = 0.5 * UNITS_PI;
  double low_miss = actuate_clean_cda_m2(design, low) - cda_m2;
  if (low_miss >= 0.0) return low;
  double high_miss = actuate_clean_cda_m2(design, high) - cda_m2;
  if (high_miss <= 0.0) return high;
  // idle lives just above the closed stop: a nearer upper end saves half of the steps
  const double near = low + NEAR_IDLE_RAD, near_miss = actuate_clean_cda_m2(design, near) - cda_m2;
  if (near_miss > 0.0) {
    high = near;
    high_miss = near_miss;
  } else {
    low = near;
    low_miss = near_miss;
  }
  int side = 0;
  for (int i = 0; i < ITERATION_MAX && high - low > ANGLE_TOLERANCE_RAD; i++) {
    const double next = (low * high_miss - high * low_miss) / (high_miss - low_miss);
    const double miss = actuate_clean_cda_m2(design, next) - cda_m2;
    if (fabs(miss) < CDA_TOLERANCE_M2) return next;
    if (miss > 0.0) {
      high = next;
      high_miss = miss;
      if (side == 1) low_miss *= 0.5;
      side = 1;
    } else {
      low = next;
      low_miss = miss;
      if (side == -1) high_miss *= 0.5;
      side = -1;
    }
  }
  return 0.5 * (low + high);
}

double actuate_clean_angle_rad(const struct computer_design *design, double air_kg_s, double barometer_pa,
                               double intake_k) {
  return angle_for_cda_rad(design, orifice_choked_cda_m2(fmax(air_kg_s, 0.0), barometer_pa, intake_k));
}

/* The stepper goes whole steps, at most so many in a tick. */
static double stepped(const struct bypass_params *bypass, double from, double wanted) {
  const double most = fmax(floor(bypass->steps_per_s * COMPUTER_PERIOD_S), 1.0);
  return from + fmin(fmax(round(wanted) - from, -most), most);
}

double actuate_wanted(const struct computer_design *design, const struct computer_sensors *sensors, double air_kg_s) {
  double wanted_m2 = orifice_choked_cda_m2(fmax(air_kg_s, 0.0), sensors->barometer_pa, sensors->intake_k);
  wanted_m2 -= design->plant->intake.ventilation_cda_m2; // passes air that the actuator need not
  if (design->plant->throttle.kind == THROTTLE_ELECTRONIC) return angle_for_cda_rad(design, fmax(wanted_m2, 0.0));
  const struct bypass_params *bypass = &design->plant->bypass;
  wanted_m2 -= actuate_clean_cda_m2(design, plant_rest_angle_rad(design->plant));
  return bypass_clean_steps(bypass, fmax(wanted_m2, 0.0) / bypass->discharge_ratio);
}

void actuate_idle_air(const struct computer_design *design, const struct computer_sensors *sensors, double air_kg_s,
                      struct computer_state *state) {
  const double wanted = actuate_wanted(design, sensors, air_kg_s);
  if (design->plant->throttle.kind == THROTTLE_ELECTRONIC) {
    state->idle_blade_rad = wanted;
    return;
  }
  state->bypass_steps = stepped(&design->plant->bypass, state->bypass_steps, wanted);
  state->idle_blade_rad = plant_rest_angle_rad(design->plant);
}

double actuate_clean_air_kg_s(const struct computer_design *design, const struct computer_sensors *sensors,
                              const struct computer_state *state) {
  double cda_m2 = design->plant->intake.ventilation_cda_m2;
  if (design->plant->throttle.kind == THROTTLE_CABLE) {
    const struct bypass_params *bypass = &design->plant->bypass;
    cda_m2 += actuate_clean_cda_m2(design, state->blade_seen_rad) +
              bypass->discharge_ratio * bypass_area_m2(bypass, state->bypass_steps, 0.0);
  } else {
    cda_m2 += actuate_clean_cda_m2(design, state->blade_command_rad);
  }
  return cda_m2 / orifice_choked_cda_m2(1.0, sensors->barometer_pa, sensors->intake_k);
}

double actuate_with_pedal_rad(const struct computer_design *design, double pedal_ratio, double idle_rad) {
  const double added = curve_value(&design->params->pedal.opening_rad, pedal_ratio);
  return fmin(idle_rad + added, 0.5 * UNITS_PI);
}
