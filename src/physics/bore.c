#include "physics/bore.h"

#include "base/units.h"

#include <math.h>
#include <stdbool.h>

/* Eight-point Gauss-Legendre rule on [-1, 1]; Abramowitz and Stegun, table 25.4. */
enum { GAUSS_HALF = 4 };
static const double gauss_node[GAUSS_HALF] = {0.1834346424956498, 0.5255324099163290, 0.7966664774136267,
                                              0.9602898564975363};
static const double gauss_weight[GAUSS_HALF] = {0.3626837833783620, 0.3137066458778873, 0.2223810344533745,
                                                0.1012285362903763};

enum { PANEL_COUNT = 24 };     // per half turn, before splitting at kinks; 16 already reach 1e-9
#define SLOPE_STEP_RAD 1e-5    // central difference: error of order 1e-10 of the area, relative to pi R^2

double bore_film_thickness_m(const struct bore_film_shape *shape, double wall_film_m, double theta_rad,
                             double height_from_line_m) {
  // Downstream is where z grows; for the half with sin(theta) < 0 the caller hands over the same sign of z.
  const double side = height_from_line_m >= 0.0 ? 1.0 + shape->asymmetry_ratio : 1.0 - shape->asymmetry_ratio;
  const double half_width = shape->band_half_width_m * side;
  const double distance = fabs(height_from_line_m);
  if (distance >= half_width) return 0.0;
  const double along = cos(0.5 * UNITS_PI * distance / half_width);
  const double round = 1.0 + shape->bias_ratio * cos(theta_rad - shape->bias_angle_rad);
  return wall_film_m * along * along * round;
}

/* Everything about one angle that does not depend on theta. */
struct view {
  const struct bore_geometry *bore;
  const struct bore_film_shape *shape;
  const struct bore_film *film;
  double ratio;                  // k
  double tan_angle, tan_closed;
};

static struct view view_at(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                           const struct bore_film *film, double angle_rad) {
  const double angle = fmin(fmax(angle_rad, bore->closed_angle_rad), 0.5 * UNITS_PI);
  struct view view = {bore, shape, film, 0.0, 0.0, 0.0};
  view.ratio = fmax(cos(angle), 0.0) / cos(bore->closed_angle_rad);
  view.tan_angle = tan(angle);
  view.tan_closed = tan(bore->closed_angle_rad);
  return view;
}

static double blade_radius_m(const struct view *v, double cosine, double sine) {
  const double k = v->ratio;
  return v->bore->radius_m * k / sqrt(k * k * cosine * cosine + sine * sine);
}

static double edge_shift_m(const struct view *v, double blade_radius, double sine) {
  return sine * (blade_radius * v->tan_angle - v->bore->radius_m * v->tan_closed);
}

static double faced_film_m(const struct view *v, double theta, double shift) {
  if (v->film->wall_m <= 0.0) return 0.0;
  const double nearest = fmax(fabs(shift) - 0.5 * v->bore->edge_land_m, 0.0);
  return bore_film_thickness_m(v->shape, v->film->wall_m, theta, copysign(nearest, shift));
}

/* Twice the integrand: outer^2 - inner^2, negative where closed; *shaft tells whether the shaft hides the blade. */
static double squares_m2(const struct view *v, double theta) {
  const double sine = sin(theta), cosine = cos(theta);
  const double blade = blade_radius_m(v, cosine, sine);
  const double outer = v->bore->radius_m - faced_film_m(v, theta, edge_shift_m(v, blade, sine));
  const double edge = blade - v->bore->clearance_m + v->film->edge_m;
  const double shaft = 0.5 * v->bore->shaft_diameter_m / fmax(fabs(sine), 1e-12);
  const double inner = fmax(edge, shaft);
  return (outer - inner) * (outer + inner);
}

/* Positive where the blade's edge, negative where the shaft is the inner border. */
static double edge_over_shaft_m(const struct view *v, double theta) {
  const double sine = sin(theta), cosine = cos(theta);
  const double edge = blade_radius_m(v, cosine, sine) - v->bore->clearance_m + v->film->edge_m;
  return edge * fabs(sine) - 0.5 * v->bore->shaft_diameter_m;
}

/* Root of f between a and b, where its signs differ, by bisection to the last bit that matters here. */
static double root_between(const struct view *v, double (*f)(const struct view *, double), double a, double b) {
  const bool rises = f(v, b) > 0.0;
  for (int i = 0; i < 45; i++) {
    const double middle = 0.5 * (a + b);
    if ((f(v, middle) > 0.0) == rises)
      b = middle;
    else
      a = middle;
  }
  return 0.5 * (a + b);
}

static double gauss_m2(const struct view *v, double a, double b) {
  const double middle = 0.5 * (a + b), half = 0.5 * (b - a);
  double sum = 0.0;
  for (int i = 0; i < GAUSS_HALF; i++) {
    const double low = squares_m2(v, middle - half * gauss_node[i]);
    const double high = squares_m2(v, middle + half * gauss_node[i]);
    sum += gauss_weight[i] * (fmax(low, 0.0) + fmax(high, 0.0));
  }
  return half * sum;
}

/* One panel inside which the border is all blade or all shaft; split where the gap opens or closes. */
static double smooth_panel_m2(const struct view *v, double a, double b) {
  // The ends are pulled in by a hair so that a panel that begins at a root does not see its sign.
  const double hair = 1e-9 * (b - a);
  const double middle = 0.5 * (a + b);
  const bool open_a = squares_m2(v, a + hair) > 0.0, open_b = squares_m2(v, b - hair) > 0.0;
  const bool open_middle = squares_m2(v, middle) > 0.0;
  if (open_a == open_middle && open_middle == open_b) return open_middle ? gauss_m2(v, a, b) : 0.0;
  double area = 0.0;
  const double ends[3] = {a, middle, b};
  const bool open[3] = {open_a, open_middle, open_b};
  for (int i = 0; i < 2; i++) {
    if (open[i] && open[i + 1]) area += gauss_m2(v, ends[i], ends[i + 1]);
    if (open[i] == open[i + 1]) continue;
    const double root = root_between(v, squares_m2, ends[i] + hair, ends[i + 1] - hair);
    area += open[i] ? gauss_m2(v, ends[i], root) : gauss_m2(v, root, ends[i + 1]);
  }
  return area;
}

static double panel_m2(const struct view *v, double a, double b) {
  const bool blade_a = edge_over_shaft_m(v, a) > 0.0, blade_b = edge_over_shaft_m(v, b) > 0.0;
  if (blade_a == blade_b) return smooth_panel_m2(v, a, b);
  const double root = root_between(v, edge_over_shaft_m, a, b);
  return smooth_panel_m2(v, a, root) + smooth_panel_m2(v, root, b);
}

double bore_area_m2(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                    const struct bore_film *film, double angle_rad) {
  const struct view view = view_at(bore, shape, film, angle_rad);
  const bool symmetric = film->wall_m <= 0.0;
  const double width = UNITS_PI / PANEL_COUNT;
  double twice = 0.0;
  if (symmetric) {
    for (int i = 0; i < PANEL_COUNT / 2; i++) twice += 4.0 * panel_m2(&view, i * width, (i + 1) * width);
  } else {
    for (int i = 0; i < 2 * PANEL_COUNT; i++) twice += panel_m2(&view, i * width, (i + 1) * width);
  }
  return 0.5 * twice;
}

double bore_area_slope_m2_rad(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                              const struct bore_film *film, double angle_rad) {
  const double low = fmax(angle_rad - SLOPE_STEP_RAD, bore->closed_angle_rad);
  const double high = fmin(angle_rad + SLOPE_STEP_RAD, 0.5 * UNITS_PI);
  return (bore_area_m2(bore, shape, film, high) - bore_area_m2(bore, shape, film, low)) / (high - low);
}

struct bore_section bore_section_at(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                                    const struct bore_film *film, double angle_rad, double theta_rad) {
  const struct view view = view_at(bore, shape, film, angle_rad);
  const double sine = sin(theta_rad), cosine = cos(theta_rad);
  const double blade = blade_radius_m(&view, cosine, sine);
  const double shift = edge_shift_m(&view, blade, sine);
  struct bore_section section;
  section.edge_radius_m = blade - bore->clearance_m;
  section.line_height_m = bore->radius_m * sine * view.tan_closed;
  section.edge_height_m = section.line_height_m + shift;
  section.film_m = faced_film_m(&view, theta_rad, shift);
  section.gap_m = fmax(bore->radius_m - section.film_m - section.edge_radius_m - film->edge_m, 0.0);
  return section;
}
