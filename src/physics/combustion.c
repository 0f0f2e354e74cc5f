#include "physics/combustion.h"

#include "base/bounds.h"
#include "base/units.h"

#define LEAST_EFFICIENCY    0.05 // a very late burn still warms the exhaust and pushes a little
#define SCATTER_LIMIT_RATIO 0.5  // half of the mean: every few cycles one that hardly burns

double combustion_spark_efficiency(const struct combustion_params *combustion, double retard_rad) {
  return bounds_larger(1.0 - combustion->retard_loss_1_rad2 * retard_rad * retard_rad, LEAST_EFFICIENCY);
}

double combustion_burn_efficiency(const struct combustion_params *combustion, double residual_fraction) {
  const double excess = bounds_larger(residual_fraction - combustion->dilution_onset_fraction, 0.0);
  const double u = excess / combustion->dilution_width_fraction;
  return bounds_larger(1.0 - u * u, 0.0);
}

double combustion_scatter_ratio(const struct combustion_params *combustion, double retard_rad, double residual_fraction) {
  const double late = bounds_larger(retard_rad, 0.0) / (20.0 * UNITS_RAD_PER_DEG);
  const double diluted = bounds_larger(residual_fraction - combustion->dilution_onset_fraction, 0.0) / 0.1;
  const double scatter = combustion->scatter_ratio * (1.0 + combustion->scatter_retard_ratio * late * late +
                                                      combustion->scatter_dilution_ratio * diluted * diluted);
  return bounds_smaller(scatter, SCATTER_LIMIT_RATIO);
}
