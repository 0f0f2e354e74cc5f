/* One engine as its file describes it. */
#ifndef SIM_ENGINE_H
#define SIM_ENGINE_H

#include "control/computer_params.h"
#include "plant/plant_params.h"

enum { ENGINE_TEXT_SIZE = 160 };

struct engine {
  char name[ENGINE_TEXT_SIZE];  // the file's stem
  char title[ENGINE_TEXT_SIZE]; // one line for people
  struct plant_params plant;
  struct computer_params computer;
};

/* The tables of groups that an engine file has, and where in a struct engine they point. */
struct engine_part {
  const struct field_group *groups;
  const size_t *count;
  size_t base;
};
enum { ENGINE_PART_COUNT = 2 };
extern const struct engine_part engine_parts[ENGINE_PART_COUNT];

#endif
