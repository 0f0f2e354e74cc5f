/* The gap table of the film at this moment. A film that grows changes the table at every tick; integrating it anew each time would
 * cost as much as the engine. So nodes are integrated at whole half micrometres ("rungs"), where they are looked at, and a film
 * between them has the mean of the rungs round it.
 *
 * Error against the integral, beside the tables' own: of the passing area below 0.001 mm2 + 3e-4 of it, 2e-3 less than a degree
 * open; of the open area below 0.02 mm2, most where the closed rim shuts, film and clearance alike (tests/unit/sim/test_film_bore.c). */
#ifndef SIM_FILM_BORE_H
#define SIM_FILM_BORE_H

#include "physics/bore_table.h"

#include <stdbool.h>

#define FILM_BORE_RUNG_M 0.5e-6
enum { FILM_BORE_CORNERS = 4 };

struct film_bore_rung {
  bool filled;
  long wall, edge; // thickness in rungs
  struct bore_table table;
};

struct film_bore {
  struct bore_geometry bore;
  struct bore_film_shape shape;
  struct bore_film film; // what `table` stands for
  struct bore_table table;
  struct film_bore_rung rungs[FILM_BORE_CORNERS]; // corners round the film, kept while they serve
  bool filled;
  bool on_demand; // every film its own table, no rungs: for films that jump, as from point to point of a sweep or by hand
};

void film_bore_init(struct film_bore *film_bore, const struct bore_geometry *bore, const struct bore_film_shape *shape);

/* Whether two bores and the shapes of their films are the same. */
bool film_bore_alike(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                     const struct bore_geometry *other_bore, const struct bore_film_shape *other_shape);

/* Whether it was made for a bore and a film like these. */
bool film_bore_is_of(const struct film_bore *film_bore, const struct bore_geometry *bore, const struct bore_film_shape *shape);

/* Another bore: nothing kept serves any more; no table until film_bore_set(). The same bore changes nothing. */
void film_bore_change(struct film_bore *film_bore, const struct bore_geometry *bore, const struct bore_film_shape *shape);

/* Takes over another's bore, film and table of now. */
void film_bore_adopt(struct film_bore *film_bore, const struct film_bore *other);

/* Which of its rungs the parts of the table of now are; -1 for none. A copy of a film_bore, somewhere else in memory, is given its
 * own rungs by film_bore_aim(). */
struct film_bore_parts {
  int rung[FILM_BORE_CORNERS];
};
struct film_bore_parts film_bore_parts_of(const struct film_bore *film_bore);
void film_bore_aim(struct film_bore *copy, struct film_bore_parts parts);

/* Makes film_bore->table that of this film. */
void film_bore_set(struct film_bore *film_bore, const struct bore_film *film);

#endif
