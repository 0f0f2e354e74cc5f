/* What can stand behind a complaint about the idle: "nothing wrong", a film, and each fault that a running engine can have.
 *
 * A cause is one condition at a severity between a least that a workshop would call a fault and a most that an engine still
 * idles with. How severe it is before anything is read: uniform in the severity or in its logarithm between the two. How often
 * each cause stands behind a complaint is the engine file's group `cause_rates`, in parts of their sum. */
#ifndef CAR_CAUSES_H
#define CAR_CAUSES_H

#include "base/field.h"
#include "car/conditions.h"
#include "control/features.h"

#include <stdbool.h>

struct engine;

/* CAUSE(name, condition, severity least, most (unit of the condition), scale, which car can have it, what it is)
 * in a sentence)
 *
 * One cause stands for all that nothing read from outside can tell apart: a vacuum leak for hoses, gaskets and brake booster, a
 * film for deposit on wall and on blade. Severities: common practice, no source. */
// clang-format off
#define CAUSE_LIST(CAUSE)                                                                                              \
  CAUSE(nothing, film_um, 0, 0, LINEAR, 0, "nothing wrong: a good car within its scatter")                           \
  CAUSE(film, film_um, 5, 110, LINEAR, 0, "deposit in the throttle bore")                                            \
  CAUSE(bypass_film, bypass_film_um, 50, 500, LINEAR, FEATURE_cable, "deposit in the idle bypass valve")                       \
  CAUSE(vacuum_leak, leak_mm2, 0.7, 25, LOG, 0, "vacuum leak: hose, gasket or brake booster")                        \
  CAUSE(torn_boot, boot_leak_mm2, 5, 300, LOG, FEATURE_air_flow, "intake boot torn behind the air-flow sensor")                \
  CAUSE(ventilation_stuck, ventilation_stuck_mm2, 0.7, 12, LOG, 0, "crankcase ventilation valve stuck open")         \
  CAUSE(purge_stuck, purge_stuck_mm2, 0.5, 8, LOG, 0, "canister purge valve stuck open")                             \
  CAUSE(egr_stuck, egr_stuck_mm2, 1, 12, LOG, 0, "exhaust-gas recirculation valve stuck open")                       \
  CAUSE(filter_clogged, filter_ratio, 8, 200, LOG, 0, "air cleaner clogged")                                         \
  CAUSE(exhaust_blocked, exhaust_ratio, 8, 200, LOG, 0, "exhaust blocked")                                           \
  CAUSE(air_flow_low, maf_gain_ratio, 0.95, 0.65, LINEAR, FEATURE_air_flow, "air-flow sensor reads low")                       \
  CAUSE(air_flow_high, maf_gain_ratio, 1.05, 1.3, LINEAR, FEATURE_air_flow, "air-flow sensor reads high")                      \
  CAUSE(pressure_low, map_offset_kpa, -1.5, -8, LINEAR, FEATURE_pressure, "manifold pressure sensor reads low")                \
  CAUSE(pressure_high, map_offset_kpa, 1.5, 8, LINEAR, FEATURE_pressure, "manifold pressure sensor reads high")                \
  CAUSE(coolant_low, coolant_bias_c, -6, -50, LINEAR, 0, "coolant sensor reads cold")                                \
  CAUSE(intake_low, intake_bias_c, -15, -50, LINEAR, 0, "intake-air sensor reads cold")                              \
  CAUSE(fuel_weak, fuel_delivery_ratio, 0.94, 0.7, LINEAR, 0, "too little fuel arrives: pump, filter or injectors")  \
  CAUSE(fuel_strong, fuel_delivery_ratio, 1.06, 1.25, LINEAR, 0, "too much fuel arrives: pressure or leaking injectors") \
  CAUSE(weak_cylinder, weak_cylinder_ratio, 0.8, 0.2, LINEAR, 0, "one cylinder gives little")                        \
  CAUSE(spark_late, spark_offset_deg, -3, -12, LINEAR, 0, "spark late at the crank")                                 \
  CAUSE(compression_lost, compression_loss_pct, 4, 25, LINEAR, 0, "compression lost in all cylinders")               \
  CAUSE(drag, drag_nm, 1.5, 10, LINEAR, 0, "dragging accessory")                                                     \
  CAUSE(track_shifted_up, tps1_offset_v, 0.04, 0.2, LINEAR, FEATURE_two_tracks, "position track 1 reads high")                 \
  CAUSE(position_lost, position_offset_deg, -0.25, -1.2, LINEAR, FEATURE_drive, "learned closed position lost: the blade stands too far shut") \
  CAUSE(battery_weak, battery_rest_v, 12.1, 11.0, LINEAR, 0, "battery weak")
// clang-format on

enum cause {
#define CAUSE(name, condition, least, most, scale, needs, text) CAUSE_##name,
  CAUSE_LIST(CAUSE)
#undef CAUSE
      CAUSE_COUNT
};

enum cause_scale { CAUSE_LINEAR, CAUSE_LOG };

struct cause_row {
  const char *name, *condition, *text;
  double least, most; // severity, unit of the condition; the least first even where less means a smaller number
  enum cause_scale scale;
  unsigned needs; // bits of enum feature
};
extern const struct cause_row cause_rows[CAUSE_COUNT];

/* Parts in which each cause stands behind a complaint; only their ratios matter. */
struct cause_rates {
  double parts[CAUSE_COUNT];
};
extern const struct field_group cause_rate_groups[];
extern const size_t cause_rate_group_count;

/* Index of the cause with this name, -1 if none. */
int cause_find(const char *name);

bool cause_applies(const struct engine *engine, enum cause cause);

/* Share of all complaints, 0 to 1, before anything is read. */
double cause_prior(const struct engine *engine, enum cause cause);

/* Severity, unit of the condition, at share 0 (least) to 1 (most) of its prior range: the prior is uniform in the share. */
double cause_severity(enum cause cause, double share);

/* Puts the cause into the conditions. */
void cause_apply(enum cause cause, double severity, struct conditions *conditions);

#endif
