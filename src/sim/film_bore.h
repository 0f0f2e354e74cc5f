/* The gap table of the film at this moment. A film that grows changes the table at every tick; integrating
 * it anew each time would cost more than the engine. So tables are integrated at some thicknesses
 * ("rungs") and blended in between.
 *
 * Rungs stand at whole micrometres, eight times closer while film and clearance are about the same
 * somewhere round the bore: there parts of the rim shut at the closed stop. While the film moves rungs are
 * integrated only where they are looked at, which is near one angle; once it rests its table is whole, and
 * quicker to look up. Error against the integral,
 * for a bias of at most a half: below 0.002 mm2 + 2e-5 of the area from half a degree above the closed
 * stop, below 0.02 mm2 under that (tests/unit/sim/test_film_bore.c). */
#ifndef SIM_FILM_BORE_H
#define SIM_FILM_BORE_H

#include "physics/bore_table.h"

#include <stdbool.h>

enum { FILM_BORE_RUNGS_PER_UM = 8, FILM_BORE_RUNG_COUNT = 4 };
#define FILM_BORE_RUNG_M (1e-6 / FILM_BORE_RUNGS_PER_UM)

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
  struct film_bore_rung rungs[FILM_BORE_RUNG_COUNT]; // corners round the film, kept while they serve
  bool filled;
  bool on_demand; // a film at rest: its own table, integrated only where it is looked at
  bool moved;     // the film of the last film_bore_set() was another than that before
  int still;      // calls since it last moved
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

/* Which of its rungs the table of now is a blend of, looked up when it is asked; -1 for none. A copy of a film_bore, somewhere else in
 * memory, is given its own rungs by film_bore_aim(). */
struct film_bore_blend {
  int low, high;
};
struct film_bore_blend film_bore_blend_of(const struct film_bore *film_bore);
void film_bore_aim(struct film_bore *copy, struct film_bore_blend blend);

/* Makes film_bore->table that of this film. */
void film_bore_set(struct film_bore *film_bore, const struct bore_film *film);

#endif
