#include "sim/film_bore.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

void film_bore_init(struct film_bore *film_bore, const struct bore_geometry *bore, const struct bore_film_shape *shape) {
  memset(film_bore, 0, sizeof *film_bore); // not a compound literal: clang builds that on the stack
  film_bore->bore = *bore;
  film_bore->shape = *shape;
  const struct bore_film none = {0.0, 0.0};
  film_bore_set(film_bore, &none);
}

bool film_bore_alike(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                     const struct bore_geometry *other_bore, const struct bore_film_shape *other_shape) {
  // both hold nothing but doubles
  // a double of another bit is another bore. NOLINTNEXTLINE(bugprone-suspicious-memory-comparison)
  return memcmp(bore, other_bore, sizeof *bore) == 0 && memcmp(shape, other_shape, sizeof *shape) == 0;
}

bool film_bore_is_of(const struct film_bore *film_bore, const struct bore_geometry *bore, const struct bore_film_shape *shape) {
  return film_bore_alike(&film_bore->bore, &film_bore->shape, bore, shape);
}

void film_bore_change(struct film_bore *b, const struct bore_geometry *bore, const struct bore_film_shape *shape) {
  if (film_bore_is_of(b, bore, shape)) return;
  b->bore = *bore;
  b->shape = *shape;
  b->filled = false;
  for (int i = 0; i < FILM_BORE_CORNERS; i++) b->rungs[i].filled = false;
}

/* Where a thickness lies: the rung below it, and how far on to the next. */
struct place {
  long rung;
  double beyond;
};

static struct place place_of(double thickness_m) {
  const double rungs = thickness_m / FILM_BORE_RUNG_M, below = floor(rungs);
  return (struct place){(long)below, rungs - below};
}

static bool is_corner(const struct film_bore_rung *rung, long wall, long edge) {
  return rung->filled && (rung->wall == wall || rung->wall == wall + 1) && (rung->edge == edge || rung->edge == edge + 1);
}

/* A corner's table: the one kept, or a new one in a place that is no corner of the cell that begins at (wall, edge). */
static struct bore_table *rung_table(struct film_bore *b, long wall, long edge, long corner_wall, long corner_edge) {
  struct film_bore_rung *spare = NULL;
  for (int i = 0; i < FILM_BORE_CORNERS; i++) {
    struct film_bore_rung *rung = &b->rungs[i];
    if (rung->filled && rung->wall == corner_wall && rung->edge == corner_edge) return &rung->table;
    if (!is_corner(rung, wall, edge)) spare = rung;
  }
  assert(spare); // at most four rungs are corners and this one is not among them
  const struct bore_film film = {(double)corner_wall * FILM_BORE_RUNG_M, (double)corner_edge * FILM_BORE_RUNG_M};
  bore_table_init_on_demand(&spare->table, &b->bore, &b->shape, &film);
  spare->filled = true;
  spare->wall = corner_wall;
  spare->edge = corner_edge;
  return &spare->table;
}

static void fill(struct film_bore *b) {
  if (b->on_demand) {
    bore_table_init_on_demand(&b->table, &b->bore, &b->shape, &b->film);
    return;
  }
  const struct place wall = place_of(b->film.wall_m), edge = place_of(b->film.edge_m);
  bore_table_init_mean(&b->table);
  for (int i = 0; i < FILM_BORE_CORNERS; i++) {
    const int over = i % 2, out = i / 2;
    const double weight = (over ? wall.beyond : 1.0 - wall.beyond) * (out ? edge.beyond : 1.0 - edge.beyond);
    if (weight > 0.0)
      bore_table_add_part(&b->table, rung_table(b, wall.rung, edge.rung, wall.rung + over, edge.rung + out), weight);
  }
}

void film_bore_set(struct film_bore *b, const struct bore_film *film) {
  const bool same = b->filled && b->film.wall_m >= film->wall_m && b->film.wall_m <= film->wall_m &&
                    b->film.edge_m >= film->edge_m && b->film.edge_m <= film->edge_m;
  if (same) return;
  b->film = *film;
  b->filled = true;
  fill(b);
}

void film_bore_adopt(struct film_bore *b, const struct film_bore *other) {
  film_bore_change(b, &other->bore, &other->shape);
  b->film = other->film;
  b->filled = other->filled;
  b->on_demand = other->on_demand;
  if (b->on_demand)
    b->table = other->table; // with what has been integrated of it
  else if (b->filled)
    fill(b);
}

struct film_bore_parts film_bore_parts_of(const struct film_bore *b) {
  struct film_bore_parts parts;
  for (int i = 0; i < FILM_BORE_CORNERS; i++) {
    parts.rung[i] = -1;
    for (int k = 0; i < b->table.part_count && k < FILM_BORE_CORNERS; k++)
      if (b->table.parts[i] == &b->rungs[k].table) parts.rung[i] = k;
  }
  return parts;
}

void film_bore_aim(struct film_bore *copy, struct film_bore_parts parts) {
  for (int i = 0; i < FILM_BORE_CORNERS; i++) copy->table.parts[i] = parts.rung[i] < 0 ? NULL : &copy->rungs[parts.rung[i]].table;
}
