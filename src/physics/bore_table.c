#include "physics/bore_table.h"

#include "base/curve.h"
#include "base/units.h"

#include <math.h>

enum {
  NEAR = BORE_TABLE_NEAR_COUNT,
  FAR = BORE_TABLE_FAR_COUNT,
  HIDDEN = NEAR + FAR, // node where the blade goes behind the shaft
  LAST = HIDDEN + 1
};

#define NEAR_RAD (18.0 * UNITS_RAD_PER_DEG) // films meet the edge so far; beyond it the area is a smooth one
#define ROOM_RAD 1e-3                       // at least so much between opening and hiding, and from there to pi/2

double bore_table_node_angle_rad(const struct bore_table_side *side, int node) {
  if (node >= LAST) return 0.5 * UNITS_PI;
  if (node < NEAR) {
    const double i = (double)node / NEAR;
    return side->opens_rad + side->near_rad * i * i;
  }
  const double j = (double)(HIDDEN - node) / FAR;
  return side->hidden_rad - side->far_rad * j * j;
}

/* One piece between node n and n + 1, counted from a kink at distance 0; the distance is step * place^2. sign is -1 if
 * the distance grows against the angle. */
struct piece {
  int n;
  double sign, step_rad;
  double area_m2[2], slope_m2_rad[2];
};

/* d area / d place at either end, except at the kink itself where that is 0: there half the second derivative. */
static double start_slope_m2(const struct piece *p) {
  return p->sign * p->step_rad * p->slope_m2_rad[0] * (p->n > 0 ? 2.0 * p->n : 1.0);
}
static double end_slope_m2(const struct piece *p) {
  return p->sign * p->step_rad * p->slope_m2_rad[1] * 2.0 * (p->n + 1);
}

/* Area at n + u. Powers 0, 1, 2, 3 of u, or 0, 2, 3, 4 in the piece at the kink. */
static double piece_area_m2(const struct piece *p, double u) {
  const double rise = p->area_m2[1] - p->area_m2[0];
  const double start = start_slope_m2(p), end = end_slope_m2(p);
  if (p->n > 0) return p->area_m2[0] + u * (start + u * (3.0 * rise - 2.0 * start - end + u * (start + end - 2.0 * rise)));
  return p->area_m2[0] + u * u * (start + u * (4.0 * rise - end - 2.0 * start + u * (end + start - 3.0 * rise)));
}

static struct piece near_piece(const struct bore_table_side *side, int i) {
  return (struct piece){i,
                        1.0,
                        side->near_rad / (NEAR * NEAR),
                        {side->area_m2[i], side->area_m2[i + 1]},
                        {side->slope_m2_rad[i], side->slope_m2_rad[i + 1]}};
}
static struct piece far_piece(const struct bore_table_side *side, int j) {
  const int node = HIDDEN - j;
  return (struct piece){j,
                        -1.0,
                        side->far_rad / (FAR * FAR),
                        {side->area_m2[node], side->area_m2[node - 1]},
                        {side->slope_m2_rad[node], side->slope_m2_rad[node - 1]}};
}

/* Keeps a piece monotone. A cubic is if no slope exceeds three times the secant (Fritsch and Carlson, see base/curve.h); in the
 * piece at the kink the slope by angle is a parabola in u, above 0 if its ends are at most 6 and 2 times the secant. */
static void limit(const struct piece *p, double *start, double *end) {
  const double rise = p->sign * (p->area_m2[1] - p->area_m2[0]) / p->step_rad;
  const double most_start = p->n > 0 ? 3.0 * rise / (2.0 * p->n) : 6.0 * rise;
  const double most_end = p->n > 0 ? 3.0 * rise / (2.0 * (p->n + 1)) : 2.0 * rise;
  *start = fmin(*start, fmax(most_start, 0.0));
  *end = fmin(*end, fmax(most_end, 0.0));
}

static void limit_slopes(struct bore_table_side *side) {
  double *slope = side->slope_m2_rad;
  for (int i = 0; i <= LAST; i++) {
    slope[i] = fmax(slope[i], 0.0);
    if (i > 0) side->area_m2[i] = fmax(side->area_m2[i], side->area_m2[i - 1]); // rounding where it is level
  }
  for (int i = 0; i < NEAR; i++) {
    const struct piece piece = near_piece(side, i);
    limit(&piece, &slope[i], &slope[i + 1]);
  }
  for (int j = 0; j < FAR; j++) {
    const struct piece piece = far_piece(side, j);
    limit(&piece, &slope[HIDDEN - j], &slope[HIDDEN - j - 1]);
  }
  const double width = 0.5 * UNITS_PI - side->hidden_rad;
  const double most = 3.0 * (side->area_m2[LAST] - side->area_m2[HIDDEN]) / width;
  slope[HIDDEN] = fmin(slope[HIDDEN], most);
  slope[LAST] = fmin(slope[LAST], most);
}

static void side_init(struct bore_table_side *side, const struct bore_geometry *bore,
                      const struct bore_film_shape *shape, const struct bore_film *film, enum bore_half half) {
  const double closed = bore->closed_angle_rad;
  const double opens = bore_half_opens_rad(bore, shape, film, half);
  side->hidden_rad = fmax(fmin(bore_hidden_rad(bore, film), 0.5 * UNITS_PI - ROOM_RAD), closed + ROOM_RAD);
  side->opens_rad = fmin(opens, side->hidden_rad - ROOM_RAD);
  side->near_rad = fmin(NEAR_RAD, 0.5 * (side->hidden_rad - side->opens_rad));
  side->far_rad = side->hidden_rad - side->opens_rad - side->near_rad;
  for (int i = 0; i <= LAST; i++) {
    const struct bore_area area = bore_half_area(bore, shape, film, bore_table_node_angle_rad(side, i), half);
    side->area_m2[i] = area.area_m2;
    side->slope_m2_rad[i] = area.slope_m2_rad;
  }
  if (opens > closed) side->slope_m2_rad[0] = 0.0; // it meets the level stretch below
  limit_slopes(side);
}

void bore_table_init(struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                     const struct bore_film *film) {
  side_init(&table->sides[BORE_HALF_DOWNSTREAM], bore, shape, film, BORE_HALF_DOWNSTREAM);
  if (bore_halves_alike(shape, film))
    table->sides[BORE_HALF_UPSTREAM] = table->sides[BORE_HALF_DOWNSTREAM];
  else
    side_init(&table->sides[BORE_HALF_UPSTREAM], bore, shape, film, BORE_HALF_UPSTREAM);
}

static double mean(double a, double b, double weight) { return (1.0 - weight) * a + weight * b; }

void bore_table_blend(struct bore_table *table, const struct bore_table *a, const struct bore_table *b,
                      double weight) {
  for (int s = 0; s < 2; s++) {
    const struct bore_table_side *low = &a->sides[s], *high = &b->sides[s];
    struct bore_table_side *side = &table->sides[s];
    side->opens_rad = mean(low->opens_rad, high->opens_rad, weight);
    side->near_rad = mean(low->near_rad, high->near_rad, weight);
    side->far_rad = mean(low->far_rad, high->far_rad, weight);
    side->hidden_rad = mean(low->hidden_rad, high->hidden_rad, weight);
    for (int i = 0; i <= LAST; i++) {
      side->area_m2[i] = mean(low->area_m2[i], high->area_m2[i], weight);
      side->slope_m2_rad[i] = mean(low->slope_m2_rad[i], high->slope_m2_rad[i], weight);
    }
  }
}

static double side_area_m2(const struct bore_table_side *side, double angle_rad) {
  const double beyond_opening = angle_rad - side->opens_rad, before_hiding = side->hidden_rad - angle_rad;
  if (beyond_opening <= 0.0) return side->area_m2[0];
  if (before_hiding <= 0.0) {
    if (angle_rad >= 0.5 * UNITS_PI) return side->area_m2[LAST];
    return curve_hermite(side->hidden_rad, side->area_m2[HIDDEN], side->slope_m2_rad[HIDDEN], 0.5 * UNITS_PI,
                         side->area_m2[LAST], side->slope_m2_rad[LAST], angle_rad);
  }
  const bool near = beyond_opening < side->near_rad;
  const double place = near ? sqrt(beyond_opening / side->near_rad) * NEAR : sqrt(before_hiding / side->far_rad) * FAR;
  const int most = (near ? NEAR : FAR) - 1;
  const int n = place < most ? (int)place : most;
  const struct piece piece = near ? near_piece(side, n) : far_piece(side, n);
  return piece_area_m2(&piece, place - n);
}

double bore_table_area_m2(const struct bore_table *table, double angle_rad) {
  return side_area_m2(&table->sides[0], angle_rad) + side_area_m2(&table->sides[1], angle_rad);
}
