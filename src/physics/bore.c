#include "physics/bore.h"

#include "base/units.h"

#include <math.h>
#include <stdbool.h>

/* Eight-point Gauss-Legendre rule on [-1, 1]; Abramowitz and Stegun, table 25.4. */
enum { GAUSS_HALF = 4 };
static const double gauss_node[GAUSS_HALF] = {0.1834346424956498, 0.5255324099163290, 0.7966664774136267, 0.9602898564975363};
static const double gauss_weight[GAUSS_HALF] = {0.3626837833783620, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763};

// Widest panel in tan(theta / 2), of which a quarter turn is 1; half of it changes areas by 1e-10 of them.
#define PANEL_MAX 0.4
// Of tan(theta / 2); the integrand is continuous at a kink, so a kink misplaced by this costs its square.
#define ROOT_TOLERANCE 1e-8
// Bias or asymmetry that is none.
#define EVEN_RATIO 1e-12
// Where a side opens; the area there grows as the power 1.5 of it. The first guess above the stop is doubled
// until the side is open.
#define OPENING_TOLERANCE_RAD 1e-9
#define OPENING_FIRST_RAD     4e-3
// outer^2 - inner^2 as a share of R^2 that is rounding: edge and wall touch, the gap is about to open.
#define CLOSED_RATIO 1e-14

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
  double radius_m, half_shaft_m, half_land_m;
  double play_m;                 // edge film less clearance: what the edge stands out beyond the ellipse
  double ratio, tan_closed;      // k, tan(psi0)
  double sine_ratio;             // sin(psi) / cos(psi0), which is k tan(psi) and -dk/dpsi
  double wall_m;                 // film
  double bias_cosine, bias_sine; // bias times cosine and sine of the place where it is thickest
};

static struct view view_at(const struct bore_geometry *bore, const struct bore_film_shape *shape, const struct bore_film *film,
                           double angle_rad) {
  const double angle = fmin(fmax(angle_rad, bore->closed_angle_rad), 0.5 * UNITS_PI);
  const double closed_cosine = cos(bore->closed_angle_rad);
  return (struct view){
      .radius_m = bore->radius_m,
      .half_shaft_m = 0.5 * bore->shaft_diameter_m,
      .half_land_m = 0.5 * bore->edge_land_m,
      .play_m = film->edge_m - bore->clearance_m,
      .ratio = fmax(cos(angle), 1e-20) / closed_cosine,
      .tan_closed = tan(bore->closed_angle_rad),
      .sine_ratio = sin(angle) / closed_cosine,
      .wall_m = fmax(film->wall_m, 0.0),
      .bias_cosine = shape->bias_ratio * cos(shape->bias_angle_rad),
      .bias_sine = shape->bias_ratio * sin(shape->bias_angle_rad),
  };
}

/* One quarter of the bore; tau = tan(theta / 2) runs from 0 at the shaft to 1 square to it, which spares
 * the sines. */
struct quarter {
  struct view view;
  double down, right;   // signs of sin(theta) and cos(theta)
  double half_width_m;  // of the film's band on this side
  double lift_sought_m; // for lift_over_m()
};

/* The blade's ellipse at one tau. */
struct ellipse {
  double dtheta;           // d theta / d tau, halved
  double sine, cosine;     // absolute
  double square, inverse;  // k^2 cos^2 + sin^2 and 1 / its root
  double radius_m, lift_m; // r_blade, |dz|
};

static inline struct ellipse ellipse_at(const struct view *v, double tau) {
  struct ellipse e;
  e.dtheta = 1.0 / (1.0 + tau * tau);
  e.sine = 2.0 * tau * e.dtheta;
  e.cosine = (1.0 - tau * tau) * e.dtheta;
  e.square = v->ratio * v->ratio * e.cosine * e.cosine + e.sine * e.sine;
  e.inverse = 1.0 / sqrt(e.square);
  e.radius_m = v->radius_m * v->ratio * e.inverse;
  e.lift_m = v->radius_m * e.sine * (v->sine_ratio * e.inverse - v->tan_closed);
  return e;
}

/* Integrand of the area over tau and its derivative with respect to psi. */
struct sample {
  double area_m2, slope_m2_rad;
  double gap_m2; // outer^2 - inner^2, above 0 where open
};

static inline struct sample sample_at(const struct quarter *q, double tau) {
  const struct view *v = &q->view;
  const struct ellipse e = ellipse_at(v, tau);
  const double inverse_cube = e.inverse * e.inverse * e.inverse;
  double outer = v->radius_m, outer_slope = 0.0;
  if (v->wall_m > 0.0 && e.lift_m < v->half_land_m + q->half_width_m) {
    const double full = v->wall_m * (1.0 + q->right * v->bias_cosine * e.cosine + q->down * v->bias_sine * e.sine);
    double thickness = full;
    if (e.lift_m > v->half_land_m) {
      const double phase = UNITS_PI * (e.lift_m - v->half_land_m) / q->half_width_m;
      const double across = e.square + v->sine_ratio * v->sine_ratio * e.cosine * e.cosine;
      const double lift_slope = v->radius_m * e.sine * v->ratio * across * inverse_cube;
      thickness = 0.5 * full * (1.0 + cos(phase)); // full cos^2(phase / 2)
      outer_slope = 0.5 * full * sin(phase) * UNITS_PI / q->half_width_m * lift_slope;
    }
    outer -= thickness;
  }
  double inner = e.radius_m + v->play_m;
  double inner_slope = -v->radius_m * v->sine_ratio * e.sine * e.sine * inverse_cube;
  if (inner * e.sine < v->half_shaft_m || inner < 0.0) {
    inner = v->half_shaft_m > 0.0 ? v->half_shaft_m / e.sine : 0.0;
    inner_slope = 0.0;
  }
  const double squares = (outer - inner) * (outer + inner);
  return (struct sample){squares * e.dtheta, 2.0 * (outer * outer_slope - inner * inner_slope) * e.dtheta,
                         squares + CLOSED_RATIO * v->radius_m * v->radius_m};
}

static double gap_m2(const struct quarter *q, double tau) { return sample_at(q, tau).gap_m2; }

/* Positive where the blade's edge, negative where the shaft is the inner border. */
static double edge_over_shaft_m(const struct quarter *q, double tau) {
  const struct ellipse e = ellipse_at(&q->view, tau);
  return (e.radius_m + q->view.play_m) * e.sine - q->view.half_shaft_m;
}

/* How far the edge has left the line, less q->lift_sought_m. */
static double lift_over_m(const struct quarter *q, double tau) { return ellipse_at(&q->view, tau).lift_m - q->lift_sought_m; }

/* Root of f between a and b, where it is fa and fb of different signs: the Illinois form of the false
 * position, some six calls. Source: M. Dowell, P. Jarratt, BIT 11 (1971) 168-174. */
static double root_between(const struct quarter *q, double (*f)(const struct quarter *, double), double a, double fa, double b,
                           double fb) {
  double root = b;
  for (int i = 0; i < 60; i++) {
    const double next = b - fb * (b - a) / (fb - fa);
    const bool settled = fabs(next - root) < ROOT_TOLERANCE;
    root = next;
    if (settled) break;
    const double value = f(q, root);
    if ((value > 0.0) == (fb > 0.0)) {
      fa *= 0.5;
    } else {
      a = b;
      fa = fb;
    }
    b = root;
    fb = value;
  }
  return root;
}

enum { SAMPLES = 2 * GAUSS_HALF + 2 }; // a panel's Gauss points between its ends

static double panel_tau(double a, double b, int i) {
  const double middle = 0.5 * (a + b), half = 0.5 * (b - a);
  if (i == 0) return a;
  if (i == SAMPLES - 1) return b;
  return i <= GAUSS_HALF ? middle - half * gauss_node[GAUSS_HALF - i] : middle + half * gauss_node[i - GAUSS_HALF - 1];
}

static void add_gauss(double a, double b, const struct sample samples[SAMPLES], struct bore_area *sum) {
  for (int i = 1; i < SAMPLES - 1; i++) {
    const double weight = 0.5 * (b - a) * gauss_weight[i <= GAUSS_HALF ? GAUSS_HALF - i : i - GAUSS_HALF - 1];
    sum->area_m2 += weight * samples[i].area_m2;
    sum->slope_m2_rad += weight * samples[i].slope_m2_rad;
  }
}

static void add_open_panel(const struct quarter *q, double a, double b, struct bore_area *sum) {
  struct sample samples[SAMPLES];
  for (int i = 1; i < SAMPLES - 1; i++) samples[i] = sample_at(q, panel_tau(a, b, i));
  add_gauss(a, b, samples, sum);
}
/* A place between the samples where the sign is another than at all of them: the top of a gap that has
 * just opened, or the bottom of one about to close. NAN if there is none. */
static double hidden_tau(const struct quarter *q, double a, double b, const struct sample samples[SAMPLES]) {
  const double sign = samples[0].gap_m2 > 0.0 ? 1.0 : -1.0;
  int nearest = 0;
  for (int i = 1; i < SAMPLES; i++)
    if (sign * samples[i].gap_m2 < sign * samples[nearest].gap_m2) nearest = i;
  nearest = nearest == 0 ? 1 : nearest == SAMPLES - 1 ? SAMPLES - 2 : nearest;
  const double here = panel_tau(a, b, nearest), value = samples[nearest].gap_m2;
  const double before = panel_tau(a, b, nearest - 1) - here, after = panel_tau(a, b, nearest + 1) - here;
  const double rise_before = (samples[nearest - 1].gap_m2 - value) / before;
  const double rise_after = (samples[nearest + 1].gap_m2 - value) / after;
  const double bend = (rise_after - rise_before) / (after - before);
  const double slope = rise_before - bend * before;                                 // of the parabola through the three
  if (sign * (value - 0.25 * slope * slope / bend) > 0.1 * fabs(value)) return NAN; // nor nearly: it is a parabola only nearly
  const double top = here - 0.5 * slope / bend;
  if (!(top > here + before && top < here + after)) return NAN;
  return sign * gap_m2(q, top) < 0.0 ? top : NAN;
}

/* One piece of a panel; *begin is where the open stretch began, NAN while closed. */
static void walk(const struct quarter *q, double a, double fa, double b, double fb, double *begin, struct bore_area *sum) {
  if ((fa > 0.0) == (fb > 0.0)) return;
  const double root = root_between(q, gap_m2, a, fa, b, fb);
  if (fb > 0.0)
    *begin = root;
  else
    add_open_panel(q, *begin, root, sum);
}

/* One panel inside which the integrand has no kink but where the gap opens or closes; first and last are
 * its ends' samples. */
static void add_panel(const struct quarter *q, double a, struct sample first, double b, struct sample last,
                      struct bore_area *sum) {
  struct sample samples[SAMPLES];
  samples[0] = first;
  samples[SAMPLES - 1] = last;
  for (int i = 1; i < SAMPLES - 1; i++) samples[i] = sample_at(q, panel_tau(a, b, i));
  int open_count = 0;
  for (int i = 0; i < SAMPLES; i++) open_count += samples[i].gap_m2 > 0.0;
  double begin = first.gap_m2 > 0.0 ? a : NAN;
  if (open_count == 0 || open_count == SAMPLES) {
    const double hidden = hidden_tau(q, a, b, samples);
    if (isnan(hidden)) {
      if (open_count > 0) add_gauss(a, b, samples, sum);
      return;
    }
    const double value = gap_m2(q, hidden);
    walk(q, a, first.gap_m2, hidden, value, &begin, sum);
    walk(q, hidden, value, b, last.gap_m2, &begin, sum);
  } else {
    for (int i = 0; i < SAMPLES - 1; i++)
      walk(q, panel_tau(a, b, i), samples[i].gap_m2, panel_tau(a, b, i + 1), samples[i + 1].gap_m2, &begin, sum);
  }
  if (last.gap_m2 > 0.0) add_open_panel(q, begin, b, sum);
}

/* Where the shaft goes into the wall; nearer to it nothing is ever open. */
static double shaft_tau(const struct view *v) {
  const double sine = fmin(v->half_shaft_m / v->radius_m, 1.0);
  return sine / (1.0 + sqrt(1.0 - sine * sine));
}

enum { BREAK_MAX = 5 };

/* Adds the root of f between begin and 1, if its sign changes there. */
static void add_break(const struct quarter *q, double (*f)(const struct quarter *, double), double begin,
                      double breaks[BREAK_MAX], int *count) {
  const double low = f(q, begin), high = f(q, 1.0);
  if ((low > 0.0) == (high > 0.0)) return;
  const double tau = root_between(q, f, begin, low, 1.0, high);
  int i = (*count)++;
  for (; i > 0 && breaks[i - 1] > tau; i--) breaks[i] = breaks[i - 1];
  breaks[i] = tau;
}

/* Where the integrand has kinks: the shaft meets the wall, the blade comes out from behind it, the edge's
 * land and the film's band end. Rising; the last is 1. */
static int quarter_breaks(struct quarter *q, double breaks[BREAK_MAX]) {
  const struct view *v = &q->view;
  const double begin = shaft_tau(v);
  int count = 0;
  add_break(q, edge_over_shaft_m, begin, breaks, &count);
  if (v->wall_m > 0.0) {
    q->lift_sought_m = v->half_land_m;
    add_break(q, lift_over_m, begin, breaks, &count);
    q->lift_sought_m = v->half_land_m + q->half_width_m;
    add_break(q, lift_over_m, begin, breaks, &count);
  }
  for (int i = count; i > 0; i--) breaks[i] = breaks[i - 1];
  breaks[0] = begin;
  breaks[count + 1] = 1.0;
  return count + 2;
}

static void add_quarter(struct quarter *q, struct bore_area *sum) {
  double breaks[BREAK_MAX];
  const int count = quarter_breaks(q, breaks);
  struct sample first = sample_at(q, breaks[0]);
  const double narrow = 0.5 * fmax(q->view.ratio, 0.01); // a blade nearly edge-on is k wide at the shaft
  for (int i = 0; i + 1 < count; i++) {
    const bool hidden = q->view.half_shaft_m > 0.0 && edge_over_shaft_m(q, 0.5 * (breaks[i] + breaks[i + 1])) < 0.0;
    for (double a = breaks[i], b; a < breaks[i + 1]; a = b) {
      // the poles to stay away from: 1 / sin(theta) behind the shaft, the ellipse's at +-i k / 2 elsewhere
      const double width = fmin(PANEL_MAX, hidden ? 0.5 * a : 0.8 * a + narrow);
      b = a + 1.2 * width < breaks[i + 1] ? a + width : breaks[i + 1];
      const struct sample last = sample_at(q, b);
      add_panel(q, a, first, b, last, sum);
      first = last;
    }
  }
}

static struct quarter quarter_at(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                                 const struct bore_film *film, double angle_rad, enum bore_half half) {
  struct quarter q = {.view = view_at(bore, shape, film, angle_rad), .right = 1.0};
  q.down = half == BORE_HALF_DOWNSTREAM ? 1.0 : -1.0;
  q.half_width_m = shape->band_half_width_m * (1.0 + q.down * shape->asymmetry_ratio);
  return q;
}

/* The same right and left of the square to the shaft. */
static bool mirrored(const struct quarter *q) { return q->view.wall_m <= 0.0 || fabs(q->view.bias_cosine) < EVEN_RATIO; }

struct bore_area bore_half_area(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                                const struct bore_film *film, double angle_rad, enum bore_half half) {
  struct quarter q = quarter_at(bore, shape, film, angle_rad, half);
  struct bore_area sum = {0.0, 0.0};
  add_quarter(&q, &sum);
  const bool twice = mirrored(&q);
  if (!twice) {
    q.right = -1.0;
    add_quarter(&q, &sum);
  }
  const double times = twice ? 2.0 : 1.0;
  return (struct bore_area){times * fmax(sum.area_m2, 0.0),
                            times * sum.slope_m2_rad}; // rounding below 0 where edge and wall touch
}

bool bore_halves_alike(const struct bore_film_shape *shape, const struct bore_film *film) {
  return film->wall_m <= 0.0 ||
         (fabs(shape->bias_ratio * sin(shape->bias_angle_rad)) < EVEN_RATIO && fabs(shape->asymmetry_ratio) < EVEN_RATIO);
}

struct bore_area bore_area_and_slope(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                                     const struct bore_film *film, double angle_rad) {
  const struct bore_area down = bore_half_area(bore, shape, film, angle_rad, BORE_HALF_DOWNSTREAM);
  const struct bore_area up =
      bore_halves_alike(shape, film) ? down : bore_half_area(bore, shape, film, angle_rad, BORE_HALF_UPSTREAM);
  return (struct bore_area){down.area_m2 + up.area_m2, down.slope_m2_rad + up.slope_m2_rad};
}

/* The widest gap of a quarter: the best of a coarse scan, then steps to both sides that halve. */
static double widest_gap_m2(const struct quarter *q) {
  enum { SCAN = 16 };
  const double begin = shaft_tau(&q->view), step = (1.0 - begin) / SCAN;
  double best = 1.0, most = gap_m2(q, best);
  for (int i = 0; i < SCAN; i++) {
    const double value = gap_m2(q, begin + i * step);
    if (value > most) {
      best = begin + i * step;
      most = value;
    }
  }
  for (double reach = 0.5 * step; reach > 1e-4; reach *= 0.5) {
    const double centre = best;
    for (int side = -1; side <= 1; side += 2) {
      const double tau = fmin(fmax(centre + side * reach, begin), 1.0), value = gap_m2(q, tau);
      if (value > most) {
        best = tau;
        most = value;
      }
    }
  }
  return most;
}

static double half_widest_gap_m2(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                                 const struct bore_film *film, double angle_rad, enum bore_half half) {
  struct quarter q = quarter_at(bore, shape, film, angle_rad, half);
  const double right = widest_gap_m2(&q);
  if (mirrored(&q)) return right;
  q.right = -1.0;
  return fmax(right, widest_gap_m2(&q));
}

double bore_half_opens_rad(const struct bore_geometry *bore, const struct bore_film_shape *shape, const struct bore_film *film,
                           enum bore_half half) {
  double shut = bore->closed_angle_rad, open = shut;
  double at_shut = half_widest_gap_m2(bore, shape, film, shut, half), at_open = at_shut;
  if (at_shut > 0.0) return shut;
  for (double opening = OPENING_FIRST_RAD; !(at_open > 0.0); opening *= 2.0) {
    if (open >= 0.5 * UNITS_PI) return 0.5 * UNITS_PI;
    shut = open;
    at_shut = at_open;
    open = fmin(bore->closed_angle_rad + opening, 0.5 * UNITS_PI);
    at_open = half_widest_gap_m2(bore, shape, film, open, half);
  }
  const double margin = 0.1 * OPENING_TOLERANCE_RAD; // steps over the root once it is near, so that both ends close in
  int last = 0;                                      // Illinois, see root_between()
  for (int i = 0; i < 60 && open - shut > OPENING_TOLERANCE_RAD; i++) {
    const double guess = open - at_open * (open - shut) / (at_open - at_shut);
    const double next = fmin(fmax(guess, shut + margin), open - margin);
    const double value = half_widest_gap_m2(bore, shape, film, next, half);
    const int now = value > 0.0 ? 1 : -1;
    if (now > 0) {
      open = next;
      at_open = value;
      if (now == last) at_shut *= 0.5;
    } else {
      shut = next;
      at_shut = value;
      if (now == last) at_open *= 0.5;
    }
    last = now;
  }
  return shut;
}

double bore_hidden_rad(const struct bore_geometry *bore, const struct bore_film *film) {
  const double left = 0.5 * bore->shaft_diameter_m + bore->clearance_m - film->edge_m;
  const double cosine = cos(bore->closed_angle_rad) * left / bore->radius_m;
  return fmax(acos(fmin(fmax(cosine, 0.0), 1.0)), bore->closed_angle_rad);
}

double bore_area_m2(const struct bore_geometry *bore, const struct bore_film_shape *shape, const struct bore_film *film,
                    double angle_rad) {
  return bore_area_and_slope(bore, shape, film, angle_rad).area_m2;
}

double bore_area_slope_m2_rad(const struct bore_geometry *bore, const struct bore_film_shape *shape, const struct bore_film *film,
                              double angle_rad) {
  return bore_area_and_slope(bore, shape, film, angle_rad).slope_m2_rad;
}

struct bore_section bore_section_at(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                                    const struct bore_film *film, double angle_rad, double theta_rad) {
  const struct view view = view_at(bore, shape, film, angle_rad);
  const double sine = sin(theta_rad);
  const struct ellipse blade = ellipse_at(&view, tan(0.5 * asin(fabs(sine))));
  const double side = sine < 0.0 ? -1.0 : 1.0;
  const double nearest = fmax(blade.lift_m - view.half_land_m, 0.0); // the edge land meets the film first
  struct bore_section section;
  section.edge_radius_m = blade.radius_m - bore->clearance_m;
  section.line_height_m = bore->radius_m * sine * view.tan_closed;
  section.edge_height_m = section.line_height_m + side * blade.lift_m;
  section.film_m = bore_film_thickness_m(shape, view.wall_m, theta_rad, side * nearest);
  section.gap_m = fmax(bore->radius_m - section.film_m - section.edge_radius_m - film->edge_m, 0.0);
  return section;
}
