/* physics/bore: deposit and contour on the wall, and the open area with a deposit that is uneven in every way. Truth: docs/physics.md section 1,
 * written out here with midpoint sums instead of panels, and cos^2 by hand. */
#include "physics/bore.h"

#include "base/units.h"
#include "support/check.h"

#define DEG (UNITS_PI / 180.0)

static const struct bore_geometry bore = {
    .radius_m = 26e-3, .closed_angle_rad = 7.0 * DEG, .shaft_diameter_m = 8e-3, .clearance_m = 10e-6, .edge_land_m = 1.5e-3};

/* Half-widths 2.6 mm down and 1.4 mm up of a middle 0.3 mm down; thickest at 40 degrees. */
static const struct bore_film_shape uneven = {
    .band_half_width_m = 2e-3, .asymmetry_ratio = 0.3, .bias_ratio = 0.4, .bias_angle_rad = 40.0 * DEG, .offset_m = 0.3e-3};

static void film(void **state) {
  (void)state;
  const double most = 60e-6 * 1.4, least = 60e-6 * 0.6, here = 40.0 * DEG;
  check_relative(bore_film_thickness_m(&uneven, 60e-6, here, 0.3e-3), most, 1e-12);
  check_relative(bore_film_thickness_m(&uneven, 60e-6, here + UNITS_PI, 0.3e-3), least, 1e-12);
  check_relative(bore_film_thickness_m(&uneven, 60e-6, here + 0.5 * UNITS_PI, 0.3e-3), 60e-6, 1e-12);
  // half of it half way to either border: cos^2(pi/4); a quarter at two thirds: cos^2(pi/3)
  check_relative(bore_film_thickness_m(&uneven, 60e-6, here, 1.6e-3), 0.5 * most, 1e-12);
  check_relative(bore_film_thickness_m(&uneven, 60e-6, here, -0.4e-3), 0.5 * most, 1e-12);
  check_relative(bore_film_thickness_m(&uneven, 60e-6, here, 0.3e-3 + 2.6e-3 / 1.5), 0.25 * most, 1e-12);
  check_relative(bore_film_thickness_m(&uneven, 60e-6, here, 0.3e-3 - 1.4e-3 / 1.5), 0.25 * most, 1e-12);
  check_close(bore_film_thickness_m(&uneven, 60e-6, here, 2.91e-3), 0.0, 0.0);
  check_close(bore_film_thickness_m(&uneven, 60e-6, here, -1.11e-3), 0.0, 0.0);
  check_above(bore_film_thickness_m(&uneven, 60e-6, here, 2.85e-3), 0.0);
  check_above(bore_film_thickness_m(&uneven, 60e-6, here, -1.05e-3), 0.0);
}

/* From half a land on: half at a quarter of its length, all in the middle. */
static void contour(void **state) {
  (void)state;
  struct bore_geometry shouldered = bore;
  shouldered.contour_m = 100e-6;
  shouldered.contour_length_m = 4e-3;
  check_close(bore_contour_m(&shouldered, 0.75e-3), 0.0, 0.0);
  check_relative(bore_contour_m(&shouldered, 1.75e-3), 50e-6, 1e-12);
  check_relative(bore_contour_m(&shouldered, 2.75e-3), 100e-6, 1e-12);
  check_relative(bore_contour_m(&shouldered, 3.75e-3), 50e-6, 1e-12);
  check_close(bore_contour_m(&shouldered, 4.75e-3), 0.0, 0.0);
  check_close(bore_contour_m(&shouldered, -1.0e-3), 0.0, 0.0);
}

/* One side of the shaft as the page has it. */
struct side {
  const struct bore_film_shape *shape;
  struct bore_film film;
  double psi, way; // +1 downstream
};

static double gap_m(const struct side *side, double phi, double h, double *x, double *y) {
  const double psi0 = bore.closed_angle_rad, delta = side->psi - psi0, k = cos(side->psi) / cos(psi0);
  const double rb = bore.radius_m - bore.clearance_m + side->film.edge_m;
  *x = rb * cos(phi);
  *y = k * rb * sin(phi) - h * sin(delta);
  const double theta = atan2(k * rb * sin(phi), rb * cos(phi));
  const double s = rb * sin(phi) * sin(side->psi) / cos(psi0) + h * cos(delta) - bore.radius_m * sin(theta) * tan(psi0);
  const double film =
      bore_film_thickness_m(side->shape, side->film.wall_m, side->way > 0.0 ? theta : theta + UNITS_PI, side->way * s);
  return bore.radius_m - film - hypot(*x, *y);
}

/* Narrowest over the land. */
static double narrow_m(const struct side *side, double phi, double *x, double *y) {
  enum { PLACES = 60 };
  double least = 1.0, best = 0.0;
  for (int i = 0; i <= PLACES; i++) {
    const double h = bore.edge_land_m * ((double)i / PLACES - 0.5), gap = gap_m(side, phi, h, x, y);
    if (gap < least) {
      least = gap;
      best = h;
    }
  }
  return gap_m(side, phi, best, x, y);
}

static double corner_m2(const struct side *side, double phi) {
  const double r = bore.radius_m, half = 0.5 * bore.shaft_diameter_m;
  const double rb = r - bore.clearance_m + side->film.edge_m;
  const double t0 = asin(half / r), t1 = atan2(half, fabs(rb * cos(phi)));
  double x, y;
  const double w = fmax(narrow_m(side, phi, &x, &y), 0.0) / (r - half / sin(t1));
  return 0.5 * (r * r * (t1 - t0) - half * half * (1.0 / tan(t0) - 1.0 / tan(t1))) * fmin(w * w, 1.0);
}

static double side_m2(const struct side *side) {
  enum { STEPS = 1000 };
  const double delta = side->psi - bore.closed_angle_rad, k = cos(side->psi) / cos(bore.closed_angle_rad);
  const double rb = bore.radius_m - bore.clearance_m + side->film.edge_m;
  const double from = asin((0.5 * bore.shaft_diameter_m - 0.5 * bore.edge_land_m * sin(delta)) / (k * rb));
  const double step = (UNITS_PI - 2.0 * from) / STEPS;
  double sum = 0.0;
  for (int i = 0; i < STEPS; i++) {
    const double phi = from + (i + 0.5) * step;
    double x, y;
    const double w = narrow_m(side, phi, &x, &y), r = hypot(x, y);
    const double turn = rb * (k * rb * cos(phi) * cos(phi) + y * sin(phi)) / (r * r);
    if (w > 0.0) sum += w * (r + 0.5 * w) * turn * step;
  }
  return sum + corner_m2(side, from) + corner_m2(side, UNITS_PI - from);
}

/* Within what bore.h promises: 5e-4 and 0.002 mm2. */
static void area(void **state) {
  (void)state;
  static const struct bore_film_shape even = {.band_half_width_m = 2e-3};
  static const struct bore_film_shape aside = {.band_half_width_m = 2e-3, .offset_m = 0.5e-3};
  static const struct bore_film_shape leaning = {.band_half_width_m = 2e-3, .asymmetry_ratio = -0.4};
  static const struct bore_film_shape biased = {.band_half_width_m = 2e-3, .bias_ratio = 0.5, .bias_angle_rad = 0.5 * UNITS_PI};
  static const struct bore_film_shape *const shapes[] = {&even, &uneven, &aside, &leaning, &biased};
  static const double films_m[][2] = {{0.0, 0.0}, {40e-6, 0.0}, {90e-6, 5e-6}}, openings_deg[] = {1.0, 3.0, 8.0};
  for (int shape = 0; shape < 5; shape++)
    for (int f = shape < 2 ? 0 : 1; f < (shape < 2 ? 3 : 2); f++)
      for (int o = 0; o < 3; o++) {
        const struct bore_film thickness = {films_m[f][0], films_m[f][1]};
        const double psi = bore.closed_angle_rad + openings_deg[o] * DEG;
        double sum_m2 = 0.0;
        for (int way = -1; way <= 1; way += 2) {
          const struct side side = {shapes[shape], thickness, psi, way};
          sum_m2 += side_m2(&side);
        }
        check_close_at(openings_deg[o], 1e6 * bore_area_m2(&bore, shapes[shape], &thickness, psi), 1e6 * sum_m2,
                       5e-4 * 1e6 * sum_m2 + 0.002);
      }
}

/* What a drawing is told is what the equations say, on both sides of the shaft. */
static void section(void **state) {
  (void)state;
  const double psi = bore.closed_angle_rad + 3.0 * DEG, delta = 3.0 * DEG;
  const struct bore_film thickness = {60e-6, 0.0};
  for (int way = -1; way <= 1; way += 2) {
    const double theta = way > 0 ? 70.0 * DEG : 250.0 * DEG;
    const struct bore_section s = bore_section_at(&bore, &uneven, &thickness, psi, theta);
    // of the land's middle: tan(theta) = k tan(phi)
    const double k = cos(psi) / cos(bore.closed_angle_rad), phi = atan(tan(70.0 * DEG) / k);
    const double rb = bore.radius_m - bore.clearance_m;
    check_close_at(way, s.edge_radius_m, hypot(rb * cos(phi), k * rb * sin(phi)), 1e-9);
    check_close_at(way, s.edge_height_m, way * rb * sin(phi) * sin(psi) / cos(bore.closed_angle_rad), 1e-9);
    check_close_at(way, s.line_height_m, way * bore.radius_m * sin(70.0 * DEG) * tan(bore.closed_angle_rad), 1e-9);
    // the corner that is ahead as this side opens has come nearer to the axis: y is less by land/2 sin(delta)
    const double ahead = hypot(rb * cos(phi), k * rb * sin(phi) - 0.5 * bore.edge_land_m * sin(delta));
    const double behind = hypot(rb * cos(phi), k * rb * sin(phi) + 0.5 * bore.edge_land_m * sin(delta));
    check_close_at(way, s.downstream_radius_m, way > 0 ? ahead : behind, 1e-7);
    check_close_at(way, s.upstream_radius_m, way > 0 ? behind : ahead, 1e-7);
    check_close_at(way, s.downstream_height_m - s.upstream_height_m, bore.edge_land_m * cos(delta), 2e-6);
    const struct side side = {&uneven, thickness, psi, way};
    double x, y;
    check_close_at(way, s.gap_m, fmax(narrow_m(&side, phi, &x, &y), 0.0), 0.5e-6);
    check_close_at(way, s.film_m, bore_film_thickness_m(&uneven, 60e-6, theta, s.narrow_height_m - s.line_height_m), 0.5e-6);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(film), cmocka_unit_test(contour), cmocka_unit_test(area),
                                     cmocka_unit_test(section)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
