#include "physics/bore_table.h"

#include "base/curve.h"
#include "base/units.h"

#include <assert.h>
#include <math.h>

enum { LAST = BORE_TABLE_NODE_COUNT - 1 };

#define DEG UNITS_RAD_PER_DEG

/* Where each zone begins, by opening and node, and how far apart its nodes are. The last one ends at pi/2. Idle lies in the second; in
 * the first, films about as thick as the clearance open part of the rim after part; the third ends where no film a few mm wide meets
 * the edge any more. */
struct zone {
  double from_rad, step_rad, per_step;
  int first;
};
#define ZONE_1_RAD (0.8 * DEG)
#define ZONE_2_RAD (7.8 * DEG)
#define ZONE_3_RAD (23.8 * DEG)
static const struct zone zones[BORE_TABLE_ZONE_COUNT] = {
    {0.0, ZONE_1_RAD / BORE_TABLE_ZONE_1, BORE_TABLE_ZONE_1 / ZONE_1_RAD, 0},
    {ZONE_1_RAD, (ZONE_2_RAD - ZONE_1_RAD) / BORE_TABLE_ZONE_2, BORE_TABLE_ZONE_2 / (ZONE_2_RAD - ZONE_1_RAD), BORE_TABLE_ZONE_1},
    {ZONE_2_RAD, (ZONE_3_RAD - ZONE_2_RAD) / BORE_TABLE_ZONE_3, BORE_TABLE_ZONE_3 / (ZONE_3_RAD - ZONE_2_RAD),
     BORE_TABLE_ZONE_1 + BORE_TABLE_ZONE_2},
    {ZONE_3_RAD, 0.0, 0.0, BORE_TABLE_ZONE_1 + BORE_TABLE_ZONE_2 + BORE_TABLE_ZONE_3}, // as wide as the closed angle leaves it
};

static struct zone zone_of(const struct bore_table *table, int number) {
  struct zone zone = zones[number];
  if (number == BORE_TABLE_ZONE_COUNT - 1) {
    zone.step_rad = (table->last_rad - ZONE_3_RAD) / BORE_TABLE_ZONE_4;
    zone.per_step = 1.0 / zone.step_rad;
  }
  return zone;
}

static double opening_rad(const struct bore_table *table, int node) {
  int number = BORE_TABLE_ZONE_COUNT - 1;
  while (node < zones[number].first) number--;
  const struct zone zone = zone_of(table, number);
  return zone.from_rad + (node - zone.first) * zone.step_rad;
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
  table->last_rad = 0.5 * UNITS_PI - bore->closed_angle_rad;
  table->part_count = 0;
}

static inline const struct bore_passage *value_at(struct bore_table *table, int node) {
  struct bore_passage *value = &table->nodes[node].value;
  if (isnan(value->area_m2))
    *value = bore_passage_at(&table->bore, &table->shape, &table->film, bore_table_node_angle_rad(table, node));
  return value;
}

/* A node with its slopes, which hang on the nodes beside it. */
static const struct bore_table_node *make_node(struct bore_table *table, int node) {
  struct bore_table_node *here = &table->nodes[node];
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

static inline const struct bore_table_node *node_at(struct bore_table *table, int node) {
  return isnan(table->nodes[node].slope.area_m2) ? make_node(table, node) : &table->nodes[node];
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

/* Where an angle lies: the node before it, the width of the piece, and how far along it. */
struct place {
  int node;
  double width_rad, along;
};

static struct place place_of(const struct bore_table *table, double angle_rad) {
  const double opening = angle_rad - table->closed_rad;
  if (opening <= 0.0) return (struct place){0, zones[0].step_rad, 0.0};
  const int number = opening < ZONE_1_RAD ? 0 : opening < ZONE_2_RAD ? 1 : opening < ZONE_3_RAD ? 2 : 3;
  const struct zone zone = zone_of(table, number);
  const double steps = (opening - zone.from_rad) * zone.per_step;
  const int node = zone.first + (int)steps;
  if (node >= LAST) return (struct place){LAST - 1, zone.step_rad, 1.0};
  return (struct place){node, zone.step_rad, steps - (node - zone.first)};
}

static inline struct bore_passage look(struct bore_table *table, struct place p) {
  if (p.along <= 0.0) return *value_at(table, p.node); // most of all at the closed stop, whose slope nobody needs
  const struct bore_table_node *from = node_at(table, p.node), *to = node_at(table, p.node + 1);
  return (struct bore_passage){
      piece(from->value.area_m2, to->value.area_m2, from->slope.area_m2, to->slope.area_m2, p.width_rad, p.along),
      piece(from->value.passing_m2, to->value.passing_m2, from->slope.passing_m2, to->slope.passing_m2, p.width_rad, p.along)};
}

struct bore_passage bore_table_at(const struct bore_table *table, double angle_rad) {
  // written into only where it was made on demand, whose caller has promised to be alone with it
  if (table->part_count == 0) return look((struct bore_table *)table, place_of(table, angle_rad));
  const struct place place = place_of(table->parts[0], angle_rad); // over one bore all have their nodes at the same angles
  if (table->part_count == 1) return look(table->parts[0], place);
  struct bore_passage sum = {0.0, 0.0};
  for (int i = 0; i < table->part_count; i++) {
    const struct bore_passage part = look(table->parts[i], place);
    sum.area_m2 += table->weights[i] * part.area_m2;
    sum.passing_m2 += table->weights[i] * part.passing_m2;
  }
  return sum;
}

double bore_table_area_m2(const struct bore_table *table, double angle_rad) { return bore_table_at(table, angle_rad).area_m2; }
