/* The gap's area as a function of blade angle that costs nanoseconds: a C1 monotone table over bore.h's integral.
 *
 * Nodes stand closer where idle lives. Values and slopes at the nodes are the integral's own; between them a cubic.
 * Error against the integral: below 2e-5 of the area from one degree above closed (tests/unit/test_bore_table.c). */
#ifndef PHYSICS_BORE_TABLE_H
#define PHYSICS_BORE_TABLE_H

#include "physics/bore.h"

enum { BORE_TABLE_NODE_COUNT = 72 };

struct bore_table {
  double closed_angle_rad, open_angle_rad; // first and last node
  double area_m2[BORE_TABLE_NODE_COUNT];
  double slope_m2_rad[BORE_TABLE_NODE_COUNT];
};

/* Angle of node i: closed + (open - closed) * (i / last)^2. */
double bore_table_node_angle_rad(const struct bore_table *table, int node);

/* Fills the table; some 0.5 ms. */
void bore_table_init(struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                     const struct bore_film *film);

/* The table (1 - weight) * a + weight * b of two tables over the same bore. */
void bore_table_blend(struct bore_table *table, const struct bore_table *a, const struct bore_table *b,
                      double weight);

double bore_table_area_m2(const struct bore_table *table, double angle_rad);

#endif
