/* By how much cars of a kind, and days, differ: the rows, and the group `scatter` of an engine file. What becomes of them: car/scatter.h. */
#ifndef CAR_SCATTER_PARAMS_H
#define CAR_SCATTER_PARAMS_H

#include "base/field.h"
#include "base/units.h"
#include "control/features.h"

#include <stdbool.h>

/* SCATTER(key, factor to SI or ratio, standard deviation among cars of one model unless the engine file says otherwise, among all cars of
 * that kind on the road, most, what an engine must have for it, of the unit or of the day, what it is, why so much, why so much on the road)
 *
 * Nought means: the same on every car. On the road the model itself is unknown, so its metal and its computer's figures spread too. Where no
 * source stands, a spread is what published engines of the kind differ by as far as we know them, or our own choice: invented. */
// clang-format off
#define SCATTER_LIST(SCATTER)                                                                                                                       \
  SCATTER(friction_pct, UNITS_RATIO_PER_PCT, 5, 30, 60, 0, UNIT, "friction of the engine", "run-in, oil grade and wear; invented",                  \
          "0.46 to 0.76 bar published at idle")                                                                                                     \
  SCATTER(filling_pct, UNITS_RATIO_PER_PCT, 2, 8, 20, 0, UNIT, "air drawn at the same manifold pressure", "valve lash, carbon, cam timing; invented", \
          "valve timings of the kind; invented")                                                                                                    \
  SCATTER(efficiency_pct, UNITS_RATIO_PER_PCT, 1.5, 8, 20, 0, UNIT, "work out of the same fuel", "compression, fuel; invented",                      \
          "0.25 to 0.31 published at idle")                                                                                                         \
  SCATTER(closed_deg, UNITS_RAD_PER_DEG, 0.08, 1.5, 4, 0, UNIT, "blade angle at the closed stop", "stop screw set at the maker's; invented",        \
          "5 to 15 degrees usual; the uncertainty for the angle of a known unit")                                                                       \
  SCATTER(clearance_um, UNITS_M_PER_UM, 3, 8, 30, 0, UNIT, "running clearance of the closed blade",                                                 \
          "as in the test sheet's allowance; common practice, no source", "closed gaps of 2 to 6 mm2; invented")                                     \
  SCATTER(discharge_pct, UNITS_RATIO_PER_PCT, 2, 12, 30, 0, UNIT, "discharge coefficient of the throttle", "edge of the blade; invented",           \
          "0.6 to 0.98 published, and contoured bores")                                                                                             \
  SCATTER(ventilation_pct, UNITS_RATIO_PER_PCT, 15, 50, 150, 0, UNIT, "flow of the crankcase ventilation valve", "a spring and a pin; invented",     \
          "valves of other engines; invented")                                                                                                      \
  SCATTER(accessory_nm, 1.0, 0.7, 1.8, 5, 0, UNIT, "drag of belt and accessories, and of the electrical load that never rests", "0.5 as in the test sheet's allowance, and 25 W; common practice, no source",  \
          "electric or belt-driven steering, vacuum pump, 150 to 300 W with nothing switched on; invented")                                                                                \
  SCATTER(compressor_pct, UNITS_RATIO_PER_PCT, 10, 50, 100, 0, UNIT, "torque of the air-conditioning compressor",                                    \
          "charge of refrigerant, heat of the day; invented", "fixed or variable displacement; invented")                                           \
  SCATTER(converter_pct, UNITS_RATIO_PER_PCT, 6, 50, 100, FEATURE_converter, UNIT, "drag of the converter in gear", "invented", "invented")           \
  SCATTER(spark_deg, UNITS_RAD_PER_DEG, 0.7, 1, 5, 0, UNIT, "spark at the crank against what the computer wants",                                   \
          "trigger wheel and sensor; invented", "the same")                                                                                         \
  SCATTER(injector_pct, UNITS_RATIO_PER_PCT, 2.5, 5, 20, 0, UNIT, "flow of the injectors",                                                          \
          "pressure and nozzles; 3 to 5 % is the usual allowance, common practice, no source", "the same, and a computer that allows for it differently") \
  SCATTER(maf_gain_pct, UNITS_RATIO_PER_PCT, 2, 3, 20, FEATURE_air_flow, UNIT, "gain of the air-flow sensor",                                       \
          "3 % is the usual allowance, common practice, no source", "the usual allowance")                                                           \
  SCATTER(map_offset_kpa, UNITS_PA_PER_KPA, 0.6, 1, 5, FEATURE_manifold_sensor, UNIT, "offset of the manifold pressure sensor",                            \
          "about 1 kPa is the usual allowance, common practice, no source", "the usual allowance")                                                   \
  SCATTER(track_pct, UNITS_RATIO_PER_PCT, 0.4, 4, 10, 0, UNIT, "what position track 1 reads at the closed stop, share of 5 V",                      \
          "0.02 V of 5 V; common practice, no source", "0.3 to 0.9 V; common practice, no source")                                                  \
  SCATTER(target_rpm, UNITS_RAD_S_PER_RPM, 12, 60, 150, 0, UNIT, "idle target: another calibration of the same engine",                             \
          "another state of the computer's data; invented", "650 to 900 rpm usual; common practice, no source")                                      \
  SCATTER(electrical_w, 1.0, 40, 40, 400, 0, DAY, "electrical load with nothing switched on", "state of the battery; one real car's air differs by 3.1 % from day to day, its manifold by 0.4 kPa", "the same")                     \
  SCATTER(coolant_c, 1.0, 3, 4, 15, 0, DAY, "temperature of the warm engine", "thermostat and fan; invented", "invented")                            \
  SCATTER(intake_c, 1.0, 12, 15, 40, 0, DAY, "temperature of the intake air", "the day; invented. Say intake_c to narrow it",               \
          "41 to 65 C seen on one car standing")                                                                                                    \
  SCATTER(ambient_kpa, UNITS_PA_PER_KPA, 1, 1, 5, 0, DAY, "pressure of the air against that of the altitude",                                       \
          "weather: standard deviation of sea-level pressure, from memory", "the same")                                                             \
  SCATTER(friction_slope_pct, UNITS_RATIO_PER_PCT, 0, 60, 100, 0, UNIT, "how friction and pumps rise with speed", "friction_pct has it",              \
          "from 2500 rpm without load needing three to four and a half times the air of idle; common practice, no source")                         \
  SCATTER(filling_2500_pct, UNITS_RATIO_PER_PCT, 0, 5, 20, 0, UNIT, "air drawn at 2500 rpm and above, against idle", "filling_pct has it",            \
          "filling flat or falling 15 % per 1000 rpm fit one car alike")                                                                            \
  SCATTER(spark_map_deg, UNITS_RAD_PER_DEG, 0, 6, 15, 0, UNIT, "spark that the computer wants idling", "read from the computer", "0 to 20 degrees usual; invented") \
  SCATTER(spark_2500_deg, UNITS_RAD_PER_DEG, 0, 6, 15, 0, UNIT, "spark that the computer wants at 2500 rpm", "read from the computer", "invented")   \
  SCATTER(feed_pct, UNITS_RATIO_PER_PCT, 0, 8, 30, 0, UNIT, "air that the computer expects to need idling", "calibrated on this engine",               \
          "what one computer learns on a good car; invented")                                                                                       \
  SCATTER(target_loaded_rpm, UNITS_RAD_S_PER_RPM, 0, 50, 150, 0, UNIT, "idle target in gear and with the compressor, against that without", "the file has it", \
          "invented")                                                                                                                               \
  SCATTER(learned_limit_pct, UNITS_RATIO_PER_PCT, 0, 30, 60, 0, UNIT, "how far the learned idle air may go", "the file has it", "invented")           \
  SCATTER(effort_limit_pct, UNITS_RATIO_PER_PCT, 0, 30, 60, 0, UNIT, "how far the momentary idle air may go", "the file has it", "invented")          \
  SCATTER(bore_pct, UNITS_RATIO_PER_PCT, 0, 7, 20, 0, UNIT, "bore of the throttle", "the file has it",                                               \
          "40 to 60 mm is usual for 1.2 to 2.8 l; the uncertainty when only displacement is known")                                                                   \
  SCATTER(band_pct, UNITS_RATIO_PER_PCT, 30, 40, 100, 0, UNIT, "width of the film's ring", "no two rings are alike; invented", "invented")            \
  SCATTER(land_pct, UNITS_RATIO_PER_PCT, 0, 25, 60, 0, UNIT, "thickness of the blade's edge", "the file has it", "1 to 2 mm; invented") \
  SCATTER(charge_offset_kpa, UNITS_PA_PER_KPA, 0.6, 1, 5, FEATURE_charger, UNIT, "offset of the charge-pressure sensor",                            \
          "about 1 kPa is the usual allowance, common practice, no source", "the usual allowance")                                                   \
  SCATTER(charger_pct, UNITS_RATIO_PER_PCT, 25, 50, 80, FEATURE_charger, UNIT, "pressure rise of the turbocharger at little flow", "invented", "invented") \
  SCATTER(trim_limit_pct, UNITS_RATIO_PER_PCT, 0, 20, 50, 0, UNIT, "how far the fuel trims may go", "the file has it", "20 to 35 % usual; common practice, no source") \
  SCATTER(purge_mm2, UNITS_M2_PER_MM2, 0.15, 0.15, 0.5, 0, DAY, "flow area of the purge, as the computer opens it", "0 to 0.57 mm2 seen on one car from day to day", "the same") \
  SCATTER(vapour_pct, UNITS_RATIO_PER_PCT, 6, 6, 20, 0, DAY, "fuel vapour that a purge valve stuck open brings", "an empty canister brings air, a full one more fuel than burns; invented", \
          "the same")                                                                                                                              \
  SCATTER(exhaust_valve_pct, UNITS_RATIO_PER_PCT, 60, 60, 100, 0, UNIT, "how much of a weak cylinder's lost charge leaves past the exhaust valve",  \
          "a valve burnt, or rings and inlet valve; invented", "the same") \
  SCATTER(stop_kept_pct, UNITS_RATIO_PER_PCT, 60, 60, 100, FEATURE_drive, UNIT, "how much of a shifted track the computer has not learned as its new stop", \
          "some learn the stop at every key on, some when told to; invented", "the same")                                                           \
  SCATTER(cold_target_pct, UNITS_RATIO_PER_PCT, 0, 40, 80, 0, UNIT, "how much faster the computer lets a cold engine idle", "the file has it", "2 to 12 rpm a degree; invented") \
  SCATTER(cold_fuel_pct, UNITS_RATIO_PER_PCT, 0, 60, 100, 0, UNIT, "how much richer the computer runs a cold engine", "the file has it", "invented")
// clang-format on

enum scatter {
#define SCATTER(key, ...) SCATTER_##key,
  SCATTER_LIST(SCATTER)
#undef SCATTER
      SCATTER_COUNT
};

enum { SCATTER_TIE_COUNT = SCATTER_COUNT * (SCATTER_COUNT - 1) / 2 };

/* Where the correlation of two different deviations stands. */
static inline size_t scatter_tie(enum scatter a, enum scatter b) {
  const size_t later = (size_t)(a > b ? a : b), earlier = (size_t)(a > b ? b : a);
  return later * (later - 1) / 2 + earlier;
}

/* The engine file's standard deviations, SI, and how they hang together. */
struct scatter_params {
  double sd[SCATTER_COUNT];
  float ties[SCATTER_TIE_COUNT]; // correlation of a deviation with one before it, see scatter_tie(); 0: independent
  bool of_models; // deviations are those of models, whose computers were calibrated on them; else of cars of one model
};

/* Standard deviations among all cars of a kind on the road, in the unit of the key. */
extern const double scatter_road[SCATTER_COUNT];

/* The group of the engine file, base relative to struct scatter_params. */
extern const struct field_group scatter_groups[];
extern const size_t scatter_group_count;

#endif
