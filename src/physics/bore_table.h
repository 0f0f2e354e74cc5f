/* The gap's area as a function of blade angle that costs nanoseconds: a C1 monotone table over bore.h's
 * integral.
 *
 * With a film the area begins as (psi - opens)^1.5, at an angle of its own on either side of the shaft,
 * and it ends as (hidden - psi)^1.5 where the blade goes behind the shaft. So each side has its table,
 * with nodes at both places and
 *
 *   near opening   psi = opens  + near q^2    near = 18 degrees, less if the blade hides early; q from 0
 *                                             to the fine share in fine steps, then to 1 in coarse ones
 *   farther        psi = hidden - far q^2     far = hidden - opens - near; q from 1 to 0 in equal steps
 *   at last        psi = pi / 2
 *
 * Values and slopes at the nodes are the integral's own. Between them stands a cubic in q, which holds the
 * power 1.5 of the distance exactly; in the piece at q = 0 the powers 0, 2, 3, 4, so that the slope there
 * is the integral's too. The fine steps serve films about as thick as the clearance, where parts of the
 * rim open one after the other. Below opens the area stays what it is at opens.
 *
 * Error against the integral: below 0.002 mm2 + 2e-5 of the area at every angle, for films up to 300 um
 * with any bias, edge films and bands from 1.5 mm (tests/unit/physics/test_bore_table.c; tried with some thousand
 * films besides). */
#ifndef PHYSICS_BORE_TABLE_H
#define PHYSICS_BORE_TABLE_H

#include "physics/bore.h"

#include <stdbool.h>

enum {
  BORE_TABLE_FINE_COUNT = 60,
  BORE_TABLE_COARSE_COUNT = 40,
  BORE_TABLE_FAR_COUNT = 30,
  BORE_TABLE_NODE_COUNT = BORE_TABLE_FINE_COUNT + BORE_TABLE_COARSE_COUNT + BORE_TABLE_FAR_COUNT + 2
};
#define BORE_TABLE_FINE_SHARE 0.22 // the first 0.9 degrees

struct bore_table_side {
  double opens_rad, near_rad, far_rad, hidden_rad; // as above
  double near_inverse, far_inverse;                // 1 / near_rad, 1 / far_rad
  double area_m2[BORE_TABLE_NODE_COUNT];           // by rising angle
  double slope_m2_rad[BORE_TABLE_NODE_COUNT];
};

struct bore_table {
  struct bore_table_side sides[2]; // by enum bore_half
  bool halves_alike;               // both are the same
  // a table that is integrated only where it is looked at:
  bool on_demand;
  double last_angle_rad,
      last_area_m2; // on demand: the last look, since a blade at rest is looked at again and again; NaN for none
  struct bore_geometry bore;
  struct bore_film_shape shape;
  struct bore_film film;
  struct bore_table *low, *high; // on demand, a blend of these two; NULL for none. Not owned
  double weight;
};

double bore_table_node_angle_rad(const struct bore_table_side *side, int node);

/* Fills the table; 0.1 ms without a film, 0.2 to 0.8 ms with one, by how even it is. */
void bore_table_init(struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                     const struct bore_film *film);

/* The same table, but each node is integrated when it is first needed: some 0.02 ms for a film of which one idle is wanted.
 * Looking it up writes into it: one thread at a time. */
void bore_table_init_on_demand(struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                               const struct bore_film *film);

/* The table (1 - weight) * a + weight * b of two tables over the same bore, whose films differ by little:
 * the nodes move from a's to b's places, and at each the area is the mean of the two there. The result may take the place of a or b. */
void bore_table_blend(struct bore_table *table, const struct bore_table *a, const struct bore_table *b, double weight);

/* The same blend, its nodes taken from a and b, which may be on demand themselves, when they are first needed. a and b must stay as
 * long as it is looked at. */
void bore_table_blend_on_demand(struct bore_table *table, struct bore_table *a, struct bore_table *b, double weight);

double bore_table_area_m2(const struct bore_table *table, double angle_rad);

#endif
