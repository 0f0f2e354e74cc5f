/* sim/film_bore: tables of films between rungs against tables integrated for the very film. Truth: physics/bore.c's integral, itself
 * tested in tests/reference. */
#include "sim/film_bore.h"

#include "base/attributes.h"
#include "base/random.h"
#include "base/units.h"
#include "support/check.h"

#include <math.h>
#include <string.h>

#define UM 1e-6

static const struct bore_geometry bore = {26e-3, 7.0 * UNITS_RAD_PER_DEG, 8e-3, 22e-6, 1.5e-3, 0.0, 0.0};
static const struct bore_film_shape shape = {4e-3, 0.2, 0.3, 0.5 * UNITS_PI, 0.0};

/* The header's promise against each film's own table, from the closed stop to 30 degrees: rungs alone. */
static void near_its_own_table(void **state) {
  (void)state;
  static const struct bore_geometry bores[] = {{26e-3, 7.0 * UNITS_RAD_PER_DEG, 8e-3, 22e-6, 1.5e-3, 0.0, 0.0},
                                               {20e-3, 12.0 * UNITS_RAD_PER_DEG, 7e-3, 25.4e-6, 0.8e-3, 0.0, 0.0}};
  static const struct bore_film_shape shapes[] = {
      {4e-3, 0.2, 0.3, 0.5 * UNITS_PI, 0.0}, {1.6e-3, 0.0, 0.0, 0.0, 0.0}, {2.2e-3, 0.25, 0.5, 4.1, 1e-3}};
  static struct film_bore film_bore;
  static struct bore_table own;
  for (size_t b = 0; b < ARRAY_COUNT(bores); b++)
    for (size_t s = 0; s < ARRAY_COUNT(shapes); s++) {
      film_bore_init(&film_bore, &bores[b], &shapes[s]);
      for (int i = 0; i < 24; i++) {
        const struct bore_film film = {(i < 18 ? 0.47 + 1.31 * i * (1 + i / 6) : 40.5 + 17.1 * (i - 18)) * UM,
                                       i % 3 == 2 ? 3.4 * UM : 0.0};
        film_bore_set(&film_bore, &film);
        bore_table_init_on_demand(&own, &bores[b], &shapes[s], &film);
        for (double deg = 0.0; deg < 30.0; deg += 0.01 + 0.05 * deg) {
          const double angle = bores[b].closed_angle_rad + deg * UNITS_RAD_PER_DEG;
          const struct bore_passage exact = bore_table_at(&own, angle), found = bore_table_at(&film_bore.table, angle);
          check_close_at(deg, found.passing_m2, exact.passing_m2, 1e-9 + (deg < 1.0 ? 2e-3 : 3e-4) * exact.passing_m2);
          check_close_at(deg, found.area_m2, exact.area_m2, 2e-8);
        }
      }
    }
}

/* At idle, from one degree to five, a film that grows is worth 2e-5 of the flow: measured 1e-4 mm2 of 5 to 25. */
static void idle_of_a_growing_film(void **state) {
  (void)state;
  static struct film_bore film_bore;
  static struct bore_table own;
  film_bore_init(&film_bore, &bore, &shape);
  for (double film_um = 0.25; film_um < 90.0; film_um += 1.5) {
    const struct bore_film film = {film_um * UM, 0.0};
    film_bore_set(&film_bore, &film);
    bore_table_init_on_demand(&own, &bore, &shape, &film);
    for (double deg = 1.0; deg < 5.0; deg += 0.13) {
      const double angle = bore.closed_angle_rad + deg * UNITS_RAD_PER_DEG, exact = bore_table_at(&own, angle).passing_m2;
      check_close_at(film_um, bore_table_at(&film_bore.table, angle).passing_m2, exact, 3e-10);
    }
  }
}

/* On a rung the table is the integral's own. */
static void on_a_rung(void **state) {
  (void)state;
  static struct film_bore film_bore;
  static struct bore_table exact;
  film_bore_init(&film_bore, &bore, &shape);
  for (int i = 0; i <= 8; i++) {
    const struct bore_film film = {9.5 * i * UM, 0.0};
    bore_table_init_on_demand(&exact, &bore, &shape, &film);
    film_bore_set(&film_bore, &film);
    for (double deg = 0.0; deg < 83.0; deg += 0.5) {
      const double angle_rad = bore.closed_angle_rad + deg * UNITS_RAD_PER_DEG;
      const double own_m2 = bore_table_at(&exact, angle_rad).passing_m2;
      check_close_at(deg, bore_table_at(&film_bore.table, angle_rad).passing_m2, own_m2, 1e-9 * own_m2 + 1e-15);
    }
  }
}

/* What is read from the table depends on the film alone, not on the films before it: the same bytes. */
static void no_memory(void **state) {
  (void)state;
  static struct film_bore wanders, fresh;
  film_bore_init(&wanders, &bore, &shape);
  for (uint64_t i = 0; i < 40; i++) {
    const bool edge = i % 5 == 4;
    const struct bore_film film = {80.0 * UM * random_uniform(1, 1, i), edge ? 5.0 * UM * random_uniform(1, 2, i) : 0.0};
    film_bore_set(&wanders, &film);
    film_bore_init(&fresh, &bore, &shape);
    film_bore_set(&fresh, &film);
    for (double deg = 0.0; deg < 83.0; deg += 0.83) {
      const double angle_rad = bore.closed_angle_rad + deg * UNITS_RAD_PER_DEG;
      const struct bore_passage one = bore_table_at(&wanders.table, angle_rad), other = bore_table_at(&fresh.table, angle_rad);
      assert_memory_equal(&one, &other, sizeof one);
    }
  }
}

/* One taken over from another answers the same, by rungs and on demand, and needs the other no longer. */
static void adopted(void **state) {
  (void)state;
  static struct film_bore from, to;
  const struct bore_film film = {33.3 * UM, 2.2 * UM};
  for (int on_demand = 0; on_demand < 2; on_demand++) {
    film_bore_init(&from, &bore, &shape);
    from.on_demand = on_demand != 0;
    film_bore_set(&from, &film);
    film_bore_init(&to, &bore, &shape);
    film_bore_adopt(&to, &from);
    const double angle = bore.closed_angle_rad + 2.0 * UNITS_RAD_PER_DEG, area = bore_table_area_m2(&from.table, angle);
    memset(&from, 0, sizeof from);
    check_close(bore_table_area_m2(&to.table, angle), area, 0.0);
  }
}

/* A film that grows takes the area away steadily: no step where one rung hands over to the next. 0 to 15 um: below the clearance,
 * where each micrometre takes nearly the same. */
static void grows_steadily(void **state) {
  (void)state;
  static struct film_bore film_bore;
  film_bore_init(&film_bore, &bore, &shape);
  const double angle_rad = bore.closed_angle_rad + 2.2 * UNITS_RAD_PER_DEG;
  struct bore_passage before = bore_table_at(&film_bore.table, angle_rad);
  double least = INFINITY, most = 0.0;
  for (int i = 1; i <= 150; i++) {
    const struct bore_film film = {0.1 * i * UM, 0.0};
    film_bore_set(&film_bore, &film);
    const struct bore_passage now = bore_table_at(&film_bore.table, angle_rad);
    check_above(before.passing_m2, now.passing_m2);
    least = fmin(least, before.area_m2 - now.area_m2);
    most = fmax(most, before.area_m2 - now.area_m2);
    before = now;
  }
  check_above(least, 0.0);
  check_below(most, 1.1 * least);
}

/* A copy that is aimed at its own rungs answers as the original did, whatever has become of that. Three films in a row, the last
 * between rungs. */
static void a_copy_stands_alone(void **state) {
  (void)state;
  static struct film_bore original, copy;
  film_bore_init(&original, &bore, &shape);
  for (int i = 1; i <= 3; i++) film_bore_set(&original, &(struct bore_film){(10.0 + 0.1 * i) * UM, 0.0});
  assert_int_equal(original.table.part_count, 2);
  const struct film_bore_parts parts = film_bore_parts_of(&original);
  copy = original;
  double wanted[40];
  for (int i = 0; i < 40; i++) wanted[i] = bore_table_area_m2(&original.table, bore.closed_angle_rad + 0.01 * i);
  memset(&original, 0xff, sizeof original);
  film_bore_aim(&copy, parts);
  for (int i = 0; i < 40; i++)
    check_close_at(i, bore_table_area_m2(&copy.table, bore.closed_angle_rad + 0.01 * i), wanted[i], 0.0);
  film_bore_set(&copy, &(struct bore_film){0.0, 0.0});
  film_bore_set(&copy, &(struct bore_film){5.0 * UM, 0.0});
  for (int i = 0; i < copy.table.part_count; i++) assert_in_range(film_bore_parts_of(&copy).rung[i], 0, FILM_BORE_CORNERS - 1);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(near_its_own_table),
      cmocka_unit_test(idle_of_a_growing_film),
      cmocka_unit_test(on_a_rung),
      cmocka_unit_test(no_memory),
      cmocka_unit_test(adopted),
      cmocka_unit_test(grows_steadily),
      cmocka_unit_test(a_copy_stands_alone),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
