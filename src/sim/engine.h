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

#endif
