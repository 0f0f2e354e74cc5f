#include "physics/orifice.h"

#include "physics/gas.h"

#include <math.h>

// Closed forms for gamma = 1.4, written out because libm at start-up is not allowed in a static initialiser.
#define CRITICAL_RATIO 0.52828178771717416 // (2/2.4)^3.5
#define CHOKED_PSI     0.68473145637727040 // sqrt(1.4 (2/2.4)^6)

static double psi(double ratio) {
  if (ratio <= CRITICAL_RATIO) return CHOKED_PSI;
  const double density = pow(ratio, 1.0 / GAS_AIR_GAMMA);
  // r^((g-1)/g) = r / r^(1/g): one pow serves both powers
  const double rest = 1.0 - ratio / density;
  return rest > 0.0 ? density * sqrt(2.0 * GAS_AIR_GAMMA / (GAS_AIR_GAMMA - 1.0) * rest) : 0.0;
}

double orifice_flow_function(double pressure_ratio) { return psi(pressure_ratio); }

double orifice_critical_ratio(void) { return CRITICAL_RATIO; }

/* Flow at the edge of the laminar zone and its slope with respect to x = 1 - r there, per unit of CdA p / sqrt(R T). */
static void laminar_edge(double *value, double *slope) {
  *value = psi(ORIFICE_LAMINAR_RATIO);
  // d(Psi^2)/dr by the product rule, then d/dx = -d/dr
  const double r = ORIFICE_LAMINAR_RATIO, g = GAS_AIR_GAMMA;
  const double squared_slope = 2.0 * g / (g - 1.0) * (2.0 / g * pow(r, 2.0 / g - 1.0) - (g + 1.0) / g * pow(r, 1.0 / g));
  *slope = -squared_slope / (2.0 * *value);
}

/* The cubic a x + b x^3 would serve one gas; with two temperatures the slope at zero must be common to both sides, so
 * each side gets a cubic Hermite piece in x from (0, 0, common slope) to (edge, value, slope). */
static double laminar_psi(double x, double slope_at_zero, double value, double slope) {
  const double edge = 1.0 - ORIFICE_LAMINAR_RATIO;
  const double u = x / edge, rise = value / edge;
  const double c = 3.0 * rise - 2.0 * slope_at_zero - slope, d = slope_at_zero + slope - 2.0 * rise;
  return x * (slope_at_zero + u * (c + u * d));
}

double orifice_mass_flow_kg_s(double cda_m2, double pressure_a_pa, double temperature_a_k, double pressure_b_pa,
                              double temperature_b_k) {
  const int forward = pressure_a_pa >= pressure_b_pa;
  const double up = forward ? pressure_a_pa : pressure_b_pa, down = forward ? pressure_b_pa : pressure_a_pa;
  const double up_k = forward ? temperature_a_k : temperature_b_k;
  const double ratio = down / up;
  const double root = sqrt(GAS_AIR_CONSTANT_J_KG_K * up_k);
  double flow;
  if (ratio <= ORIFICE_LAMINAR_RATIO) {
    flow = psi(ratio);
  } else {
    double value, slope;
    laminar_edge(&value, &slope);
    // natural slope of a x + b x^3 through (value, slope); then the mean of the two sides' flows, seen from this side
    const double natural = 1.5 * value / (1.0 - ORIFICE_LAMINAR_RATIO) - 0.5 * slope;
    const double other_k = forward ? temperature_b_k : temperature_a_k;
    const double common = 0.5 * natural * (1.0 + sqrt(up_k / other_k));
    flow = laminar_psi(1.0 - ratio, common, value, slope);
  }
  flow *= cda_m2 * up / root;
  return forward ? flow : -flow;
}

double orifice_choked_cda_m2(double flow_kg_s, double pressure_pa, double temperature_k) {
  return flow_kg_s * sqrt(GAS_AIR_CONSTANT_J_KG_K * temperature_k) / (pressure_pa * CHOKED_PSI);
}
