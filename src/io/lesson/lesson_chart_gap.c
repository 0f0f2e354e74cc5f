#include "io/lesson/lesson_chart.h"

#include "base/units.h"
#include "io/format/html.h"

#include <math.h>

enum { WIDTH = 360, VIEW = 150, WALL = 30, STEPS = 60 };

#define VIEW_M  1.7e-3           // of the bore's length that is seen
#define CUT_RAD (0.5 * UNITS_PI) // the place round the bore furthest from the shaft, where the blade opens downstream

/* A settled point as it is drawn: along the bore to the right, from the wall inwards downwards. */
struct view {
  const struct lesson_result *result;
  const struct bore_geometry *bore;
  const struct bore_film_shape *shape;
  struct bore_film film;
  double angle_rad, left_m;
  struct bore_section section;
};

static struct view look(const struct lesson_result *result) {
  const struct settle_point *point = &result->points[0];
  struct view view = {.result = result,
                      .bore = &result->engine.plant.throttle.bore,
                      .shape = &result->engine.plant.throttle.film_shape,
                      .film = {result->query.conditions.film_m, result->query.conditions.edge_film_m}};
  view.angle_rad = view.bore->closed_angle_rad + point->values[CHANNEL_blade_deg] * UNITS_RAD_PER_DEG;
  view.section = bore_section_at(view.bore, view.shape, &view.film, view.angle_rad, CUT_RAD);
  view.left_m = view.section.narrow_height_m - 0.45 * VIEW_M;
  return view;
}

static double to_x(const struct view *view, double height_m) { return (height_m - view->left_m) / VIEW_M * WIDTH; }
static double to_y(const struct view *view, double radius_m) { return WALL + (view->bore->radius_m - radius_m) / VIEW_M * WIDTH; }

static void put_wall(FILE *to, const struct view *view, bool film) {
  fprintf(to, "<path class=\"%s\" d=\"M0 %d", film ? "film" : "wall", film ? WALL : 0);
  for (int i = 0; i <= STEPS; i++) {
    const double height_m = view->left_m + VIEW_M * i / STEPS, ahead_m = height_m - view->section.line_height_m;
    double radius_m = view->bore->radius_m - bore_contour_m(view->bore, ahead_m);
    if (film) radius_m -= bore_film_thickness_m(view->shape, view->film.wall_m, CUT_RAD, ahead_m);
    fprintf(to, " %.1f %.1f", to_x(view, height_m), to_y(view, radius_m));
  }
  fprintf(to, " %d %dZ\"/>\n", WIDTH, film ? WALL : 0);
}

/* The end of the blade: its land, and the two faces going away from it. */
static void put_blade(FILE *to, const struct view *view) {
  const struct bore_section *s = &view->section;
  const double lean = tan(view->angle_rad), depth_m = 1.0e-3; // faces run inwards at the blade's angle
  const double shift_m = depth_m * lean;
  fprintf(to, "<path class=\"blade\" d=\"M%.1f %.1f %.1f %.1f %.1f %.1f %.1f %.1fZ\"/>\n", to_x(view, s->upstream_height_m),
          to_y(view, s->upstream_radius_m), to_x(view, s->downstream_height_m), to_y(view, s->downstream_radius_m),
          to_x(view, s->downstream_height_m - shift_m), to_y(view, s->downstream_radius_m - depth_m),
          to_x(view, s->upstream_height_m - shift_m), to_y(view, s->upstream_radius_m - depth_m));
}

static void put_sizes(FILE *to, const struct view *view) {
  const struct bore_section *s = &view->section;
  const double x = to_x(view, s->narrow_height_m), gap = s->gap_m / VIEW_M * WIDTH;
  const double wall = to_y(view, view->bore->radius_m - s->film_m);
  fprintf(to, "<path class=\"size\" d=\"M%.1f %.1fv%.1f\"/><text x=\"%.1f\" y=\"%.1f\">gap %.0f µm</text>\n", x, wall, gap, x + 6,
          wall + fmax(0.5 * gap + 5.0, 13.0), s->gap_m / UNITS_M_PER_UM);
}

void lesson_chart_gap(const struct lesson_text *text, const struct lesson_text_shown *shown) {
  FILE *stream = text->stream;
  fputs("<div class=\"row\">\n", stream);
  for (size_t i = 0; i < shown->count; i++) {
    const struct view view = look(shown->results[i]);
    html_put_in(stream, "<div><p class=\"of\">", view.result->label, "</p>\n");
    fprintf(stream, "<svg viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"", WIDTH, VIEW);
    html_put_in(stream, "Cut through wall and blade edge, ", view.result->label, ": ");
    fprintf(stream, "gap %.0f µm, film %.0f µm there, blade %.2f degrees open, open area %.1f mm².\">\n",
            view.section.gap_m / UNITS_M_PER_UM, view.section.film_m / UNITS_M_PER_UM,
            view.result->points[0].values[CHANNEL_blade_deg], view.result->points[0].values[CHANNEL_area_mm2]);
    if (view.film.wall_m > 0.0) put_wall(stream, &view, true);
    put_wall(stream, &view, false);
    put_blade(stream, &view);
    put_sizes(stream, &view);
    fprintf(stream, "<text x=\"6\" y=\"20\">bore wall</text><text x=\"354\" y=\"%d\" class=\"e\">blade</text></svg></div>\n",
            VIEW - 8);
  }
  fputs("</div>\n", stream);
}
