/* What a cylinder draws in: fresh air and what stays behind of the burned gas.
 *
 *   fresh air per engine cycle   m = e(N) (s p_m + y p_e / 101.325 kPa) V_d / (R T_m)
 *   but at most what the whole cylinder holds at p_m: m <= e(N) max(s, r_c/(r_c - 1)) p_m V_d / (R T_m), which bounds y > 0 only
 *   exhaust pressure             p_e = p_outlet + k (m cycles/s)^2
 *   residual fraction            x = 1.266 OF / N r^-0.87 sqrt|p_m - p_e| + 0.632 r^-0.74 / r_c ,   r = p_m / p_e
 *
 * Charge: volumetric efficiency linear in manifold pressure, E. Hendricks et al., "Modelling of the Intake Manifold
 * Filling Dynamics", SAE 960037 (form from memory; s and y are the engine file's, y at a standard atmosphere behind the exhaust
 * valve). The offset is the room that burned gas keeps: in the ideal cycle with constant specific heats
 * m R T / V_d = p_m (r_c - (g - 1) / g) / (r_c - 1) - p_e / (g (r_c - 1)), so it goes with the exhaust pressure (Heywood, "Internal
 * Combustion Engine Fundamentals", ch. 6, volumetric efficiency of the quasi-static process; from memory, derived again in
 * tests/unit/physics/test_charge_loads.c).
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
  double pressure_slope_ratio;      // s, about 0.95
  double pressure_offset_pa;        // y, about -7 kPa, with a standard atmosphere in the exhaust
  struct curve speed_factor;        // e over crank speed, rad/s; 1 at mid speed
  double overlap_factor_deg_m;      // OF; 0.3 to 1.5, small for an engine that idles well
  struct curve overlap_added_deg_m; // adjustable valve timing: added to OF, over crank speed, rad/s; no points: fixed timing
};

/* Fresh air that one engine cycle (two revolutions, all cylinders) draws against this exhaust pressure, kg; never negative. */
double charge_air_per_cycle_kg(const struct charge_params *charge, double manifold_pa, double exhaust_pa, double manifold_k,
                               double crank_rad_s);

/* The same where the exhaust pressure is that of the outlet and a loss that grows with the square of the flow through the
 * cylinders; share: of the charge that stays in them. exhaust_pa: what it comes to. */
double charge_air_against_loss_kg(const struct charge_params *charge, double manifold_pa, double outlet_pa, double loss_pa_s2_kg2,
                                  double share, double manifold_k, double crank_rad_s, double *exhaust_pa);

/* Manifold pressure at which one engine cycle draws this much, Pa: charge_air_per_cycle_kg() the other way round. */
double charge_manifold_pa(const struct charge_params *charge, double air_per_cycle_kg, double exhaust_pa, double manifold_k,
                          double crank_rad_s);

/* Burned-gas fraction of the charge, from 0 to 1. Valid from cranking to rated speed; clamped to [0, 0.9]. */
double charge_residual_fraction(const struct charge_params *charge, double manifold_pa, double exhaust_pa, double crank_rad_s);

#endif
