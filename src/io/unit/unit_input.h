/* What a unit is made of. */
#ifndef IO_UNIT_UNIT_INPUT_H
#define IO_UNIT_UNIT_INPUT_H

#include "car/engine.h"

#define UNIT_INPUT_IDENTIFIER "bladegap"

struct unit_file {
  const struct engine *engine;
  int version;         // 2 or 3
  const char *program; // its version, for the description
  const char *object;  // path of the shared object for this machine
  const char *sources; // folder of the sources, as src/ is laid out
  const char *picture; // path of a PNG; NULL for none
};

#endif
