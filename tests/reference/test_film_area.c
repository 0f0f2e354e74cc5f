/* The bore with a thick-edged blade, a film and a contour against a solid body, and against what must hold for any film.
 *
 * throttle_solid.py turns a cloud of points, the edge of a blade cut parallel to the bore when closed, by a rotation matrix and
 * measures how near it comes to a wall drawn as a polyline; it has no formula in common with src/physics/bore.c but the shapes of
 * film and contour themselves. */
#include "support/check.h"
#include "support/oracle.h"

#include "base/attributes.h"
#include "base/units.h"
#include "physics/bore.h"

#define COMMAND "/usr/bin/python3 tests/reference/throttle_solid.py" // ctest runs in the source folder
#define DEG     UNITS_RAD_PER_DEG
#define UM      UNITS_M_PER_UM
#define MM2     UNITS_M2_PER_MM2

static int read_oracle(void **state) { return oracle_read(state, COMMAND, "python3-numpy"); }

static const struct bore_geometry plain = {26e-3, 7.0 * DEG, 8e-3, 22 * UM, 1.5e-3, 0.0, 0.0};
static const struct bore_film_shape even = {4e-3, 0.0, 0.0, 0.0, 0.0}, uneven = {4e-3, 0.2, 0.3, 90.0 * DEG, 0.0};

/* throttle_solid.py's CASES, in its order. */
static const struct {
  struct bore_film_shape shape;
  double contour_m, contour_length_m, edge_film_m;
} cases[] = {
    {{4e-3, 0.0, 0.0, 0.0, 0.0}, 0.0, 0.0, 0.0},
    {{4e-3, 0.2, 0.3, 90.0 * DEG, 0.0}, 0.0, 0.0, 0.0},
    {{4e-3, 0.2, 0.3, 30.0 * DEG, 0.0}, 0.0, 0.0, 10 * UM},
    {{1.5e-3, 0.2, 0.3, 90.0 * DEG, 2.5e-3}, 0.0, 0.0, 0.0},
    {{4e-3, 0.0, 0.0, 0.0, 0.0}, 120 * UM, 5e-3, 0.0},
    {{2.5e-3, 0.2, 0.3, 90.0 * DEG, -1e-3}, 80 * UM, 3e-3, 0.0},
};

/* The wanted 1 % or 0.05 mm2; ours and the solid, whose slices are a degree wide, agree within a seventh of that. */
static void check_solid(const struct oracle_row *row) {
  const size_t which = (size_t)row->d;
  struct bore_geometry bore = plain;
  bore.edge_land_m = row->c * UNITS_M_PER_MM;
  bore.contour_m = cases[which].contour_m;
  bore.contour_length_m = cases[which].contour_length_m;
  const struct bore_film film = {row->b * UM, cases[which].edge_film_m};
  const double area = bore_area_m2(&bore, &cases[which].shape, &film, bore.closed_angle_rad + row->a * DEG) / MM2;
  check_close_at(row->a, area, row->value, fmax(0.01 * row->value, 0.05));
}

static void solid_body(void **state) { oracle_for_each(oracle_or_skip(state), "solid", 7 * (5 * 3 + 4 * 2), check_solid); }

/* What the solid gave when it was first asked, so that a machine without numpy checks it too: openings of an idle, film square to the
 * shaft 1.3 times its mean. mm2. */
static void solid_body_printed(void **state) {
  (void)state;
  static const struct {
    double opening_deg, film_um, area_mm2;
  } rows[] = {{0.0, 0.0, 3.23}, {2.13, 0.0, 11.49}, {2.13, 40.0, 6.07}, {3.2, 0.0, 16.75}, {3.2, 60.0, 9.19}, {20.0, 0.0, 193.5}};
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    const struct bore_film film = {rows[i].film_um * UM, 0.0};
    const double area = bore_area_m2(&plain, &uneven, &film, plain.closed_angle_rad + rows[i].opening_deg * DEG) / MM2;
    check_close_at(rows[i].opening_deg, area, rows[i].area_mm2, fmax(0.01 * rows[i].area_mm2, 0.05));
  }
}

/* A thicker edge leaves less, at any angle short of wide open. */
static void land_takes_area(void **state) {
  (void)state;
  const struct bore_film clean = {0.0, 0.0};
  for (double opening = 0.3; opening < 40.0; opening *= 1.3) {
    struct bore_geometry thin = plain, thick = plain;
    thin.edge_land_m = 0.5e-3;
    check_below_at(opening, bore_area_m2(&thick, &even, &clean, thick.closed_angle_rad + opening * DEG),
                   bore_area_m2(&thin, &even, &clean, thin.closed_angle_rad + opening * DEG));
  }
}

/* More film never opens the gap nor lets more through, on the wall or on the edge. The quadrature's own error is allowed. */
static void falls_with_film(void **state) {
  (void)state;
  static const double openings_deg[] = {0.0, 0.5, 1.5, 3.0, 6.0, 17.0};
  for (size_t a = 0; a < ARRAY_COUNT(openings_deg); a++)
    for (int um = 0; um < 130; um += 2) {
      const double psi = plain.closed_angle_rad + openings_deg[a] * DEG;
      const struct bore_film less = {um * UM, 8 * UM}, wall = {(um + 2) * UM, 8 * UM}, edge = {um * UM, 10 * UM};
      const struct bore_passage most = bore_passage_at(&plain, &uneven, &less, psi);
      const struct bore_passage walled = bore_passage_at(&plain, &uneven, &wall, psi);
      const struct bore_passage edged = bore_passage_at(&plain, &uneven, &edge, psi);
      check_below_at(um, walled.area_m2, most.area_m2 * (1.0 + 1e-6) + 1e-15);
      check_below_at(um, edged.area_m2, most.area_m2 * (1.0 + 1e-6) + 1e-15);
      check_below_at(um, walled.passing_m2, most.passing_m2 * (1.0 + 1e-6) + 1e-15);
      check_below_at(um, edged.passing_m2, most.passing_m2 * (1.0 + 1e-6) + 1e-15);
    }
}

/* A film of a few hundredths takes most of the idle air at a fixed angle, hardly shows further open and not at all wide open (the
 * invariants that physics.md section 1 sets). */
static void where_the_film_counts(void **state) {
  (void)state;
  const struct bore_film clean = {0, 0}, film = {60 * UM, 0};
  const double near = 9.0 * DEG, off_idle = 17.0 * DEG, wide = 90.0 * DEG;
  check_below(bore_area_m2(&plain, &even, &film, near), 0.5 * bore_area_m2(&plain, &even, &clean, near));
  check_above(bore_area_m2(&plain, &even, &film, off_idle), 0.9 * bore_area_m2(&plain, &even, &clean, off_idle));
  check_relative(bore_area_m2(&plain, &even, &film, wide), bore_area_m2(&plain, &even, &clean, wide), 1e-9);
}

/* Opening the blade never takes area away, nor flow. */
static void monotone_in_angle(void **state) {
  (void)state;
  static const struct bore_film films[] = {{0, 0}, {30 * UM, 0}, {90 * UM, 5 * UM}, {130 * UM, 0}};
  struct bore_geometry shoulder = plain;
  shoulder.contour_m = 120 * UM;
  shoulder.contour_length_m = 5e-3;
  for (int contour = 0; contour < 2; contour++)
    for (size_t f = 0; f < ARRAY_COUNT(films); f++) {
      const struct bore_geometry *bore = contour ? &shoulder : &plain;
      struct bore_passage before = bore_passage_at(bore, &uneven, &films[f], bore->closed_angle_rad);
      for (int i = 1; i <= 400; i++) {
        const double psi = bore->closed_angle_rad + (0.5 * UNITS_PI - bore->closed_angle_rad) * pow(i / 400.0, 2);
        const struct bore_passage now = bore_passage_at(bore, &uneven, &films[f], psi);
        check_above_at(psi / DEG, now.area_m2, before.area_m2 * (1.0 - 1e-6) - 1e-15);
        check_above_at(psi / DEG, now.passing_m2, before.passing_m2 * (1.0 - 1e-6) - 1e-15);
        before = now;
      }
    }
}

/* A shoulder keeps the bottom of the opening curve flat and is left behind further open. */
static void contour_flattens_the_bottom(void **state) {
  (void)state;
  struct bore_geometry shoulder = plain;
  shoulder.contour_m = 120 * UM;
  shoulder.contour_length_m = 5e-3;
  const struct bore_film clean = {0.0, 0.0};
  const double closed = plain.closed_angle_rad;
  check_relative(bore_area_m2(&shoulder, &even, &clean, closed), bore_area_m2(&plain, &even, &clean, closed), 1e-9);
  const double plain_rise = bore_area_m2(&plain, &even, &clean, closed + 8.0 * DEG) - bore_area_m2(&plain, &even, &clean, closed);
  const double rise = bore_area_m2(&shoulder, &even, &clean, closed + 8.0 * DEG) - bore_area_m2(&shoulder, &even, &clean, closed);
  check_below(rise, 0.85 * plain_rise);
  check_above(bore_area_m2(&shoulder, &even, &clean, closed + 30.0 * DEG),
              0.99 * bore_area_m2(&plain, &even, &clean, closed + 30.0 * DEG));
}

/* A band set off downstream is met by the half that opens downstream alone, and only once the blade has come to it. */
static void band_beside_the_line(void **state) {
  (void)state;
  const struct bore_film_shape beside = {1e-3, 0.0, 0.0, 0.0, 3e-3};
  const struct bore_film clean = {0, 0}, film = {60 * UM, 0};
  const double closed = plain.closed_angle_rad, there = closed + 8.3 * DEG; // 26 mm sin 8.3 deg less half a land is 3 mm
  check_relative(bore_area_m2(&plain, &beside, &film, closed + 1.0 * DEG),
                 bore_area_m2(&plain, &beside, &clean, closed + 1.0 * DEG), 1e-12);
  const double taken = bore_area_m2(&plain, &beside, &clean, there) - bore_area_m2(&plain, &beside, &film, there);
  check_above(taken, 0.2 * 60 * UM * UNITS_PI * plain.radius_m); // of the film's whole share of half a bore
  check_below(taken, 60 * UM * UNITS_PI * plain.radius_m);
  check_close(bore_section_at(&plain, &beside, &film, there, 0.5 * UNITS_PI).film_m, 60 * UM, 2 * UM);
  check_close(bore_section_at(&plain, &beside, &film, there, -0.5 * UNITS_PI).film_m, 0.0, 1e-12);
}

/* Clearance alone: a ring of 2 pi R c, hand value, less what the shaft hides: 2 / pi asin(d / 2 R) of it. */
static void closed_ring(void **state) {
  (void)state;
  struct bore_geometry bare = plain;
  bare.shaft_diameter_m = 0.0;
  const struct bore_film clean = {0, 0};
  const double r = bare.radius_m, c = bare.clearance_m, ring = UNITS_PI * (r * r - (r - c) * (r - c));
  check_relative(bore_area_m2(&bare, &even, &clean, bare.closed_angle_rad), ring, 1e-9);
  const double hidden = 2.0 / UNITS_PI * asin(0.5 * plain.shaft_diameter_m / (r - c));
  check_relative(bore_area_m2(&plain, &even, &clean, plain.closed_angle_rad), ring * (1.0 - hidden), 1e-4);
}

/* Thickness by hand: full in the middle of the band, half at half the half-width, nothing at its end; the downstream half wider;
 * bias; offset. */
static void thickness(void **state) {
  (void)state;
  const struct bore_film_shape odd = {1.6e-3, 0.25, 0.6, 1.1, 0.5e-3};
  const double where = odd.bias_angle_rad, most = 40 * UM * 1.6;
  check_relative(bore_film_thickness_m(&odd, 40 * UM, where, 0.5e-3), most, 1e-12);
  check_relative(bore_film_thickness_m(&odd, 40 * UM, where, 1.5e-3), 0.5 * most, 1e-12);  // 0.5 + 1.6 * 1.25 / 2
  check_relative(bore_film_thickness_m(&odd, 40 * UM, where, -0.1e-3), 0.5 * most, 1e-12); // 0.5 - 1.6 * 0.75 / 2
  check_close(bore_film_thickness_m(&odd, 40 * UM, where, 2.5e-3), 0.0, 1e-18);
  check_close(bore_film_thickness_m(&odd, 40 * UM, where, -0.8e-3), 0.0, 1e-18);
  check_relative(bore_film_thickness_m(&odd, 40 * UM, where + UNITS_PI, 0.5e-3), 40 * UM * 0.4, 1e-12);
  check_relative(bore_film_thickness_m(&odd, 40 * UM, where + 0.5 * UNITS_PI, 0.5e-3), 40 * UM, 1e-12);
}

/* What is drawn at the cut square to the shaft is what a hand finds there: k R less half the land's lean, with the film's middle met
 * where the land spans it. */
static void section_by_hand(void **state) {
  (void)state;
  const double psi = 9.0 * DEG, delta = 2.0 * DEG, r = plain.radius_m - plain.clearance_m, half = 0.5 * plain.edge_land_m;
  const struct bore_film clean = {0, 0};
  const struct bore_section s = bore_section_at(&plain, &even, &clean, psi, 0.5 * UNITS_PI);
  const double k = cos(psi) / cos(plain.closed_angle_rad);
  check_close(s.edge_radius_m, k * r, 1e-12);
  check_close(s.upstream_radius_m, k * r + half * sin(delta), 1e-12);
  check_close(s.downstream_radius_m, k * r - half * sin(delta), 1e-12);
  check_close(s.gap_m, plain.radius_m - s.upstream_radius_m, 1e-12);
  check_close(s.line_height_m, plain.radius_m * tan(plain.closed_angle_rad), 1e-12);
  check_close(s.edge_height_m, r * sin(psi) / cos(plain.closed_angle_rad), 1e-12);
  check_close(s.downstream_height_m - s.upstream_height_m, 2.0 * half * cos(delta), 1e-12);
  const struct bore_section up = bore_section_at(&plain, &even, &clean, psi, -0.5 * UNITS_PI);
  check_close(up.edge_height_m, -s.edge_height_m, 1e-12);
  check_close(up.downstream_radius_m, s.upstream_radius_m, 1e-12);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(solid_body),        cmocka_unit_test(solid_body_printed),
      cmocka_unit_test(land_takes_area),   cmocka_unit_test(falls_with_film),
      cmocka_unit_test(monotone_in_angle), cmocka_unit_test(where_the_film_counts),
      cmocka_unit_test(closed_ring),       cmocka_unit_test(contour_flattens_the_bottom),
      cmocka_unit_test(thickness),         cmocka_unit_test(band_beside_the_line),
      cmocka_unit_test(section_by_hand),
  };
  return cmocka_run_group_tests(tests, read_oracle, oracle_free);
}
