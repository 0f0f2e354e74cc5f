/* Compressible flow of air through a small opening: throttle gap, bypass valve, leak, ventilation.
 *
 *   m = CdA p_up / sqrt(R T_up) Psi(r),   r = p_down / p_up
 *   Psi(r) = r^(1/g) sqrt( 2g/(g-1) (1 - r^((g-1)/g)) )      above the critical ratio, and its maximum below it
 *
 * The isentropic nozzle law (any gas-dynamics textbook; Heywood, "Internal Combustion Engine Fundamentals", app. C).
 * Choked below r* = 0.5283: the flow then depends on nothing downstream, which is why an idling engine's air follows
 * the gap's area alone.
 *
 * Near equal pressures the law has an infinite slope. Between r = 1 and ORIFICE_LAMINAR_RATIO a cubic replaces it, as in
 * laminar flow: the result is odd through zero flow and has a continuous first derivative everywhere. */
#ifndef PHYSICS_ORIFICE_H
#define PHYSICS_ORIFICE_H

/* Where the laminar zone begins. Everyday size: 0.3 kPa of 101 kPa. Nearer to 1 makes the manifold stiff at wide-open
 * throttle; further away falsifies small pressure drops (flow at the edge of the zone is exact, inside it up to 30 %
 * low). */
#define ORIFICE_LAMINAR_RATIO 0.997

/* Psi of the pressure ratio in [0, 1], exact law without the laminar zone. Dimensionless; maximum 0.684731. */
double orifice_flow_function(double pressure_ratio);

/* Critical pressure ratio (2/(g+1))^(g/(g-1)) = 0.528282. */
double orifice_critical_ratio(void);

/* Mass flow from side a to side b in kg/s, negative when it goes back. cda_m2: discharge coefficient times area, >= 0.
 * Pressures absolute and positive, temperatures those of each side's gas. */
double orifice_mass_flow_kg_s(double cda_m2, double pressure_a_pa, double temperature_a_k, double pressure_b_pa,
                              double temperature_b_k);

/* The opening that passes this choked flow: the inverse of the law below the critical ratio. */
double orifice_choked_cda_m2(double flow_kg_s, double pressure_pa, double temperature_k);

#endif
