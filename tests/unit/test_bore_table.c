/* physics/bore_table against the integral that it stands for, over films that close the gap, open it and sit
 * on one side. */
#include "support/check.h"

#include "base/attributes.h"
#include "base/units.h"
#include "physics/bore_table.h"

#define DEG UNITS_RAD_PER_DEG
#define UM  UNITS_M_PER_UM

static const struct bore_geometry bores[] = {
    {28.5e-3, 8.0 * DEG, 10e-3, 12e-6, 1.2e-3},
    {20.0e-3, 12.0 * DEG, 7e-3, 25e-6, 0.8e-3},
};
static const struct bore_film_shape shapes[] = {
    {1.6e-3, 0.0, 0.0, 0.0},
    {2.2e-3, 0.25, 0.5, 1.1},
};
static const struct bore_film films[] = {
    {0, 0}, {15 * UM, 0}, {40 * UM, 5 * UM}, {90 * UM, 0}, {160 * UM, 20 * UM}};

/* Calls check for every bore, shape and film. */
static void for_each_table(void (*check)(const struct bore_table *table, const struct bore_geometry *bore,
                                         const struct bore_film_shape *shape, const struct bore_film *film)) {
  for (size_t b = 0; b < ARRAY_COUNT(bores); b++)
    for (size_t s = 0; s < ARRAY_COUNT(shapes); s++)
      for (size_t f = 0; f < ARRAY_COUNT(films); f++) {
        struct bore_table table;
        bore_table_init(&table, &bores[b], &shapes[s], &films[f]);
        check(&table, &bores[b], &shapes[s], &films[f]);
      }
}

/* The header's promise: error below 2e-5 of the area from one degree above closed. Here: up to 60 degrees, so
 * that a failure tells the film (this test) from the shaft (the one after the next). */
static void near_the_integral(const struct bore_table *table, const struct bore_geometry *bore,
                              const struct bore_film_shape *shape, const struct bore_film *film) {
  for (double angle = bore->closed_angle_rad + 1.0 * DEG; angle < 60.0 * DEG; angle += 0.0713 * DEG) {
    const double exact = bore_area_m2(bore, shape, film, angle);
    check_relative_at(angle / DEG, bore_table_area_m2(table, angle), exact, 2e-5);
  }
}

static void film_error_below_promise(void **state) {
  (void)state;
  for_each_table(near_the_integral);
}

static void clean_error_below_promise(void **state) {
  (void)state;
  for (size_t b = 0; b < ARRAY_COUNT(bores); b++) {
    struct bore_table table;
    bore_table_init(&table, &bores[b], &shapes[0], &films[0]);
    near_the_integral(&table, &bores[b], &shapes[0], &films[0]);
  }
}

/* The same where the blade goes behind the shaft, about 80 degrees: the area stops growing there at once. */
static void error_behind_shaft_below_promise(void **state) {
  (void)state;
  for (size_t b = 0; b < ARRAY_COUNT(bores); b++) {
    struct bore_table table;
    bore_table_init(&table, &bores[b], &shapes[0], &films[0]);
    for (double angle = 60.0 * DEG; angle < 90.0 * DEG; angle += 0.0713 * DEG) {
      const double exact = bore_area_m2(&bores[b], &shapes[0], &films[0], angle);
      check_relative_at(angle / DEG, bore_table_area_m2(&table, angle), exact, 2e-5);
    }
  }
}

static void opens_only(const struct bore_table *table, const struct bore_geometry *bore,
                       const struct bore_film_shape *shape, const struct bore_film *film) {
  (void)shape;
  (void)film;
  double before = bore_table_area_m2(table, bore->closed_angle_rad);
  for (int i = 1; i <= 5000; i++) {
    const double angle = bore->closed_angle_rad + (90.0 * DEG - bore->closed_angle_rad) * pow(i / 5000.0, 2);
    const double area = bore_table_area_m2(table, angle);
    check_above_at(angle / DEG, area, before * (1.0 - 1e-12) - 1e-18);
    before = area;
  }
}
static void monotone(void **state) {
  (void)state;
  for_each_table(opens_only);
}

/* At the nodes it is the integral itself; beyond the ends it stays level. */
static void exact_at_nodes(const struct bore_table *table, const struct bore_geometry *bore,
                           const struct bore_film_shape *shape, const struct bore_film *film) {
  for (int i = 0; i < BORE_TABLE_NODE_COUNT; i++) {
    const double angle = bore_table_node_angle_rad(table, i), exact = bore_area_m2(bore, shape, film, angle);
    check_close_at(angle / DEG, bore_table_area_m2(table, angle), exact, 1e-12 * exact + 1e-18);
  }
  check_close(bore_table_area_m2(table, 0.0), bore_area_m2(bore, shape, film, bore->closed_angle_rad), 1e-18);
  check_relative(bore_table_area_m2(table, 2.0), bore_area_m2(bore, shape, film, 90.0 * DEG), 1e-12);
}
static void nodes(void **state) {
  (void)state;
  for_each_table(exact_at_nodes);
}

/* No kink at the inner nodes: one-sided slopes meet. h is a thousandth of the narrowest spacing. */
static void smooth_at_nodes(const struct bore_table *table, const struct bore_geometry *bore,
                            const struct bore_film_shape *shape, const struct bore_film *film) {
  (void)bore;
  (void)shape;
  (void)film;
  const double h = 1e-3 * (bore_table_node_angle_rad(table, 1) - bore_table_node_angle_rad(table, 0));
  for (int i = 1; i < BORE_TABLE_NODE_COUNT - 1; i++) {
    const double angle = bore_table_node_angle_rad(table, i), here = bore_table_area_m2(table, angle);
    const double left = (here - bore_table_area_m2(table, angle - h)) / h;
    const double right = (bore_table_area_m2(table, angle + h) - here) / h;
    check_close_at(angle / DEG, left, right, 1e-6); // of some 1e-3 m2/rad
  }
}
static void smooth(void **state) {
  (void)state;
  for_each_table(smooth_at_nodes);
}

/* A blend is the mean of the two tables at every angle, and one of them at weights 0 and 1. */
static void blend(void **state) {
  (void)state;
  struct bore_table clean, film, mixed;
  bore_table_init(&clean, &bores[0], &shapes[1], &films[0]);
  bore_table_init(&film, &bores[0], &shapes[1], &films[3]);
  static const double weights[] = {0.0, 0.25, 0.6, 1.0};
  for (size_t w = 0; w < ARRAY_COUNT(weights); w++) {
    bore_table_blend(&mixed, &clean, &film, weights[w]);
    for (double angle = 7.0 * DEG; angle < 95.0 * DEG; angle += 0.31 * DEG) {
      const double a = bore_table_area_m2(&clean, angle), b = bore_table_area_m2(&film, angle);
      check_close_at(angle / DEG, bore_table_area_m2(&mixed, angle), a + weights[w] * (b - a), 1e-15);
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(clean_error_below_promise),
      cmocka_unit_test(film_error_below_promise),
      cmocka_unit_test(error_behind_shaft_below_promise),
      cmocka_unit_test(monotone),
      cmocka_unit_test(nodes),
      cmocka_unit_test(smooth),
      cmocka_unit_test(blend),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
