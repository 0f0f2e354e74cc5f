/* Values of an engine that are each in range and yet contradict each other. The same for a file, for what --set changes and for every
 * point of a sweep. */
#ifndef CAR_ENGINE_CHECK_H
#define CAR_ENGINE_CHECK_H

#include "base/error.h"
#include "car/engine.h"

enum { ENGINE_CHECK_TEXT_SIZE = 320 };

struct engine_check_fault {
  const char *group, *key;             // the value that is wrong
  size_t point;                        // of a curve, from 1; 0 for a single value
  const char *other_group, *other_key; // what it contradicts
  char text[ENGINE_CHECK_TEXT_SIZE];   // to stand behind the name: "is 20; it must be below ..."
};

/* Calls tell for every contradiction. A NaN contradicts nothing. */
void engine_check_each(const struct engine *engine, void (*tell)(const struct engine_check_fault *fault, void *user), void *user);

/* STATUS_USAGE with all contradictions, a line each. */
MUST_CHECK enum status engine_check(const struct engine *engine, struct error *error);

#endif
