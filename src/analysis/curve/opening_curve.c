#include "analysis/curve/opening_curve.h"

#include <math.h>

#define DEAD_ABOVE_RATIO 0.010 // this far above the stop: 1 % of the reading, about a degree of opening
#define DEAD_SHARE       0.15  // and no more than this of what the least clean blade would pass
#define LEAST_RADIUS     0.75  // of the expected bore's, and
#define LEAST_CLOSED_RAD (4.0 * UNITS_RAD_PER_DEG)
#define SURE_SDS         2.0
#define NONE_MOST_RATIO  0.10 // an interval that ends below this says that nothing worth cleaning is lost
#define STEEPEST_PER_RAD 0.70 // position over opening: more would be a track that is wide open after 65 degrees

const char *const opening_curve_verdict_names[OPENING_VERDICT_COUNT] = {
#define VERDICT(name, text) #name,
    OPENING_VERDICT_LIST(VERDICT)
#undef VERDICT
};
const char *const opening_curve_verdict_texts[OPENING_VERDICT_COUNT] = {
#define VERDICT(name, text) text,
    OPENING_VERDICT_LIST(VERDICT)
#undef VERDICT
};

/* What the least clean blade passes there: a thin plate in a small bore, nearly square to it, without clearance; what stands in at the
 * bottom of a bore (some 60 um at most) left to it. Heywood's plate, physics/bore.h. */
static double least_clean_m2(const struct opening_model *model, double above_stop_ratio) {
  const double radius = LEAST_RADIUS * model->rows[OPENING_UNKNOWN_radius].middle, opening = above_stop_ratio / STEEPEST_PER_RAD;
  return 0.5 * UNITS_PI * radius * radius * (1.0 - cos(LEAST_CLOSED_RAD + opening) / cos(LEAST_CLOSED_RAD));
}

/* Position up to which next to nothing passes although the blade stands above its stop; NAN if there is no such. */
static double dead_to(const struct opening_points *points, const struct opening_model *model, double stop_ratio) {
  double dead = NAN;
  if (!isfinite(stop_ratio)) return NAN;
  for (size_t i = 0; i < points->count; i++) {
    const struct opening_point *p = &points->points[i];
    const double above = p->position_ratio - p->position_sd_ratio - stop_ratio;
    if (above < DEAD_ABOVE_RATIO) continue;
    const double most = p->cda_m2 + SURE_SDS * (opening_points_sd_m2(points, p) + fabs(p->per_doubt_m2[OPENING_DOUBT_level]));
    if (most < DEAD_SHARE * least_clean_m2(model, above)) dead = p->position_ratio;
  }
  return dead;
}

static enum opening_verdict verdict_of(const struct opening_curve *curve) {
  const struct opening_lost *lost = &curve->lost;
  if (curve->has_baseline && lost->trouble == OPENING_LOST_MEASURED) {
    if (lost->low_ratio > 0.0) return OPENING_VERDICT_lost;
    if (lost->high_ratio < NONE_MOST_RATIO) return OPENING_VERDICT_none_lost;
  }
  return isfinite(curve->dead_to_ratio) ? OPENING_VERDICT_dead_band : OPENING_VERDICT_not_told;
}

void opening_curve_judge(const struct opening_points *points, const struct opening_points *clean,
                         const struct opening_setting *setting, struct opening_curve *curve) {
  curve->points = *points;
  curve->stop_ratio = setting->stop_ratio;
  curve->has_fit = opening_fit_find(&curve->points, setting->displacement_m3, setting->stop_ratio, &curve->fit);
  curve->has_baseline = clean != NULL;
  curve->has_clean_fit = false;
  if (clean) {
    curve->clean = *clean;
    curve->has_clean_fit = opening_fit_find(&curve->clean, setting->displacement_m3, setting->stop_ratio, &curve->clean_fit);
    opening_lost_find(&curve->points, &curve->clean, &curve->lost);
  }
  curve->dead_to_ratio = dead_to(&curve->points, &curve->fit.model, setting->stop_ratio);
  curve->verdict = verdict_of(curve);
}

enum status opening_curve_find(const struct recording *log, const struct opening_setting *setting,
                               const struct recording *baseline, const struct opening_setting *baseline_setting,
                               struct opening_curve *curve, struct error *error) {
  enum status status = opening_points_find(log, setting, &curve->points, error);
  if (status == STATUS_OK && baseline) status = opening_points_find(baseline, baseline_setting, &curve->clean, error);
  if (status == STATUS_OK) opening_curve_judge(&curve->points, baseline ? &curve->clean : NULL, setting, curve);
  return status;
}

enum status opening_curve_compare(const struct recording *log, const struct opening_setting *setting,
                                  const struct recording *baseline, const struct opening_setting *baseline_setting,
                                  struct opening_curve *curve, struct error *error) {
  enum status status = opening_points_find(log, setting, &curve->points, error);
  if (status == STATUS_OK && baseline) status = opening_points_find(baseline, baseline_setting, &curve->clean, error);
  if (status != STATUS_OK) return status;
  curve->stop_ratio = setting->stop_ratio;
  curve->dead_to_ratio = NAN;
  curve->has_fit = curve->has_clean_fit = false;
  curve->has_baseline = baseline != NULL;
  if (baseline) opening_lost_find(&curve->points, &curve->clean, &curve->lost);
  curve->verdict = verdict_of(curve);
  return STATUS_OK;
}

void opening_curve_readings(const struct opening_curve *curve, struct opening_curve_readings *readings) {
  const struct opening_points *points = &curve->points;
  *readings = (struct opening_curve_readings){.idle_lost_ratio = NAN, .idle_lost_sd_ratio = NAN, .idle_position_ratio = NAN};
  if (points->has_idle) readings->idle_position_ratio = points->idle.position_ratio;
  if (curve->has_baseline && curve->lost.trouble == OPENING_LOST_MEASURED) {
    readings->has_lost = true;
    readings->idle_lost_ratio = curve->lost.mean_ratio;
    readings->idle_lost_sd_ratio = curve->lost.sd_ratio;
  }
  readings->count = points->count;
  for (size_t i = 0; i < points->count; i++) {
    const struct opening_point *p = &points->points[i];
    readings->readings[i] = (struct opening_curve_reading){
        .position_ratio = p->position_ratio, .cda_m2 = p->cda_m2, .sd_m2 = opening_points_sd_m2(points, p)};
    for (int k = 0; k < OPENING_DOUBT_COUNT; k++) readings->readings[i].per_doubt_m2[k] = p->per_doubt_m2[k];
  }
}
