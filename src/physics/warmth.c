#include "physics/warmth.h"

#include "base/bounds.h"

double warmth_radiator_w(const struct warmth_params *warmth, double coolant_k, double ambient_k) {
  const double span = warmth->thermostat_open_k - warmth->thermostat_opens_k;
  const double u = bounds_smaller(bounds_larger((coolant_k - warmth->thermostat_opens_k) / span, 0.0), 1.0);
  return u * u * (3.0 - 2.0 * u) * warmth->radiator_w_k * (coolant_k - ambient_k);
}

double warmth_coolant_rate_k_s(const struct warmth_params *warmth, double wall_heat_w, double coolant_k, double oil_k,
                               double ambient_k) {
  const double lost = warmth_radiator_w(warmth, coolant_k, ambient_k) + warmth->coolant_loss_w_k * (coolant_k - ambient_k) +
                      warmth->coolant_oil_w_k * (coolant_k - oil_k);
  return (wall_heat_w - lost) / warmth->coolant_j_k;
}

double warmth_oil_rate_k_s(const struct warmth_params *warmth, double friction_w, double coolant_k, double oil_k,
                           double ambient_k) {
  const double gained = friction_w + warmth->coolant_oil_w_k * (coolant_k - oil_k);
  return (gained - warmth->oil_loss_w_k * (oil_k - ambient_k)) / warmth->oil_j_k;
}

double warmth_oil_rest_k(const struct warmth_params *warmth, double friction_w, double coolant_k, double ambient_k) {
  return (friction_w + warmth->coolant_oil_w_k * coolant_k + warmth->oil_loss_w_k * ambient_k) /
         (warmth->coolant_oil_w_k + warmth->oil_loss_w_k);
}
