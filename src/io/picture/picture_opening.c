#include "io/picture/picture_opening.h"

#include "io/picture/picture_range.h"

#include <math.h>

enum { TEXT_SIZE = 160 };
#define BAND_SDS 1.6449 // 90 %

static double pct(double ratio) { return 100.0 * ratio; }
static double mm2(double m2) { return m2 / UNITS_M2_PER_MM2; }

static void send_points(struct picture_script *script, const char *name, const struct opening_points *points) {
  picture_block_begin(script, name);
  for (size_t i = 0; i < points->count; i++) {
    const struct opening_point *p = &points->points[i];
    fprintf(script->stream, "%.6g %.6g %.6g\n", pct(p->position_ratio), mm2(p->cda_m2), mm2(opening_points_sd_m2(points, p)));
  }
  picture_block_end(script);
}

/* The fitted blade's, or the clean log's at the same places. */
static bool has_band(const struct opening_curve *curve) { return curve->has_fit && (curve->fit.fits || curve->has_baseline); }

/* Position, clean, its band, fitted. The band is that of a clean blade, or of the clean log's own points. */
static void send_band(struct picture_script *script, const struct opening_curve *curve) {
  picture_block_begin(script, "band");
  if (!has_band(curve)) fprintf(script->stream, "0 NaN NaN NaN NaN\n");
  for (int g = 0; has_band(curve) && g < OPENING_FIT_GRID; g++) {
    const struct opening_fit_row *row = &curve->fit.grid[g];
    double clean = row->clean_m2, sd = row->clean_sd_m2, slope;
    if (curve->has_baseline &&
        !opening_lost_curve_at(&curve->clean, curve->clean.step_m2, row->position_ratio, &clean, &sd, &slope))
      continue;
    fprintf(script->stream, "%.6g %.6g %.6g %.6g %.6g\n", pct(row->position_ratio), mm2(clean),
            fmax(mm2(clean - BAND_SDS * sd), 0.0), mm2(clean + BAND_SDS * sd), mm2(row->fitted_m2));
  }
  picture_block_end(script);
}

static void send_axes(struct picture_script *script, const struct opening_curve *curve) {
  struct picture_range position = picture_range_empty(), area = picture_range_empty();
  for (size_t i = 0; i < curve->points.count; i++) {
    picture_range_add(&position, pct(curve->points.points[i].position_ratio));
    picture_range_add(&area, mm2(curve->points.points[i].cda_m2));
  }
  if (curve->has_fit) picture_range_add(&position, pct(curve->fit.grid[0].position_ratio));
  position = picture_range_axis(position, 2.0, false);
  area = picture_range_axis(area, 10.0, true);
  picture_number(script, "position_low", position.low);
  picture_number(script, "position_high", position.high);
  picture_number(script, "area_high", area.high);
}

/* The headline. */
static void send_verdict(struct picture_script *script, const struct opening_curve *curve) {
  char text[TEXT_SIZE];
  const struct opening_lost *lost = &curve->lost;
  if (curve->verdict == OPENING_VERDICT_lost)
    snprintf(text, sizeof text, "air area lost at idle: %.0f %% (%.0f to %.0f)", pct(lost->mean_ratio), pct(lost->low_ratio),
             pct(lost->high_ratio));
  else if (curve->verdict == OPENING_VERDICT_none_lost)
    snprintf(text, sizeof text, "air area lost at idle: none, %.0f %% at most", fmax(pct(lost->high_ratio), 0.0));
  else if (curve->verdict == OPENING_VERDICT_dead_band)
    snprintf(text, sizeof text, "almost no air passes up to %.1f %%: a deposit, or another stop", pct(curve->dead_to_ratio));
  else
    snprintf(text, sizeof text, "air area lost at idle: not told by this log");
  picture_text(script, "verdict_text", text);
}

enum status picture_opening_draw(const struct opening_curve *curve, const char *title, const struct picture_target *target,
                                 struct error *error) {
  struct picture_script script;
  const enum status status = picture_begin(&script, PICTURE_OF_opening, target, 0, error);
  if (status != STATUS_OK) return status;
  picture_text(&script, "title_text", title);
  send_verdict(&script, curve);
  send_axes(&script, curve);
  picture_number(&script, "has_band", has_band(curve));
  picture_number(&script, "has_clean", curve->has_baseline);
  picture_text(&script, "clean_text", curve->has_baseline ? "clean, measured (90 %)" : "a clean blade that fits (90 %)");
  picture_number(&script, "idle_x", curve->points.has_idle ? pct(curve->points.idle.position_ratio) : NAN);
  picture_number(&script, "idle_y", curve->points.has_idle ? mm2(curve->points.idle.cda_m2) : NAN);
  picture_number(&script, "idle_clean_y", curve->verdict == OPENING_VERDICT_lost ? mm2(curve->lost.clean_m2) : NAN);
  send_points(&script, "points", &curve->points);
  send_points(&script, "clean", curve->has_baseline ? &curve->clean : &curve->points);
  send_band(&script, curve);
  return picture_finish(&script, error);
}
