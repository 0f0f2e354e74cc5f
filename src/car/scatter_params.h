/* By how much cars of a kind, and days, differ: the rows, and the group `scatter` of an engine file. What becomes of them: car/scatter.h. */
#ifndef CAR_SCATTER_PARAMS_H
#define CAR_SCATTER_PARAMS_H

#include "base/field.h"
#include "base/units.h"
#include "control/features.h"

/* SCATTER(key, factor to SI or ratio, standard deviation unless the engine file says otherwise, most, what an engine must have for it, of
 * the unit or of the day, what it is, why so much) */
// clang-format off
#define SCATTER_LIST(SCATTER)                                                                                                                       \
  SCATTER(friction_pct, UNITS_RATIO_PER_PCT, 5, 30, 0, UNIT, "friction of the engine", "run-in, oil grade and wear; invented")                      \
  SCATTER(filling_pct, UNITS_RATIO_PER_PCT, 2, 20, 0, UNIT, "air drawn at the same manifold pressure", "valve lash, carbon, cam timing; invented")  \
  SCATTER(efficiency_pct, UNITS_RATIO_PER_PCT, 1.5, 20, 0, UNIT, "work out of the same fuel", "compression, fuel; invented")                        \
  SCATTER(closed_deg, UNITS_RAD_PER_DEG, 0.08, 2, 0, UNIT, "blade angle at the closed stop", "stop screw set at the maker's; invented")             \
  SCATTER(clearance_um, UNITS_M_PER_UM, 3, 30, 0, UNIT, "running clearance of the closed blade",                                                    \
          "as in the test sheet's allowance; common practice, no source")                                                                           \
  SCATTER(discharge_pct, UNITS_RATIO_PER_PCT, 2, 20, 0, UNIT, "discharge coefficient of the throttle", "edge of the blade; invented")               \
  SCATTER(ventilation_pct, UNITS_RATIO_PER_PCT, 15, 60, 0, UNIT, "flow of the crankcase ventilation valve", "a spring and a pin; invented")         \
  SCATTER(accessory_nm, 1.0, 0.5, 5, 0, UNIT, "drag of belt and accessories", "as in the test sheet's allowance; common practice, no source")       \
  SCATTER(compressor_pct, UNITS_RATIO_PER_PCT, 10, 40, 0, UNIT, "torque of the air-conditioning compressor",                                        \
          "charge of refrigerant, heat of the day; invented")                                                                                       \
  SCATTER(converter_pct, UNITS_RATIO_PER_PCT, 6, 40, FEATURE_converter, UNIT, "drag of the converter in gear", "invented")                          \
  SCATTER(spark_deg, UNITS_RAD_PER_DEG, 0.7, 5, 0, UNIT, "spark at the crank against what the computer wants",                                      \
          "trigger wheel and sensor; invented")                                                                                                     \
  SCATTER(injector_pct, UNITS_RATIO_PER_PCT, 2.5, 20, 0, UNIT, "flow of the injectors",                                                             \
          "pressure and nozzles; 3 to 5 % is the usual allowance, common practice, no source")                                                      \
  SCATTER(maf_gain_pct, UNITS_RATIO_PER_PCT, 2, 20, FEATURE_air_flow, UNIT, "gain of the air-flow sensor",                                          \
          "3 % is the usual allowance, common practice, no source")                                                                                 \
  SCATTER(map_offset_kpa, UNITS_PA_PER_KPA, 0.6, 5, FEATURE_manifold_sensor, UNIT, "offset of the manifold pressure sensor",                               \
          "about 1 kPa is the usual allowance, common practice, no source")                                                                         \
  SCATTER(track_pct, UNITS_RATIO_PER_PCT, 0.4, 3, 0, UNIT, "what position track 1 reads at the closed stop, share of 5 V",                          \
          "0.02 V of 5 V; common practice, no source")                                                                                              \
  SCATTER(target_rpm, UNITS_RAD_S_PER_RPM, 12, 60, 0, UNIT, "idle target: another calibration of the same engine",                                  \
          "another state of the computer's data; invented")                                                                                         \
  SCATTER(electrical_w, 1.0, 60, 300, 0, DAY, "electrical load", "lamps, blower, state of the battery; invented")                                   \
  SCATTER(coolant_c, 1.0, 3, 15, 0, DAY, "temperature of the warm engine", "thermostat and fan; invented")                                          \
  SCATTER(intake_c, 1.0, 8, 25, 0, DAY, "temperature of the air that is drawn in", "the day; invented. Say intake_c to narrow it")                  \
  SCATTER(ambient_kpa, UNITS_PA_PER_KPA, 1, 5, 0, DAY, "pressure of the air against that of the altitude",                                          \
          "weather: standard deviation of sea-level pressure, from memory") \
  SCATTER(charge_offset_kpa, UNITS_PA_PER_KPA, 0.6, 5, FEATURE_charger, UNIT, "offset of the charge-pressure sensor",                               \
          "about 1 kPa is the usual allowance, common practice, no source") \
  SCATTER(charger_pct, UNITS_RATIO_PER_PCT, 25, 80, FEATURE_charger, UNIT, "pressure rise of the turbocharger at little flow", "invented")
// clang-format on

enum scatter {
#define SCATTER(key, factor, usual, most, needs, kind, text, why) SCATTER_##key,
  SCATTER_LIST(SCATTER)
#undef SCATTER
      SCATTER_COUNT
};

/* The engine file's standard deviations, SI. */
struct scatter_params {
  double sd[SCATTER_COUNT];
};

/* The group of the engine file, base relative to struct scatter_params. */
extern const struct field_group scatter_groups[];
extern const size_t scatter_group_count;

#endif
