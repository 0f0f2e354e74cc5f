/* What an engine has and another may not, one bit each: computed here and nowhere else.
 *
 * Faults, causes, deviations from car to car, bench tests, conditions of readings and monitors of the engine computer each name the bits
 * they need; features_of() says which an engine has. It stands in this layer because the computer's own monitors ask first. */
#ifndef CONTROL_FEATURES_H
#define CONTROL_FEATURES_H

#include "control/computer_params.h"
#include "plant/plant_params.h"

#include <stdbool.h>

/* FEATURE(name, what an engine with it has). Where exactly one of two must be there, both are listed, so that a table can ask for
 * either. */
// clang-format off
#define FEATURE_LIST(FEATURE)                                            \
  FEATURE(electronic, "an electronic throttle with a pedal sensor")      \
  FEATURE(cable, "a cable throttle with an idle bypass valve")           \
  FEATURE(drive, "a motor that moves the blade")                         \
  FEATURE(air_flow, "an air-flow sensor")                                \
  FEATURE(pressure, "a manifold pressure sensor that meters the air")    \
  FEATURE(manifold_sensor, "a manifold pressure sensor")                 \
  FEATURE(charger, "a turbocharger and a sensor of charge pressure")     \
  FEATURE(one_track, "one position track")                               \
  FEATURE(two_tracks, "two position tracks")                             \
  FEATURE(one_bank, "one bank of cylinders")                             \
  FEATURE(two_banks, "two banks of cylinders")                           \
  FEATURE(converter, "a gear that can be selected at a standstill")      \
  FEATURE(compressor, "an air-conditioning compressor")
// clang-format on

enum feature_index {
#define FEATURE(name, text) FEATURE_INDEX_##name,
  FEATURE_LIST(FEATURE)
#undef FEATURE
      FEATURE_COUNT
};
enum feature {
#define FEATURE(name, text) FEATURE_##name = 1 << FEATURE_INDEX_##name,
  FEATURE_LIST(FEATURE)
#undef FEATURE
};

/* By the index of the bit. */
extern const char *const feature_names[FEATURE_COUNT], *const feature_texts[FEATURE_COUNT];

/* Bits of enum feature that an engine of these parameters has. */
unsigned features_of(const struct plant_params *plant, const struct computer_params *computer);

#endif
