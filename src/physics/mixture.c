#include "physics/mixture.h"

#include "base/bounds.h"

#define LEAN_ONSET_LAMBDA 1.05 // cycles begin to differ beyond this; usual statement for petrol engines

double mixture_torque_factor(const struct mixture_params *mixture, double lambda) {
  const double at_one = 1.0 - mixture->best_lambda_ratio, off = lambda - mixture->best_lambda_ratio;
  const double factor = 1.0 + mixture->torque_curvature * (at_one * at_one - off * off);
  return factor > 0.0 ? factor : 0.0; // also for an infinite lambda
}

double mixture_scatter_factor(const struct mixture_params *mixture, double lambda) {
  const double lean = bounds_smaller(bounds_larger(lambda - LEAN_ONSET_LAMBDA, 0.0), 1.0) / 0.1;
  return 1.0 + mixture->scatter_lean_ratio * lean * lean;
}

double mixture_delivered_kg_s(const struct mixture_params *mixture, double injected_kg_s, double wall_kg, double coolant_k) {
  return (1.0 - mixture->wall_share_ratio) * injected_kg_s + wall_kg / curve_value(&mixture->wall_time_s, coolant_k);
}

double mixture_wall_rate_kg_s(const struct mixture_params *mixture, double injected_kg_s, double wall_kg, double coolant_k) {
  return mixture->wall_share_ratio * injected_kg_s - wall_kg / curve_value(&mixture->wall_time_s, coolant_k);
}

double mixture_wall_rest_kg(const struct mixture_params *mixture, double injected_kg_s, double coolant_k) {
  return mixture->wall_share_ratio * injected_kg_s * curve_value(&mixture->wall_time_s, coolant_k);
}
