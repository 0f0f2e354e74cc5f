/* One engine as its file describes it. */
#ifndef CAR_ENGINE_H
#define CAR_ENGINE_H

#include "car/cause_rates.h"
#include "car/scatter_params.h"
#include "control/computer_params.h"
#include "control/features.h"
#include "plant/plant_params.h"

#include <stdint.h>

enum { ENGINE_TEXT_SIZE = 160 };

struct engine {
  char name[ENGINE_TEXT_SIZE];  // the file's stem
  char title[ENGINE_TEXT_SIZE]; // one line for people
  struct plant_params plant;
  struct computer_params computer;
  struct scatter_params scatter;            // how cars of this kind differ
  struct cause_rates rates;                 // how often each cause stands behind a complaint
  const struct plant_params *calibrated_on; // metal that the computer was calibrated on; NULL: its own. Not owned
};

/* What the computer takes the engine for. */
static inline const struct plant_params *engine_calibrated_on(const struct engine *engine) {
  return engine->calibrated_on ? engine->calibrated_on : &engine->plant;
}

/* Bits of enum feature that it has. */
static inline unsigned engine_features(const struct engine *engine) { return features_of(&engine->plant, &engine->computer); }

/* True if it has all of these. */
static inline bool engine_has(const struct engine *engine, unsigned needs) { return (needs & ~engine_features(engine)) == 0; }

/* The tables of groups that an engine file has, and where in a struct engine they point. */
struct engine_part {
  const struct field_group *groups;
  const size_t *count;
  size_t base;
};
enum { ENGINE_PART_COUNT = 4 };
extern const struct engine_part engine_parts[ENGINE_PART_COUNT];

/* A number that tells engines apart: equal for two whose keys all have the same values. */
uint64_t engine_digest(const struct engine *engine);

#endif
