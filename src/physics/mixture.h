/* Fuel on its way to the cylinder, and what the mixture does to torque.
 *
 *   wall film   dm_w/dt = X m_injected - m_w / tau        delivered = (1 - X) m_injected + m_w / tau
 *   torque      f(lambda) = 1 + c ((1 - l0)^2 - (lambda - l0)^2) , never below zero; 1 at lambda one, greatest at l0
 *
 * Wall film: C. F. Aquino, "Transient A/F Control Characteristics of the 5 Liter Central Fuel Injection Engine", SAE 810494
 * (the X-tau model; from memory). Tau grows on a cold manifold.
 * Torque: best torque lies rich, near lambda 0.88 (P. R. Crossley, J. A. Cook, 1991: A/F 12.89 of 14.6), and lean
 * mixtures lose it; the parabola is the usual small-deviation form, c an engine file's. */
#ifndef PHYSICS_MIXTURE_H
#define PHYSICS_MIXTURE_H

#include "base/curve.h"

struct mixture_params {
  double injector_ratio;     // how much more than the computer counts on the injectors of this car deliver; 0 as a rule
  double wall_share_ratio;   // X
  struct curve wall_time_s;  // tau over coolant temperature, K
  double best_lambda_ratio;  // l0
  double torque_curvature;   // c
  double scatter_lean_ratio; // growth of cycle scatter at 0.1 of lambda beyond 1.05
};

/* Torque relative to that at lambda one with the same air. Infinite lambda (no fuel) gives 0. */
double mixture_torque_factor(const struct mixture_params *mixture, double lambda);

/* Growth of the cycle scatter by a lean mixture: 1 at lambda one. */
double mixture_scatter_factor(const struct mixture_params *mixture, double lambda);

/* Rates of the wall film. injected_kg_s, wall_kg -> fuel that goes into the cylinders, kg/s. */
double mixture_delivered_kg_s(const struct mixture_params *mixture, double injected_kg_s, double wall_kg, double coolant_k);
double mixture_wall_rate_kg_s(const struct mixture_params *mixture, double injected_kg_s, double wall_kg, double coolant_k);

/* The wall film from which as much evaporates as lands there, kg. */
double mixture_wall_rest_kg(const struct mixture_params *mixture, double injected_kg_s, double coolant_k);

#endif
