/* What a mechanic of long practice expects of every fault, to be compared with what the model computes.
 *
 * Columns: condition; engines it is meant for; signs of the change at a warm idle and at 2500 rpm without load,
 * one letter a reading; what must be larger than what; limp-home; source; why.
 *
 * Letters, in the order of enum fault_reading:
 *   speed  roughness  opening  idle air added  air flow  pressure  trim  trim of bank 2  lambda  spark reserve
 *   +  up by more than the dead band   -  down   0  neither   p  not down   m  not up   .  no opinion
 *
 * Idle air added stands still off idle, so it has no sign at 2500. Where the trade itself is of two minds, or
 * where it depends on how the engine meters its air, the row says so. */
#ifndef TESTS_REFERENCE_FAULT_EXPECTATIONS_H
#define TESTS_REFERENCE_FAULT_EXPECTATIONS_H

#include "support/fault_table.h"

#include <string.h>

#define COMMON    "common practice, no source"
#define TRIMS     "ecomotif.blogspot.com 2020/07, fuel trim diagnostics (trade page)"
#define LEAN_RICH "autosolvehub.com/guides/lean-vs-rich (trade page)"
#define DIRTY     "mri-auto-diagnostics.com, throttle-body page (trade discussion)"
#define WORKS     "follows from how it works"

/* Which engines a row is meant for: all bits must hold. */
enum fault_engine {
  ANY = 0,
  AIR_FLOW = 1 << 0,
  PRESSURE = 1 << 1,
  ELECTRONIC = 1 << 2,
  CABLE = 1 << 3,
  ONE_BANK = 1 << 4,
  TWO_BANKS = 1 << 5,
};

enum fault_more {
  NO_ORDER,
  TRIM_AT_IDLE,  // the trim's change is larger at idle than at 2500
  TRIM_ALIKE,    // the same within three points: the error is a share of all fuel
  PRESSURE_HELD, // the pressure's change is larger at 2500
};

#define LIMP_ANY (-1)
#define NONE     COMPUTER_LIMP_NONE
#define REDUCED  COMPUTER_LIMP_REDUCED
#define REST     COMPUTER_LIMP_REST

struct fault_expectation {
  const char *key;
  unsigned engine;
  const char *signs[FAULT_POINT_COUNT]; // idle, 2500
  enum fault_more more;
  int limp; // enum computer_limp, LIMP_ANY
  const char *source, *why;
};

// A row takes one or two lines.
// clang-format off
#define NOTHING {"0.00000000", "0.0.000000"}
/* Speed, air and mixture as ever; what a broken position signal itself shows is another matter. */
#define RUNS_ON {"0.0.00000.", "..0......."}
#define UNSAID  {"..........", ".........."}

/* The engine has no such part, or the part plays no role. */
#define NOT_THERE(key, engine, why) {key, engine, NOTHING, NO_ORDER, NONE, WORKS, why}
#define TRACKS_APART(key, why)                                                                              \
  {key, ELECTRONIC, {"+...+.....", "-........."}, NO_ORDER, REST, COMMON, why},                           \
  {key, CABLE, UNSAID, NO_ORDER, LIMP_ANY, COMMON, "one track: nothing to compare it with"}
#define TRACK1_LOST(key, shows)                                                                             \
  {key, ELECTRONIC, {"0." shows ".00000.", ".." shows "......."}, NO_ORDER, REDUCED, COMMON,                \
   "the other track carries on; power is reduced, the track itself reads an end of its range"},             \
  {key, CABLE, UNSAID, NO_ORDER, LIMP_ANY, COMMON,                                                          \
   "makers differ: substitute value, fast idle or hunting; always a code"}
#define TRACK2_LOST(key)                                                                                    \
  {key, ELECTRONIC, RUNS_ON, NO_ORDER, REDUCED, COMMON, "the other track carries on; power is reduced"},    \
  NOT_THERE(key, CABLE, "a cable throttle has one track")
#define PEDAL_LOST(key)                                                                                     \
  {key, ELECTRONIC, RUNS_ON, NO_ORDER, REDUCED, COMMON, "idle needs no pedal; power is reduced"},           \
  NOT_THERE(key, CABLE, "a cable throttle has no pedal sensor")

// clang-format off
static const struct fault_expectation fault_expectations[] = {
    // deposits
    {"film_um", ANY, {"0.++00000.", "0.p.00000."}, NO_ORDER, NONE, DIRTY,
     "the controller opens further for the same air; the air is metered, so trims and air flow stay. Trims: "
     "reasoning"},
    {"edge_film_um", ANY, {"0.++00000.", "0.p.00000."}, NO_ORDER, NONE, DIRTY,
     "the same from the other side of the gap"},
    {"bypass_film_um", CABLE, {"0.++00000.", "0.p.00000."}, NO_ORDER, NONE, DIRTY,
     "more steps for the same air"},
    NOT_THERE("bypass_film_um", ELECTRONIC, "there is no such valve"),
    // air that gets in
    {"leak_mm2", AIR_FLOW, {"p.---.++0.", "0.m.m.++0."}, TRIM_AT_IDLE, NONE, TRIMS,
     "air that was not metered: lean, most where the engine breathes least; the controller closes"},
    {"leak_mm2", PRESSURE, {"p.--..000.", "0.m...000."}, NO_ORDER, NONE, COMMON,
     "the pressure sensor sees this air too: fuel follows, the idle is fast or the blade further shut"},
    {"leak_bank1_pct", AIR_FLOW | ONE_BANK, {"p.m--.++0.", "0.m.m.++0."}, TRIM_AT_IDLE, NONE, TRIMS,
     "as any leak"},
    {"leak_bank1_pct", AIR_FLOW | TWO_BANKS, {"p.m--.+00.", "0.m.m.+00."}, TRIM_AT_IDLE, NONE, LEAN_RICH,
     "one bank only: a leak on that bank"},
    {"leak_bank1_pct", PRESSURE | ONE_BANK, {"p.m-..000.", "0.m...000."}, NO_ORDER, NONE, COMMON,
     "as any leak"},
    {"leak_bank1_pct", PRESSURE | TWO_BANKS, {"p.m-..+-0.", "0.m...p.0."}, NO_ORDER, NONE, WORKS,
     "fuel for all the air is shared evenly: the bank with the leak is lean, the other rich"},
    {"booster_leak_mm2", AIR_FLOW, {"p.---.++0.", "0.m.m.++0."}, TRIM_AT_IDLE, NONE, TRIMS,
     "a vacuum leak by another hose"},
    {"booster_leak_mm2", PRESSURE, {"p.--..000.", "0.m...000."}, NO_ORDER, NONE, COMMON,
     "a vacuum leak by another hose"},
    {"boot_leak_mm2", AIR_FLOW, {"0.00-0++0.", "0.0.-0++0."}, TRIM_ALIKE, NONE, COMMON,
     "a share of all air passes the sensor by, so the trim is up everywhere; the throttle notices nothing"},
    NOT_THERE("boot_leak_mm2", PRESSURE, "nothing is metered there"),
    {"ventilation_stuck_mm2", ANY, {"p.--p.000.", "0.m.0.000."}, NO_ORDER, NONE, WORKS,
     "the trade disagrees: often called a vacuum leak with positive trims (so LEAN_RICH); with the crankcase "
     "fed from behind the air-flow sensor, as here, its air is metered and only idle air is taken back"},
    {"purge_stuck_mm2", AIR_FLOW, {"p.--m.--0.", "0.m.m.--0."}, TRIM_AT_IDLE, NONE, COMMON,
     "a full canister: rich, most at idle; that it is worst at idle: " LEAN_RICH},
    {"purge_stuck_mm2", PRESSURE, {"p.--..--0.", "0.m...--0."}, TRIM_AT_IDLE, NONE, COMMON,
     "a full canister: rich, most at idle"},
    {"purge_vapour_pct", AIR_FLOW, {"p.---.++0.", "0.m.m.++0."}, TRIM_AT_IDLE, NONE, COMMON,
     "purge stuck open with an empty canister is a vacuum leak"},
    {"purge_vapour_pct", PRESSURE, {"p.--..000.", "0.m...000."}, NO_ORDER, NONE, COMMON,
     "purge stuck open with an empty canister is a vacuum leak"},
    {"egr_stuck_mm2", AIR_FLOW, {"m+p+p+000.", "0.p.pp000."}, NO_ORDER, NONE, COMMON,
     "exhaust gas in the charge: rough, less vacuum, most at idle; not counted as air, so trims stay"},
    {"egr_stuck_mm2", PRESSURE, {"m+p+.+--0.", "0.p..p--0."}, TRIM_AT_IDLE, NONE, COMMON,
     "the pressure sensor takes exhaust gas for air: rich"},
    // the way in and out
    {"filter_ratio", ANY, {"0.00000000", "0.p.0p0000"}, NO_ORDER, NONE, COMMON,
     "a clogged element takes power at full load; at idle and unloaded nothing is to be seen"},
    {"exhaust_ratio", AIR_FLOW, {"0.p.pp000.", "0.p.p+000."}, PRESSURE_HELD, NONE, COMMON,
     "vacuum near normal at idle, too low at 2000 rpm and more"},
    {"exhaust_ratio", PRESSURE, {"0.p..p..0.", "0.p..+..0."}, PRESSURE_HELD, NONE, COMMON,
     "vacuum near normal at idle, too low at 2000 rpm and more; trims: the trade disagrees (rich on most)"},
    // sensors
    {"maf_gain_ratio", AIR_FLOW, {"0.00-0++0.", "0.0.-0++0."}, TRIM_ALIKE, NONE, LEAN_RICH,
     "a sensor that reads low: lean everywhere. Some dirty sensors read worse with more air"},
    NOT_THERE("maf_gain_ratio", PRESSURE, "there is no such sensor"),
    {"maf_offset_gps", AIR_FLOW, {"0.00-0++0.", "0.0.-0++0."}, TRIM_AT_IDLE, NONE, WORKS,
     "a fixed error weighs most where there is least air"},
    NOT_THERE("maf_offset_gps", PRESSURE, "there is no such sensor"),
    {"maf_lag_ratio", AIR_FLOW, {"0p0000000.", "0p0.00000."}, NO_ORDER, NONE, COMMON,
     "hesitates at tip-in; steady readings are right"},
    NOT_THERE("maf_lag_ratio", PRESSURE, "there is no such sensor"),
    NOT_THERE("map_offset_kpa", AIR_FLOW, "there is no such sensor"),
    {"map_offset_kpa", PRESSURE, {"0.00.0--0.", "0.0..0--0."}, NO_ORDER, NONE, COMMON,
     "takes the charge for larger than it is: rich at once, since idle vacuum is what it measures best"},
    {"coolant_bias_c", ANY, {"+.+.+.mm0.", "0.....mm0."}, NO_ORDER, NONE, COMMON,
     "reads cold: fast idle, enrichment. In closed loop the oxygen sensor takes it back: trim down or, as "
     "here, unmoved where the computer leaves the enrichment out"},
    {"intake_bias_c", AIR_FLOW, {"0.0..00000", "0.0.000000"}, NO_ORDER, NONE, COMMON,
     "a hot-wire sensor has the air's mass already"},
    {"intake_bias_c", PRESSURE, {"0.0..0--0.", "0.0..0--0."}, TRIM_ALIKE, NONE, WORKS,
     "reads cold: denser air is reckoned with, rich"},
    // fuel, fire, metal
    {"fuel_delivery_ratio", ANY, {"0.0000++0.", "0.0.00++0."}, TRIM_ALIKE, NONE, TRIMS,
     "lean at idle and above. A weak pump shows most with load, which no reading at 2500 unloaded has"},
    {"weak_cylinder_ratio", ANY, {"m+p+p+..0.", "0.p.pp..0."}, NO_ORDER, NONE, COMMON,
     "rough, the others work harder: more air. Trims: up if fuel and air leave unburned, not if compression "
     "is gone"},
    {"spark_offset_deg", ANY, {"0.p+p+000+", "0.p.pp000+"}, NO_ORDER, NONE, COMMON,
     "late: less torque from the same air, low steady vacuum"},
    {"compression_loss_pct", AIR_FLOW, {"0.p+p+000.", "0.p.p+000."}, NO_ORDER, NONE, COMMON,
     "worn evenly: low steady vacuum"},
    {"compression_loss_pct", PRESSURE, {"0.p+.+--0.", "0.p..+--0."}, NO_ORDER, NONE, WORKS,
     "low steady vacuum; the pressure sensor takes the charge for larger than it is: rich"},
    {"drag_nm", ANY, {"m.++++000.", "0.+.++000."}, NO_ORDER, NONE, COMMON,
     "a load: more air, less vacuum, the mixture right"},
    // the blade and its drive
    {"blade_stick_deg", ELECTRONIC, {"0+0000000.", ".p....000."}, NO_ORDER, NONE, COMMON,
     "the idle hunts or hangs; mixture right"},
    {"blade_stick_deg", CABLE, {"0.00000000", ".p....000."}, NO_ORDER, NONE, COMMON,
     "at idle the valve does the work; off idle the foot hunts for its speed"},
    {"position_offset_deg", ELECTRONIC, {"0.0-00000.", "0.0.00000."}, NO_ORDER, NONE, WORKS,
     "stands further open than meant: the controller takes the air back"},
    NOT_THERE("position_offset_deg", CABLE, "no computer moves the blade"),
    {"blade_jammed", ELECTRONIC, {"......000.", "-........."}, NO_ORDER, REST, COMMON,
     "the pedal moves nothing"},
    {"blade_jammed", CABLE, {"0.00000000", "-........."}, NO_ORDER, LIMP_ANY, COMMON,
     "the idle valve carries on; the pedal moves nothing"},
    {"motor_open", ELECTRONIC, {"+.+.+.00..", "-........."}, NO_ORDER, REST, COMMON,
     "springs hold the blade a little open: fast idle, fuel cut above, trims held"},
    NOT_THERE("motor_open", CABLE, "there is no motor"),
    {"motor_resistance_ratio", ELECTRONIC, {"0.0.0.000.", "0.0.0.000."}, NO_ORDER, NONE, COMMON,
     "sluggish, steady readings right; a code at most"},
    NOT_THERE("motor_resistance_ratio", CABLE, "there is no motor"),
    {"motor_supply_lost", ELECTRONIC, {"+.+.+.00..", "-........."}, NO_ORDER, REST, COMMON,
     "springs hold the blade a little open: fast idle, fuel cut above, trims held"},
    NOT_THERE("motor_supply_lost", CABLE, "there is no motor"),
    {"spring_ratio", ANY, NOTHING, NO_ORDER, NONE, COMMON,
     "the motor makes it good while it runs; found at the next key-on"},
    // wires and tracks
    TRACKS_APART("tps1_offset_v", "tracks disagree: drive off, springs hold the blade"),
    TRACKS_APART("tps1_gain_ratio", "tracks disagree: drive off, springs hold the blade"),
    TRACK1_LOST("tps1_open", "-"),
    TRACK1_LOST("tps1_grounded", "-"),
    TRACK1_LOST("tps1_shorted", "+"),
    {"tps1_worn_v", ANY, {"......000.", ".........."}, NO_ORDER, LIMP_ANY, COMMON,
     "depends on where the blade stands"},
    {"tps2_offset_v", ELECTRONIC, {"+.+.+.....", "-........."}, NO_ORDER, REST, COMMON,
     "tracks disagree: drive off"},
    NOT_THERE("tps2_offset_v", CABLE, "a cable throttle has one track"),
    {"tps2_gain_ratio", ELECTRONIC, {"+.+.+.....", "-........."}, NO_ORDER, REST, COMMON,
     "tracks disagree: drive off"},
    NOT_THERE("tps2_gain_ratio", CABLE, "a cable throttle has one track"),
    TRACK2_LOST("tps2_open"),
    TRACK2_LOST("tps2_grounded"),
    TRACK2_LOST("tps2_shorted"),
    {"tps2_worn_v", ELECTRONIC, {"......000.", ".........."}, NO_ORDER, LIMP_ANY, COMMON,
     "depends on where the blade stands"},
    NOT_THERE("tps2_worn_v", CABLE, "a cable throttle has one track"),
    PEDAL_LOST("app1_offset_v"),
    PEDAL_LOST("app1_gain_ratio"),
    PEDAL_LOST("app1_open"),
    PEDAL_LOST("app1_grounded"),
    PEDAL_LOST("app1_shorted"),
    {"app1_worn_v", ELECTRONIC, RUNS_ON, NO_ORDER, LIMP_ANY, COMMON, "felt only where the pedal passes it"},
    NOT_THERE("app1_worn_v", CABLE, "a cable throttle has no pedal sensor"),
    PEDAL_LOST("app2_offset_v"),
    PEDAL_LOST("app2_gain_ratio"),
    PEDAL_LOST("app2_open"),
    PEDAL_LOST("app2_grounded"),
    PEDAL_LOST("app2_shorted"),
    {"app2_worn_v", ELECTRONIC, RUNS_ON, NO_ORDER, LIMP_ANY, COMMON, "felt only where the pedal passes it"},
    NOT_THERE("app2_worn_v", CABLE, "a cable throttle has no pedal sensor"),
    {"tps_worn_at_deg", ANY, {"......000.", ".........."}, NO_ORDER, LIMP_ANY, COMMON,
     "depends on where the blade stands"},
    {"app_worn_at_pct", ELECTRONIC, RUNS_ON, NO_ORDER, LIMP_ANY, COMMON,
     "felt only where the pedal passes it"},
    NOT_THERE("app_worn_at_pct", CABLE, "a cable throttle has no pedal sensor"),
    TRACKS_APART("sensor_supply_v", "both tracks are low, so they no longer make up the supply between them"),
    TRACKS_APART("tps_ground_ohm",
     "both tracks are lifted, so they no longer make up the supply between them"),
    TRACKS_APART("tps_supply_swapped", "nothing the tracks say is believed"),
    {"maf_open", AIR_FLOW, {"0.0..0..0.", "0.0..0..0."}, NO_ORDER, NONE, COMMON,
     "a substitute from blade and speed; makers differ in what the scan tool shows for air flow"},
    NOT_THERE("maf_open", PRESSURE, "there is no such sensor"),
    {"maf_shorted", AIR_FLOW, {"0.0..0..0.", "0.0..0..0."}, NO_ORDER, NONE, COMMON,
     "a substitute from blade and speed; makers differ in what the scan tool shows for air flow"},
    NOT_THERE("maf_shorted", PRESSURE, "there is no such sensor"),
    {"battery_rest_v", ANY, NOTHING, NO_ORDER, NONE, COMMON,
     "the alternator carries a running engine; only cranking suffers"},
};
// clang-format on
// clang-format on

/* Bits of enum fault_engine that an engine has. */
static inline unsigned fault_expectations_engine(const struct engine *engine) {
  return (engine->computer.fuel.metering == METERING_AIR_FLOW ? AIR_FLOW : PRESSURE) |
         (engine->plant.throttle.kind == THROTTLE_ELECTRONIC ? ELECTRONIC : CABLE) |
         (engine->plant.charge.bank_count == 2 ? TWO_BANKS : ONE_BANK);
}

/* The row for a condition on such an engine, NULL if there is none. */
static inline const struct fault_expectation *fault_expectations_find(const char *key, unsigned engine) {
  for (size_t i = 0; i < ARRAY_COUNT(fault_expectations); i++) {
    const struct fault_expectation *row = &fault_expectations[i];
    if (strcmp(row->key, key) == 0 && (row->engine & ~engine) == 0) return row;
  }
  return NULL;
}

#endif
