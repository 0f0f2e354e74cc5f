#include "sim/film_bore.h"

#include <math.h>
#include <stddef.h>

void film_bore_init(struct film_bore *film_bore, const struct bore_geometry *bore, const struct bore_film_shape *shape) {
  *film_bore = (struct film_bore){.bore = *bore, .shape = *shape};
  const struct bore_film none = {0.0, 0.0};
  film_bore_set(film_bore, &none);
}

/* The rung's table: the one kept, or a new one in a place that does not serve [wall, wall + 1] x [edge, edge + 1]. */
static const struct bore_table *rung_table(struct film_bore *b, long wall, long edge, long low_wall, long low_edge) {
  struct film_bore_rung *spare = NULL;
  for (int i = 0; i < 4; i++) {
    struct film_bore_rung *rung = &b->rungs[i];
    if (rung->filled && rung->wall == wall && rung->edge == edge) return &rung->table;
    const bool serves = rung->filled && rung->wall >= low_wall && rung->wall <= low_wall + 1 &&
                        rung->edge >= low_edge && rung->edge <= low_edge + 1;
    if (!serves) spare = rung;
  }
  // at most four rungs serve and this one is not among them, so one is spare
  const struct bore_film film = {(double)wall * FILM_BORE_RUNG_M, (double)edge * FILM_BORE_RUNG_M};
  bore_table_init(&spare->table, &b->bore, &b->shape, &film);
  spare->filled = true;
  spare->wall = wall;
  spare->edge = edge;
  return &spare->table;
}

/* Table at a whole edge rung, any wall film. */
static void blend_wall(struct film_bore *b, double wall, long edge, long low_edge, struct bore_table *table) {
  const long low = (long)floor(wall);
  const double weight = wall - (double)low;
  const struct bore_table *a = rung_table(b, low, edge, low, low_edge);
  if (weight > 0.0)
    bore_table_blend(table, a, rung_table(b, low + 1, edge, low, low_edge), weight);
  else
    *table = *a;
}

void film_bore_set(struct film_bore *film_bore, const struct bore_film *film) {
  const double wall = film->wall_m / FILM_BORE_RUNG_M, edge = film->edge_m / FILM_BORE_RUNG_M;
  const bool same = film_bore->filled && film_bore->film.wall_m >= film->wall_m &&
                    film_bore->film.wall_m <= film->wall_m && film_bore->film.edge_m >= film->edge_m &&
                    film_bore->film.edge_m <= film->edge_m;
  if (same) return;
  const long low_edge = (long)floor(edge);
  const double weight = edge - (double)low_edge;
  blend_wall(film_bore, wall, low_edge, low_edge, &film_bore->table);
  if (weight > 0.0) {
    struct bore_table high;
    blend_wall(film_bore, wall, low_edge + 1, low_edge, &high);
    const struct bore_table low = film_bore->table;
    bore_table_blend(&film_bore->table, &low, &high, weight);
  }
  film_bore->film = *film;
  film_bore->filled = true;
}
