/* The gap as a function of blade angle that costs nanoseconds: a C1 monotone table over bore.h's integral.
 *
 * Nodes stand close together above the closed stop, where the flow changes with the cube of a gap of some hundredths, and further
 * apart farther open, evenly within each of a few zones: so a place is found without a root. Values are the integral's; between them stands a cubic Hermite piece with the slopes of base/curve.h, so that the
 * table rises wherever its nodes do. Nodes lie at the same openings whatever the film, so a film between others is a mean of
 * look-ups.
 *
 * Error against the integral: below 0.015 mm2 + 2e-4 of the area, most where a thick film opens at last; below 0.002 mm2 + 1e-4
 * to 60 degrees with a film thinner than the clearance; 1e-3 of it above 70, where
 * the blade goes behind the shaft (tests/unit/physics/test_bore_table.c). */
#ifndef PHYSICS_BORE_TABLE_H
#define PHYSICS_BORE_TABLE_H

#include "physics/bore.h"

#include <stdbool.h>

enum {
  BORE_TABLE_ZONE_COUNT = 4,
  BORE_TABLE_ZONE_1 = 32, // nodes in each
  BORE_TABLE_ZONE_2 = 56,
  BORE_TABLE_ZONE_3 = 64,
  BORE_TABLE_ZONE_4 = 64,
  BORE_TABLE_NODE_COUNT = BORE_TABLE_ZONE_1 + BORE_TABLE_ZONE_2 + BORE_TABLE_ZONE_3 + BORE_TABLE_ZONE_4 + 1,
  BORE_TABLE_PART_MAX = 4
};

struct bore_table_node {
  struct bore_passage value; // area_m2 NaN: not integrated yet
  struct bore_passage slope; // over angle, per rad; area_m2 NaN: not yet asked for
};

struct bore_table {
  struct bore_table_node nodes[BORE_TABLE_NODE_COUNT];
  double closed_rad, last_rad; // opening of the last node
  struct bore_geometry bore;
  struct bore_film_shape shape;
  struct bore_film film;
  // a mean of others, without nodes of its own; 0 for none. Not owned
  int part_count;
  struct bore_table *parts[BORE_TABLE_PART_MAX];
  double weights[BORE_TABLE_PART_MAX];
};

double bore_table_node_angle_rad(const struct bore_table *table, int node);

/* Fills the table: every look-up leaves it as it is, so threads may share it. */
void bore_table_init(struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                     const struct bore_film *film);

/* The same table, but each node is integrated when it is first needed. Looking it up writes into it: one thread at a time. */
void bore_table_init_on_demand(struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                               const struct bore_film *film);

/* A mean of tables over the same bore whose films differ by little: none yet, and one more part with its weight. The parts, which
 * may be on demand, must stay as long as it is looked at. */
void bore_table_init_mean(struct bore_table *table);
void bore_table_add_part(struct bore_table *table, struct bore_table *part, double weight);

/* Below the closed stop and beyond pi/2 it stays what it is there. */
struct bore_passage bore_table_at(const struct bore_table *table, double angle_rad);

/* Its open area. */
double bore_table_area_m2(const struct bore_table *table, double angle_rad);

#endif
