#include "physics/bypass.h"

#include "base/bounds.h"
#include "base/units.h"

#include <math.h>

/* a b / sqrt(a^2 + b^2): the smaller of the two where they differ much, smooth where they meet. Two openings in a row. */
static double in_series(double a, double b) { return a > 0.0 ? a * b / sqrt(a * a + b * b) : 0.0; }

static double port_m2(const struct bypass_params *bypass) {
  return 0.25 * UNITS_PI * bypass->seat_diameter_m * bypass->seat_diameter_m;
}

double bypass_area_m2(const struct bypass_params *bypass, double steps, double film_m) {
  const double gap = steps * bypass->pitch_m * sin(bypass->cone_angle_rad) - film_m;
  return in_series(UNITS_PI * bypass->seat_diameter_m * bounds_larger(gap, 0.0), port_m2(bypass));
}

double bypass_clean_steps(const struct bypass_params *bypass, double area_m2) {
  const double port = port_m2(bypass);
  const double area = bounds_smaller(bounds_larger(area_m2, 0.0), 0.999 * port);
  // inverse of in_series: 1/A^2 = 1/a^2 + 1/b^2
  const double seat = area / sqrt(1.0 - (area / port) * (area / port));
  const double steps = seat / (UNITS_PI * bypass->seat_diameter_m * bypass->pitch_m * sin(bypass->cone_angle_rad));
  return bounds_smaller(steps, (double)bypass->step_count);
}
