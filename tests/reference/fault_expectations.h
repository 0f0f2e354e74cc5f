/* What the outside world says of every fault, one row each, to be compared with what the model computes: what a mechanic of long
 * practice expects of the readings, and which codes must set.
 *
 * Columns: how bad it is in the runs of support/fault_table.h (.with and .with_value: what must be there too for it to matter;
 * .at_once: a wire breaks; .size: the severity is for 1.6 l and goes with displacement), all to be felt or measured, few so bad that the
 * engine will not run; codes; expectations, the first that fits the engine holds.
 *
 * Codes, for test_fault_codes.c: severity there; what an engine must have for `must` to hold, elsewhere the fault may set only what
 * `may` says; must; may. Source: the conditions that the definitions of SAE J2012 / ISO 15031-6 name, and common practice, no source.
 *
 * Expectations: engines it is meant for; signs of the change at a warm idle and at 2500 rpm without load, one letter a reading; what
 * must be larger than what; limp-home; source; why. A fault of which nothing can be expected says why.
 *
 * Letters, in the order of enum fault_reading:
 *   speed  roughness  opening  idle air added  air flow  pressure  trim  trim of bank 2  lambda  spark reserve
 *   +  up by more than the dead band   -  down   0  neither   p  not down   m  not up   .  no opinion
 *
 * Idle air added stands still off idle, so it has no sign at 2500. Where the trade itself is of two minds, or
 * where it depends on how the engine meters its air, the row says so. */
#ifndef TESTS_REFERENCE_FAULT_EXPECTATIONS_H
#define TESTS_REFERENCE_FAULT_EXPECTATIONS_H

#include "control/features.h"
#include "support/fault_table.h"

#include <string.h>

#define COMMON    "common practice, no source"
#define TRIMS     "ecomotif.blogspot.com 2020/07, fuel trim diagnostics (trade page)"
#define LEAN_RICH "autosolvehub.com/guides/lean-vs-rich (trade page)"
#define DIRTY     "mri-auto-diagnostics.com, throttle-body page (trade discussion)"
#define WORKS     "follows from how it works"

/* Which engines a row is meant for: all bits of enum feature must hold. */
#define ANY        0
#define AIR_FLOW   FEATURE_air_flow
#define PRESSURE   FEATURE_pressure
#define MANIFOLD   FEATURE_manifold_sensor
#define CHARGER    FEATURE_charger
#define ELECTRONIC FEATURE_electronic
#define CABLE      FEATURE_cable
#define ONE_BANK   FEATURE_one_bank
#define TWO_BANKS  FEATURE_two_banks
#define TWO_TRACKS FEATURE_two_tracks

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

#define IDLE_CODES "P0505 P0506 P0507 P0300"
#define LEAN       "P0171 P0174"

struct fault_codes {
  double value;
  unsigned needs; // bits of enum feature
  const char *must, *may;
};

struct fault_signs {
  unsigned engine;                      // bits of enum feature that it must have
  const char *signs[FAULT_POINT_COUNT]; // idle, 2500
  enum fault_more more;
  int limp; // enum computer_limp, LIMP_ANY
  const char *source, *why;
};

enum { FAULT_SIGNS_MAX = 4 };

struct fault_expectation {
  struct fault_case trial;
  struct fault_codes codes;
  struct fault_signs signs[FAULT_SIGNS_MAX]; // source NULL after the last
};

// clang-format off
#define NOTHING {"0.00000000", "0.0.000000"}
/* Speed, air and mixture as ever; what a broken position signal itself shows is another matter. */
#define RUNS_ON {"0.0.00000.", "..0......."}
#define UNSAID  {"..........", ".........."}

/* A bypass valve that stands half open, which is more than a warm idle wants. */
#define DEAD_VALVE \
  {CABLE, {"+...+.....", "0...00000."}, NO_ORDER, NONE, COMMON, "it races: the valve stands further open than a warm idle wants"}
/* The engine has no such part, or the part plays no role. */
#define NOT_THERE(engine, why) {engine, NOTHING, NO_ORDER, NONE, WORKS, why}
#define TRACKS_APART(why)                                                                                   \
  {ELECTRONIC, {"+...+.....", "-........."}, NO_ORDER, REST, COMMON, why},                                \
  {CABLE, UNSAID, NO_ORDER, LIMP_ANY, COMMON, "one track: nothing to compare it with"}
#define TRACK1_LOST(shows)                                                                                  \
  {ELECTRONIC, {"0." shows ".00000.", ".." shows "......."}, NO_ORDER, REDUCED, COMMON,                     \
   "the other track carries on; power is reduced, the track itself reads an end of its range"},             \
  {CABLE, UNSAID, NO_ORDER, LIMP_ANY, COMMON,                                                               \
   "makers differ: substitute value, fast idle or hunting; always a code"}
#define TRACK2_LOST                                                                                         \
  {ELECTRONIC, RUNS_ON, NO_ORDER, REDUCED, COMMON, "the other track carries on; power is reduced"},         \
  NOT_THERE(CABLE, "a cable throttle has one track")
#define PEDAL_LOST                                                                                          \
  {ELECTRONIC, RUNS_ON, NO_ORDER, REDUCED, COMMON, "idle needs no pedal; power is reduced"},                \
  NOT_THERE(CABLE, "a cable throttle has no pedal sensor")

static const struct fault_expectation fault_expectations[] = {
    // deposits
    // codes: comes at once, the offset has had no time: a droop for a while
    {{.key = "film_um", .severity = 20}, {30, ANY, "", IDLE_CODES},
     {{ANY, {"0.++00000.", "0.p.00000."}, NO_ORDER, NONE, DIRTY, "the controller opens further for the same air; the air is "
       "metered, so trims and air flow stay. Trims: reasoning"}}},
    {{.key = "edge_film_um", .severity = 20}, {30, ANY, "", IDLE_CODES},
     {{ANY, {"0.++00000.", "0.p.00000."}, NO_ORDER, NONE, DIRTY, "the same from the other side of the gap"}}},
    {{.key = "bypass_film_um", .severity = 80}, {30, ANY, "", IDLE_CODES},
     {{CABLE, {"0.++00000.", "0.p.00000."}, NO_ORDER, NONE, DIRTY, "more steps for the same air"},
      NOT_THERE(ELECTRONIC, "there is no such valve")}},
    // air that gets in
    // codes: LEAN is cut to the engine's banks
    {{.key = "leak_mm2", .severity = 4, .size = FAULT_SIZE_SEVERITY}, {6, AIR_FLOW, LEAN, "P0507 P0300"},
     {{AIR_FLOW, {"p.---.++0.", "0.m.m.++0."}, TRIM_AT_IDLE, NONE, TRIMS, "air that was not metered: lean, most where the engine "
       "breathes least; the controller closes"},
      {PRESSURE, {"p.--..000.", "0.m...000."}, NO_ORDER, NONE, COMMON, "the pressure sensor sees this air too: fuel follows, the "
       "idle is fast or the blade further shut"}}},
    // codes: nothing without a leak
    {{.key = "leak_bank1_pct", .severity = 100, .with = "leak_mm2", .with_value = 1.5, .size = FAULT_SIZE_WITH}, {80, ANY, "", ""},
     {{AIR_FLOW | ONE_BANK, {"p.m--.++0.", "0.m.m.++0."}, TRIM_AT_IDLE, NONE, TRIMS, "as any leak"},
      {AIR_FLOW | TWO_BANKS, {"p.m--.+00.", "0.m.m.+00."}, TRIM_AT_IDLE, NONE, LEAN_RICH, "one bank only: a leak on that bank"},
      {PRESSURE | ONE_BANK, {"p.m-..000.", "0.m...000."}, NO_ORDER, NONE, COMMON, "as any leak"},
      {PRESSURE | TWO_BANKS, {"p.m-..+-0.", "0.m...p.0."}, NO_ORDER, NONE, WORKS, "fuel for all the air is shared evenly: the "
       "bank with the leak is lean, the other rich"}}},
    {{.key = "booster_leak_mm2", .severity = 4, .size = FAULT_SIZE_SEVERITY}, {6, AIR_FLOW, LEAN, "P0507 P0300"},
     {{AIR_FLOW, {"p.---.++0.", "0.m.m.++0."}, TRIM_AT_IDLE, NONE, TRIMS, "a vacuum leak by another hose"},
      {PRESSURE, {"p.--..000.", "0.m...000."}, NO_ORDER, NONE, COMMON, "a vacuum leak by another hose"}}},
    {{.key = "boot_leak_mm2", .severity = 200, .size = FAULT_SIZE_SEVERITY}, {300, ANY, "", LEAN},
     {{AIR_FLOW, {"0.00-0++0.", "0.0.-0++0."}, TRIM_ALIKE, NONE, COMMON, "a share of all air passes the sensor by, so the trim "
       "is up everywhere; the throttle notices nothing"},
      NOT_THERE(PRESSURE, "nothing is metered there")}},
    {{.key = "charge_leak_mm2", .severity = 60, .size = FAULT_SIZE_SEVERITY}, {600, CHARGER, "P0171", "P0172 P0101 P0300 " IDLE_CODES},
     {{CHARGER, {"0.00.0++0.", "0.0.+0--0."}, NO_ORDER, NONE, COMMON, "behind the sensor: at idle, with no charge pressure, it lets air "
       "in that nobody metered; where charge pressure stands metered air is lost, and the engine is rich. The throttle notices nothing"},
      NOT_THERE(ANY, "there is no charger")}},
    // codes: metered air: the idle controller takes it back
    {{.key = "ventilation_stuck_mm2", .severity = 3, .size = FAULT_SIZE_SEVERITY}, {4, ANY, "", "P0507"},
     {{ANY, {"p.--p.000.", "0.m.0.000."}, NO_ORDER, NONE, WORKS, "the trade disagrees: often called a vacuum leak with positive "
       "trims (so LEAN_RICH); with the crankcase fed from behind the air-flow sensor, as here, its air is metered and only idle "
       "air is taken back"}}},
    {{.key = "purge_stuck_mm2", .severity = 3, .size = FAULT_SIZE_SEVERITY}, {4, ANY, "", "P0172 P0507"},
     {{AIR_FLOW, {"p.--m.--0.", "0.m.m.--0."}, TRIM_AT_IDLE, NONE, COMMON, "a full canister: rich, most at idle; that it is worst "
       "at idle: " LEAN_RICH},
      {PRESSURE, {"p.--..--0.", "0.m...--0."}, TRIM_AT_IDLE, NONE, COMMON, "a full canister: rich, most at idle"}}},
    // codes: nothing without a stuck purge valve
    {{.key = "purge_vapour_pct", .severity = 0, .with = "purge_stuck_mm2", .with_value = 3, .size = FAULT_SIZE_WITH}, {30, ANY, "", ""},
     {{AIR_FLOW, {"p.---.++0.", "0.m.m.++0."}, TRIM_AT_IDLE, NONE, COMMON, "purge stuck open with an empty canister is a vacuum "
       "leak"},
      {PRESSURE, {"p.--..000.", "0.m...000."}, NO_ORDER, NONE, COMMON, "purge stuck open with an empty canister is a vacuum leak"}}},
    {{.key = "egr_stuck_mm2", .severity = 4, .size = FAULT_SIZE_SEVERITY}, {5, ANY, "", "P0300 P0172 P0506 P0505"},
     {{AIR_FLOW, {"m+p+p+000.", "0.p.pp000."}, NO_ORDER, NONE, COMMON, "exhaust gas in the charge: rough, less vacuum, most at "
       "idle; not counted as air, so trims stay"},
      {PRESSURE, {"m+pp.+--0.", "0.p..p--0."}, TRIM_AT_IDLE, NONE, COMMON, "the pressure sensor takes exhaust gas for air: rich"}}},
    // the way in and out
    // codes: nothing at idle and at 2500 rpm without load
    {{.key = "filter_ratio", .severity = 20}, {60, ANY, "", ""},
     {{ANY, {"0.00000000", "0.p.0p0000"}, NO_ORDER, NONE, COMMON, "a clogged element takes power at full load; at idle and "
       "unloaded nothing is to be seen"}}},
    {{.key = "exhaust_ratio", .severity = 300}, {60, ANY, "", ""},
     {{AIR_FLOW, {"0.p.pp000.", "0.p.p+000."}, PRESSURE_HELD, NONE, COMMON, "vacuum near normal at idle, too low at 2000 rpm "
       "and more"},
      {PRESSURE, {"0.p..p..0.", "0.p..+..0."}, PRESSURE_HELD, NONE, COMMON, "vacuum near normal at idle, too low at 2000 rpm "
       "and more; trims: the trade disagrees (rich on most)"}}},
    // sensors
    {{.key = "maf_gain_ratio", .severity = 0.85}, {0.85, ANY, "", LEAN},
     {{AIR_FLOW, {"0.00-0++0.", "0.0.-0++0."}, TRIM_ALIKE, NONE, LEAN_RICH, "a sensor that reads low: lean everywhere. Some "
       "dirty sensors read worse with more air"},
      NOT_THERE(PRESSURE, "there is no such sensor")}},
    {{.key = "maf_offset_gps", .severity = -0.3, .size = FAULT_SIZE_SEVERITY}, {0.5, ANY, "", "P0172 P0101"},
     {{AIR_FLOW, {"0.00-0++0.", "0.0.-0++0."}, TRIM_AT_IDLE, NONE, WORKS, "a fixed error weighs most where there is least air"},
      NOT_THERE(PRESSURE, "there is no such sensor")}},
    {{.key = "maf_lag_ratio", .severity = 10}, {5, ANY, "", ""},
     {{AIR_FLOW, {"0p0000000.", "0p0.00000."}, NO_ORDER, NONE, COMMON, "hesitates at tip-in; steady readings are right"},
      NOT_THERE(PRESSURE, "there is no such sensor")}},
    {{.key = "map_offset_kpa", .severity = 4}, {12, MANIFOLD, "P0106", "P0172 P0300 P0507 P0505 P0506"},
     {NOT_THERE(AIR_FLOW, "there is no such sensor, or it meters nothing: a gauge shows what it ever did"),
      {PRESSURE, {"0.00.0--0.", "0.0..0--0."}, NO_ORDER, NONE, COMMON, "takes the charge for larger than it is: rich at once, "
       "since idle vacuum is what it measures best"}}},
    {{.key = "charge_offset_kpa", .severity = 5}, {12, ANY, "", ""},
     {{ANY, NOTHING, NO_ORDER, NONE, COMMON, "it serves the charge-pressure control, which an idling engine has no use for"}}},
    {{.key = "coolant_bias_c", .severity = -40}, {-50, ANY, "", "P0172 P0507"},
     {{ANY, {"+.+.+.mm0.", "0.....mm0."}, NO_ORDER, NONE, COMMON, "reads cold: fast idle, enrichment. In closed loop the oxygen "
       "sensor takes it back: trim down or, as here, unmoved where the computer leaves the enrichment out"}}},
    {{.key = "intake_bias_c", .severity = -40}, {30, ANY, "", LEAN},
     {{AIR_FLOW, {"0.0..00000", "0.0.000000"}, NO_ORDER, NONE, COMMON, "a hot-wire sensor has the air's mass already"},
      {PRESSURE, {"0.0..0--0.", "0.0..0--0."}, TRIM_ALIKE, NONE, WORKS, "reads cold: denser air is reckoned with, rich"}}},
    // fuel, fire, metal
    {{.key = "fuel_delivery_ratio", .severity = 0.85}, {0.85, ANY, "", LEAN},
     {{ANY, {"0.0000++0.", "0.0.00++0."}, TRIM_ALIKE, NONE, TRIMS, "lean at idle and above. A weak pump shows most with load, "
       "which no reading at 2500 unloaded has"}}},
    {{.key = "spark_missing_pct", .severity = 100}, {100, ANY, "P0300", IDLE_CODES " " LEAN},
     {{ONE_BANK, {"m+p+p+++p.", "m.p.p+++p."}, NO_ORDER, NONE, COMMON, "rough, the others work harder: more air. What does not burn "
       "is oxygen to the sensor: it reads lean and fuel is added, to the limit. Not faster at 2500: as it grows rich the foot follows"},
      {TWO_BANKS, {"m+p+p++0p.", "0.p.p++0p."}, NO_ORDER, NONE, COMMON, "the same; the sensor of the other bank sees nothing of it"}}},
    {{.key = "cylinder_compression_loss_pct", .severity = 90}, {90, ANY, "P0300", IDLE_CODES " P0172"},
     {{AIR_FLOW, {"m+...+000.", "0.p.p+000."}, NO_ORDER, NONE, COMMON, "rough, the others work harder, at a higher pressure; what the "
       "cylinder does not keep, it does not send to the sensor either: the mixture stays right. Nor is it drawn, so that the air at idle "
       "says little"},
      {PRESSURE, {"m+...+--0.", "0.p..+--0."}, NO_ORDER, NONE, WORKS, "the same; the pressure sensor takes the charge for "
       "larger than it is: rich"}}},
    {{.key = "cylinder_loss_exhaust_pct", .severity = 100, .with = "cylinder_compression_loss_pct", .with_value = 60, .size = FAULT_SIZE_WITH},
     {100, ANY, "", "P0300 " IDLE_CODES},
     {{ANY, {"m+p.pp000.", "0.p.pp000."}, NO_ORDER, NONE, WORKS, "a burnt exhaust valve: what it loses was drawn and metered, so the others "
       "take more air for the same work"}}},
    {{.key = "spark_offset_deg", .severity = -8}, {-8, ANY, "", "P0300 P0506"},
     {{ANY, {"0.p+p+000+", "0.p.pp000+"}, NO_ORDER, NONE, COMMON, "late: less torque from the same air, low steady vacuum"}}},
    {{.key = "compression_loss_pct", .severity = 15}, {15, ANY, "", "P0506"},
     {{AIR_FLOW, {"0.p+p+000.", "0.p.p+000."}, NO_ORDER, NONE, COMMON, "worn evenly: low steady vacuum"},
      {PRESSURE, {"0.p+.+--0.", "0.p..+--0."}, NO_ORDER, NONE, WORKS, "low steady vacuum; the pressure sensor takes the charge "
       "for larger than it is: rich"}}},
    {{.key = "drag_nm", .severity = 8, .size = FAULT_SIZE_SEVERITY}, {5, ANY, "", IDLE_CODES},
     {{ANY, {"m.++++000.", "0.+.++000."}, NO_ORDER, NONE, COMMON, "a load: more air, less vacuum, the mixture right"}}},
    {{.key = "steering_pump_pct", .severity = 60}, {60, ANY, "", IDLE_CODES},
     {{ANY, {"..p.++000.", "0.p.pp000."}, NO_ORDER, NONE, COMMON,
       "a load, as with the wheel turned: more air, less vacuum; the pressure switch tells the computer, which may idle faster"}}},
    // the blade and its drive
    {{.key = "blade_stick_deg", .severity = 1.0}, {0.3, ANY, "", ""},
     {{ELECTRONIC, {"0+0000000.", ".p....000."}, NO_ORDER, NONE, COMMON, "the idle hunts or hangs; mixture right"},
      {CABLE, {"0.00000000", ".p....000."}, NO_ORDER, NONE, COMMON, "at idle the valve does the work; off idle the foot hunts "
       "for its speed"}}},
    {{.key = "position_offset_deg", .severity = 0.3}, {0.5, ANY, "", "P0507 P0505"},
     {{ELECTRONIC, {"0.0-00000.", "0.0.00000."}, NO_ORDER, NONE, WORKS, "stands further open than meant: the controller takes "
       "the air back"},
      NOT_THERE(CABLE, "no computer moves the blade")}},
    {{.key = "pedal_stuck_pct", .severity = 3}, {3, ANY, "", ""},
     {{ELECTRONIC, {"+.+.+.000.", "0.0.000000"}, NO_ORDER, NONE, COMMON, "it idles too fast, as if a foot were on the pedal; "
       "nothing else is wrong"},
      {CABLE, {"p...p.000.", "0...000000"}, NO_ORDER, NONE, COMMON, "a tight cable holds the blade off its stop: it idles too "
       "fast"}}},
    {{.key = "blade_jammed", .severity = 1, .at_once = true}, {1, ELECTRONIC, "P2112 P2106", "P2118 P0638 P2119 P2176 " IDLE_CODES},
     {{ELECTRONIC, {"......000.", "-........."}, NO_ORDER, REST, COMMON, "the pedal moves nothing"},
      {CABLE, {"0.00000000", "-........."}, NO_ORDER, LIMP_ANY, COMMON, "the idle valve carries on; the pedal moves nothing"}}},
    {{.key = "motor_open", .severity = 1, .at_once = true}, {1, ELECTRONIC, "P2100 P2106", "P0638"},
     {{ELECTRONIC, {"+.+.+.00..", "-........."}, NO_ORDER, REST, COMMON, "springs hold the blade a little open: fast idle, "
       "fuel cut above, trims held"},
      NOT_THERE(CABLE, "there is no motor")}},
    {{.key = "motor_resistance_ratio", .severity = 4, .at_once = true}, {3, ELECTRONIC, "P2101", "P0638"},
     {{ELECTRONIC, {"0.0.0.000.", "0.0.0.000."}, NO_ORDER, NONE, COMMON, "sluggish, steady readings right; a code at most"},
      NOT_THERE(CABLE, "there is no motor")}},
    {{.key = "motor_supply_lost", .severity = 1, .at_once = true}, {1, ELECTRONIC, "P2112 P2106", "P0638 P2119 P0507 P0505"},
     {{ELECTRONIC, {"+.+.+.00..", "-........."}, NO_ORDER, REST, COMMON, "springs hold the blade a little open: fast idle, "
       "fuel cut above, trims held"},
      NOT_THERE(CABLE, "there is no motor")}},
    {{.key = "spring_ratio", .severity = 0, .at_once = true}, {0, ELECTRONIC, "P2119", ""},
     {{ANY, NOTHING, NO_ORDER, NONE, COMMON, "the motor compensates for it while it runs; found at the next key-on"}}},
    // wires and tracks
    {{.key = "tps1_offset_v", .severity = 0.4, .at_once = true}, {0.4, TWO_TRACKS, "P2135 P2106", "P2119 P0121"},
     {TRACKS_APART("tracks disagree: drive off, springs hold the blade")}},
    {{.key = "tps1_gain_ratio", .severity = 0.6, .at_once = true},
     {0.6, ANY, "", "P2135 P2106 P2119 P0121 P0101 P0507 P0122 P0300"},
     {TRACKS_APART("tracks disagree: drive off, springs hold the blade")}},
    {{.key = "tps1_open", .severity = 1, .at_once = true}, {1, ANY, "P0122", "P2106 P0121"},
     {TRACK1_LOST("-")}},
    {{.key = "tps1_grounded", .severity = 1, .at_once = true}, {1, ANY, "P0122", "P2106 P0121"},
     {TRACK1_LOST("-")}},
    {{.key = "tps1_shorted", .severity = 1, .at_once = true}, {1, ANY, "P0123", "P2106 P0121"},
     {TRACK1_LOST("+")}},
    {{.key = "tps1_worn_v", .severity = 1.5, .with = "tps_worn_at_deg", .with_value = 1.5, .at_once = true},
     {1, ANY, "", "P2135 P2106 P0122 P0300 P0101 P0507 P2101"},
     {{ANY, {"......000.", ".........."}, NO_ORDER, LIMP_ANY, COMMON, "depends on where the blade stands"}}},
    {{.key = "tps2_offset_v", .severity = -0.4, .at_once = true}, {0.4, TWO_TRACKS, "P2135 P2106", "P2119"},
     {{ELECTRONIC, {"+.+.+.....", "-........."}, NO_ORDER, REST, COMMON, "tracks disagree: drive off"},
      NOT_THERE(CABLE, "a cable throttle has one track")}},
    {{.key = "tps2_gain_ratio", .severity = 0.6, .at_once = true}, {0.7, ANY, "", "P2135 P2106 P2119 P0222"},
     {{ELECTRONIC, {"+.+.+.....", "-........."}, NO_ORDER, REST, COMMON, "tracks disagree: drive off"},
      NOT_THERE(CABLE, "a cable throttle has one track")}},
    {{.key = "tps2_open", .severity = 1, .at_once = true}, {1, TWO_TRACKS, "P0222 P2106", ""},
     {TRACK2_LOST}},
    {{.key = "tps2_grounded", .severity = 1, .at_once = true}, {1, TWO_TRACKS, "P0222 P2106", ""},
     {TRACK2_LOST}},
    {{.key = "tps2_shorted", .severity = 1, .at_once = true}, {1, TWO_TRACKS, "P0223 P2106", ""},
     {TRACK2_LOST}},
    {{.key = "tps2_worn_v", .severity = 1.5, .with = "tps_worn_at_deg", .with_value = 1.5, .at_once = true},
     {1, ANY, "", "P2135 P2106 P0222"},
     {{ELECTRONIC, {"......000.", ".........."}, NO_ORDER, LIMP_ANY, COMMON, "depends on where the blade stands"},
      NOT_THERE(CABLE, "a cable throttle has one track")}},
    {{.key = "app1_offset_v", .severity = 0.4, .at_once = true}, {0.5, ELECTRONIC, "P2138 P2106", ""},
     {PEDAL_LOST}},
    {{.key = "app1_gain_ratio", .severity = 0.6, .at_once = true}, {0.6, ANY, "", "P2138 P2106"},
     {PEDAL_LOST}},
    {{.key = "app1_open", .severity = 1, .at_once = true}, {1, ELECTRONIC, "P2122 P2106", ""},
     {PEDAL_LOST}},
    {{.key = "app1_grounded", .severity = 1, .at_once = true}, {1, ELECTRONIC, "P2122 P2106", ""},
     {PEDAL_LOST}},
    {{.key = "app1_shorted", .severity = 1, .at_once = true}, {1, ELECTRONIC, "P2138 P2106", ""},
     {PEDAL_LOST}},
    {{.key = "app1_worn_v", .severity = 1.5, .with = "app_worn_at_pct", .with_value = 10, .at_once = true},
     {1, ANY, "", "P2138 P2106 P2122"},
     {{ELECTRONIC, RUNS_ON, NO_ORDER, LIMP_ANY, COMMON, "felt only where the pedal passes it"},
      NOT_THERE(CABLE, "a cable throttle has no pedal sensor")}},
    {{.key = "app2_offset_v", .severity = 0.4, .at_once = true}, {0.5, ELECTRONIC, "P2138 P2106", ""},
     {PEDAL_LOST}},
    {{.key = "app2_gain_ratio", .severity = 0.6, .at_once = true}, {0.6, ANY, "", "P2138 P2106"},
     {PEDAL_LOST}},
    {{.key = "app2_open", .severity = 1, .at_once = true}, {1, ELECTRONIC, "P2127 P2106", ""},
     {PEDAL_LOST}},
    {{.key = "app2_grounded", .severity = 1, .at_once = true}, {1, ELECTRONIC, "P2127 P2106", ""},
     {PEDAL_LOST}},
    {{.key = "app2_shorted", .severity = 1, .at_once = true}, {1, ELECTRONIC, "P2138 P2106", ""},
     {PEDAL_LOST}},
    {{.key = "app2_worn_v", .severity = 1.5, .with = "app_worn_at_pct", .with_value = 10, .at_once = true},
     {1, ANY, "", "P2138 P2106 P2127"},
     {{ELECTRONIC, RUNS_ON, NO_ORDER, LIMP_ANY, COMMON, "felt only where the pedal passes it"},
      NOT_THERE(CABLE, "a cable throttle has no pedal sensor")}},
    // codes: where; nothing without depth
    {{.key = "tps_worn_at_deg", .severity = 1.5, .with = "tps1_worn_v", .with_value = 1.5, .at_once = true}, {5, ANY, "", ""},
     {{ANY, {"......000.", ".........."}, NO_ORDER, LIMP_ANY, COMMON, "depends on where the blade stands"}}},
    {{.key = "app_worn_at_pct", .severity = 10, .with = "app1_worn_v", .with_value = 1.5, .at_once = true}, {50, ANY, "", ""},
     {{ELECTRONIC, RUNS_ON, NO_ORDER, LIMP_ANY, COMMON, "felt only where the pedal passes it"},
      NOT_THERE(CABLE, "a cable throttle has no pedal sensor")}},
    {{.key = "sensor_supply_v", .severity = 4.5, .at_once = true}, {4, TWO_TRACKS, "P2106", "P2135 P2119 P0507 P0101 P0300 P2138"},
     {TRACKS_APART("both tracks are low, so they no longer make up the supply between them")}},
    {{.key = "tps_ground_ohm", .severity = 300, .at_once = true}, {200, TWO_TRACKS, "P2106", "P2135 P2119 P0121"},
     {TRACKS_APART("both tracks are lifted, so they no longer make up the supply between them")}},
    {{.key = "tps_supply_swapped", .severity = 1, .at_once = true}, {1, TWO_TRACKS, "P2106", "P2111 P2112 P2119 P0638 P2135 P0121"},
     {TRACKS_APART("nothing the tracks say is believed")}},
    {{.key = "maf_open", .severity = 1, .at_once = true}, {1, AIR_FLOW, "P0102", ""},
     {{AIR_FLOW, {"0.0..0..0.", "0.0..0..0."}, NO_ORDER, NONE, COMMON, "a substitute from blade and speed; makers differ in what "
       "the scan tool shows for air flow"},
      NOT_THERE(PRESSURE, "there is no such sensor")}},
    {{.key = "maf_shorted", .severity = 1, .at_once = true}, {1, AIR_FLOW, "P0103", ""},
     {{AIR_FLOW, {"0.0..0..0.", "0.0..0..0."}, NO_ORDER, NONE, COMMON, "a substitute from blade and speed; makers differ in what "
       "the scan tool shows for air flow"},
      NOT_THERE(PRESSURE, "there is no such sensor")}},
    {{.key = "bypass_open", .severity = 1}, {1, CABLE, "P0511", IDLE_CODES},
     {DEAD_VALVE, NOT_THERE(ELECTRONIC, "there is no such valve")}},
    {{.key = "bypass_grounded", .severity = 1}, {1, CABLE, "P0508", IDLE_CODES},
     {DEAD_VALVE, NOT_THERE(ELECTRONIC, "there is no such valve")}},
    {{.key = "bypass_shorted", .severity = 1}, {1, CABLE, "P0509", IDLE_CODES},
     {DEAD_VALVE, NOT_THERE(ELECTRONIC, "there is no such valve")}},
    {{.key = "charging_v", .severity = 0, .with = "battery_rest_v", .with_value = 10.5}, {0, ANY, "", "P0562"},
     {{ANY, {"p.m.mm000.", "0.m.mm000."}, NO_ORDER, NONE, COMMON,
       "a generator that does not charge drags less: less air; what dims and fails is not in the readings"}}},
    {{.key = "battery_rest_v", .severity = 10.5}, {11, ANY, "", ""},
     {{ANY, NOTHING, NO_ORDER, NONE, COMMON, "the alternator carries a running engine; only cranking suffers"}}},
    {{.key = "battery_dead_cells", .severity = 1}, {1, ANY, "", ""},
     {{ANY, {"0.ppp.000.", "0.p.pp000."}, NO_ORDER, NONE, COMMON,
       "10.5 V at rest; running, the alternator is loaded all the time, and nothing else is wrong"}}},
    {{.key = "consumer_stuck_w", .severity = 400}, {400, ANY, "", IDLE_CODES},
     {{ANY, {"m.pp+p000.", "0.p.pp000."}, NO_ORDER, NONE, COMMON,
       "a load that nobody switched on: more air, less vacuum, the mixture right; the alternator's field "
       "tells the computer, so that the controller itself adds little"}}},
};
// clang-format on

enum { FAULT_EXPECTATION_COUNT = ARRAY_COUNT(fault_expectations) };

/* The row of a condition, NULL if it has none. */
static inline const struct fault_expectation *fault_expectations_find(const char *key) {
  for (size_t i = 0; i < FAULT_EXPECTATION_COUNT; i++)
    if (strcmp(fault_expectations[i].trial.key, key) == 0) return &fault_expectations[i];
  return NULL;
}

/* What is expected on an engine with these features, NULL if nobody says. */
static inline const struct fault_signs *fault_expectations_for(const struct fault_expectation *row, unsigned features) {
  for (size_t i = 0; i < FAULT_SIGNS_MAX && row->signs[i].source; i++)
    if ((row->signs[i].engine & ~features) == 0) return &row->signs[i];
  return NULL;
}

#endif
