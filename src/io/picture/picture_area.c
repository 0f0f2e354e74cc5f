#include "io/picture/picture_area.h"

#include "base/units.h"

#include <assert.h>
#include <math.h>

static const double films_m[] = {0.0, 20e-6, 40e-6, 60e-6, 80e-6};

#define IDLE_RANGE_RAD (8.0 * UNITS_RAD_PER_DEG) // warm and cold idle, with loads, stay below this
#define CLEAN_RATIO    0.98                      // of the clean area, at least, where an engine is clean
#define SAME_FILM_M    8e-6                      // nearer than this two curves lie on each other
#define END_LABEL_PX   26.0                      // least distance of the names at the ends of the curves

enum { CURVE_MAX = ARRAY_COUNT(films_m) + 1, STEP_COUNT = 160 };

/* One curve: its film and whether that is the largest of the run. */
struct curve_line {
  double film_m;
  bool is_largest;
};

static double area_m2(const struct picture_area *area, double film_m, double opening_rad) {
  const struct bore_film film = {film_m, 0.0};
  return bore_area_m2(area->bore, area->shape, &film, area->bore->closed_angle_rad + opening_rad);
}

/* Films in rising order; one that stands too near the run's largest gives way to it. */
static int choose_curves(double largest_m, struct curve_line curves[CURVE_MAX]) {
  int count = 0;
  bool placed = !(largest_m > SAME_FILM_M);
  for (size_t i = 0; i < ARRAY_COUNT(films_m); i++) {
    if (!placed && largest_m < films_m[i]) {
      curves[count++] = (struct curve_line){largest_m, true};
      placed = true;
    }
    if (i == 0 || !(largest_m > SAME_FILM_M) || fabs(films_m[i] - largest_m) > SAME_FILM_M)
      curves[count++] = (struct curve_line){films_m[i], false};
  }
  if (!placed) curves[count++] = (struct curve_line){largest_m, true};
  return count;
}

static void send_curves(struct picture_script *script, const struct picture_area *area, const struct curve_line *curves,
                        int count, double range_rad) {
  picture_block_begin(script, "curves");
  for (int step = 0; step <= STEP_COUNT; step++) {
    const double opening_rad = range_rad * step / STEP_COUNT;
    picture_value(script, opening_rad / UNITS_RAD_PER_DEG);
    for (int i = 0; i < count; i++) picture_value(script, area_m2(area, curves[i].film_m, opening_rad) / UNITS_M2_PER_MM2);
    fputc('\n', script->stream);
  }
  picture_block_end(script);
}

/* Names at the right ends, moved apart from the top down where curves end close together. */
static void send_curve_names(struct picture_script *script, const struct picture_area *area, const struct curve_line *curves,
                             int count, double range_rad, double top_m2) {
  const double spacing_m2 = top_m2 * END_LABEL_PX * picture_form_rows[script->target->form].letters / (0.85 * script->height);
  double limit_m2 = INFINITY;
  for (int i = 0; i < count; i++) {
    const double at_m2 = fmin(area_m2(area, curves[i].film_m, range_rad), limit_m2);
    limit_m2 = at_m2 - spacing_m2;
    fprintf(script->stream, "curve_end[%d] = %.7g\ncurve_largest[%d] = %d\n", i + 1, at_m2 / UNITS_M2_PER_MM2, i + 1,
            curves[i].is_largest);
    if (curves[i].film_m > 0.0)
      fprintf(script->stream, "curve_name[%d] = '%.0f µm%s'\n", i + 1, curves[i].film_m / UNITS_M_PER_UM,
              curves[i].is_largest ? ", this run" : "");
    else
      fprintf(script->stream, "curve_name[%d] = 'clean'\n", i + 1);
  }
}

static void send_points(struct picture_script *script, const struct picture_area *area, size_t count) {
  for (size_t i = 0; i < count; i++) {
    const struct picture_area_point *point = &area->points[i];
    const double opening_deg = point->opening_rad / UNITS_RAD_PER_DEG, area_mm2 = point->area_m2 / UNITS_M2_PER_MM2;
    char text[PICTURE_AREA_LABEL_SIZE + 64];
    snprintf(text, sizeof text, "%s, %.1f mm² at %.2f°, film %.0f µm", point->label, area_mm2, opening_deg,
             point->film_m / UNITS_M_PER_UM);
    fprintf(script->stream, "point_x[%zu] = %.7g\npoint_y[%zu] = %.7g\npoint_text[%zu] = ", i + 1, opening_deg, i + 1, area_mm2,
            i + 1);
    picture_quote(script, text);
    fprintf(script->stream, "\npoint_name[%zu] = ", i + 1);
    picture_quote(script, point->label);
    fputc('\n', script->stream);
  }
  picture_number(script, "point_count", (double)count);
}

/* What the largest film does to the clean idle: area lost at the same angle, and the angle that gives it
 * back. */
static void send_loss(struct picture_script *script, const struct picture_area *area, double film_m, double range_rad) {
  // only a clean engine shows what air its idle needs
  const struct picture_area_point *first = area->point_count ? &area->points[0] : NULL;
  const struct picture_area_point *idle =
      first && first->area_m2 > CLEAN_RATIO * area_m2(area, 0.0, first->opening_rad) ? first : NULL;
  const bool drawn = idle && film_m > SAME_FILM_M && idle->opening_rad < range_rad;
  const double left_m2 = drawn ? area_m2(area, film_m, idle->opening_rad) : 0.0;
  double low_rad = drawn ? idle->opening_rad : 0.0, high_rad = 0.5 * UNITS_PI - area->bore->closed_angle_rad;
  for (int i = 0; drawn && i < 50; i++) { // bisection to the last bit that a picture can show
    const double middle_rad = 0.5 * (low_rad + high_rad);
    if (area_m2(area, film_m, middle_rad) < idle->area_m2)
      low_rad = middle_rad;
    else
      high_rad = middle_rad;
  }
  picture_number(script, "on_a_screw", area->on_a_screw);
  picture_number(script, "has_loss", drawn && left_m2 < idle->area_m2 && high_rad < range_rad);
  picture_number(script, "idle_x", drawn ? idle->opening_rad / UNITS_RAD_PER_DEG : 0.0);
  picture_number(script, "idle_area", idle ? idle->area_m2 / UNITS_M2_PER_MM2 : -1.0);
  picture_number(script, "left_area", left_m2 / UNITS_M2_PER_MM2);
  picture_number(script, "restored_x", high_rad / UNITS_RAD_PER_DEG);
  picture_number(script, "loss_film", film_m / UNITS_M_PER_UM);
}

enum status picture_area_draw(const struct picture_area *area, const struct picture_target *target, struct error *error) {
  static const char *const arrays[] = {"curve_end", "curve_largest", "curve_name", "point_x",
                                       "point_y",   "point_text",    "point_name"};
  assert(area->point_count == 0 || area->points);
  const size_t point_count = area->point_count < PICTURE_AREA_POINT_MAX ? area->point_count : PICTURE_AREA_POINT_MAX;
  double range_rad = IDLE_RANGE_RAD;
  for (size_t i = 0; i < point_count; i++) range_rad = fmax(range_rad, area->points[i].opening_rad + 1.0 * UNITS_RAD_PER_DEG);
  range_rad = fmin(range_rad, 0.5 * UNITS_PI - area->bore->closed_angle_rad);

  struct curve_line curves[CURVE_MAX];
  const int curve_count = choose_curves(area->largest_film_m, curves);
  struct picture_script script;
  const enum status status = picture_begin(&script, PICTURE_OF_area, target, 0, error);
  if (status != STATUS_OK) return status;
  for (size_t i = 0; i < ARRAY_COUNT(arrays); i++) fprintf(script.stream, "array %s[16]\n", arrays[i]);
  picture_text(&script, "title_text", area->title);
  picture_text(&script, "engine_text", area->engine_title);
  const double top_m2 = 1.04 * area_m2(area, 0.0, range_rad);
  picture_number(&script, "opening_high", range_rad / UNITS_RAD_PER_DEG);
  picture_number(&script, "area_high", top_m2 / UNITS_M2_PER_MM2);
  picture_number(&script, "curve_count", curve_count);
  send_curves(&script, area, curves, curve_count, range_rad);
  send_curve_names(&script, area, curves, curve_count, range_rad, top_m2);
  send_points(&script, area, point_count);
  send_loss(&script, area, area->largest_film_m, range_rad);
  return picture_finish(&script, error);
}
