/* From charge to work on the piston.
 *
 *   work per cycle = m_air / AFR * H eta_i(N) eta_spark(retard) eta_burn(x) f(lambda)      f: mixture.h
 *   eta_spark = 1 - k retard^2               retard from the spark for best torque (MBT)
 *   eta_burn  = 1 - ((x - x0) / w)^2         above the residual fraction x0 that the burn tolerates
 *   scatter   = c0 (1 + a (retard / 20 deg)^2 + b ((x - x0) / 0.1)^2 )    coefficient of variation of the work
 *
 * Spark: published curvatures lie apart by two. 2.33e-4 per square degree was fitted on a 2.48 l engine on the bench, and a
 * production 1.5 l four idling 25 degrees late agrees; 4.94e-4, that is (retard / 45 deg)^2, is a coursework calibration given with
 * L. Guzzella, C. Onder, "Introduction to Modeling and Control of IC Engine Systems". Both stand in docs/validation.md. The other two are plausible forms of our
 * own for what textbooks describe in words (Heywood ch. 9: dilution and late burning make cycles uneven). */
#ifndef PHYSICS_COMBUSTION_H
#define PHYSICS_COMBUSTION_H

#include "base/curve.h"

struct combustion_params {
  double heating_value_j_kg;      // of the fuel; petrol 44 MJ/kg
  double stoichiometric_ratio;    // air to fuel by mass; petrol 14.7
  struct curve efficiency;        // eta_i at MBT over crank speed, rad/s
  double retard_loss_1_rad2;      // k
  struct curve best_spark_rad;    // MBT, crank angle before top dead centre over crank speed, rad/s
  double dilution_onset_fraction; // x0
  double dilution_width_fraction; // w
  double scatter_ratio;           // c0; 0 for an engine without scatter
  double scatter_retard_ratio;    // a
  double scatter_dilution_ratio;  // b
  double torque_lag_cycle_ratio;  // intake to torque, in engine cycles
};

/* 1 at MBT, falls on both sides, never below 0.05. */
double combustion_spark_efficiency(const struct combustion_params *combustion, double retard_rad);

/* 1 up to the onset, 0 where nothing burns. */
double combustion_burn_efficiency(const struct combustion_params *combustion, double residual_fraction);

/* Standard deviation of the work over its mean, cycle to cycle and cylinder to cylinder. */
double combustion_scatter_ratio(const struct combustion_params *combustion, double retard_rad, double residual_fraction);

#endif
