/* Properties of dry air as an ideal gas, and of gravity. */
#ifndef PHYSICS_GAS_H
#define PHYSICS_GAS_H

#define GAS_AIR_CONSTANT_J_KG_K 287.05287 // specific gas constant of air; ISO 2533:1975: 8314.32 / 28.964420
#define GAS_AIR_GAMMA           1.4       // ratio of specific heats, air below 600 K; textbook value
#define GAS_AIR_CP_J_KG_K       (GAS_AIR_GAMMA / (GAS_AIR_GAMMA - 1.0) * GAS_AIR_CONSTANT_J_KG_K) // 1005
#define GAS_AIR_CV_J_KG_K       (GAS_AIR_CP_J_KG_K - GAS_AIR_CONSTANT_J_KG_K)                     // 718

#endif
