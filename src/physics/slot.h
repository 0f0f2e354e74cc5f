/* What a narrow gap lets through of what a sharp-edged opening of the same area would.
 *
 * A gap of width g between two walls, `length` long in the flow, loses pressure twice: at its mouth and behind it, as any opening
 * does (that is the discharge coefficient Cd of a wide gap), and to friction along its walls. For a liquid
 *
 *   dp = rho v^2 / 2 (K + f length / D_h),   K = 1 / Cd^2,   D_h = 2 g,   f = 96 / Re,   Re = rho v D_h / mu
 *
 * (form: I. E. Idelchik, "Handbook of Hydraulic Resistance"; f of plane Poiseuille flow: F. M. White, "Viscous Fluid Flow"; both
 * from memory). K of a gap with a sharp entrance is some 0.5 + 1 + 0.67 = 2.2, entrance, exit and the growth of the laminar
 * profile, which is a Cd of 0.68: one constant serves both ends. For a gas both terms are taken at their own laws: friction
 * alone passes the flux G_v = g^2 (p1^2 - p2^2) / (24 mu R T length) (Poiseuille, isothermal), the mouth alone the nozzle law
 * G_o = Cd p1 Psi / sqrt(R T) of orifice.h, and the flux G through both obeys
 *
 *   G / G_v + (G / G_o)^2 = 1 ,  so  G / G_o = 2 / (N + sqrt(N^2 + 4)),   N = G_o / G_v = Cd viscous_length length / g^2
 *   viscous_length = 24 mu sqrt(R T) / p1 * Psi(r) / (1 - r^2),   r = p2 / p1
 *
 * Limits: N to 0 the orifice, N to infinity Poiseuille flow. Re at the closed stop of a clean throttle is some 150, at idle some
 * 2000; turbulent friction of wider gaps is worth 1 or 2 % of flow and is left out, as is the fuller friction of a laminar
 * profile that still grows (up to a tenth less flow at idle): see docs/physics.md. */
#ifndef PHYSICS_SLOT_H
#define PHYSICS_SLOT_H

/* Air and pressures at which gap tables are made. Everyday size: an idling engine on a mild day at the sea. */
#define SLOT_REFERENCE_PA    101325.0
#define SLOT_REFERENCE_K     293.15
#define SLOT_REFERENCE_RATIO 0.35 // behind the blade over before it

#define SLOT_REFERENCE_LENGTH_M 9.7222915229795619e-07 // slot_viscous_length_m() of these

/* Cd at which gap tables are made. slot_cda_m2() corrects for the engine's own. */
#define SLOT_REFERENCE_DISCHARGE 0.66

/* Dynamic viscosity of air, Pa s; Sutherland's law, good to 2 % from 170 to 1900 K (White, from memory). */
double slot_viscosity_pa_s(double temperature_k);

/* As above, m. up_pa, up_k: the air before the gap. pressure_ratio: 0 to 1; from ORIFICE_LAMINAR_RATIO on it bends over, so that
 * it stays finite and with it the slope of the flow through zero continuous. */
double slot_viscous_length_m(double up_pa, double up_k, double pressure_ratio);

/* G / G_o, 0 to 1, of a gap; 0 for a gap that is none. length_m: of walls that lie square to each other as far apart. */
double slot_pass_ratio(double discharge, double viscous_length_m, double length_m, double gap_m);

/* CdA of gaps of different widths, at other conditions than those of their table. area_m2: what is open; passing_m2: the same
 * times slot_pass_ratio() at the reference above. relative_viscosity: slot_viscous_length_m() over that of the reference. Exact for
 * gaps of one width and at the reference; in between the width that explains passing_m2 stands for all. */
double slot_cda_m2(double area_m2, double passing_m2, double discharge, double relative_viscosity);

/* slot_viscous_length_m() over that of the reference. */
double slot_relative_viscosity(double up_pa, double up_k, double pressure_ratio);

#endif
