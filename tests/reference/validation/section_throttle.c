/* Throttle plate: the published area law. */
#include "reference/validation/sections.h"

#include "base/attributes.h"
#include "base/units.h"
#include "physics/bore.h"

/* A = pi D^2/4 (1 - cos alpha/cos alpha0) + leak, with their bore 58.7 mm, 7.9 degrees, 5.3 mm2; share of the travel. */
static double published_area_mm2(const void *context, double percent) {
  (void)context;
  const double closed_deg = 7.9, angle_deg = closed_deg + 0.01 * percent * (90.0 - closed_deg);
  const struct bore_geometry bore = {.radius_m = 0.5 * 58.7e-3, .closed_angle_rad = closed_deg * UNITS_RAD_PER_DEG};
  static const struct bore_film_shape shape = {.band_half_width_m = 2e-3};
  static const struct bore_film none = {0.0, 0.0};
  return bore_area_m2(&bore, &shape, &none, angle_deg * UNITS_RAD_PER_DEG) / UNITS_M2_PER_MM2 + 5.3;
}

// clang-format off
#define SHARE(percent, theirs)                                                                                \
  {"area at " #percent " % of the travel, 58.7 mm bore, mm2", theirs, 1e-4, 0, 4,                             \
   VALIDATION_SOURCE_GUZZELLA, VALIDATION_NEVER, published_area_mm2, percent}

static const struct validation_row rows[] = {
    SHARE(1, 10.9585), SHARE(3, 23.9378), SHARE(5, 39.1243), SHARE(10, 86.6605), SHARE(50, 917.2761),
};
// clang-format on

const struct validation_section section_throttle = {
    .kind = VALIDATION_ARITHMETIC,
    .title = "Throttle plate",
    .text = "The areas follow from a formula and parameters that were read; none of them was measured by anyone we know of.",
    .rows = rows,
    .count = ARRAY_COUNT(rows),
};
