/* The engines of models/, packed when this was built (models/pack.c): the generated file has the rows. */
#ifndef LIBRARY_SHIPPED_H
#define LIBRARY_SHIPPED_H

#include <stddef.h>

struct shipped_engine {
  const char *name, *title;
  const double *numbers; // car/engine_pack.h
  size_t number_count;
};
extern const struct shipped_engine shipped_engines[];
extern const size_t shipped_engine_count;

#endif
