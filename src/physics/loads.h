/* What the crank has to turn: its own friction, the pumping of air, and what hangs on the belt and the gearbox.
 *
 *   friction   fmep = (c0 + c1 n + c2 n^2) f(oil), n in 1000 rpm        torque = fmep V_d / (4 pi)
 *   pumping    (p_e - p_m) V_d / (4 pi)
 *   alternator electrical power / efficiency / speed, fading between two crank speeds as its output falls away
 *   converter  drag = T_ref (w / w_ref)^2, turbine held by the brakes
 *   starter    T_0 (1 - w / w_0)
 *
 * Friction: form and order of the Barnes-Moss data in Heywood, "Internal Combustion Engine Fundamentals", eq. 13.6 (from
 * memory; measured motored at wide-open throttle, so that it already holds a little pumping); a cold engine has about twice
 * that at 20 degrees C and three times at -20 (Patton, Nitschke, Heywood, SAE 890836, and Shayler et al., SAE 2005-01-1654, say
 * so in words; figures from memory). The others are the
 * textbook laws of these machines. */
#ifndef PHYSICS_LOADS_H
#define PHYSICS_LOADS_H

#include "base/curve.h"

struct friction_params {
  double constant_pa, per_krpm_pa, per_krpm2_pa; // warm
  struct curve oil_factor;                       // friction relative to warm over oil temperature, K
};

struct load_params {
  double alternator_efficiency_ratio;
  double alternator_fade_low_rad_s, alternator_fade_high_rad_s; // crank speeds between which its output comes up
  double compressor_torque_nm;                                  // air conditioning, clutch closed
  double compressor_lag_s;                                      // clutch
  double steering_torque_nm;                                    // power steering pump on the crank, wheel at its stop
  double converter_torque_nm;                                   // at converter_speed_rad_s, in gear, wheels held
  double converter_speed_rad_s;
  double converter_lag_s;     // filling of the clutch in the gearbox
  double starter_torque_nm;   // at standstill
  double starter_speed_rad_s; // where its torque has fallen to zero
};

double loads_friction_nm(const struct friction_params *friction, double displacement_m3, double crank_rad_s, double oil_k);
double loads_pumping_nm(double displacement_m3, double manifold_pa, double exhaust_pa);

/* Share of the alternator's output that is there at this crank speed, 0 to 1. */
double loads_alternator_share(const struct load_params *loads, double crank_rad_s);
double loads_alternator_nm(const struct load_params *loads, double electrical_w, double crank_rad_s);
double loads_converter_nm(const struct load_params *loads, double crank_rad_s);
double loads_starter_nm(const struct load_params *loads, double crank_rad_s);

#endif
