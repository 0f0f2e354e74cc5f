#include "sim/film_bore.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

enum { AT_REST_CALLS = 100 }; // a second of ticks

void film_bore_init(struct film_bore *film_bore, const struct bore_geometry *bore, const struct bore_film_shape *shape) {
  memset(film_bore, 0, sizeof *film_bore); // not a compound literal: clang builds that on the stack, 22 kB
  film_bore->bore = *bore;
  film_bore->shape = *shape;
  const struct bore_film none = {0.0, 0.0};
  film_bore_set(film_bore, &none);
}

bool film_bore_alike(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                     const struct bore_geometry *other_bore, const struct bore_film_shape *other_shape) {
  // both hold nothing but doubles
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
  for (size_t i = 0; i < sizeof b->rungs / sizeof b->rungs[0]; i++) b->rungs[i].filled = false;
}

void film_bore_adopt(struct film_bore *b, const struct film_bore *other) {
  film_bore_change(b, &other->bore, &other->shape);
  b->film = other->film;
  b->filled = other->filled;
  b->on_demand = other->on_demand;
  b->table = other->table;
}

static int rung_of(const struct film_bore *b, const struct bore_table *table) {
  for (int i = 0; i < FILM_BORE_RUNG_COUNT; i++)
    if (table == &b->rungs[i].table) return i;
  return -1;
}

struct film_bore_blend film_bore_blend_of(const struct film_bore *b) {
  return (struct film_bore_blend){rung_of(b, b->table.low), rung_of(b, b->table.high)};
}

void film_bore_aim(struct film_bore *copy, struct film_bore_blend blend) {
  copy->table.low = blend.low < 0 ? NULL : &copy->rungs[blend.low].table;
  copy->table.high = blend.high < 0 ? NULL : &copy->rungs[blend.high].table;
}

/* The four rungs round a film. */
struct cell {
  long wall, edge, step; // low corner and width, in rungs
};

/* Whole micrometres, but every rung where the closed blade is as far from the wall as the film is thick
 * somewhere round the bore: there parts of the rim open and shut at the closed stop, and the area is
 * anything but linear in the film. */
static struct cell cell_round(const struct film_bore *b, double wall, double edge) {
  const long coarse = FILM_BORE_RUNGS_PER_UM;
  struct cell cell = {(long)floor(wall / (double)coarse) * coarse, (long)floor(edge / (double)coarse) * coarse, coarse};
  const double bias = b->shape.bias_ratio, clearance = b->bore.clearance_m / FILM_BORE_RUNG_M;
  const double thinnest = (double)cell.wall * (1.0 - bias) + (double)cell.edge;
  const double thickest = (double)(cell.wall + coarse) * (1.0 + bias) + (double)(cell.edge + coarse);
  if (thinnest <= clearance && clearance <= thickest) cell = (struct cell){(long)floor(wall), (long)floor(edge), 1};
  return cell;
}

/* A corner's table: the one kept, or a new one in a place that is no corner of this cell. whole: at all its nodes. */
static struct bore_table *rung_table(struct film_bore *b, struct cell cell, long wall, long edge, bool whole) {
  const struct bore_film film = {(double)wall * FILM_BORE_RUNG_M, (double)edge * FILM_BORE_RUNG_M};
  struct film_bore_rung *spare = NULL;
  for (int i = 0; i < 4; i++) {
    struct film_bore_rung *rung = &b->rungs[i];
    if (rung->filled && rung->wall == wall && rung->edge == edge) {
      if (whole && rung->table.on_demand) bore_table_init(&rung->table, &b->bore, &b->shape, &film);
      return &rung->table;
    }
    const bool corner = rung->filled && (rung->wall == cell.wall || rung->wall == cell.wall + cell.step) &&
                        (rung->edge == cell.edge || rung->edge == cell.edge + cell.step);
    if (!corner) spare = rung;
  }
  // at most four rungs are corners and this one is not among them, so one is spare
  if (whole)
    bore_table_init(&spare->table, &b->bore, &b->shape, &film);
  else
    bore_table_init_on_demand(&spare->table, &b->bore, &b->shape, &film);
  spare->filled = true;
  spare->wall = wall;
  spare->edge = edge;
  return &spare->table;
}

/* Table on one side of the cell, any wall film. */
static void blend_wall(struct film_bore *b, struct cell cell, double wall, long edge, struct bore_table *table) {
  const double weight = (wall - (double)cell.wall) / (double)cell.step;
  const struct bore_table *a = rung_table(b, cell, cell.wall, edge, true);
  if (weight > 0.0)
    bore_table_blend(table, a, rung_table(b, cell, cell.wall + cell.step, edge, true), weight);
  else
    *table = *a;
}

/* All nodes of the film's table. */
static void fill_whole(struct film_bore *b, struct cell cell, double wall, double edge) {
  const double weight = (edge - (double)cell.edge) / (double)cell.step;
  blend_wall(b, cell, wall, cell.edge, &b->table);
  if (weight > 0.0) {
    struct bore_table high;
    blend_wall(b, cell, wall, cell.edge + cell.step, &high);
    bore_table_blend(&b->table, &b->table, &high, weight);
  }
}

/* For a film on the wall that moves: between two rungs, where it is looked at. */
static void fill_moving(struct film_bore *b, struct cell cell, double wall) {
  struct bore_table *low = rung_table(b, cell, cell.wall, cell.edge, false);
  struct bore_table *high = rung_table(b, cell, cell.wall + cell.step, cell.edge, false);
  bore_table_blend_on_demand(&b->table, low, high, (wall - (double)cell.wall) / (double)cell.step);
}

static void fill(struct film_bore *b, bool moving) {
  const double wall = b->film.wall_m / FILM_BORE_RUNG_M, edge = b->film.edge_m / FILM_BORE_RUNG_M;
  const struct cell cell = cell_round(b, wall, edge);
  if (moving && edge <= (double)cell.edge)
    fill_moving(b, cell, wall);
  else
    fill_whole(b, cell, wall, edge);
}

void film_bore_set(struct film_bore *b, const struct bore_film *film) {
  const bool same = b->filled && b->film.wall_m >= film->wall_m && b->film.wall_m <= film->wall_m &&
                    b->film.edge_m >= film->edge_m && b->film.edge_m <= film->edge_m;
  if (same) {
    b->moved = false;
    if (!b->on_demand && b->table.on_demand && ++b->still == AT_REST_CALLS) fill(b, false);
    return;
  }
  const bool moving = b->moved;
  b->moved = b->filled;
  b->still = 0;
  b->film = *film;
  b->filled = true;
  if (b->on_demand)
    bore_table_init_on_demand(&b->table, &b->bore, &b->shape, film);
  else
    fill(b, moving);
}
