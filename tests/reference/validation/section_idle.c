/* How much air an idle takes, with nothing switched on and with loads. */
#include "reference/validation/sections.h"

#include "base/attributes.h"
#include "support/plant_probe.h"

#include <stdlib.h>

enum engine_index { FOUR_16, FOUR_18, THREE_10, SIX_30, ENGINE_COUNT };
static const char *const paths[ENGINE_COUNT] = {"models/four-16.cfg", "models/four-18-cable.cfg", "models/three-10.cfg",
                                                "models/six-30.cfg"};

struct idle_context {
  struct plant_probe *bare[ENGINE_COUNT]; // electrical_load_w = 0
};

static struct plant_probe *bare(const char *path) {
  struct plant_probe *probe = plant_probe_create(path);
  plant_probe_set(probe, "electrical_load_w", 0.0);
  plant_probe_settle(probe);
  return probe;
}

static void *begin(void) {
  struct idle_context *context = calloc(1, sizeof *context);
  for (int i = 0; context && i < ENGINE_COUNT; i++) context->bare[i] = bare(paths[i]);
  return context;
}

static void end(void *opaque) {
  struct idle_context *context = opaque;
  for (int i = 0; i < ENGINE_COUNT; i++) plant_probe_destroy(context->bare[i]);
  free(context);
}

static double per_litre(const struct plant_probe *probe) {
  return plant_probe_value(probe, CHANNEL_airflow_gps) / (1e3 * probe->engine.plant.charge.displacement_m3);
}

static double air_gps_l(const void *opaque, double engine) {
  return per_litre(((const struct idle_context *)opaque)->bare[(int)engine]);
}

/* In gear over neutral; with the compressor less without, in gear. */
static double in_gear_ratio(const void *opaque, double at) {
  (void)at;
  const struct idle_context *context = opaque;
  struct plant_probe *gear = plant_probe_create(paths[FOUR_16]);
  plant_probe_set(gear, "electrical_load_w", 0.0);
  plant_probe_set(gear, "drive", 1.0);
  plant_probe_settle(gear);
  const double ratio = per_litre(gear) / per_litre(context->bare[FOUR_16]);
  plant_probe_destroy(gear);
  return ratio;
}

static double compressor_gps_l(const void *opaque, double at) {
  (void)opaque;
  (void)at;
  struct plant_probe *gear = plant_probe_create(paths[FOUR_16]);
  plant_probe_set(gear, "drive", 1.0);
  plant_probe_settle(gear);
  const double without = per_litre(gear);
  plant_probe_set(gear, "air_conditioning", 1.0);
  plant_probe_settle(gear);
  const double added = per_litre(gear) - without;
  plant_probe_destroy(gear);
  return added;
}

/* The worked number of the rule, by the charge that the rule takes: 15 % of a filling at 25 C is an idle's, ours in its units. */
static double filling_pct(const void *opaque, double engine) {
  const struct plant_probe *probe = ((const struct idle_context *)opaque)->bare[(int)engine];
  const double cycles_per_s = plant_probe_value(probe, CHANNEL_speed_rpm) / 120.0;
  return 100.0 * per_litre(probe) / (cycles_per_s * 1.184);
}

// clang-format off
#define DOE(name, index, theirs, miss)                                                                        \
  {"idle air of " name ", nothing switched on, g/s per litre", theirs, 0.1, miss, 3,                          \
   VALIDATION_SOURCE_DOE, VALIDATION_USED, air_gps_l, index}
#define RULE(name, index, miss)                                                                               \
  {"the same, " name ": 1 ± 20 %", 1.0, 0.2, miss, 3, VALIDATION_SOURCE_MOTOR_RULE, VALIDATION_USED, air_gps_l, index}

/* DOE: 0.16 gal/h of a 2.0 l and 0.39 gal/h of a 4.6 l engine are 0.92 and 0.98 g/s per litre; small engines are held against the
 * smaller. The tolerance is the spread of the two and as much for two cars only. */
static const struct validation_row rows[] = {
    DOE("four-16", FOUR_16, 0.92, 0.16), DOE("four-18-cable", FOUR_18, 0.92, 0),
    DOE("three-10", THREE_10, 0.92, 0.16), DOE("six-30", SIX_30, 0.98, 0.12),
    RULE("four-16", FOUR_16, 0), RULE("four-18-cable", FOUR_18, 0), RULE("three-10", THREE_10, 0), RULE("six-30", SIX_30, 0),
    {"the same, four-16, by a source that disagrees", 1.8, 0.1, 0.75, 3, VALIDATION_SOURCE_ENGINEERFIX, VALIDATION_USED, air_gps_l, FOUR_16},
    {"the same, six-30, no-load point of a published set", 0.78, 0.2, 0, 3, VALIDATION_SOURCE_GUZZELLA, VALIDATION_NEVER, air_gps_l, SIX_30},
    {"air per intake stroke over a full one at 25 C, four-16, %", 15.0, 3.0, 0, 2, VALIDATION_SOURCE_MOTOR_RULE, VALIDATION_NEVER, filling_pct, FOUR_16},
    {"idle air in gear over neutral, four-16", 1.16, 0.1, 0.27, 3, VALIDATION_SOURCE_MOTOR_RULE, VALIDATION_NEVER, in_gear_ratio, 0},
    {"air that the compressor adds in gear, four-16, g/s per litre", 0.72, 0.25, 0, 3, VALIDATION_SOURCE_MOTOR_RULE, VALIDATION_NEVER, compressor_gps_l, 0},
};
// clang-format on

const struct validation_section section_idle = {
    .kind = VALIDATION_ENGINES,
    .title = "Idle air",
    .text = "Warm, at the target, electrical_load_w = 0 unless said. What decides how thick a film hides: the gap of the "
            "clean idle.",
    .rows = rows,
    .count = ARRAY_COUNT(rows),
    .begin = begin,
    .end = end,
};
