#include "control/actuate.h"

#include "base/units.h"
#include "physics/orifice.h"

#include <math.h>

enum { BISECTION_MAX = 40 }; // to 1e-12 rad

double actuate_clean_cda_m2(const struct computer_design *design, double angle_rad) {
  const struct throttle_params *throttle = &design->plant->throttle;
  return bore_table_area_m2(&design->clean_bore, angle_rad) *
         curve_value(&throttle->discharge, angle_rad - throttle->bore.closed_angle_rad);
}

static double angle_for_cda_rad(const struct computer_design *design, double cda_m2) {
  double low = design->plant->throttle.bore.closed_angle_rad, high = 0.5 * UNITS_PI;
  for (int i = 0; i < BISECTION_MAX; i++) {
    const double middle = 0.5 * (low + high);
    if (actuate_clean_cda_m2(design, middle) < cda_m2)
      low = middle;
    else
      high = middle;
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

void actuate_idle_air(const struct computer_design *design, const struct computer_sensors *sensors, double air_kg_s,
                      struct computer_state *state) {
  const struct throttle_params *throttle = &design->plant->throttle;
  double wanted_m2 = orifice_choked_cda_m2(fmax(air_kg_s, 0.0), sensors->barometer_pa, sensors->intake_k);
  wanted_m2 -= design->plant->intake.ventilation_cda_m2; // passes air that the actuator need not
  if (throttle->kind == THROTTLE_ELECTRONIC) {
    state->idle_blade_rad = angle_for_cda_rad(design, fmax(wanted_m2, 0.0));
    return;
  }
  const struct bypass_params *bypass = &design->plant->bypass;
  wanted_m2 -= actuate_clean_cda_m2(design, plant_rest_angle_rad(design->plant));
  const double steps = bypass_clean_steps(bypass, fmax(wanted_m2, 0.0) / bypass->discharge_ratio);
  state->bypass_steps = stepped(bypass, state->bypass_steps, steps);
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
