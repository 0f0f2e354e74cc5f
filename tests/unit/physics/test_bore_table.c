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
/* even; worse on one side and off the square; worse on the upstream side, square to the shaft; all on one
 * side */
static const struct bore_film_shape shapes[] = {
    {1.6e-3, 0.0, 0.0, 0.0},
    {2.2e-3, 0.25, 0.5, 1.1},
    {4.0e-3, 0.2, 0.3, -0.5 * UNITS_PI},
    {3.0e-3, -0.2, 1.0, 4.0},
};
static const struct bore_film films[] = {{0, 0},       {8 * UM, 0},         {15 * UM, 0},
                                         {24 * UM, 0}, {0, 20 * UM},        {40 * UM, 5 * UM},
                                         {90 * UM, 0}, {160 * UM, 20 * UM}, {300 * UM, 60 * UM}};

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

/* The header's promise, from the closed stop to wide open: 0.002 mm2 + 2e-5 of the area. Finest where the
 * sides open. */
static void near_the_integral(const struct bore_table *table, const struct bore_geometry *bore,
                              const struct bore_film_shape *shape, const struct bore_film *film) {
  const double travel = 90.0 * DEG - bore->closed_angle_rad;
  for (int i = 0; i <= 900; i++) {
    const double angle = bore->closed_angle_rad + travel * pow(i / 900.0, 2);
    const double exact = bore_area_m2(bore, shape, film, angle);
    check_close_at(angle / DEG, bore_table_area_m2(table, angle), exact, 2e-9 + 2e-5 * exact);
  }
}

static void error_below_promise(void **state) {
  (void)state;
  for_each_table(near_the_integral);
}

/* The blade goes behind the shaft at some 80 degrees: the area stops growing there at once. */
static void error_behind_shaft_below_promise(void **state) {
  (void)state;
  for (size_t b = 0; b < ARRAY_COUNT(bores); b++) {
    struct bore_table table;
    bore_table_init(&table, &bores[b], &shapes[0], &films[4]);
    const double hidden = bore_hidden_rad(&bores[b], &films[4]);
    for (int i = -400; i <= 400; i++) {
      const double angle = hidden + 5.0 * DEG * pow(i / 400.0, 3);
      const double exact = bore_area_m2(&bores[b], &shapes[0], &films[4], angle);
      check_close_at(angle / DEG, bore_table_area_m2(&table, angle), exact, 2e-9 + 2e-5 * exact);
    }
  }
}

/* The sides open where the header says: nothing a hair below, something a hair above. */
static void opening_found(const struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                          const struct bore_film *film) {
  for (int half = 0; half < 2; half++) {
    const double opens = bore_half_opens_rad(bore, shape, film, (enum bore_half)half);
    check_close(table->sides[half].opens_rad, opens, 0.0);
    check_above_at(opens / DEG, bore_half_area(bore, shape, film, opens + 1e-5, (enum bore_half)half).area_m2, 1e-12);
    if (opens <= bore->closed_angle_rad) continue;
    check_below_at(opens / DEG, bore_half_area(bore, shape, film, opens, (enum bore_half)half).area_m2, 1e-17);
  }
}
static void openings(void **state) {
  (void)state;
  for_each_table(opening_found);
}

/* The slope is the derivative of the area: central difference, whose own error is some 1e-8 away from the
 * kinks. */
static void slope_is_derivative(const struct bore_table *table, const struct bore_geometry *bore,
                                const struct bore_film_shape *shape, const struct bore_film *film) {
  (void)table;
  const double h = 1e-6;
  for (double angle = bore->closed_angle_rad + 0.7 * DEG; angle < 89.0 * DEG; angle += 0.531 * DEG) {
    const double difference =
        (bore_area_m2(bore, shape, film, angle + h) - bore_area_m2(bore, shape, film, angle - h)) / (2.0 * h);
    check_close_at(angle / DEG, bore_area_slope_m2_rad(bore, shape, film, angle), difference, 2e-8 + 1e-6 * difference);
  }
}
static void slopes(void **state) {
  (void)state;
  for_each_table(slope_is_derivative);
}

/* What is even is integrated once and doubled; a bias turned by 1e-9 is not taken as even and must give
 * the same. */
static void shortcuts(void **state) {
  (void)state;
  const struct bore_film_shape square = {2.2e-3, 0.2, 0.5, 0.5 * UNITS_PI}, turned = {2.2e-3, 0.2, 0.5, 0.5 * UNITS_PI + 1e-9};
  const struct bore_film_shape along = {2.2e-3, 0.0, 0.5, 0.0}, off = {2.2e-3, 0.0, 0.5, 1e-9};
  assert_true(bore_halves_alike(&along, &films[6]));
  assert_false(bore_halves_alike(&off, &films[6]));
  for (double angle = 8.2 * DEG; angle < 80.0 * DEG; angle += 0.37 * DEG) {
    check_relative_at(angle / DEG, bore_area_m2(&bores[0], &square, &films[5], angle),
                      bore_area_m2(&bores[0], &turned, &films[5], angle), 1e-7);
    check_relative_at(angle / DEG, bore_area_m2(&bores[0], &along, &films[5], angle),
                      bore_area_m2(&bores[0], &off, &films[5], angle), 1e-7);
  }
}

static void opens_only(const struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                       const struct bore_film *film) {
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
static void exact_at_nodes(const struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                           const struct bore_film *film) {
  for (int half = 0; half < 2; half++) {
    const struct bore_table_side *side = &table->sides[half];
    for (int i = 0; i < BORE_TABLE_NODE_COUNT; i++) {
      const double angle = bore_table_node_angle_rad(side, i);
      const double exact = bore_half_area(bore, shape, film, angle, (enum bore_half)half).area_m2;
      check_close_at(angle / DEG, side->area_m2[i], exact, 1e-12 * exact + 1e-18);
    }
  }
  check_close(bore_table_area_m2(table, 0.0), bore_area_m2(bore, shape, film, bore->closed_angle_rad), 1e-17);
  check_relative(bore_table_area_m2(table, 2.0), bore_area_m2(bore, shape, film, 90.0 * DEG), 1e-12);
}
static void nodes(void **state) {
  (void)state;
  for_each_table(exact_at_nodes);
}

/* The curve meets the nodes' own values and has no kink at the inner ones: one-sided slopes meet. h is a
 * thousandth of the narrowest spacing; beside an opening the slope itself grows as the root of h, hence
 * 1e-6 of some 1e-3 m2/rad. */
static void smooth_at_nodes(const struct bore_table *table, const struct bore_geometry *bore, const struct bore_film_shape *shape,
                            const struct bore_film *film) {
  (void)shape;
  (void)film;
  for (int half = 0; half < 2; half++) {
    const struct bore_table_side *side = &table->sides[half];
    const double h = 1e-3 * (bore_table_node_angle_rad(side, 1) - bore_table_node_angle_rad(side, 0));
    for (int i = 0; i < BORE_TABLE_NODE_COUNT - 1; i++) {
      const double angle = bore_table_node_angle_rad(side, i), here = bore_table_area_m2(table, angle);
      if (angle <= bore->closed_angle_rad) continue;
      const double left = (here - bore_table_area_m2(table, angle - h)) / h;
      const double right = (bore_table_area_m2(table, angle + h) - here) / h;
      check_close_at(angle / DEG, left, right, 1e-6);
    }
  }
}
static void smooth(void **state) {
  (void)state;
  for_each_table(smooth_at_nodes);
}

/* A blend is one of the two tables at weights 0 and 1. Between films a micrometre apart it is the mean of
 * the two at every angle; where the film just shuts the gap the nodes move by up to 1e-3 rad, and the
 * shift squared times the area's curvature is 1e-9 m2. */
static void blend(void **state) {
  (void)state;
  const struct bore_film thin = {90 * UM, 0}, thick = {91 * UM, 0};
  struct bore_table a, b, mixed;
  bore_table_init(&a, &bores[0], &shapes[1], &thin);
  bore_table_init(&b, &bores[0], &shapes[1], &thick);
  static const double weights[] = {0.0, 0.25, 0.6, 1.0};
  for (size_t w = 0; w < ARRAY_COUNT(weights); w++) {
    const bool end = w == 0 || w + 1 == ARRAY_COUNT(weights);
    bore_table_blend(&mixed, &a, &b, weights[w]);
    for (double angle = 7.0 * DEG; angle < 95.0 * DEG; angle += 0.031 * DEG) {
      const double low = bore_table_area_m2(&a, angle), high = bore_table_area_m2(&b, angle);
      check_close_at(angle / DEG, bore_table_area_m2(&mixed, angle), low + weights[w] * (high - low), end ? 1e-15 : 1e-9);
    }
  }
}

/* Integrated where it is looked at, the same table: to what limiting a slope can change, a tenth of the promise; and the same
 * bytes whichever angle was asked for first. */
static void on_demand_the_same(const struct bore_table *table, const struct bore_geometry *bore,
                               const struct bore_film_shape *shape, const struct bore_film *film) {
  struct bore_table up, down;
  bore_table_init_on_demand(&up, bore, shape, film);
  bore_table_init_on_demand(&down, bore, shape, film);
  enum { ANGLES = 900 };
  double rising[ANGLES];
  for (int i = 0; i < ANGLES; i++) {
    const double angle = (6.9 + 0.1 * i) * DEG, whole = bore_table_area_m2(table, angle);
    rising[i] = bore_table_area_m2(&up, angle);
    check_close_at(angle / DEG, rising[i], whole, 2e-10 + 2e-6 * whole);
  }
  for (int i = ANGLES; i-- > 0;) {
    const double angle = (6.9 + 0.1 * i) * DEG;
    const double falling = bore_table_area_m2(&down, angle);
    assert_memory_equal(&falling, &rising[i], sizeof falling);
  }
}
static void on_demand(void **state) {
  (void)state;
  for_each_table(on_demand_the_same);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(error_below_promise),
      cmocka_unit_test(error_behind_shaft_below_promise),
      cmocka_unit_test(openings),
      cmocka_unit_test(slopes),
      cmocka_unit_test(shortcuts),
      cmocka_unit_test(monotone),
      cmocka_unit_test(nodes),
      cmocka_unit_test(smooth),
      cmocka_unit_test(blend),
      cmocka_unit_test(on_demand),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
