#include "physics/bore_table.h"

#include "base/curve.h"
#include "base/units.h"

#include <math.h>

enum { LAST = BORE_TABLE_NODE_COUNT - 1 };

static double node_angle(double closed, double open, int node) {
  const double u = (double)node / LAST;
  return closed + (open - closed) * u * u;
}

double bore_table_node_angle_rad(const struct bore_table *table, int node) {
  return node_angle(table->closed_angle_rad, table->open_angle_rad, node);
}

/* Keeps each piece monotone: no slope above three times a neighbouring secant, none below zero. */
static void limit_slopes(struct bore_table *table) {
  for (int i = 0; i < LAST; i++) {
    const double h = bore_table_node_angle_rad(table, i + 1) - bore_table_node_angle_rad(table, i);
    const double secant = fmax(table->area_m2[i + 1] - table->area_m2[i], 0.0) / h;
    table->slope_m2_rad[i] = fmin(fmax(table->slope_m2_rad[i], 0.0), 3.0 * secant);
    table->slope_m2_rad[i + 1] = fmin(fmax(table->slope_m2_rad[i + 1], 0.0), 3.0 * secant);
  }
}

void bore_table_init(struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                     const struct bore_film *film) {
  table->closed_angle_rad = bore->closed_angle_rad;
  table->open_angle_rad = 0.5 * UNITS_PI;
  for (int i = 0; i <= LAST; i++) {
    const double angle = bore_table_node_angle_rad(table, i);
    table->area_m2[i] = bore_area_m2(bore, shape, film, angle);
    table->slope_m2_rad[i] = bore_area_slope_m2_rad(bore, shape, film, angle);
  }
  limit_slopes(table);
}

void bore_table_blend(struct bore_table *table, const struct bore_table *a, const struct bore_table *b,
                      double weight) {
  table->closed_angle_rad = a->closed_angle_rad;
  table->open_angle_rad = a->open_angle_rad;
  for (int i = 0; i <= LAST; i++) {
    table->area_m2[i] = (1.0 - weight) * a->area_m2[i] + weight * b->area_m2[i];
    table->slope_m2_rad[i] = (1.0 - weight) * a->slope_m2_rad[i] + weight * b->slope_m2_rad[i];
  }
}

double bore_table_area_m2(const struct bore_table *table, double angle_rad) {
  const double closed = table->closed_angle_rad, open = table->open_angle_rad;
  if (angle_rad <= closed) return table->area_m2[0];
  if (angle_rad >= open) return table->area_m2[LAST];
  int i = (int)(sqrt((angle_rad - closed) / (open - closed)) * LAST);
  if (i >= LAST) i = LAST - 1;
  return curve_hermite(node_angle(closed, open, i), table->area_m2[i], table->slope_m2_rad[i],
                       node_angle(closed, open, i + 1), table->area_m2[i + 1], table->slope_m2_rad[i + 1], angle_rad);
}
