#include "analysis/curve/opening_model.h"

#include "base/bounds.h"
#include "physics/slot.h"

#include <math.h>

#define USUAL_DISPLACEMENT_M3 1.6e-3
#define USUAL_RADIUS_M        26e-3
#define RADIUS_POWER          0.3 // 21 mm at 1 l, 29.4 mm at 2.8 l
#define UNKNOWN_RADIUS_SPREAD 0.18
#define STOP_GIVEN_SD_RATIO   0.003
#define STOP_BELOW_RATIO      0.025 // an idling blade stands 2 to 3 degrees open
#define STOP_BELOW_SD_RATIO   0.012
#define RISE_SPAN_RAD         (15.0 * UNITS_RAD_PER_DEG)
#define DISCHARGE_LEAST       0.3
#define DISCHARGE_MOST        0.98
#define CLOSED_MOST_RAD       (40.0 * UNITS_RAD_PER_DEG)
#define CONTOUR_MOST_M        400e-6
#define LOGARITHM_MOST        3.0 // standard deviations: no further into the tail of a logarithm, so that nothing explodes

static const struct opening_unknown_row rows[OPENING_UNKNOWN_COUNT] = {
#define UNKNOWN(name, is_log, middle, spread, unit, text) \
  {#name, is_log, (middle) * (unit), (is_log) ? (spread) : (spread) * (unit), text},
    OPENING_UNKNOWN_LIST(UNKNOWN)
#undef UNKNOWN
};

void opening_model_init(struct opening_model *model, double displacement_m3, double stop_ratio, double lowest_ratio) {
  for (int i = 0; i < OPENING_UNKNOWN_COUNT; i++) model->rows[i] = rows[i];
  const double size = displacement_m3 > 0.0 ? displacement_m3 / USUAL_DISPLACEMENT_M3 : 1.0;
  struct opening_unknown_row *stop = &model->rows[OPENING_UNKNOWN_stop], *radius = &model->rows[OPENING_UNKNOWN_radius];
  stop->middle = isfinite(stop_ratio) ? stop_ratio : lowest_ratio - STOP_BELOW_RATIO;
  stop->spread = isfinite(stop_ratio) ? STOP_GIVEN_SD_RATIO : STOP_BELOW_SD_RATIO;
  radius->middle = USUAL_RADIUS_M * pow(size, RADIUS_POWER);
  if (displacement_m3 <= 0.0) radius->spread = UNKNOWN_RADIUS_SPREAD;
  model->rows[OPENING_UNKNOWN_other].middle *= size;
  // a dark ring some 8 mm wide, somewhat more of it behind the blade, one side worse: docs/physics.md
  model->film_shape = (struct bore_film_shape){4e-3, 0.2, 0.3, 0.5 * UNITS_PI, 0.0};
}

double opening_model_value(const struct opening_model *model, const double z[OPENING_UNKNOWN_COUNT],
                           enum opening_unknown unknown) {
  const struct opening_unknown_row *row = &model->rows[unknown];
  if (!row->is_log) return row->middle + row->spread * z[unknown];
  return row->middle * exp(row->spread * LOGARITHM_MOST * tanh(z[unknown] / LOGARITHM_MOST));
}

double opening_model_cda_m2(const struct opening_model *model, const double z[OPENING_UNKNOWN_COUNT], double film_m,
                            double position_ratio) {
#define VALUE(name) opening_model_value(model, z, OPENING_UNKNOWN_##name)
  const struct bore_geometry bore = {
      .radius_m = VALUE(radius),
      .closed_angle_rad = bounds_smaller(VALUE(closed), CLOSED_MOST_RAD),
      .shaft_diameter_m = 0.3 * VALUE(radius), // a third of the radius or so; it hides behind the blade at idle
      .clearance_m = VALUE(clearance),
      .edge_land_m = VALUE(land),
      .contour_m = bounds_smaller(VALUE(contour), CONTOUR_MOST_M),
      .contour_length_m = VALUE(contour_length),
  };
  const double opening = bounds_larger((position_ratio - VALUE(stop)) / VALUE(scale), 0.0);
  const struct bore_passage gap =
      bore_passage_at(&bore, &model->film_shape, &(struct bore_film){film_m, 0.0}, bore.closed_angle_rad + opening);
  const double discharge = bounds_clamp(VALUE(discharge) + VALUE(discharge_rise) * bounds_smaller(opening / RISE_SPAN_RAD, 2.0),
                                        DISCHARGE_LEAST, DISCHARGE_MOST);
  return slot_cda_m2(gap.area_m2, gap.passing_m2, discharge, 1.0) + VALUE(other);
#undef VALUE
}
