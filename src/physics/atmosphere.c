#include "physics/atmosphere.h"

#include "physics/gas.h"

#include <math.h>

#define LAPSE_K_M    0.0065  // ISO 2533
#define GRAVITY_M_S2 9.80665 // ISO 2533

double atmosphere_temperature_k(double altitude_m) { return ATMOSPHERE_SEA_LEVEL_K - LAPSE_K_M * altitude_m; }

double atmosphere_pressure_pa(double altitude_m) {
  const double exponent = GRAVITY_M_S2 / (GAS_AIR_CONSTANT_J_KG_K * LAPSE_K_M);
  return ATMOSPHERE_SEA_LEVEL_PA * pow(atmosphere_temperature_k(altitude_m) / ATMOSPHERE_SEA_LEVEL_K, exponent);
}

double atmosphere_density_kg_m3(double altitude_m) {
  return atmosphere_pressure_pa(altitude_m) / (GAS_AIR_CONSTANT_J_KG_K * atmosphere_temperature_k(altitude_m));
}
