/* Closed gap, and what a deposit does to the opening. */
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

/* Closed gap as a width all round: a set's 5.3 mm2 on 58.7 mm are 28.7 um. */
static double closed_width_um(const void *context, double at) {
  (void)at;
  const struct plant_probe *probe = context;
  const double round_mm = 2e3 * UNITS_PI * probe->engine.plant.throttle.bore.radius_m;
  return 1e3 * plant_probe_value(probe, CHANNEL_closed_gap_mm2) / round_mm;
}

/* The film that takes the blade from its clean to three times the opening, as a trade page tells of one dirty unit; that such a film
 * exists below what the learned part can hide is a check of a claim, its thickness is not known. Ours: opening at the thickest film
 * the learned part makes good, over the clean one. */
static double dirty_over_clean(const void *context, double at) {
  const struct plant_probe *clean = context;
  struct plant_probe *probe = plant_probe_create("models/four-16.cfg");
  double film_um = 0.0;
  for (double um = 1.0; um <= at; um += 1.0) {
    plant_probe_set(probe, "film_um", um);
    plant_probe_settle(probe);
    if (probe->point.outcome != SETTLE_IDLES) break;
    film_um = um;
  }
  plant_probe_set(probe, "film_um", film_um);
  plant_probe_settle(probe);
  const double ratio = plant_probe_value(probe, CHANNEL_blade_pct) / plant_probe_value(clean, CHANNEL_blade_pct);
  plant_probe_destroy(probe);
  return ratio;
}

// clang-format off
static const struct validation_row rows[] = {
    {"closed gap of four-16 as a width all round, um", 28.7, 10.0, 0, 1, VALIDATION_SOURCE_GUZZELLA, VALIDATION_USED, closed_width_um, 0},
    {"opening with the thickest hidden film over the clean one, four-16", 3.4, 1.0, 2, 2, VALIDATION_SOURCE_TRADE_DIRTY, VALIDATION_NEVER, dirty_over_clean, 150.0},
};
// clang-format on

const struct validation_section section_film = {
    .kind = VALIDATION_ENGINES,
    .title = "Closed gap and film",
    .text = "All there is: a parameter set with a leak area, and one car on a trade page that stood 17 % open where a clean "
            "blade stands 5 %.",
    .rows = rows,
    .count = ARRAY_COUNT(rows),
    .begin = begin,
    .end = end,
};
