#include "physics/charge.h"

#include "base/bounds.h"
#include "base/units.h"
#include "physics/gas.h"

#include <math.h>

#define LEAST_SPEED_REV_S 1.0 // below this the overlap term would grow without bound; cranking is 3 to 4

double charge_air_per_cycle_kg(const struct charge_params *charge, double manifold_pa, double manifold_k, double crank_rad_s) {
  const double line_pa = charge->pressure_slope_ratio * manifold_pa + charge->pressure_offset_pa;
  const double whole = charge->compression_ratio / (charge->compression_ratio - 1.0); // cylinder over swept volume
  const double filled_pa = bounds_smaller(line_pa, bounds_larger(charge->pressure_slope_ratio, whole) * manifold_pa);
  const double factor = curve_value(&charge->speed_factor, crank_rad_s);
  return factor * bounds_larger(filled_pa, 0.0) * charge->displacement_m3 / (GAS_AIR_CONSTANT_J_KG_K * manifold_k);
}

double charge_residual_fraction(const struct charge_params *charge, double manifold_pa, double exhaust_pa, double crank_rad_s) {
  const double rev_s = bounds_larger(crank_rad_s / (2.0 * UNITS_PI), LEAST_SPEED_REV_S);
  const double log_ratio = log(manifold_pa / exhaust_pa);
  const double difference_bar = fabs(manifold_pa - exhaust_pa) / UNITS_PA_PER_BAR;
  const double overlap = 1.266 * charge->overlap_factor_deg_m / rev_s * exp(-0.87 * log_ratio) * sqrt(difference_bar);
  const double clearance = 0.632 * exp(-0.74 * log_ratio) / charge->compression_ratio;
  return bounds_smaller(overlap + clearance, 0.9);
}
