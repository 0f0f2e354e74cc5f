/* Friction, warm and cold. */
#include "reference/validation/sections.h"

#include "base/attributes.h"
#include "base/units.h"
#include "support/plant_probe.h"

static void *begin(void) {
  struct plant_probe *probe = plant_probe_create("models/four-16.cfg");
  plant_probe_settle(probe);
  return probe;
}

static void end(void *context) { plant_probe_destroy(context); }

static double fmep_at(const struct plant_probe *probe, double rpm, double oil_c) {
  struct plant_probe asked = *probe;
  asked.vehicle.state.crank_speed_rad_s = rpm * UNITS_RAD_S_PER_RPM;
  asked.vehicle.state.oil_k = oil_c + UNITS_KELVIN_AT_ZERO_C;
  const double torque_nm = plant_probe_signals(&asked).friction_nm;
  return torque_nm * 4.0 * UNITS_PI / asked.engine.plant.charge.displacement_m3 / UNITS_PA_PER_BAR;
}

static double alternator_efficiency(const void *context, double at) {
  (void)at;
  return ((const struct plant_probe *)context)->engine.plant.loads.alternator_efficiency_ratio;
}

static double fmep_bar(const void *context, double rpm) { return fmep_at(context, rpm, 90.0); }
static double cold_ratio(const void *context, double oil_c) {
  return fmep_at(context, 800.0, oil_c) / fmep_at(context, 800.0, 90.0);
}

/* Tolerances: engines differ by a fifth and more, and what each source counts as friction (pumping, accessories) differs too. The
 * course model's 11.4 N m and the bench's are what is left after an indicated torque of their own; whether pumping is in it
 * is not told. Cold: the hydrodynamic terms with sqrt(viscosity), 10W-30 taken as 14 times (20 C) and 280 times (-20 C) as thick. */
// clang-format off
static const struct validation_row rows[] = {
    {"friction at 800 rpm, 16.83 N m on 2.77 l, bar", 0.763, 0.15, 0.22, 3, VALIDATION_SOURCE_GUZZELLA, VALIDATION_USED, fmep_bar, 800.0},
    {"friction at 801 rpm, 11.4 N m on 2.4 l, bar", 0.597, 0.15, 0, 3, VALIDATION_SOURCE_COURSE_24, VALIDATION_USED, fmep_bar, 801.0},
    {"friction at idle, 6.78 or 11.31 N m (two fits) on 2.48 l, bar", 0.459, 0.15, 0, 3, VALIDATION_SOURCE_BENCH_24, VALIDATION_USED, fmep_bar, 800.0},
    {"friction at 800 rpm, older engines, bar", 1.122, 0.2, 0.59, 3, VALIDATION_SOURCE_HEYWOOD, VALIDATION_NEVER, fmep_bar, 800.0},
    {"friction at 2000 rpm, older engines, bar", 1.47, 0.2, 0.77, 3, VALIDATION_SOURCE_HEYWOOD, VALIDATION_NEVER, fmep_bar, 2000.0},
    {"friction at 800 rpm, sum of its terms, bar", 0.69, 0.15, 0, 3, VALIDATION_SOURCE_SANDOVAL, VALIDATION_NEVER, fmep_bar, 800.0},
    {"efficiency of alternator and belt, four-16", 0.70, 0.1, 0.154, 2, VALIDATION_SOURCE_BENCH_24, VALIDATION_NEVER, alternator_efficiency, 0},
    {"friction with oil at 20 C over warm", 1.54, 0.3, 0.37, 2, VALIDATION_SOURCE_SANDOVAL, VALIDATION_NEVER, cold_ratio, 20.0},
    {"friction with oil at -20 C over warm", 4.0, 1.0, 1.13, 2, VALIDATION_SOURCE_SANDOVAL, VALIDATION_NEVER, cold_ratio, -20.0},
};
// clang-format on

const struct validation_section section_friction = {
    .kind = VALIDATION_ENGINES,
    .title = "Friction",
    .text = "Mean effective pressure of four-16 without pumping. No source measured this engine: it is invented. The "
            "published ones lie between 0.34 and 1.12 bar.",
    .rows = rows,
    .count = ARRAY_COUNT(rows),
    .begin = begin,
    .end = end,
};
