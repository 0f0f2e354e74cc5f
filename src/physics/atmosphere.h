/* The standard atmosphere up to 11 km.
 *
 *   T = 288.15 - 0.0065 H,  p = 101325 (T / 288.15)^(g0 / (R L)),  rho = p / (R T)
 *
 * Source: ISO 2533:1975 (the same as the US Standard Atmosphere 1976 below 32 km). H is the *geopotential* altitude. */
#ifndef PHYSICS_ATMOSPHERE_H
#define PHYSICS_ATMOSPHERE_H

#define ATMOSPHERE_SEA_LEVEL_PA 101325.0 // ISO 2533
#define ATMOSPHERE_SEA_LEVEL_K  288.15   // ISO 2533

/* altitude_m from -2000 to 11000, geopotential. */
double atmosphere_pressure_pa(double altitude_m);
double atmosphere_temperature_k(double altitude_m);
double atmosphere_density_kg_m3(double altitude_m);

#endif
