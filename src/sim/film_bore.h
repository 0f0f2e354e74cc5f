/* The gap table of the film at this moment. A film that grows changes the table at every tick; integrating it anew each time
 * would cost more than the engine. So tables are integrated at whole micrometres ("rungs") and blended in between:
 * the area is as good as linear in the thickness there (error below 1e-5 of it, tests/unit/test_film_bore.c). */
#ifndef SIM_FILM_BORE_H
#define SIM_FILM_BORE_H

#include "physics/bore_table.h"

#include <stdbool.h>

enum { FILM_BORE_RUNGS_PER_UM = 8 };
#define FILM_BORE_RUNG_M (1e-6 / FILM_BORE_RUNGS_PER_UM)

struct film_bore_rung {
  bool filled;
  long wall, edge;              // thickness in rungs
  struct bore_table table;
};

struct film_bore {
  struct bore_geometry bore;
  struct bore_film_shape shape;
  struct bore_film film;        // what `table` stands for
  struct bore_table table;
  struct film_bore_rung rungs[4]; // corners round the film, kept while they serve
  bool filled;
};

void film_bore_init(struct film_bore *film_bore, const struct bore_geometry *bore, const struct bore_film_shape *shape);

/* Makes film_bore->table that of this film. */
void film_bore_set(struct film_bore *film_bore, const struct bore_film *film);

#endif
