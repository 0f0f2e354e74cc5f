/* What the solver integrates: one row per state.
 *
 * STATE(name with unit, everyday size, what it is). The absolute tolerance of a state is its everyday size times the
 * relative tolerance. */
#ifndef PLANT_STATE_H
#define PLANT_STATE_H

#include "base/attributes.h"

#include <stddef.h>

// clang-format off
#define PLANT_STATE_LIST(STATE)                                                                               \
  STATE(manifold_pressure_pa, 3e4, "intake manifold absolute pressure")                                       \
  STATE(manifold_temperature_k, 3e2, "intake manifold gas temperature")                                       \
  STATE(manifold_burned_ratio, 1e-1, "share of exhaust gas in the manifold")                                  \
  STATE(crank_speed_rad_s, 9e1, "crankshaft speed")                                                           \
  STATE(burning_air_kg, 4e-4, "air per engine cycle that is burning now: the intake's, a lag later")          \
  STATE(burning_fuel1_kg, 3e-5, "fuel with it, bank 1")                                                       \
  STATE(burning_fuel2_kg, 3e-5, "fuel with it, bank 2")                                                       \
  STATE(wall_fuel1_kg, 3e-5, "fuel on the port walls, bank 1")                                                \
  STATE(wall_fuel2_kg, 3e-5, "fuel on the port walls, bank 2")                                                \
  STATE(blade_rad, 1e-1, "blade angle from the plane square to the bore")                                     \
  STATE(blade_rate_rad_s, 1e0, "its rate")                                                                    \
  STATE(drive_integral_v, 1e0, "integral part of the position loop")                                          \
  STATE(air_sensor_kg_s, 3e-3, "metered air as the air-flow sensor follows it")                               \
  STATE(compressor_engagement_ratio, 1e0, "compressor clutch, 0 open, 1 closed")                              \
  STATE(drive_engagement_ratio, 1e0, "gear engagement, 0 neutral, 1 in gear")                                 \
  STATE(coolant_k, 3e2, "coolant temperature")                                                                \
  STATE(oil_k, 3e2, "oil temperature")
// clang-format on

struct plant_state {
#define STATE(name, nominal, text) double name;
  PLANT_STATE_LIST(STATE)
#undef STATE
};

enum { PLANT_STATE_COUNT = sizeof(struct plant_state) / sizeof(double) };

struct plant_state_row {
  const char *name;
  double nominal;
  const char *text;
};
extern const struct plant_state_row plant_state_rows[PLANT_STATE_COUNT];

/* The longest step that a solver of ours takes, s: a tick, after which the inputs jump. */
#define PLANT_STEP_MOST_S 0.01

/* Name of the first state that is not finite, NULL if all are. */
MUST_CHECK const char *plant_state_not_finite(const struct plant_state *state);

#endif
