#include "physics/loads.h"

#include "base/bounds.h"
#include "base/units.h"

#define KRPM_PER_RAD_S (1.0 / (1000.0 * UNITS_RAD_S_PER_RPM))

double loads_friction_nm(const struct friction_params *friction, double displacement_m3, double crank_rad_s, double oil_k) {
  const double n = crank_rad_s * KRPM_PER_RAD_S;
  const double fmep_pa = friction->constant_pa + n * (friction->per_krpm_pa + n * friction->per_krpm2_pa);
  return fmep_pa * curve_value(&friction->oil_factor, oil_k) * displacement_m3 / (4.0 * UNITS_PI);
}

double loads_pumping_nm(double displacement_m3, double manifold_pa, double exhaust_pa) {
  return (exhaust_pa - manifold_pa) * displacement_m3 / (4.0 * UNITS_PI);
}

double loads_alternator_share(const struct load_params *loads, double crank_rad_s) {
  const double low = loads->alternator_fade_low_rad_s, high = loads->alternator_fade_high_rad_s;
  const double u = bounds_smaller(bounds_larger((crank_rad_s - low) / (high - low), 0.0), 1.0);
  return u * u * (3.0 - 2.0 * u);
}

double loads_alternator_nm(const struct load_params *loads, double electrical_w, double crank_rad_s) {
  const double share = loads_alternator_share(loads, crank_rad_s);
  if (share <= 0.0) return 0.0;
  return share * electrical_w / (loads->alternator_efficiency_ratio * crank_rad_s);
}

double loads_converter_nm(const struct load_params *loads, double crank_rad_s) {
  const double u = crank_rad_s / loads->converter_speed_rad_s;
  return loads->converter_torque_nm * u * u;
}

double loads_starter_nm(const struct load_params *loads, double crank_rad_s) {
  return bounds_larger(loads->starter_torque_nm * (1.0 - crank_rad_s / loads->starter_speed_rad_s), 0.0);
}
