#include "control/computer_params.h"

#include "base/attributes.h"
#include "base/units.h"

#define DEG UNITS_RAD_PER_DEG
#define RPM UNITS_RAD_S_PER_RPM
#define GPS UNITS_KG_S_PER_GPS
#define PCT UNITS_RATIO_PER_PCT

// clang-format off
static const struct field target_fields[] = {
    {"by_coolant_c", FIELD_CURVE, offsetof(struct idle_target_params, by_coolant), FIELD_SCALED(RPM), 400, 2500,
     FIELD_CELSIUS, NULL, "idle target, rpm, over coolant temperature", false, 0.0},
    FIELD_ROW_REAL(struct idle_target_params, drive_rad_s, "drive_rpm", RPM, 400, 1500, "warm idle target in gear"),
    FIELD_ROW_REAL(struct idle_target_params, compressor_rad_s, "compressor_rpm", RPM, 400, 1500,
                   "least idle target with the compressor on"),
};
// clang-format on

// clang-format off
static const struct field air_fields[] = {
    FIELD_ROW_REAL(struct idle_air_params, base_kg_s, "base_gps", GPS, 0.2, 20,
                   "air a new warm engine needs at its target, nothing switched on"),
    {"cold_ratio_by_c", FIELD_CURVE, offsetof(struct idle_air_params, cold_ratio), FIELD_PLAIN, 0.5, 6, FIELD_CELSIUS, NULL,
     "air relative to the warm engine at the same target, over coolant temperature", false, 0.0},
    FIELD_ROW_REAL(struct idle_air_params, compressor_kg_s, "compressor_gps", GPS, 0, 10, "air added with the compressor"),
    FIELD_ROW_REAL(struct idle_air_params, drive_kg_s, "drive_gps", GPS, -5, 10, "air added in gear"),
    FIELD_ROW_REAL(struct idle_air_params, steering_kg_s, "steering_gps", GPS, 0, 10,
                   "air added while the power steering is at its stop"),
    FIELD_ROW_REAL_OR(struct idle_air_params, electrical_kg_j, "electrical_gps_per_kw", GPS / 1e3, 0, 6, 0,
                      "air added per kilowatt that the alternator delivers; its field duty tells the computer how much that is"),
    FIELD_ROW_REAL(struct idle_air_params, start_ratio, "start_pct", PCT, 0, 300, "extra air after a start, share of base"),
    FIELD_ROW_REAL(struct idle_air_params, start_decay_s, "start_decay_s", 1.0, 0.1, 60, "how fast that extra air fades"),
    FIELD_ROW_REAL(struct idle_air_params, proportional_s_rad, "proportional_pct_per_rpm", PCT / RPM, 0, 1,
                   "controller: share of base air per rpm of error"),
    FIELD_ROW_REAL(struct idle_air_params, integral_1_rad, "integral_pct_per_rpm_s", PCT / RPM, 0, 1,
                   "controller: share of base air per rpm and second"),
    FIELD_ROW_REAL(struct idle_air_params, integral_window_rad_s, "integral_window_rpm", RPM, 50, 3000,
                   "controller: no integration with a larger error"),
    FIELD_ROW_REAL(struct idle_air_params, effort_least_ratio, "effort_least_pct", PCT, -80, 0, "controller's lower limit"),
    FIELD_ROW_REAL(struct idle_air_params, effort_most_ratio, "effort_most_pct", PCT, 0, 200, "controller's upper limit"),
    FIELD_ROW_REAL(struct idle_air_params, learned_least_ratio, "learned_least_pct", PCT, -80, 0,
                   "lower limit of the learned offset"),
    FIELD_ROW_REAL(struct idle_air_params, learned_most_ratio, "learned_most_pct", PCT, 0, 200,
                   "upper limit of the learned offset"),
    FIELD_ROW_REAL(struct idle_air_params, learn_time_s, "learn_time_s", 1.0, 1, 3600,
                   "steady effort moves into the learned offset with this time constant"),
    FIELD_ROW_REAL(struct idle_air_params, learn_delay_s, "learn_delay_s", 1.0, 0, 600,
                   "how long learning waits after a start or a change of load"),
};
// clang-format on

// clang-format off
static const struct field spark_fields[] = {
    FIELD_ROW_REAL(struct idle_spark_params, base_rad, "base_deg", DEG, -20, 50,
                   "idle spark at the target, before top dead centre"),
    FIELD_ROW_REAL(struct idle_spark_params, gain_s, "gain_deg_per_rpm", DEG / RPM, 0, 1, "spark per rpm of speed error"),
    FIELD_ROW_REAL(struct idle_spark_params, advance_limit_rad, "advance_limit_deg", DEG, 0, 50, "most spark that may be added"),
    FIELD_ROW_REAL(struct idle_spark_params, retard_limit_rad, "retard_limit_deg", DEG, 0, 50, "most spark that may be taken away"),
    FIELD_ROW_CURVE(struct idle_spark_params, running_rad, "running_deg_by_rpm", RPM, DEG, -20, 60,
                    "spark off idle over engine speed"),
    FIELD_ROW_REAL(struct idle_spark_params, slew_rad_s, "slew_deg_per_s", DEG, 10, 2000, "how fast spark may move"),
};
// clang-format on

// clang-format off
static const struct field catalyst_fields[] = {
    FIELD_ROW_REAL_OR(struct catalyst_heating_params, retard_rad, "retard_deg", DEG, 0, 40, 0,
                      "spark retard after a cold start; 0: the catalyst is not heated this way"),
    FIELD_ROW_REAL_OR(struct catalyst_heating_params, air_ratio, "air_pct", PCT, 0, 100, 0, "air added meanwhile, share of what it needs then"),
    FIELD_ROW_REAL_OR(struct catalyst_heating_params, time_s, "time_s", 1.0, 5, 300, 40, "how long, from the start"),
    {"below_c", FIELD_REAL, offsetof(struct catalyst_heating_params, below_k), FIELD_CELSIUS, -40, 90, FIELD_PLAIN, NULL,
     "only with colder coolant at the start", true, 50},
};
// clang-format on

static const char *const metering_names[] = {"air_flow", "pressure", NULL};

// clang-format off
static const struct field fuel_fields[] = {
    FIELD_ROW_CHOICE(struct fuel_params, metering, "metering", metering_names,
                     "air_flow: by the air-flow sensor; pressure: by manifold pressure and speed"),
    {"lambda_by_coolant_c", FIELD_CURVE, offsetof(struct fuel_params, lambda), FIELD_PLAIN, 0.5, 1.1, FIELD_CELSIUS, NULL,
     "lambda asked for over coolant temperature; 1 when warm", false, 0.0},
    FIELD_ROW_REAL(struct fuel_params, start_ratio, "start_pct", PCT, 0, 200, "extra fuel after a start"),
    FIELD_ROW_REAL(struct fuel_params, start_decay_s, "start_decay_s", 1.0, 0.1, 120, "how fast that extra air fades"),
    FIELD_ROW_REAL(struct fuel_params, crank_ratio, "crank_pct", PCT, 0, 400, "extra fuel while cranking"),
    FIELD_ROW_CELSIUS(struct fuel_params, closed_loop_k, "closed_loop_c", -20, 100,
                      "coolant from which the oxygen sensor is used"),
    FIELD_ROW_REAL(struct fuel_params, closed_loop_delay_s, "closed_loop_delay_s", 1.0, 0, 600,
                   "time after a start before it is used"),
    FIELD_ROW_REAL(struct fuel_params, open_loop_pedal_ratio, "open_loop_pedal_pct", PCT, 20, 100,
                   "pedal travel from which it is not used: full load"),
    FIELD_ROW_REAL(struct fuel_params, proportional, "proportional", 1.0, 0, 2, "short-term trim per unit of lambda error"),
    FIELD_ROW_REAL(struct fuel_params, integral_1_s, "integral_per_s", 1.0, 0, 5, "growth of the short-term trim"),
    FIELD_ROW_REAL(struct fuel_params, short_limit_ratio, "short_limit_pct", PCT, 1, 60, "limit of the short-term trim"),
    FIELD_ROW_REAL(struct fuel_params, long_limit_ratio, "long_limit_pct", PCT, 1, 60, "limit of the long-term trim"),
    FIELD_ROW_REAL(struct fuel_params, long_time_s, "long_time_s", 1.0, 1, 3600,
                   "short-term trim moves into the long-term one with this time constant"),
    FIELD_ROW_REAL(struct fuel_params, sensor_delay_cycles, "sensor_delay_cycles", 1.0, 0, 10,
                   "exhaust valve to oxygen sensor, engine cycles"),
    FIELD_ROW_REAL(struct fuel_params, sensor_lag_s, "sensor_lag_s", 1.0, 0.02, 2, "response of the oxygen sensor"),
};
// clang-format on

// clang-format off
static const struct field pedal_fields[] = {
    FIELD_ROW_CURVE(struct driver_demand_params, opening_rad, "opening_deg_by_pct", PCT, DEG, 0, 88,
                    "blade opening that the pedal adds, over pedal travel"),
    FIELD_ROW_REAL(struct driver_demand_params, closed_ratio, "closed_pct", PCT, 0.1, 10,
                   "pedal travel below which it counts as released"),
};
// clang-format on

// clang-format off
static const struct field supervision_fields[] = {
    FIELD_ROW_REAL(struct supervision_params, running_rad_s, "running_rpm", RPM, 150, 900, "above this speed the start is complete"),
    FIELD_ROW_REAL(struct supervision_params, sync_rad, "sync_revolutions", 2.0 * UNITS_PI, 0, 10,
                   "crank revolutions before the computer has found the crank's place and fires"),
    FIELD_ROW_CELSIUS(struct supervision_params, warm_k, "warm_c", 20, 110, "coolant from which the idle monitors work"),
    FIELD_ROW_REAL(struct supervision_params, monitor_delay_s, "monitor_delay_s", 1.0, 0, 600,
                   "how long idle monitors wait after a start or a change of load"),
    FIELD_ROW_REAL(struct supervision_params, debounce_s, "debounce_s", 1.0, 0.1, 120, "how long an idle fault must last"),
    FIELD_ROW_REAL_OR(struct supervision_params, rev_limit_rad_s, "rev_limit_rpm", RPM, 3000, 9000, 6500,
                      "rev limiter: fuel is cut above, and comes back 200 rpm lower; common practice, no source"),
};
// clang-format on

static const char *const load_names[] = {"standard", "pressure_ratio", "sea_level", "unknown", NULL};
static const char *const relative_names[] = {"travel", "above_stop", "above_rest", "unknown", NULL};
static const char *const key_on_names[] = {"stop", "rest", "unknown", NULL};

// clang-format off
static const struct field scan_fields[] = {
    FIELD_ROW_CHOICE_OR(struct scan_params, load_definition, "load_definition", load_names, COMPUTER_LOAD_STANDARD,
                        "calculated load (PID 04): the standard's, of air flow; manifold pressure over barometer; air flow of that wide open at sea level; or it is not known"),
    FIELD_ROW_REAL_OR(struct scan_params, relative_zero_ratio, "relative_zero_pct", PCT, 0, 40, 0,
                      "absolute position at which the relative one (PID 45 hex) reads 0; 0: the learned closed stop"),
    FIELD_ROW_CHOICE_OR(struct scan_params, relative_definition, "relative_definition", relative_names, COMPUTER_RELATIVE_TRAVEL,
                        "what a reading blade_pct means: 0 to 100 over the travel; absolute position minus that at the stop, or minus that at rest; or not known"),
    FIELD_ROW_CHOICE_OR(struct scan_params, key_on_definition, "key_on_definition", key_on_names, COMPUTER_KEY_ON_STOP,
                        "where the blade is with the key on and the engine off: held, at rest without power, or not known"),
};
// clang-format on

#define GROUP(name, fields, member, text) \
  { name, fields, ARRAY_COUNT(fields), offsetof(struct computer_params, member), text, false }
// clang-format off
const struct field_group computer_params_groups[] = {
    GROUP("idle_target", target_fields, target, "speed the idle controller aims at"),
    GROUP("idle_air", air_fields, air, "feed-forward air, controller, learned offset"),
    GROUP("idle_spark", spark_fields, spark, "spark at idle and off it"),
    GROUP("catalyst", catalyst_fields, catalyst, "late spark after a cold start"),
    GROUP("fuel", fuel_fields, fuel, "metering, enrichment, trims"),
    GROUP("pedal", pedal_fields, pedal, "driver's demand"),
    GROUP("supervision", supervision_fields, supervision, "start and monitors"),
    GROUP("scan", scan_fields, scan, "what some readings of a scan tool mean on this car"),
};
// clang-format on
const size_t computer_params_group_count = ARRAY_COUNT(computer_params_groups);
