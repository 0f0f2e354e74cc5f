#include "physics/bore_table.h"

#include "base/curve.h"
#include "base/units.h"

#include <assert.h>
#include <math.h>

enum { LAST = BORE_TABLE_NODE_COUNT - 1 };

// Between the first two nodes, where films about as thick as the clearance open part of the rim after part.
#define FIRST_RAD (0.03 * UNITS_RAD_PER_DEG)

static double opening_rad(const struct bore_table *table, int node) {
  const double share = (double)node / LAST;
  return table->first_rad * node + table->rest_rad * share * share;
}

double bore_table_node_angle_rad(const struct bore_table *table, int node) {
  return node == LAST ? 0.5 * UNITS_PI : table->closed_rad + opening_rad(table, node);
}

static void frame(struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                  const struct bore_film *film) {
  table->bore = *bore;
  table->shape = *shape;
  table->film = *film;
  table->closed_rad = bore->closed_angle_rad;
  table->first_rad = FIRST_RAD;
  table->rest_rad = 0.5 * UNITS_PI - bore->closed_angle_rad - LAST * FIRST_RAD;
  table->part_count = 0;
}

static const struct bore_passage *value_at(struct bore_table *table, int node) {
  struct bore_passage *value = &table->nodes[node].value;
  if (isnan(value->area_m2))
    *value = bore_passage_at(&table->bore, &table->shape, &table->film, bore_table_node_angle_rad(table, node));
  return value;
}

/* A node with its slopes, which hang on the nodes beside it. */
static const struct bore_table_node *node_at(struct bore_table *table, int node) {
  struct bore_table_node *here = &table->nodes[node];
  if (!isnan(here->slope.area_m2)) return here;
  const int middle = node == 0 ? 1 : node == LAST ? LAST - 1 : node;
  double x[3], area[3], passing[3], slope[3];
  for (int i = 0; i < 3; i++) {
    const struct bore_passage *value = value_at(table, middle - 1 + i);
    x[i] = opening_rad(table, middle - 1 + i);
    area[i] = value->area_m2;
    passing[i] = value->passing_m2;
  }
  const int place = node - middle + 1;
  curve_monotone_slopes(3, x, area, slope);
  here->slope.area_m2 = slope[place];
  curve_monotone_slopes(3, x, passing, slope);
  here->slope.passing_m2 = slope[place];
  return here;
}

void bore_table_init_on_demand(struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                               const struct bore_film *film) {
  frame(table, bore, shape, film);
  for (int i = 0; i <= LAST; i++) table->nodes[i].value.area_m2 = table->nodes[i].slope.area_m2 = NAN;
}

void bore_table_init(struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                     const struct bore_film *film) {
  bore_table_init_on_demand(table, bore, shape, film);
  for (int i = 0; i <= LAST; i++) node_at(table, i);
}

void bore_table_init_mean(struct bore_table *table) { table->part_count = 0; }

void bore_table_add_part(struct bore_table *table, struct bore_table *part, double weight) {
  assert(table->part_count < BORE_TABLE_PART_MAX);
  table->parts[table->part_count] = part;
  table->weights[table->part_count++] = weight;
}

/* Powers 0 to 3 of u, 0 to 1 along the piece. */
static double piece(double from, double to, double from_slope, double to_slope, double width, double u) {
  const double rise = to - from, start = width * from_slope, end = width * to_slope;
  return from + u * (start + u * (3.0 * rise - 2.0 * start - end + u * (start + end - 2.0 * rise)));
}

static struct bore_passage look(struct bore_table *table, double angle_rad) {
  const double opening = angle_rad - table->closed_rad;
  if (opening <= 0.0) return *value_at(table, 0);
  if (angle_rad >= 0.5 * UNITS_PI) return *value_at(table, LAST);
  // opening = a i + b i^2
  const double a = table->first_rad, b = table->rest_rad / ((double)LAST * LAST);
  const int place = (int)(2.0 * opening / (a + sqrt(a * a + 4.0 * b * opening)));
  const int i = place < LAST - 1 ? place : LAST - 1;
  const double left = opening_rad(table, i), width = opening_rad(table, i + 1) - left, u = (opening - left) / width;
  const struct bore_table_node *from = node_at(table, i), *to = node_at(table, i + 1);
  return (struct bore_passage){
      piece(from->value.area_m2, to->value.area_m2, from->slope.area_m2, to->slope.area_m2, width, u),
      piece(from->value.passing_m2, to->value.passing_m2, from->slope.passing_m2, to->slope.passing_m2, width, u)};
}

struct bore_passage bore_table_at(const struct bore_table *table, double angle_rad) {
  // written into only where it was made on demand, whose caller has promised to be alone with it
  if (table->part_count == 0) return look((struct bore_table *)table, angle_rad);
  struct bore_passage sum = {0.0, 0.0};
  for (int i = 0; i < table->part_count; i++) {
    const struct bore_passage part = look(table->parts[i], angle_rad);
    sum.area_m2 += table->weights[i] * part.area_m2;
    sum.passing_m2 += table->weights[i] * part.passing_m2;
  }
  return sum;
}

double bore_table_area_m2(const struct bore_table *table, double angle_rad) { return bore_table_at(table, angle_rad).area_m2; }
