/* The real car: what the model of its two idle points says of all the rest. Two sections: warm and warming up; the opening curve and
 * what moves. */
#include "reference/validation/sections.h"

#include "base/attributes.h"
#include "reference/validation/real_car.h"

#include <math.h>

static void *begin(void) { return real_car_predict(REAL_CAR_PATH); }
static void end(void *context) { real_car_destroy(context); }

static double of_idle(const void *context, double at, enum channel channel) {
  return plant_probe_value(((const struct real_car *)context)->idle[(int)at], channel);
}
static double idle_rpm(const void *context, double at) { return of_idle(context, at, CHANNEL_speed_rpm); }
static double idle_position(const void *context, double at) { return of_idle(context, at, CHANNEL_tp_pct); }
static double idle_kpa(const void *context, double at) { return of_idle(context, at, CHANNEL_manifold_kpa); }
static double idle_spark(const void *context, double at) { return of_idle(context, at, CHANNEL_spark_deg); }
static double idle_load(const void *context, double at) { return of_idle(context, at, CHANNEL_load_pct); }

static double idle_air_gps_l(const void *context, double at) {
  const struct plant_probe *probe = ((const struct real_car *)context)->idle[(int)at];
  return plant_probe_value(probe, CHANNEL_airflow_gps) / (1e3 * probe->engine.plant.charge.displacement_m3);
}

/* Work on the pistons over the heat of the fuel. */
static double idle_efficiency(const void *context, double at) {
  const struct plant_probe *probe = ((const struct real_car *)context)->idle[(int)at];
  const struct plant_signals signals = plant_probe_signals(probe);
  return signals.indicated_nm * probe->vehicle.state.crank_speed_rad_s / signals.burned_w;
}

static double of_warm_up(const void *context, double at, enum channel channel) {
  return plant_probe_value(((const struct real_car *)context)->warm_up[(int)at], channel);
}
static double cold_position(const void *context, double at) { return of_warm_up(context, at, CHANNEL_tp_pct); }
static double cold_kpa(const void *context, double at) { return of_warm_up(context, at, CHANNEL_manifold_kpa); }
static double cold_spark(const void *context, double at) { return of_warm_up(context, at, CHANNEL_spark_deg); }

static double cda(const void *context, double position_pct) { return real_car_cda_mm2(context, position_pct); }

static double fan_kpa(const void *context, double at) {
  (void)at;
  return plant_probe_value(((const struct real_car *)context)->fan, CHANNEL_manifold_kpa) - idle_kpa(context, 0);
}
static double fan_rpm(const void *context, double at) {
  (void)at;
  return plant_probe_value(((const struct real_car *)context)->fan, CHANNEL_speed_rpm) - idle_rpm(context, 0);
}
static double speed_sd(const void *context, double at) { return ((const struct real_car *)context)->speed_sd_rpm[(int)at]; }
static double cut_in_lowest(const void *context, double at) {
  (void)at;
  return ((const struct real_car *)context)->cut_in.lowest_rpm;
}
static double cut_in_highest(const void *context, double at) {
  (void)at;
  return ((const struct real_car *)context)->cut_in.highest_rpm;
}
static double flare(const void *context, double at) { return ((const struct real_car *)context)->start[(int)at].highest_rpm; }
static double start_spark(const void *context, double at) { return ((const struct real_car *)context)->start[(int)at].spark_deg; }
static double stop_position(const void *context, double at) {
  (void)at;
  return ((const struct real_car *)context)->stop_pct;
}
static double rest_position(const void *context, double at) {
  (void)at;
  return ((const struct real_car *)context)->rest_pct;
}

/* What the model of two points may be off, known misses: warming up, opening curve. */
#define COLD_MISS_PCT 1.6
#define COLD_MISS_KPA 6.0
#define COLD_MISS_DEG 6.0
#define OPENING_MISS  0.25 // of the curve

// clang-format off
#define CAR(quantity, theirs, tolerance, miss, decimals, use, ours, at)                                       \
  {quantity, theirs, tolerance, miss, decimals, VALIDATION_SOURCE_REAL_CAR, VALIDATION_##use, ours, at}
#define COLD(coolant, position, kpa, spark, at)                                                               \
  CAR("position at " #coolant " C, %", position, 0.2, COLD_MISS_PCT, 2, NEVER, cold_position, at),            \
  CAR("manifold at " #coolant " C, kPa", kpa, 1.0, COLD_MISS_KPA, 1, NEVER, cold_kpa, at),                    \
  CAR("spark at " #coolant " C, degrees", spark, 1.5, COLD_MISS_DEG, 1, NEVER, cold_spark, at)
#define OPENING(position, theirs, tolerance)                                                                  \
  CAR("CdA at " #position " %, mm2", theirs, tolerance, OPENING_MISS * (theirs), 1, NEVER, cda, position)

/* Fitted: position, pressure and spark of the two points; speed is given. Tolerances: two standard errors or a reading's step,
 * whichever is more; warming up, the day-to-day scatter of the readings and of how warm the oil is. */
static const struct validation_row idle_rows[] = {
    CAR("speed, nothing on, rpm (given)", 651.4, 0.6, 0, 1, USED, idle_rpm, 0),
    CAR("position, nothing on, % (fitted)", 15.69, 0.2, 0, 2, USED, idle_position, 0),
    CAR("manifold, nothing on, kPa (fitted)", 25.00, 0.4, 0.7, 2, USED, idle_kpa, 0),
    CAR("spark, nothing on, degrees (fitted)", 1.2, 0.5, 0, 1, USED, idle_spark, 0),
    CAR("speed, compressor on, rpm (given)", 853.5, 0.6, 0, 1, USED, idle_rpm, 1),
    CAR("position, compressor on, % (fitted)", 18.23, 0.2, 0, 2, USED, idle_position, 1),
    CAR("manifold, compressor on, kPa (fitted)", 36.3, 0.4, 0.7, 2, USED, idle_kpa, 1),
    CAR("spark, compressor on, degrees (fitted)", 0.6, 0.5, 0, 1, USED, idle_spark, 1),
    CAR("calculated load, nothing on, %", 25.3, 0.4, 6.5, 1, NEVER, idle_load, 0),
    CAR("calculated load, compressor on, %", 36.3, 0.4, 6.5, 1, NEVER, idle_load, 1),
    CAR("air, nothing on, g/s per litre", 0.88, 0.13, 0.2, 3, NEVER, idle_air_gps_l, 0),
    CAR("gross efficiency, nothing on", 0.31, 0.03, 0.07, 3, NEVER, idle_efficiency, 0),
    CAR("radiator fan, taken as 250 W: pressure it adds, kPa", 1.3, 0.4, 4.0, 2, NEVER, fan_kpa, 0),
    CAR("radiator fan: change of speed, rpm", 0.0, 1.0, 0, 2, NEVER, fan_rpm, 0),
    COLD(32, 19.2, 27, 6, 0), COLD(37, 18.4, 29, 2, 1), COLD(42, 18.0, 29, 2, 2), COLD(47, 17.3, 27, 4, 3),
    COLD(52, 16.9, 26, 5, 4), COLD(62, 16.5, 26, 3, 5), COLD(72, 16.1, 26, 0, 6),
};

/* CdA: half of what lies between the 10th and the 90th percentile; the 10 to 15 % of the assumed charge law come on top. */
static const struct validation_row drive_rows[] = {
    OPENING(15.29, 5.8, 0.4), OPENING(15.69, 5.9, 0.5), OPENING(16.08, 7.2, 0.7), OPENING(16.47, 7.9, 0.6),
    OPENING(16.86, 8.9, 0.7), OPENING(17.25, 9.9, 1.1), OPENING(17.65, 11.5, 1.1), OPENING(18.04, 12.2, 0.7),
    OPENING(18.43, 13.0, 0.9), OPENING(18.82, 14.2, 0.9), OPENING(19.22, 15.5, 1.2), OPENING(20.00, 19.7, 1.8),
    OPENING(20.78, 24.3, 1.9), OPENING(21.57, 29.3, 2.0), OPENING(22.35, 34.7, 2.4), OPENING(23.14, 40.8, 2.3),
    OPENING(24.31, 49.5, 3.0), OPENING(25.49, 59.7, 3.1), OPENING(27.06, 75.1, 3.8), OPENING(28.63, 89.8, 3.9),
    OPENING(30.20, 105.7, 4.7),
    CAR("speed, standard deviation, nothing on, rpm", 2.9, 0.5, 25, 2, NEVER, speed_sd, 0),
    CAR("speed, standard deviation, compressor on, rpm", 3.5, 0.5, 4, 2, NEVER, speed_sd, 1),
    CAR("compressor cuts in: lowest speed, rpm", 636, 10, 45, 0, NEVER, cut_in_lowest, 0),
    CAR("compressor cuts in: highest speed, rpm", 895, 10, 45, 0, NEVER, cut_in_highest, 0),
    CAR("start from 27 C: highest speed, rpm", 1802, 100, 330, 0, NEVER, flare, 0),
    CAR("start from 88 C: highest speed, rpm", 1465, 100, 350, 0, NEVER, flare, 1),
    CAR("spark in the first second after a start from 27 C, degrees", 24, 2, 26, 1, NEVER, start_spark, 0),
    CAR("position at the closed stop, %", 13.33, 0.4, 0.7, 2, NEVER, stop_position, 0),
    CAR("position at rest without current, %", 17.65, 0.4, 0.7, 2, NEVER, rest_position, 0),
};
// clang-format on

const struct validation_section section_real_idle = {
    .kind = VALIDATION_ENGINES,
    .title = "A real car: idling, warm and warming up",
    .text = "One car, fitted to its two warm idle points (marked); speeds asked for, intake air and barometer are given. "
            "The rest is predicted. Its *calculated load* is 100 times manifold over barometer pressure whatever the speed, "
            "another definition than ours.",
    .rows = idle_rows,
    .count = ARRAY_COUNT(idle_rows),
    .begin = begin,
    .end = end,
};

const struct validation_section section_real_drive = {
    .kind = VALIDATION_ENGINES,
    .title = "The same car: opening curve, starts, what moves",
    .text = "CdA is the effective area of all air, derived from readings with an assumed charge law: 10 to 15 % of it all "
            "alike hang on that. Highest speeds of the starts are lower bounds: one reading in 1.8 s.",
    .rows = drive_rows,
    .count = ARRAY_COUNT(drive_rows),
    .begin = begin,
    .end = end,
};
