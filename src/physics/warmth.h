/* Two lumps of heat, coolant with metal and oil, and what warms and cools them.
 *
 *   C_c dT_c/dt = wall heat - G_th(T_c) (T_c - T_a) - G_c (T_c - T_a) - G_co (T_c - T_o)
 *   C_o dT_o/dt = friction heat + G_co (T_c - T_o) - G_o (T_o - T_a)
 *
 * wall heat = share of the burned fuel's energy that is neither work nor exhaust; all friction work warms the oil. The
 * thermostat's conductance rises from nothing to its full value over a few kelvin. Lumped capacities as in any warm-up
 * model; everything that is not work or coolant heat leaves with the exhaust. */
#ifndef PHYSICS_WARMTH_H
#define PHYSICS_WARMTH_H

struct warmth_params {
  double coolant_j_k, oil_j_k; // capacities, metal included
  double wall_heat_ratio;      // of the burned energy that is not work
  double coolant_loss_w_k;     // to the air round the engine
  double oil_loss_w_k;
  double coolant_oil_w_k;
  double thermostat_opens_k, thermostat_open_k; // where it begins, where it is full open
  double radiator_w_k;                          // with the thermostat open and the fan on
  double exhaust_gas_k;                         // temperature of gas that comes back through an open recirculation valve
};

/* Heat the radiator takes, W. */
double warmth_radiator_w(const struct warmth_params *warmth, double coolant_k, double ambient_k);

double warmth_coolant_rate_k_s(const struct warmth_params *warmth, double wall_heat_w, double coolant_k, double oil_k,
                               double ambient_k);
double warmth_oil_rate_k_s(const struct warmth_params *warmth, double friction_w, double coolant_k, double oil_k,
                           double ambient_k);

/* Oil where friction and coolant keep it, K. */
double warmth_oil_rest_k(const struct warmth_params *warmth, double friction_w, double coolant_k, double ambient_k);

#endif
