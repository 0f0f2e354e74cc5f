#include "physics/bore.h"

#include "base/bounds.h"
#include "base/units.h"
#include "physics/slot.h"

#include <math.h>
#include <stdbool.h>

/* Eight-point Gauss-Legendre rule on [-1, 1]; Abramowitz and Stegun, table 25.4. */
enum { GAUSS_HALF = 4 };
static const double gauss_node[GAUSS_HALF] = {0.1834346424956498, 0.5255324099163290, 0.7966664774136267, 0.9602898564975363};
static const double gauss_weight[GAUSS_HALF] = {0.3626837833783620, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763};

// Panels of a quarter turn. Two alike hold the promise of bore.h while the blade is less than some 65 degrees open; beyond, theta
// runs fast where phi comes as near to the quarter turn as k, and panels halve towards it.
enum { PANELS = 2, PANELS_WIDE_OPEN = 36 };
#define WIDE_OPEN_RATIO 0.4 // k
// A blade edge-on is taken as leaning so much, which the last of those panels still sees.
#define LEAST_COSINE 1e-9
// Of phi; the gap is nothing there, so a misplaced end costs its square.
#define SHUT_TOLERANCE 1e-4
// Bias that is none.
#define EVEN_RATIO 1e-12
// Places on the land that are tried where the wall has a contour: closer than a tenth of its length is not needed, the best is
// refined by a parabola.
enum { LAND_PLACES = 9 };
// Over which the wall's slope is taken.
#define SLOPE_M 1e-6

static double band_thickness(double distance_m, double ahead_m, double behind_m) {
  const double half_width = distance_m >= 0.0 ? ahead_m : behind_m;
  return fabs(distance_m) < half_width ? 0.5 * (1.0 + cos(UNITS_PI * distance_m / half_width)) : 0.0;
}

/* The same but for 1e-11, in a third of the time: it is asked for some fifty times a gap. 1 - sin^2 by the sine's series. */
static inline double quick_band_thickness(double distance_m, double ahead_m, double behind_m) {
  const double half_width = distance_m >= 0.0 ? ahead_m : behind_m;
  if (!(fabs(distance_m) < half_width)) return 0.0;
  const double x = 0.5 * UNITS_PI * distance_m / half_width, y = x * x, y4 = y * y * y * y;
  const double low = (1.0 - y / 6.0) + y * y * (1.0 / 120.0 - y / 5040.0);
  const double high = (1.0 / 362880.0 - y / 39916800.0) + y * y * (1.0 / 6227020800.0 - y / 1307674368000.0);
  const double sine = x * (low + y4 * high);
  return 1.0 - sine * sine;
}

double bore_film_thickness_m(const struct bore_film_shape *shape, double wall_film_m, double theta_rad,
                             double height_from_line_m) {
  const double round = 1.0 + shape->bias_ratio * cos(theta_rad - shape->bias_angle_rad);
  return wall_film_m * round *
         band_thickness(height_from_line_m - shape->offset_m, shape->band_half_width_m * (1.0 + shape->asymmetry_ratio),
                        shape->band_half_width_m * (1.0 - shape->asymmetry_ratio));
}

double bore_contour_m(const struct bore_geometry *bore, double ahead_m) {
  const double along = ahead_m - 0.5 * bore->edge_land_m;
  if (along <= 0.0 || along >= bore->contour_length_m) return 0.0;
  return 0.5 * bore->contour_m * (1.0 - cos(2.0 * UNITS_PI * along / bore->contour_length_m));
}

/* Everything about one angle that does not depend on the place round the bore. */
struct view {
  const struct bore_geometry *bore;
  double blade_m;                // Rb
  double half_shaft_m, land_m;   // land: half of it
  double ratio, tan_closed;      // k, tan(psi0)
  double rise;                   // sin(psi) / cos(psi0)
  double lean, upright;          // sin and cos of delta
  double wall_m;                 // film
  double bias_cosine, bias_sine; // bias times cosine and sine of the place where it is thickest
  double viscous_m;              // slot.h's viscous length at its reference, times the discharge there
  bool bands_alike;              // on both sides of the shaft
};

static struct view view_at(const struct bore_geometry *bore, const struct bore_film_shape *shape, const struct bore_film *film,
                           double angle_rad) {
  const double angle = bounds_smaller(bounds_larger(angle_rad, bore->closed_angle_rad), 0.5 * UNITS_PI);
  const double sine = sin(angle), cosine = bounds_larger(cos(angle), LEAST_COSINE);
  const double closed_sine = sin(bore->closed_angle_rad), closed_cosine = cos(bore->closed_angle_rad);
  return (struct view){
      .bore = bore,
      .blade_m = bore->radius_m - bore->clearance_m + film->edge_m,
      .half_shaft_m = 0.5 * bore->shaft_diameter_m,
      .land_m = 0.5 * bore->edge_land_m,
      .ratio = cosine / closed_cosine,
      .tan_closed = closed_sine / closed_cosine,
      .rise = sine / closed_cosine,
      .lean = bounds_larger(sine * closed_cosine - cosine * closed_sine, 0.0), // rounding at the stop
      .upright = cosine * closed_cosine + sine * closed_sine,
      .wall_m = fmax(film->wall_m, 0.0),
      .bias_cosine = shape->bias_ratio * cos(shape->bias_angle_rad),
      .bias_sine = shape->bias_ratio * sin(shape->bias_angle_rad),
      .viscous_m = SLOT_REFERENCE_DISCHARGE * SLOT_REFERENCE_LENGTH_M,
      .bands_alike = fabs(shape->asymmetry_ratio) <= EVEN_RATIO && fabs(shape->offset_m) <= 0.0,
  };
}

/* One quarter of the bore: a side of the shaft, seen as the side on which the blade goes ahead, and left or right of the square to
 * the shaft. */
struct quarter {
  double down, right;       // signs of sin(theta) and cos(theta)
  double crest_m;           // middle of the film's band, ahead of the closed line
  double ahead_m, behind_m; // its half-widths
};

static struct quarter quarter_of(const struct bore_film_shape *shape, double down, double right) {
  return (struct quarter){
      .down = down,
      .right = right,
      .crest_m = down * shape->offset_m,
      .ahead_m = shape->band_half_width_m * (1.0 + down * shape->asymmetry_ratio),
      .behind_m = shape->band_half_width_m * (1.0 - down * shape->asymmetry_ratio),
  };
}

/* The edge at one phi, by height h on its land. */
struct edge {
  double x_m, y_m;                  // at h = 0
  double radius_m, ahead_m;         // r and s at h = 0
  double slope;                     // by which r falls over h
  double sine, cosine;              // of theta
  double behind_gap_m, ahead_gap_m; // to the bare wall at the land's ends
};

static inline double radius_m(const struct view *v, const struct edge *e, double h) {
  const double y = e->y_m - h * v->lean;
  return sqrt(e->x_m * e->x_m + y * y);
}

/* To the bare wall. */
static inline double bare_gap_m(const struct view *v, const struct edge *e, double h) {
  return v->bore->radius_m - radius_m(v, e, h);
}

static inline struct edge edge_at(const struct view *v, double sine, double cosine) {
  struct edge e;
  e.x_m = v->blade_m * cosine;
  e.y_m = v->ratio * v->blade_m * sine;
  e.radius_m = sqrt(e.x_m * e.x_m + e.y_m * e.y_m);
  const double inverse = 1.0 / e.radius_m;
  e.sine = e.y_m * inverse;
  e.cosine = e.x_m * inverse;
  e.slope = v->lean * e.sine;
  e.ahead_m = v->blade_m * sine * v->rise - v->bore->radius_m * e.sine * v->tan_closed;
  e.behind_gap_m = bare_gap_m(v, &e, -v->land_m);
  e.ahead_gap_m = bare_gap_m(v, &e, v->land_m);
  return e;
}

/* The gap along the land: its narrowest place, and at the land's ends. */
struct narrow {
  double height_m, gap_m, behind_gap_m, ahead_gap_m;
};

/* What stands on the wall at one place round the bore. */
struct deposit {
  double film_m; // in the middle of the band
  const struct quarter *quarter;
};

static inline struct deposit deposit_at(const struct view *v, const struct quarter *q, const struct edge *e) {
  return (struct deposit){v->wall_m * (1.0 + q->right * v->bias_cosine * e->cosine + q->down * v->bias_sine * e->sine), q};
}

static inline double band_of(const struct quarter *q, double ahead_m) {
  return quick_band_thickness(ahead_m - q->crest_m, q->ahead_m, q->behind_m);
}

/* What share of the film in the middle of its band the ends of the land face. */
struct faced {
  double behind, ahead;
};

static inline struct faced faced_at(const struct view *v, const struct quarter *q, const struct edge *e) {
  if (v->wall_m <= 0.0) return (struct faced){0.0, 0.0};
  return (struct faced){band_of(q, e->ahead_m - v->land_m * v->upright), band_of(q, e->ahead_m + v->land_m * v->upright)};
}

static double inset_m(const struct view *v, const struct deposit *d, double ahead_m) {
  return bore_contour_m(v->bore, ahead_m) + (d->film_m > 0.0 ? d->film_m * band_of(d->quarter, ahead_m) : 0.0);
}

/* A gap of film alone is narrowest where the land is behind, or before the crest of the film where its slope is the land's. */
static inline struct narrow narrow_with_film(const struct view *v, const struct edge *e, const struct deposit *d,
                                             struct faced faced) {
  const double low = -v->land_m, high = v->land_m;
  struct narrow n = {.height_m = low};
  n.behind_gap_m = n.gap_m = e->behind_gap_m - d->film_m * faced.behind;
  n.ahead_gap_m = e->ahead_gap_m - d->film_m * faced.ahead;
  const double behind = d->quarter->behind_m;
  const double steep = 2.0 * behind * e->slope / (UNITS_PI * d->film_m * v->upright); // land's slope over the film's steepest
  if (!(steep < 1.0)) return n;
  const double from_crest = d->quarter->crest_m - e->ahead_m - low * v->upright; // of the end that is behind
  if (from_crest <= behind / UNITS_PI * steep) return n;                         // asin is no less
  const double h = low + (from_crest - behind / UNITS_PI * asin(steep)) / v->upright;
  if (h <= low) return n;
  const double gap = h < high ? bare_gap_m(v, e, h) - 0.5 * d->film_m * (1.0 + sqrt(1.0 - steep * steep)) : n.ahead_gap_m;
  if (gap < n.gap_m) {
    n.gap_m = gap;
    n.height_m = bounds_smaller(h, high);
  }
  return n;
}

static double inset_gap_m(const struct view *v, const struct edge *e, const struct deposit *d, double h) {
  return bare_gap_m(v, e, h) - inset_m(v, d, e->ahead_m + h * v->upright);
}

/* Any wall: places on the land are tried, and a parabola laid through the best and its neighbours. */
static struct narrow narrow_with_contour(const struct view *v, const struct edge *e, const struct deposit *d) {
  const double step = 2.0 * v->land_m / (LAND_PLACES - 1);
  double gaps[LAND_PLACES];
  int best = 0;
  for (int i = 0; i < LAND_PLACES; i++) {
    gaps[i] = inset_gap_m(v, e, d, -v->land_m + i * step);
    if (gaps[i] < gaps[best]) best = i;
  }
  struct narrow n = {-v->land_m + best * step, gaps[best], gaps[0], gaps[LAND_PLACES - 1]};
  if (best > 0 && best < LAND_PLACES - 1) {
    const double bend = gaps[best - 1] + gaps[best + 1] - 2.0 * gaps[best], lean = gaps[best + 1] - gaps[best - 1];
    if (bend > 0.0) {
      n.height_m -= 0.5 * step * lean / bend;
      n.gap_m -= 0.125 * lean * lean / bend;
    }
  }
  const double ahead = e->ahead_m + n.height_m * v->upright;
  const double slope = (inset_m(v, d, ahead + SLOPE_M) - inset_m(v, d, ahead - SLOPE_M)) / (2.0 * SLOPE_M);
  if (n.gap_m > 0.0) n.gap_m /= sqrt(1.0 + slope * slope); // the shortest way to a wall that rises
  return n;
}

static inline struct narrow narrow_facing(const struct view *v, const struct quarter *q, const struct edge *e,
                                          struct faced faced) {
  const struct deposit deposit = deposit_at(v, q, e);
  if (v->bore->contour_m > 0.0) return narrow_with_contour(v, e, &deposit);
  if (deposit.film_m > 0.0) return narrow_with_film(v, e, &deposit, faced);
  return (struct narrow){-v->land_m, e->behind_gap_m, e->behind_gap_m, e->ahead_gap_m};
}

static struct narrow narrow_at(const struct view *v, const struct quarter *q, const struct edge *e) {
  return narrow_facing(v, q, e, faced_at(v, q, e));
}

/* Length of parallel walls that cost as much as those from a gap to a wider one. */
static inline double friction_length_m(double length_m, double gap_m, double end_gap_m) {
  const double end = bounds_larger(end_gap_m, gap_m);
  return 0.5 * length_m * gap_m * (gap_m + end) / (end * end);
}

static inline void add_place(const struct view *v, const struct edge *e, const struct narrow n, double dphi,
                             struct bore_passage *sum) {
  if (n.gap_m <= 0.0) return;
  const double y = e->y_m - n.height_m * v->lean, square = e->x_m * e->x_m + y * y, radius = sqrt(square);
  // (x dy - y dx) / r^2, with dx = -Rb sin phi dphi, dy = k Rb cos phi dphi
  const double dtheta = dphi * (v->ratio * e->x_m * e->x_m + y * e->y_m / v->ratio) / square;
  const double area = n.gap_m * (radius + 0.5 * n.gap_m) * dtheta;
  const double length = friction_length_m(n.height_m + v->land_m, n.gap_m, n.behind_gap_m) +
                        friction_length_m(v->land_m - n.height_m, n.gap_m, n.ahead_gap_m);
  sum->area_m2 += area;
  sum->passing_m2 += area * slot_pass_ratio(1.0, v->viscous_m, length, n.gap_m);
}

/* Between shaft and wall, from where the shaft meets the wall to where the blade comes out; counted as wide. */
struct corner {
  double gap_m; // of the clean blade beside it; 0: there is no corner
  double area_m2;
  bool hidden; // the blade is behind the shaft, and takes nothing of it
};

static struct corner corner_at(const struct view *v, const struct edge *first, double phi) {
  struct corner corner = {0.0, 0.0, phi >= 0.5 * UNITS_PI};
  if (v->half_shaft_m <= 0.0) return corner;
  const double radius = v->bore->radius_m, half = v->half_shaft_m;
  const double from = asin(fmin(half / radius, 1.0)), to = atan2(half, first->x_m);
  if (to <= from) return corner;
  corner.gap_m = bounds_larger(radius - half / sin(to), 0.0);
  corner.area_m2 = 0.5 * (radius * radius * (to - from) - half * half * (1.0 / tan(from) - 1.0 / tan(to)));
  return corner;
}

/* A film takes of both sides of the corner what it takes of the gap beside it. */
static void add_corner(const struct corner *corner, double gap_m, struct bore_passage *sum) {
  if (corner->gap_m <= 0.0) return;
  const double left = bounds_larger(gap_m, 0.0) / corner->gap_m;
  const double area = corner->area_m2 * (corner->hidden ? 1.0 : fmin(left * left, 1.0));
  sum->area_m2 += area;
  sum->passing_m2 += area;
}

/* phi at which the corner of the land that is behind comes out from behind the shaft. */
static double shaft_phi(const struct view *v) {
  const double sine = (v->half_shaft_m - v->land_m * v->lean) / (v->ratio * v->blade_m);
  return asin(fmin(fmax(sine, 0.0), 1.0));
}

static double gap_m(const struct view *v, const struct quarter *q, double phi) {
  const struct edge e = edge_at(v, sin(phi), cos(phi));
  return narrow_at(v, q, &e).gap_m;
}

/* Where between a and b the gap is shut to a hair, if it is open at one end only: the Illinois form of the false position, some five
 * looks. Source: M. Dowell, P. Jarratt, BIT 11 (1971) 168-174. */
static double shuts_phi(const struct view *v, const struct quarter *q, double a, double at_a, double b, double at_b) {
  double phi = b;
  for (int i = 0; i < 30; i++) {
    const double next = b - at_b * (b - a) / (at_b - at_a);
    const bool settled = fabs(next - phi) < SHUT_TOLERANCE;
    phi = next;
    if (settled) break;
    const double gap = gap_m(v, q, phi);
    if ((gap > 0.0) == (at_b > 0.0)) {
      at_a *= 0.5;
    } else {
      a = b;
      at_a = at_b;
    }
    b = phi;
    at_b = gap;
  }
  return phi;
}

/* From where to where a quarter is open, in chi: phi from the quarter turn back, which is exact where it is small. */
struct stretch {
  double least, most;
};

/* What shuts in between, which only a film that is thickest near the shaft can do, is left to the quadrature. */
static struct stretch open_stretch(const struct view *v, const struct quarter *q, double begin, double at_begin, double at_end) {
  double end = 0.5 * UNITS_PI;
  if ((at_begin > 0.0) != (at_end > 0.0)) {
    const double phi = shuts_phi(v, q, begin, at_begin, end, at_end);
    *(at_begin > 0.0 ? &end : &begin) = phi;
  }
  return (struct stretch){0.5 * UNITS_PI - end, 0.5 * UNITS_PI - begin};
}

/* A Gauss rule over chi from middle - half to middle + half, of quarters that are open alike. */
static void add_panel(const struct view *v, const struct quarter *quarters, int count, double middle, double half,
                      struct bore_passage *sum) {
  const double middle_sine = sin(middle), middle_cosine = cos(middle);
  for (int node = 0; node < GAUSS_HALF; node++) {
    const double sine = sin(half * gauss_node[node]), cosine = cos(half * gauss_node[node]);
    const double dphi = half * gauss_weight[node];
    for (int side = 0; side < 2; side++) {
      const double turn = side ? sine : -sine;
      const struct edge e = edge_at(v, middle_cosine * cosine - middle_sine * turn, middle_sine * cosine + middle_cosine * turn);
      struct faced faced = faced_at(v, &quarters[0], &e);
      for (int i = 0; i < count; i++) {
        if (i > 0 && !v->bands_alike) faced = faced_at(v, &quarters[i], &e);
        add_place(v, &e, narrow_facing(v, &quarters[i], &e, faced), dphi, sum);
      }
    }
  }
}

static void add_stretch(const struct view *v, const struct quarter *quarters, int count, struct stretch open,
                        struct bore_passage *sum) {
  const bool wide_open = v->ratio < WIDE_OPEN_RATIO;
  const int panels = wide_open ? PANELS_WIDE_OPEN : PANELS;
  double from = open.most;
  for (int p = 1; p <= panels; p++) {
    const double to = p == panels ? open.least
                      : wide_open ? 0.5 * (from + open.least)
                                  : open.most + (open.least - open.most) * p / panels;
    add_panel(v, quarters, count, 0.5 * (from + to), 0.5 * (from - to), sum);
    from = to;
  }
}

static void add_quarters(const struct view *v, const struct quarter *quarters, int count, struct bore_passage *sum) {
  const double begin = shaft_phi(v);
  const bool blade_is_out = begin < 0.5 * UNITS_PI;
  const struct edge first = edge_at(v, sin(begin), cos(begin)), last = edge_at(v, 1.0, 0.0);
  const struct corner corner = corner_at(v, &first, begin);
  struct stretch stretches[4];
  bool alike = true;
  for (int i = 0; i < count; i++) {
    const double at_begin = narrow_at(v, &quarters[i], &first).gap_m;
    add_corner(&corner, at_begin, sum);
    if (!blade_is_out) continue;
    stretches[i] = open_stretch(v, &quarters[i], begin, at_begin, narrow_at(v, &quarters[i], &last).gap_m);
    alike = alike && stretches[i].least <= stretches[0].least && stretches[i].least >= stretches[0].least &&
            stretches[i].most <= stretches[0].most && stretches[i].most >= stretches[0].most;
  }
  if (!blade_is_out) return;
  if (alike)
    add_stretch(v, quarters, count, stretches[0], sum);
  else
    for (int i = 0; i < count; i++) add_stretch(v, &quarters[i], 1, stretches[i], sum);
}

/* The quarters that differ; each stands for 4 / their number. */
static int quarters_of(const struct view *v, const struct bore_film_shape *shape, struct quarter quarters[4]) {
  const bool clean = v->wall_m <= 0.0;
  const bool halves =
      !clean && (fabs(v->bias_sine) > EVEN_RATIO || fabs(shape->asymmetry_ratio) > EVEN_RATIO || fabs(shape->offset_m) > 0.0);
  const bool sides = !clean && fabs(v->bias_cosine) > EVEN_RATIO;
  int count = 0;
  for (int half = 0; half < (halves ? 2 : 1); half++)
    for (int side = 0; side < (sides ? 2 : 1); side++)
      quarters[count++] = quarter_of(shape, half ? -1.0 : 1.0, side ? -1.0 : 1.0);
  return count;
}

struct bore_passage bore_passage_at(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                                    const struct bore_film *film, double angle_rad) {
  const struct view view = view_at(bore, shape, film, angle_rad);
  struct quarter quarters[4];
  const int count = quarters_of(&view, shape, quarters);
  struct bore_passage sum = {0.0, 0.0};
  add_quarters(&view, quarters, count, &sum);
  const double times = 4.0 / count;
  return (struct bore_passage){times * sum.area_m2, times * sum.passing_m2};
}

double bore_area_m2(const struct bore_geometry *bore, const struct bore_film_shape *shape, const struct bore_film *film,
                    double angle_rad) {
  return bore_passage_at(bore, shape, film, angle_rad).area_m2;
}

struct bore_section bore_section_at(const struct bore_geometry *bore, const struct bore_film_shape *shape,
                                    const struct bore_film *film, double angle_rad, double theta_rad) {
  const struct view v = view_at(bore, shape, film, angle_rad);
  const double sine = sin(theta_rad), cosine = cos(theta_rad), along = v.ratio * fabs(cosine);
  const double side = sine < 0.0 ? -1.0 : 1.0, right = cosine < 0.0 ? -1.0 : 1.0;
  const struct quarter quarter = quarter_of(shape, side, right);
  const double inverse = 1.0 / sqrt(sine * sine + along * along); // phi is theta drawn out by 1 / k
  const struct edge e = edge_at(&v, fabs(sine) * inverse, along * inverse);
  const struct narrow n = narrow_at(&v, &quarter, &e);
  const double line = bore->radius_m * e.sine * v.tan_closed;
  const double behind_m = bore->radius_m - bare_gap_m(&v, &e, -v.land_m) - film->edge_m;
  const double ahead_m = bore->radius_m - bare_gap_m(&v, &e, v.land_m) - film->edge_m;
  const double land = v.land_m * v.upright, middle = line + e.ahead_m;
  struct bore_section section;
  section.line_height_m = side * line;
  section.edge_radius_m = e.radius_m - film->edge_m;
  section.edge_height_m = side * middle;
  section.upstream_radius_m = side > 0.0 ? behind_m : ahead_m;
  section.downstream_radius_m = side > 0.0 ? ahead_m : behind_m;
  section.upstream_height_m = side * middle - land;
  section.downstream_height_m = side * middle + land;
  section.narrow_height_m = side * (middle + n.height_m * v.upright);
  section.film_m = bore_film_thickness_m(shape, v.wall_m, theta_rad, section.narrow_height_m - section.line_height_m);
  section.gap_m = bounds_larger(n.gap_m, 0.0);
  return section;
}
