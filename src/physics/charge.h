/* What a cylinder draws in: fresh air and what stays behind of the burned gas.
 *
 *   fresh air per engine cycle   m = e(N) (s p_m + y) V_d / (R T_m)
 *   but at most what the whole cylinder holds at p_m: m <= e(N) max(s, r_c/(r_c - 1)) p_m V_d / (R T_m), which bounds y > 0 only
 *   residual fraction            x = 1.266 OF / N r^-0.87 sqrt|p_m - p_e| + 0.632 r^-0.74 / r_c ,   r = p_m / p_e
 *
 * Charge: volumetric efficiency linear in manifold pressure, E. Hendricks et al., "Modelling of the Intake Manifold
 * Filling Dynamics", SAE 960037 (form from memory; s and y are the engine file's).
 * Residual: J. W. Fox, W. K. Cheng, J. B. Heywood, "A Model for Predicting Residual Gas Fraction in Spark-Ignition
 * Engines", SAE 931025; N in rev/s, p in bar, OF in degrees per metre (coefficients from memory). The stoichiometric
 * form is used, their equivalence-ratio factor being one. */
#ifndef PHYSICS_CHARGE_H
#define PHYSICS_CHARGE_H

#include "base/curve.h"

struct charge_params {
  double displacement_m3;
  int cylinder_count;
  int bank_count; // cylinder banks with an oxygen sensor each: 1 or 2
  double compression_ratio;
  double pressure_slope_ratio; // s, about 0.95
  double pressure_offset_pa;   // y, about -7 kPa
  struct curve speed_factor;   // e over crank speed, rad/s; 1 at mid speed
  double overlap_factor_deg_m; // OF; 0.3 to 1.5, small for an engine that idles well
};

/* Fresh air that one engine cycle (two revolutions, all cylinders) draws, kg; never negative. */
double charge_air_per_cycle_kg(const struct charge_params *charge, double manifold_pa, double manifold_k, double crank_rad_s);

/* Burned-gas fraction of the charge, from 0 to 1. Valid from cranking to rated speed; clamped to [0, 0.9]. */
double charge_residual_fraction(const struct charge_params *charge, double manifold_pa, double exhaust_pa, double crank_rad_s);

#endif
