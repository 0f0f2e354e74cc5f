#include "io/picture/picture_gap.h"

#include "base/units.h"

#include <math.h>

enum { OUTLINE_STEPS = 240 };

#define INSET_ASPECT    0.45   // width over height of the enlarged views; plots/gap.gp follows
#define WIDE_ASPECT     1.1    // where the picture is wide
#define INSET_MARGIN_M  0.5e-3 // seen beyond blade and closed line: room for words
#define INSET_WALL_PART 0.38   // of the view's width is wall

/* One edge of the blade: which side of the shaft, and how the layout names it. */
struct edge {
  const char *name; // prefix of its variables
  double theta_rad; // polar angle of the cut
};
static const struct edge edges[] = {{"down", 0.5 * UNITS_PI}, {"up", -0.5 * UNITS_PI}};

static void send_mm(struct picture_script *script, const char *prefix, const char *name, double metres) {
  fprintf(script->stream, "%s_%s = %.7g\n", prefix, name, metres / UNITS_M_PER_MM);
}

/* Height of the enlarged views: the same for both edges, so that both have one scale. */
static double inset_height_m(const struct picture_gap *gap) {
  double tallest_m = 0.0;
  for (size_t i = 0; i < ARRAY_COUNT(edges); i++) {
    const struct bore_section section = bore_section_at(gap->bore, gap->shape, gap->film, gap->angle_rad, edges[i].theta_rad);
    tallest_m = fmax(tallest_m, fabs(section.edge_height_m - section.line_height_m));
  }
  return tallest_m + gap->bore->edge_land_m + 2.0 * INSET_MARGIN_M;
}

static double wall_radius_m(const struct picture_gap *gap, const struct edge *edge, double from_line_m) {
  return gap->bore->radius_m - bore_contour_m(gap->bore, edge->theta_rad > 0.0 ? from_line_m : -from_line_m);
}

static void send_wall(struct picture_script *script, const struct picture_gap *gap, const struct edge *edge, double line_height_m,
                      double from_m, double to_m) {
  for (int i = 0; i <= OUTLINE_STEPS; i++) {
    const double height_m = from_m + (to_m - from_m) * i / OUTLINE_STEPS;
    picture_value(script, wall_radius_m(gap, edge, height_m - line_height_m) / UNITS_M_PER_MM);
    picture_value(script, height_m / UNITS_M_PER_MM);
    fputc('\n', script->stream);
  }
}

/* Film of one side as a closed outline: distance from the bore axis, height. */
static void send_film(struct picture_script *script, const struct picture_gap *gap, const struct edge *edge, double line_height_m,
                      double low_m, double high_m) {
  char name[32];
  snprintf(name, sizeof name, "%s_film_outline", edge->name);
  picture_block_begin(script, name);
  for (int i = 0; i <= OUTLINE_STEPS; i++) {
    const double height_m = low_m + (high_m - low_m) * i / OUTLINE_STEPS;
    const double film_m = bore_film_thickness_m(gap->shape, gap->film->wall_m, edge->theta_rad, height_m - line_height_m);
    picture_value(script, (wall_radius_m(gap, edge, height_m - line_height_m) - film_m) / UNITS_M_PER_MM);
    picture_value(script, height_m / UNITS_M_PER_MM);
    fputc('\n', script->stream);
  }
  send_wall(script, gap, edge, line_height_m, high_m, low_m); // and back along the wall
  picture_block_end(script);
}

/* The shoulder of a wall that has one, as a closed outline. */
static void send_shoulder(struct picture_script *script, const struct picture_gap *gap, const struct edge *edge,
                          double line_height_m, double low_m, double high_m) {
  char name[32];
  snprintf(name, sizeof name, "%s_wall_outline", edge->name);
  picture_block_begin(script, name);
  send_wall(script, gap, edge, line_height_m, low_m, high_m);
  fprintf(script->stream, "%.7g %.7g\n%.7g %.7g\n", gap->bore->radius_m / UNITS_M_PER_MM, high_m / UNITS_M_PER_MM,
          gap->bore->radius_m / UNITS_M_PER_MM, low_m / UNITS_M_PER_MM);
  picture_block_end(script);
}

static double aspect_of(const struct picture_script *script) {
  return script->target->form == PICTURE_FORM_paper ? INSET_ASPECT : WIDE_ASPECT;
}

static void send_edge(struct picture_script *script, const struct picture_gap *gap, const struct edge *edge, double height_m) {
  const double radius_m = gap->bore->radius_m, land_m = gap->bore->edge_land_m;
  const struct bore_section section = bore_section_at(gap->bore, gap->shape, gap->film, gap->angle_rad, edge->theta_rad);
  const double line_m = section.line_height_m, middle_m = section.edge_height_m;
  // Between closed line and far end of the land; the land may reach beyond the line.
  const double far_m = middle_m + copysign(0.5 * land_m, middle_m - line_m);
  const double near_m = line_m - copysign(0.5 * land_m, middle_m - line_m);
  const double centre_m = 0.5 * (fmin(far_m, near_m) + fmax(far_m, near_m));
  const double low_m = centre_m - 0.5 * height_m, high_m = centre_m + 0.5 * height_m;
  const double width_m = aspect_of(script) * height_m;
  const struct bore_film none = {0.0, 0.0};
  const double clean_gap_m = bore_section_at(gap->bore, gap->shape, &none, gap->angle_rad, edge->theta_rad).gap_m;

  send_mm(script, edge->name, "edge_radius", section.edge_radius_m);
  send_mm(script, edge->name, "edge_low", section.upstream_height_m);
  send_mm(script, edge->name, "edge_high", section.downstream_height_m);
  send_mm(script, edge->name, "edge_low_radius", section.upstream_radius_m);
  send_mm(script, edge->name, "edge_high_radius", section.downstream_radius_m);
  send_mm(script, edge->name, "edge_middle", middle_m);
  send_mm(script, edge->name, "line", line_m);
  send_mm(script, edge->name, "narrowest", section.narrow_height_m);
  send_mm(script, edge->name, "low", low_m);
  send_mm(script, edge->name, "high", high_m);
  send_mm(script, edge->name, "left", radius_m - (1.0 - INSET_WALL_PART) * width_m);
  send_mm(script, edge->name, "right", radius_m + INSET_WALL_PART * width_m);
  fprintf(script->stream, "%s_gap_um = %.7g\n%s_clean_um = %.7g\n%s_film_um = %.7g\n%s_film_line_um = %.7g\n", edge->name,
          section.gap_m / UNITS_M_PER_UM, edge->name, clean_gap_m / UNITS_M_PER_UM, edge->name, section.film_m / UNITS_M_PER_UM,
          edge->name,
          bore_film_thickness_m(gap->shape, gap->film->wall_m, edge->theta_rad, gap->shape->offset_m) / UNITS_M_PER_UM);
  send_film(script, gap, edge, line_m, low_m, high_m);
  send_shoulder(script, gap, edge, line_m, low_m, high_m);
}

enum status picture_gap_draw(const struct picture_gap *gap, const struct picture_target *target, struct error *error) {
  const struct bore_geometry *bore = gap->bore;
  const struct bore_film clean = {0.0, 0.0};
  struct picture_script script;
  const enum status status = picture_begin(&script, PICTURE_OF_gap, target, 0, error);
  if (status != STATUS_OK) return status;
  picture_text(&script, "title_text", gap->title);
  picture_text(&script, "engine_text", gap->engine_title);
  picture_number(&script, "bore_radius", bore->radius_m / UNITS_M_PER_MM);
  picture_number(&script, "shaft_radius", 0.5 * bore->shaft_diameter_m / UNITS_M_PER_MM);
  picture_number(&script, "blade_deg", gap->angle_rad / UNITS_RAD_PER_DEG);
  picture_number(&script, "closed_deg", bore->closed_angle_rad / UNITS_RAD_PER_DEG);
  picture_number(&script, "film_um", gap->film->wall_m / UNITS_M_PER_UM);
  picture_number(&script, "edge_film_um", gap->film->edge_m / UNITS_M_PER_UM);
  picture_number(&script, "band_down", gap->shape->band_half_width_m * (1.0 + gap->shape->asymmetry_ratio) / UNITS_M_PER_MM);
  picture_number(&script, "band_up", gap->shape->band_half_width_m * (1.0 - gap->shape->asymmetry_ratio) / UNITS_M_PER_MM);
  picture_number(&script, "area_mm2", bore_area_m2(bore, gap->shape, gap->film, gap->angle_rad) / UNITS_M2_PER_MM2);
  picture_number(&script, "clean_area_mm2", bore_area_m2(bore, gap->shape, &clean, gap->angle_rad) / UNITS_M2_PER_MM2);
  const double height_m = inset_height_m(gap);
  picture_number(&script, "inset_height", height_m / UNITS_M_PER_MM);
  picture_number(&script, "inset_aspect", aspect_of(&script));
  for (size_t i = 0; i < ARRAY_COUNT(edges); i++) send_edge(&script, gap, &edges[i], height_m);
  return picture_finish(&script, error);
}
