#include "physics/bore_table.h"

#include "base/curve.h"
#include "base/units.h"

#include <math.h>

enum {
  FINE = BORE_TABLE_FINE_COUNT,
  NEAR = FINE + BORE_TABLE_COARSE_COUNT,
  FAR = BORE_TABLE_FAR_COUNT,
  HIDDEN = NEAR + FAR, // node where the blade goes behind the shaft
  LAST = HIDDEN + 1
};

#define NEAR_RAD    (18.0 * UNITS_RAD_PER_DEG) // further open no film a few mm wide meets the edge
#define ROOM_RAD    1e-3                       // at least so much between opening and hiding, and from there to pi/2
#define FINE_STEP   (BORE_TABLE_FINE_SHARE / FINE)
#define COARSE_STEP ((1.0 - BORE_TABLE_FINE_SHARE) / BORE_TABLE_COARSE_COUNT)
#define FAR_STEP    (1.0 / FAR)

/* Root of the distance from the kink to a near node, as a share of near_rad's. */
static double near_root(int node) {
  return node <= FINE ? node * FINE_STEP : BORE_TABLE_FINE_SHARE + (node - FINE) * COARSE_STEP;
}

double bore_table_node_angle_rad(const struct bore_table_side *side, int node) {
  if (node >= LAST) return 0.5 * UNITS_PI;
  if (node <= NEAR) {
    const double root = near_root(node);
    return side->opens_rad + side->near_rad * root * root;
  }
  const double root = (HIDDEN - node) * FAR_STEP;
  return side->hidden_rad - side->far_rad * root * root;
}

/* One piece between two nodes, in q, the root of the distance from the kink as a share of reach's: q =
 * root at node[0], a step more at node[1]. reach is below 0 if the distance grows against the angle. */
struct piece {
  int node[2];
  double root, step, reach_rad;
};

static struct piece near_piece(const struct bore_table_side *side, int i) {
  return (struct piece){{i, i + 1}, near_root(i), i < FINE ? FINE_STEP : COARSE_STEP, side->near_rad};
}
static struct piece far_piece(const struct bore_table_side *side, int j) {
  return (struct piece){{HIDDEN - j, HIDDEN - j - 1}, j * FAR_STEP, FAR_STEP, -side->far_rad};
}

/* What turns a slope by angle into one by u, u = 0 to 1 along the piece, at either end; that at the kink
 * itself would be 0, and the factor is the one to half the second derivative. */
static double start_factor_rad(const struct piece *p) {
  return p->reach_rad * p->step * (p->root > 0.0 ? 2.0 * p->root : p->step);
}
static double end_factor_rad(const struct piece *p) { return p->reach_rad * p->step * 2.0 * (p->root + p->step); }

/* Powers 0, 1, 2, 3 of u, or 0, 2, 3, 4 in the piece at the kink. */
static double piece_area_m2(const struct bore_table_side *side, const struct piece *p, double u) {
  const double first = side->area_m2[p->node[0]], rise = side->area_m2[p->node[1]] - first;
  const double start = start_factor_rad(p) * side->slope_m2_rad[p->node[0]];
  const double end = end_factor_rad(p) * side->slope_m2_rad[p->node[1]];
  if (p->root > 0.0) return first + u * (start + u * (3.0 * rise - 2.0 * start - end + u * (start + end - 2.0 * rise)));
  return first + u * u * (start + u * (4.0 * rise - end - 2.0 * start + u * (end + start - 3.0 * rise)));
}

/* Keeps a piece monotone. A cubic is if no slope exceeds three times the secant (Fritsch and Carlson, see
 * base/curve.h). In the piece at the kink the slope by angle is a parabola in u, above 0 if its ends are
 * at most 6 and 2 times the secant. */
static void limit(struct bore_table_side *side, struct piece p) {
  const double rise = side->area_m2[p.node[1]] - side->area_m2[p.node[0]];
  double *start = &side->slope_m2_rad[p.node[0]], *end = &side->slope_m2_rad[p.node[1]];
  const bool kink = !(p.root > 0.0);
  *start = fmin(*start, (kink ? 6.0 : 3.0) * rise / start_factor_rad(&p));
  *end = fmin(*end, (kink ? 4.0 : 3.0) * rise / end_factor_rad(&p));
}

static void limit_slopes(struct bore_table_side *side) {
  double *slope = side->slope_m2_rad;
  for (int i = 0; i <= LAST; i++) {
    slope[i] = fmax(slope[i], 0.0);
    if (i > 0) side->area_m2[i] = fmax(side->area_m2[i], side->area_m2[i - 1]); // rounding where it is level
  }
  for (int i = 0; i < NEAR; i++) limit(side, near_piece(side, i));
  for (int j = 0; j < FAR; j++) limit(side, far_piece(side, j));
  const double width = 0.5 * UNITS_PI - side->hidden_rad;
  const double most = 3.0 * (side->area_m2[LAST] - side->area_m2[HIDDEN]) / width;
  slope[HIDDEN] = fmin(slope[HIDDEN], most);
  slope[LAST] = fmin(slope[LAST], most);
}

/* What follows from the other lengths. */
static void complete(struct bore_table_side *side) {
  side->far_rad = side->hidden_rad - side->opens_rad - side->near_rad;
  side->near_inverse = 1.0 / side->near_rad;
  side->far_inverse = 1.0 / side->far_rad;
}

/* Where the pieces lie; returns where the half opens. */
static double side_frame(struct bore_table_side *side, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                         const struct bore_film *film, enum bore_half half) {
  const double closed = bore->closed_angle_rad;
  const double opens = bore_half_opens_rad(bore, shape, film, half);
  side->hidden_rad = fmax(fmin(bore_hidden_rad(bore, film), 0.5 * UNITS_PI - ROOM_RAD), closed + ROOM_RAD);
  side->opens_rad = fmin(opens, side->hidden_rad - ROOM_RAD);
  side->near_rad = fmin(NEAR_RAD, 0.5 * (side->hidden_rad - side->opens_rad));
  complete(side);
  return opens;
}

static void side_init(struct bore_table_side *side, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                      const struct bore_film *film, enum bore_half half) {
  const double opens = side_frame(side, bore, shape, film, half);
  for (int i = 0; i <= LAST; i++) {
    const struct bore_area area = bore_half_area(bore, shape, film, bore_table_node_angle_rad(side, i), half);
    side->area_m2[i] = area.area_m2;
    side->slope_m2_rad[i] = area.slope_m2_rad;
  }
  if (opens > bore->closed_angle_rad) side->slope_m2_rad[0] = 0.0; // it meets the level stretch below
  limit_slopes(side);
}

void bore_table_init(struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                     const struct bore_film *film) {
  table->on_demand = false;
  side_init(&table->sides[BORE_HALF_DOWNSTREAM], bore, shape, film, BORE_HALF_DOWNSTREAM);
  table->halves_alike = bore_halves_alike(shape, film);
  if (table->halves_alike)
    table->sides[BORE_HALF_UPSTREAM] = table->sides[BORE_HALF_DOWNSTREAM];
  else
    side_init(&table->sides[BORE_HALF_UPSTREAM], bore, shape, film, BORE_HALF_UPSTREAM);
}

void bore_table_init_on_demand(struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                               const struct bore_film *film) {
  table->on_demand = true;
  table->last_angle_rad = NAN;
  table->halves_alike = bore_halves_alike(shape, film);
  table->bore = *bore;
  table->shape = *shape;
  table->film = *film;
  table->low = table->high = NULL;
  for (int half = 0; half < (table->halves_alike ? 1 : 2); half++) {
    struct bore_table_side *side = &table->sides[half];
    side_frame(side, bore, shape, film, (enum bore_half)half);
    for (int i = 0; i <= LAST; i++) side->area_m2[i] = NAN; // not integrated yet
  }
}

static double mean(double a, double b, double weight) { return (1.0 - weight) * a + weight * b; }

void bore_table_blend(struct bore_table *table, const struct bore_table *a, const struct bore_table *b, double weight) {
  table->on_demand = false;
  table->halves_alike = a->halves_alike && b->halves_alike;
  for (int s = 0; s < 2; s++) {
    const struct bore_table_side *low = &a->sides[s], *high = &b->sides[s];
    struct bore_table_side *side = &table->sides[s];
    side->opens_rad = mean(low->opens_rad, high->opens_rad, weight);
    side->near_rad = mean(low->near_rad, high->near_rad, weight);
    side->hidden_rad = mean(low->hidden_rad, high->hidden_rad, weight);
    complete(side);
    for (int i = 0; i <= LAST; i++) {
      side->area_m2[i] = mean(low->area_m2[i], high->area_m2[i], weight);
      side->slope_m2_rad[i] = mean(low->slope_m2_rad[i], high->slope_m2_rad[i], weight);
    }
  }
}

/* A side of a table whose halves are alike stands for both. */
static int side_of(const struct bore_table *table, int half) { return table->halves_alike ? 0 : half; }

void bore_table_blend_on_demand(struct bore_table *table, struct bore_table *a, struct bore_table *b, double weight) {
  table->on_demand = true;
  table->last_angle_rad = NAN;
  table->halves_alike = a->halves_alike && b->halves_alike;
  table->low = a;
  table->high = b;
  table->weight = weight;
  for (int half = 0; half < (table->halves_alike ? 1 : 2); half++) {
    const struct bore_table_side *low = &a->sides[side_of(a, half)], *high = &b->sides[side_of(b, half)];
    struct bore_table_side *side = &table->sides[half];
    side->opens_rad = mean(low->opens_rad, high->opens_rad, weight);
    side->near_rad = mean(low->near_rad, high->near_rad, weight);
    side->hidden_rad = mean(low->hidden_rad, high->hidden_rad, weight);
    complete(side);
    for (int i = 0; i <= LAST; i++) side->area_m2[i] = NAN;
  }
}

/* A node's integral, if nobody has asked for it before. Slopes are kept within what every piece beside them allows as far as
 * this node knows: not below nothing. */
static void demand_node(struct bore_table *table, int half, int node) {
  struct bore_table_side *side = &table->sides[half];
  if (!isnan(side->area_m2[node])) return;
  if (table->low) {
    const int low = side_of(table->low, half), high = side_of(table->high, half);
    demand_node(table->low, low, node);
    demand_node(table->high, high, node);
    side->area_m2[node] = mean(table->low->sides[low].area_m2[node], table->high->sides[high].area_m2[node], table->weight);
    side->slope_m2_rad[node] =
        mean(table->low->sides[low].slope_m2_rad[node], table->high->sides[high].slope_m2_rad[node], table->weight);
    return;
  }
  const double angle = bore_table_node_angle_rad(side, node);
  const struct bore_area area = bore_half_area(&table->bore, &table->shape, &table->film, angle, (enum bore_half)half);
  side->area_m2[node] = area.area_m2;
  const bool shut_below = node == 0 && side->opens_rad > table->bore.closed_angle_rad;
  side->slope_m2_rad[node] = shut_below ? 0.0 : fmax(area.slope_m2_rad, 0.0);
}

/* The two nodes of a piece, in a side of their own whose slopes are limited for this piece alone: what comes out does not depend
 * on what was asked before. */
static double demand_piece_m2(struct bore_table *table, int half, const struct piece *piece, double u) {
  demand_node(table, half, piece->node[0]);
  demand_node(table, half, piece->node[1]);
  struct bore_table_side *side = &table->sides[half];
  double *start = &side->slope_m2_rad[piece->node[0]], *end = &side->slope_m2_rad[piece->node[1]];
  const double start_before = *start, end_before = *end;
  limit(side, *piece);
  const double area = piece_area_m2(side, piece, u);
  *start = start_before;
  *end = end_before;
  return area;
}

/* Where an angle lies: the piece, and how far along it. False outside all of them. */
static bool find_piece(const struct bore_table_side *side, double angle_rad, struct piece *piece, double *along) {
  const double beyond_opening = angle_rad - side->opens_rad, before_hiding = side->hidden_rad - angle_rad;
  if (beyond_opening <= 0.0 || before_hiding <= 0.0) return false;
  if (beyond_opening < side->near_rad) {
    const double root = sqrt(beyond_opening * side->near_inverse);
    const double place =
        root < BORE_TABLE_FINE_SHARE ? root * (1.0 / FINE_STEP) : FINE + (root - BORE_TABLE_FINE_SHARE) * (1.0 / COARSE_STEP);
    const int i = place < NEAR - 1 ? (int)place : NEAR - 1;
    *piece = near_piece(side, i);
    *along = place - i;
    return true;
  }
  const double place = sqrt(before_hiding * side->far_inverse) * FAR;
  const int j = place < FAR - 1 ? (int)place : FAR - 1;
  *piece = far_piece(side, j);
  *along = place - j;
  return true;
}

/* Before the half opens, or with the blade behind the shaft. */
static double outside_area_m2(const struct bore_table_side *side, double angle_rad) {
  if (angle_rad <= side->opens_rad) return side->area_m2[0];
  if (angle_rad >= 0.5 * UNITS_PI) return side->area_m2[LAST];
  return curve_hermite(side->hidden_rad, side->area_m2[HIDDEN], side->slope_m2_rad[HIDDEN], 0.5 * UNITS_PI, side->area_m2[LAST],
                       side->slope_m2_rad[LAST], angle_rad);
}

static double side_area_m2(const struct bore_table_side *side, double angle_rad) {
  struct piece piece;
  double along;
  return find_piece(side, angle_rad, &piece, &along) ? piece_area_m2(side, &piece, along) : outside_area_m2(side, angle_rad);
}

static double demand_side_m2(struct bore_table *table, int half, double angle_rad) {
  struct piece piece;
  double along;
  if (find_piece(&table->sides[half], angle_rad, &piece, &along)) return demand_piece_m2(table, half, &piece, along);
  const bool shut = angle_rad <= table->sides[half].opens_rad;
  demand_node(table, half, shut ? 0 : HIDDEN);
  demand_node(table, half, shut ? 0 : LAST);
  return outside_area_m2(&table->sides[half], angle_rad);
}

double bore_table_area_m2(const struct bore_table *table, double angle_rad) {
  if (!table->on_demand) {
    const double first = side_area_m2(&table->sides[0], angle_rad);
    return first + (table->halves_alike ? first : side_area_m2(&table->sides[1], angle_rad));
  }
  if (table->last_angle_rad >= angle_rad && table->last_angle_rad <= angle_rad) return table->last_area_m2;
  struct bore_table *filling = (struct bore_table *)table; // made by bore_table_init_on_demand(): to be written into
  const double first = demand_side_m2(filling, 0, angle_rad);
  filling->last_area_m2 = first + (table->halves_alike ? first : demand_side_m2(filling, 1, angle_rad));
  filling->last_angle_rad = angle_rad;
  return filling->last_area_m2;
}
