/* What can be read on a car, and when: conditions, quantities, and how sure one reading is.
 *
 * A reading is a quantity at a condition, NAME=VALUE@CONDITION at the edge. Its standard deviation is the rounding of the
 * instrument (resolution / sqrt 12) and what is left of flicker in a value watched for some ten seconds. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_READING_H
#define ANALYSIS_ESTIMATE_ESTIMATE_READING_H

#include "analysis/settle/settle.h"

#include <stdbool.h>

/* CONDITION(name, minutes that a set of readings there takes, what an engine must have for it, how to bring it about) */
// clang-format off
#define ESTIMATE_CONDITION_LIST(CONDITION)                                                                                      \
  CONDITION(key_on, 2, 0, "key on, engine off, pedal released")                                                                 \
  CONDITION(idle, 3, 0, "warm, idling, nothing switched on, left alone for a minute")                                           \
  CONDITION(idle_ac, 2, FEATURE_compressor, "the same with air conditioning, twenty to thirty seconds after it cut in")         \
  CONDITION(drive, 3, FEATURE_converter, "the same in gear, brakes on, twenty to thirty seconds after")                         \
  CONDITION(hold_2500, 2, 0, "warm, out of gear, 2500 rpm held with the pedal")                                                 \
  CONDITION(cold_idle, 20, 0, "a minute after a cold start, spark no longer late; the car must have stood for hours")           \
  CONDITION(ac_step, 3, FEATURE_compressor, "lowest speed in the two seconds after air conditioning cuts in")                   \
  CONDITION(gear_step, 4, FEATURE_converter, "lowest speed in the two seconds after a gear is engaged")
// clang-format on

enum estimate_condition {
#define CONDITION(name, minutes, needs, text) ESTIMATE_CONDITION_##name,
  ESTIMATE_CONDITION_LIST(CONDITION)
#undef CONDITION
      ESTIMATE_CONDITION_COUNT
};

struct estimate_condition_row {
  const char *name, *text;
  double minutes; // common practice, no source
  unsigned needs; // bits of enum feature
};
extern const struct estimate_condition_row estimate_conditions[ESTIMATE_CONDITION_COUNT];

/* What the model gives at a condition. */
struct estimate_point {
  bool runs; // it does what the condition asks; else there is nothing to read
  enum settle_outcome outcome;
  double values[CHANNEL_COUNT]; // as settle.h gives them
  double ambient_kpa;
  double lowest_rpm;    // steps only
  double area_lost_pct; // idling warm: estimate_lost.h; else NaN
};

/* Where a quantity can be read. */
#define ESTIMATE_AT(name) (1u << ESTIMATE_CONDITION_##name)
#define ESTIMATE_AT_REST  ESTIMATE_AT(key_on)
#define ESTIMATE_AT_STEADY \
  (ESTIMATE_AT(idle) | ESTIMATE_AT(idle_ac) | ESTIMATE_AT(drive) | ESTIMATE_AT(hold_2500) | ESTIMATE_AT(cold_idle))
#define ESTIMATE_AT_IDLING (ESTIMATE_AT(idle) | ESTIMATE_AT(idle_ac) | ESTIMATE_AT(drive) | ESTIMATE_AT(cold_idle))
#define ESTIMATE_AT_STEPS  (ESTIMATE_AT(ac_step) | ESTIMATE_AT(gear_step))
#define ESTIMATE_AT_WARM   (ESTIMATE_AT(idle) | ESTIMATE_AT(idle_ac) | ESTIMATE_AT(drive) | ESTIMATE_AT(hold_2500))

/* QUANTITY(name, resolution, flicker, flicker as share of the reading, where, instrument, what it is, value from point p)
 * Resolutions: service 01 scaling of SAE J1979 where it has the quantity (docs/readings.md), else one count of the usual
 * instrument. Flickers: common practice, no source; that of means over ten seconds in the model is smaller. */
// clang-format off
#define ESTIMATE_QUANTITY_LIST(QUANTITY)                                                                                 \
  QUANTITY(speed_rpm, 0.25, 5, 0, ESTIMATE_AT_IDLING | ESTIMATE_AT_STEPS, STREAM, "engine speed; after a load step the lowest", \
           p->lowest_rpm > 0.0 ? p->lowest_rpm : CHANNEL_OF(speed_rpm))                                                   \
  QUANTITY(target_rpm, 1, 1, 0, ESTIMATE_AT_WARM & ESTIMATE_AT_IDLING, STREAM, "idle target of the computer; cold it hangs on a coolant reading that is rounded", CHANNEL_OF(target_rpm)) \
  QUANTITY(tp_pct, 100.0 / 255.0, 0.1, 0, ESTIMATE_AT_REST | ESTIMATE_AT_STEADY, STREAM, "absolute throttle position", CHANNEL_OF(tp_pct)) \
  QUANTITY(blade_pct, 100.0 / 255.0, 0.1, 0, ESTIMATE_AT_STEADY, STREAM, "relative throttle position: above the learned closed stop", CHANNEL_OF(blade_pct)) \
  QUANTITY(maf_gps, 0.01, 0, 0.01, ESTIMATE_AT_STEADY, STREAM, "air-flow sensor", CHANNEL_OF(maf_gps))                     \
  QUANTITY(map_kpa, 1, 0.3, 0, ESTIMATE_AT_REST | ESTIMATE_AT_STEADY, STREAM, "manifold pressure sensor, absolute", CHANNEL_OF(map_kpa)) \
  QUANTITY(charge_kpa, 1, 0.3, 0, ESTIMATE_AT_REST | ESTIMATE_AT_STEADY, STREAM, "charge-pressure sensor, absolute, before the throttle", CHANNEL_OF(charge_kpa)) \
  QUANTITY(manifold_kpa, 1, 0.7, 0, ESTIMATE_AT_STEADY, GAUGE, "manifold pressure by a gauge, absolute", CHANNEL_OF(manifold_kpa)) \
  QUANTITY(load_pct, 100.0 / 255.0, 0.3, 0, ESTIMATE_AT_STEADY, STREAM, "calculated load", CHANNEL_OF(load_pct))           \
  QUANTITY(spark_deg, 0.5, 0.5, 0, ESTIMATE_AT_IDLING, STREAM, "spark before top dead centre", CHANNEL_OF(spark_deg))      \
  QUANTITY(trim_pct, 100.0 / 128.0, 1, 0, ESTIMATE_AT_STEADY, STREAM, "fuel trims of bank 1, short and long together", CHANNEL_OF(stft_pct) + CHANNEL_OF(ltft_pct)) \
  QUANTITY(stft_pct, 100.0 / 128.0, 3, 0, ESTIMATE_AT_STEADY, STREAM, "short-term fuel trim, bank 1", CHANNEL_OF(stft_pct)) \
  QUANTITY(ltft_pct, 100.0 / 128.0, 2, 0, ESTIMATE_AT_STEADY, STREAM, "long-term fuel trim, bank 1", CHANNEL_OF(ltft_pct)) \
  QUANTITY(trim2_pct, 100.0 / 128.0, 1, 0, ESTIMATE_AT_STEADY, STREAM, "fuel trims of bank 2, short and long together", CHANNEL_OF(stft2_pct) + CHANNEL_OF(ltft2_pct)) \
  QUANTITY(stft2_pct, 100.0 / 128.0, 3, 0, ESTIMATE_AT_STEADY, STREAM, "short-term fuel trim, bank 2", CHANNEL_OF(stft2_pct)) \
  QUANTITY(ltft2_pct, 100.0 / 128.0, 2, 0, ESTIMATE_AT_STEADY, STREAM, "long-term fuel trim, bank 2", CHANNEL_OF(ltft2_pct)) \
  QUANTITY(idle_air_pct, 0.5, 1, 0, ESTIMATE_AT_WARM & ESTIMATE_AT_IDLING, STREAM, "what the idle control adds, learned and momentary together", CHANNEL_OF(learned_pct) + CHANNEL_OF(effort_pct)) \
  QUANTITY(learned_pct, 0.5, 1.5, 0, ESTIMATE_AT(idle), STREAM, "learned idle air", CHANNEL_OF(learned_pct))                \
  QUANTITY(effort_pct, 0.5, 2, 0, ESTIMATE_AT(idle), STREAM, "momentary idle air", CHANNEL_OF(effort_pct))                  \
  QUANTITY(bypass_steps, 1, 1, 0, ESTIMATE_AT_IDLING, STREAM, "idle bypass valve, steps from its seat", CHANNEL_OF(bypass_steps)) \
  QUANTITY(coolant_c, 1, 0.5, 0, ESTIMATE_AT_WARM, STREAM, "coolant sensor", CHANNEL_OF(coolant_c))                        \
  QUANTITY(intake_c, 1, 0.5, 0, ESTIMATE_AT_REST | ESTIMATE_AT_WARM, STREAM, "intake-air sensor", CHANNEL_OF(intake_c))    \
  QUANTITY(barometer_kpa, 1, 0.2, 0, ESTIMATE_AT_REST, STREAM, "barometric pressure", p->ambient_kpa)                      \
  QUANTITY(battery_v, 0.01, 0.05, 0, ESTIMATE_AT_REST, METER, "battery", CHANNEL_OF(battery_v))                            \
  QUANTITY(tps1_v, 0.01, 0.005, 0, ESTIMATE_AT_REST | ESTIMATE_AT_STEADY, METER, "position track 1", CHANNEL_OF(tps1_v))   \
  QUANTITY(tps2_v, 0.01, 0.005, 0, ESTIMATE_AT_REST | ESTIMATE_AT_STEADY, METER, "position track 2", CHANNEL_OF(tps2_v))   \
  QUANTITY(maf_v, 0.01, 0.01, 0, ESTIMATE_AT_STEADY, METER, "air-flow sensor's signal", CHANNEL_OF(maf_v))                 \
  QUANTITY(closed_gap_mm2, 0.5, 0.4, 0.25, ESTIMATE_AT_REST, TORCH, "light through the closed gap, by eye: light, none or one_side", CHANNEL_OF(closed_gap_mm2)) \
  QUANTITY(charging_v, 0.01, 0.3, 0, ESTIMATE_AT_STEADY, METER, "charging voltage at the battery, 13.8 to 14.7 on a good car", CHANNEL_OF(battery_v)) \
  QUANTITY(area_lost_pct, 1, 4, 0, ESTIMATE_AT(idle), LOG, "share of all idle air area lost, of bladegap curve with a clean log", p->area_lost_pct)
// clang-format on

enum estimate_quantity {
#define QUANTITY(name, resolution, flicker, share, where, instrument, text, value) ESTIMATE_QUANTITY_##name,
  ESTIMATE_QUANTITY_LIST(QUANTITY)
#undef QUANTITY
      ESTIMATE_QUANTITY_COUNT
};

/* What it is read with, and the minutes that takes beside those of the condition; common practice, no source. */
enum estimate_instrument {
  ESTIMATE_STREAM,
  ESTIMATE_GAUGE,
  ESTIMATE_METER,
  ESTIMATE_TORCH,
  ESTIMATE_LOG,
  ESTIMATE_INSTRUMENT_COUNT
};
struct estimate_instrument_row {
  const char *name, *text;
  double minutes;
};
extern const struct estimate_instrument_row estimate_instruments[ESTIMATE_INSTRUMENT_COUNT];

struct estimate_quantity_row {
  const char *name, *text;
  double resolution, flicker, flicker_share; // unit of the name
  unsigned conditions;                       // bits 1 << enum estimate_condition
  enum estimate_instrument instrument;
  double (*value)(const struct estimate_point *point); // NaN where this engine has it not
};
extern const struct estimate_quantity_row estimate_quantities[ESTIMATE_QUANTITY_COUNT];

/* Index of the row with this name, -1 if none. Hyphens count as underscores. */
int estimate_condition_find(const char *name);
int estimate_quantity_find(const char *name);

struct estimate_reading {
  enum estimate_quantity quantity;
  enum estimate_condition condition;
  double value;
  double sd; // of this reading
};

enum { ESTIMATE_READING_MAX = 128 };
struct estimate_readings {
  size_t count;
  struct estimate_reading readings[ESTIMATE_READING_MAX];
  size_t left_out; // others, that nobody knows the meaning of (estimate_scan.h)
};

/* What is read as a whole, or in two parts that add up to it. */
struct estimate_whole {
  enum estimate_quantity whole, parts[2];
  bool joined; // estimate_readings_join() puts the parts together
};
enum { ESTIMATE_WHOLE_COUNT = 3 };
extern const struct estimate_whole estimate_wholes[ESTIMATE_WHOLE_COUNT];

/* Standard deviation of a reading of this size; resolution and flicker: NaN for the row's own. */
double estimate_reading_sd(enum estimate_quantity quantity, double value, double resolution, double flicker);

/* The value as it is shown with so many decimals: no "-0.0". */
double estimate_reading_plain(double value, int decimals);

/* The reading of a quantity at a condition, NULL if it is not among them. */
const struct estimate_reading *estimate_readings_find(const struct estimate_readings *readings, enum estimate_quantity quantity,
                                                      enum estimate_condition condition);

/* Short- and long-term trim read at the same condition are one reading of the two together, as they share what they
 * correct. Learned and momentary idle air stay apart: which of them holds it tells whether the computer was reset. */
void estimate_readings_join(struct estimate_readings *readings);

#endif
