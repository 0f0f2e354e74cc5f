#include "physics/slot.h"

#include "physics/gas.h"
#include "physics/orifice.h"

#include <math.h>

// Sutherland's law for air; White, from memory.
#define SUTHERLAND_PA_S 1.716e-5
#define SUTHERLAND_K    273.15
#define SUTHERLAND_S_K  110.4

double slot_viscosity_pa_s(double temperature_k) {
  const double t = temperature_k / SUTHERLAND_K;
  return SUTHERLAND_PA_S * t * sqrt(t) * (SUTHERLAND_K + SUTHERLAND_S_K) / (temperature_k + SUTHERLAND_S_K);
}

/* Psi / (1 - r^2). It grows as 1 / sqrt(1 - r); its inverse square, which falls to nothing as a line does, is bent into a parabola
 * that is level at r = 1. */
static double drive_ratio(double r) {
  const double edge = 1.0 - ORIFICE_LAMINAR_RATIO;
  const double at = r < ORIFICE_LAMINAR_RATIO ? r : ORIFICE_LAMINAR_RATIO;
  const double psi = orifice_flow_function(at), rest = 1.0 - at * at;
  if (r <= ORIFICE_LAMINAR_RATIO) return psi / rest;
  // y = (1 - r^2)^2 / Psi^2 and its slope over x = 1 - r, at the edge; (Psi^2)' as in orifice.c, here with g = 1.4
  const double square = psi * psi, g = GAS_AIR_GAMMA;
  const double square_slope = -2.0 / (g - 1.0) * (2.0 * pow(at, 2.0 / g - 1.0) - (g + 1.0) * pow(at, 1.0 / g));
  const double slope = (4.0 * at * rest - rest * rest * square_slope / square) / square;
  const double x = 1.0 - r, bend = 0.5 * slope / edge;
  return 1.0 / sqrt(rest * rest / square + bend * (x * x - edge * edge));
}

double slot_viscous_length_m(double up_pa, double up_k, double pressure_ratio) {
  // mu sqrt(R T) without its roots: T^1.5 T^0.5 is T^2
  const double per_k2 = 24.0 * SUTHERLAND_PA_S * (SUTHERLAND_K + SUTHERLAND_S_K) * sqrt(GAS_AIR_CONSTANT_J_KG_K) /
                        (SUTHERLAND_K * sqrt(SUTHERLAND_K));
  return per_k2 * up_k * up_k * drive_ratio(pressure_ratio) / ((up_k + SUTHERLAND_S_K) * up_pa);
}

double slot_pass_ratio(double discharge, double viscous_length_m, double length_m, double gap_m) {
  if (gap_m <= 0.0) return 0.0;
  const double square = gap_m * gap_m, n = discharge * viscous_length_m * length_m;
  return 2.0 * square / (n + sqrt(n * n + 4.0 * square * square));
}

double slot_relative_viscosity(double up_pa, double up_k, double pressure_ratio) {
  return slot_viscous_length_m(up_pa, up_k, pressure_ratio) * (1.0 / SLOT_REFERENCE_LENGTH_M);
}

double slot_cda_m2(double area_m2, double passing_m2, double discharge, double relative_viscosity) {
  if (passing_m2 <= 0.0) return 0.0;
  // N = (A / P - P / A) u Cd / 0.66, times A P
  const double n =
      (area_m2 * area_m2 - passing_m2 * passing_m2) * relative_viscosity * discharge * (1.0 / SLOT_REFERENCE_DISCHARGE);
  const double both = 2.0 * area_m2 * passing_m2;
  return discharge * area_m2 * both / (n + sqrt(n * n + both * both));
}
