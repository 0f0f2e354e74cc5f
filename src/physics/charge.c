#include "physics/charge.h"

#include "base/bounds.h"
#include "base/units.h"
#include "physics/gas.h"

#include <math.h>

#define LEAST_SPEED_REV_S 1.0 // below this the overlap term would grow without bound; cranking is 3 to 4

#define STANDARD_PA 101325.0

/* Air per pascal of filling. */
static double filling_kg_pa(const struct charge_params *charge, double manifold_k, double crank_rad_s) {
  return curve_value(&charge->speed_factor, crank_rad_s) * charge->displacement_m3 / (GAS_AIR_CONSTANT_J_KG_K * manifold_k);
}

static double filled_pa(const struct charge_params *charge, double manifold_pa, double exhaust_pa) {
  const double line_pa = charge->pressure_slope_ratio * manifold_pa + charge->pressure_offset_pa * (exhaust_pa / STANDARD_PA);
  const double whole = charge->compression_ratio / (charge->compression_ratio - 1.0); // cylinder over swept volume
  return bounds_smaller(line_pa, bounds_larger(charge->pressure_slope_ratio, whole) * manifold_pa);
}

double charge_air_per_cycle_kg(const struct charge_params *charge, double manifold_pa, double exhaust_pa, double manifold_k,
                               double crank_rad_s) {
  return filling_kg_pa(charge, manifold_k, crank_rad_s) * bounds_larger(filled_pa(charge, manifold_pa, exhaust_pa), 0.0);
}

double charge_air_against_loss_kg(const struct charge_params *charge, double manifold_pa, double outlet_pa, double loss_pa_s2_kg2,
                                  double share, double manifold_k, double crank_rad_s, double *exhaust_pa) {
  const double per_pa = filling_kg_pa(charge, manifold_k, crank_rad_s);
  const double free_kg = per_pa * bounds_larger(filled_pa(charge, manifold_pa, outlet_pa), 0.0);
  const double flow_per_kg = share * crank_rad_s / (4.0 * UNITS_PI);
  const double loss_pa_kg2 = loss_pa_s2_kg2 * flow_per_kg * flow_per_kg;
  // m = free - b loss m^2, b what a pascal of exhaust pressure keeps out; solved without cancelling
  const double kept_kg_pa = -per_pa * charge->pressure_offset_pa / STANDARD_PA;
  const double bend = 4.0 * bounds_larger(kept_kg_pa, 0.0) * loss_pa_kg2 * free_kg;
  const double air_kg = 2.0 * free_kg / (1.0 + sqrt(1.0 + bend));
  *exhaust_pa = outlet_pa + loss_pa_kg2 * air_kg * air_kg;
  return air_kg;
}

double charge_manifold_pa(const struct charge_params *charge, double air_per_cycle_kg, double exhaust_pa, double manifold_k,
                          double crank_rad_s) {
  const double filled = air_per_cycle_kg / filling_kg_pa(charge, manifold_k, crank_rad_s);
  return (filled - charge->pressure_offset_pa * (exhaust_pa / STANDARD_PA)) / charge->pressure_slope_ratio;
}

double charge_residual_fraction(const struct charge_params *charge, double manifold_pa, double exhaust_pa, double crank_rad_s) {
  const double rev_s = bounds_larger(crank_rad_s / (2.0 * UNITS_PI), LEAST_SPEED_REV_S);
  const double log_ratio = log(manifold_pa / exhaust_pa);
  const double difference_bar = fabs(manifold_pa - exhaust_pa) / UNITS_PA_PER_BAR;
  const double added = charge->overlap_added_deg_m.count ? curve_value(&charge->overlap_added_deg_m, crank_rad_s) : 0.0;
  const double overlap = 1.266 * (charge->overlap_factor_deg_m + added) / rev_s * exp(-0.87 * log_ratio) * sqrt(difference_bar);
  const double clearance = 0.632 * exp(-0.74 * log_ratio) / charge->compression_ratio;
  return bounds_smaller(overlap + clearance, 0.9);
}
