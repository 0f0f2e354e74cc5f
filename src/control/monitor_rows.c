/* The table of monitors: what each code watches, when, and from where on. */
#include "control/monitors.h"

#include "base/bounds.h"
#include "base/units.h"

#include <math.h>

#define RPM UNITS_RAD_S_PER_RPM
#define DEG UNITS_RAD_PER_DEG
#define KPA UNITS_PA_PER_KPA

static double low_speed(const struct monitor_measures *m) { return m->low_speed_rad_s; }
static double high_speed(const struct monitor_measures *m) { return m->high_speed_rad_s; }
static double either_speed(const struct monitor_measures *m) { return bounds_larger(m->low_speed_rad_s, m->high_speed_rad_s); }
static double track1_low(const struct monitor_measures *m) { return -m->track_v[0]; }
static double track1_high(const struct monitor_measures *m) { return m->track_v[0]; }
static double track2_low(const struct monitor_measures *m) { return -m->track_v[1]; }
static double track2_high(const struct monitor_measures *m) { return m->track_v[1]; }
static double pedal1_low(const struct monitor_measures *m) { return -m->pedal_v[0]; }
static double pedal2_low(const struct monitor_measures *m) { return -m->pedal_v[1]; }
static double tracks_apart(const struct monitor_measures *m) { return m->track_difference_ratio; }
static double pedals_apart(const struct monitor_measures *m) { return m->pedal_difference_ratio; }
static double track1_alone(const struct monitor_measures *m) { return m->track1_alone_ratio; }
static double air_low_v(const struct monitor_measures *m) { return -m->air_flow_v; }
static double air_high_v(const struct monitor_measures *m) { return m->air_flow_v; }
static double air_off(const struct monitor_measures *m) { return fabs(m->air_off_ratio); }
static double pressure_off(const struct monitor_measures *m) { return fabs(m->pressure_off_pa); }
static double lean1(const struct monitor_measures *m) { return m->trim_ratio[0]; }
static double rich1(const struct monitor_measures *m) { return -m->trim_ratio[0]; }
static double lean2(const struct monitor_measures *m) { return m->trim_ratio[1]; }
static double misfire(const struct monitor_measures *m) { return m->misfire_ratio; }
static double low_voltage(const struct monitor_measures *m) { return -m->battery_v; }
static double bypass_low(const struct monitor_measures *m) { return m->bypass_low; }
static double bypass_high(const struct monitor_measures *m) { return m->bypass_high; }
static double bypass_open(const struct monitor_measures *m) { return m->bypass_open; }
static double position_off(const struct monitor_measures *m) { return fabs(m->position_off_rad); }
static double stuck_open(const struct monitor_measures *m) { return -m->position_off_rad; }
static double stuck_closed(const struct monitor_measures *m) { return m->position_off_rad; }
static double motor_open(const struct monitor_measures *m) { return fabs(m->motor_a) < 0.05 ? fabs(m->motor_v) : 0.0; }
static double motor_weak(const struct monitor_measures *m) { return 1.0 - m->motor_current_ratio; }
static double motor_stalled(const struct monitor_measures *m) { return m->motor_stall_ratio; }
static double body_off(const struct monitor_measures *m) { return m->body_off_ratio; }
static double not_learned(const struct monitor_measures *m) { return m->not_learned; }
static double limp(const struct monitor_measures *m) { return m->limp; }

#define E(name) MONITOR_ENABLE_##name
#define IDLE    (E(running) | E(idling) | E(warm) | E(settled))
#define TRIMS   (E(running) | E(warm) | E(closed_loop))
#define DRIVE   (E(key_on) | E(electronic) | E(drive) | E(voltage))
#define NONE    MONITOR_EFFECT_NONE
#define REDUCED MONITOR_EFFECT_REDUCED
#define REST    MONITOR_EFFECT_REST

#define ROW(name, text, ...) [MONITOR_##name] = {#name, text, __VA_ARGS__}

/* Columns: code, definition, enable bits, measure, threshold, debounce, effect, factor and unit for people, condition. The 100 and 200 rpm are
 * 13 CCR 1968.2 (e)(15.2.2)(B) (from memory). Circuit limits of 0.2 and 4.8 V, and all other thresholds: our own choice within
 * common practice, no source. Definitions were checked in two published lists of data, but for those marked. */
// clang-format off
const struct monitor_row monitor_rows[MONITOR_CODE_COUNT] = {
    ROW(P0101, "Mass or Volume Air Flow \"A\" Circuit Range/Performance",
        E(running) | E(off_idle) | E(warm) | E(air_flow) | E(electronic) | E(drive), air_off, 0.35, 0.5, NONE, 100, "%",
                       "air-flow sensor more than 35 % off what blade and speed should give"),
    ROW(P0102, "Mass or Volume Air Flow \"A\" Circuit Low",
        E(key_on) | E(air_flow), air_low_v, -0.3, 0.05, NONE, -1, "V", "air-flow signal below 0.3 V"),
    ROW(P0103, "Mass or Volume Air Flow \"A\" Circuit High",
        E(key_on) | E(air_flow), air_high_v, 4.9, 0.05, NONE, 1, "V", "air-flow signal above 4.9 V"),
    ROW(P0106, "Manifold Absolute Pressure/Barometric Pressure Circuit Range/Performance",
        E(key_on) | E(stopped) | E(pressure), pressure_off, 8 * KPA, 0.05, NONE, 1 / KPA, "kPa",
                       "engine not yet started, and the pressure sensor more than 8 kPa off ambient"),
    ROW(P0121, "Throttle/Pedal Position Sensor/Switch \"A\" Circuit Range/Performance",
        E(key_on) | E(one_track), track1_alone, 0.10, 0.2, NONE, 100, "%",
                       "single position track more than 10 % of travel off the closed stop with the engine idling"),
    ROW(P0122, "Throttle/Pedal Position Sensor/Switch \"A\" Circuit Low",
        E(key_on), track1_low, -0.2, 0.02, REDUCED, -1, "V", "position track 1 below 0.2 V"),
    ROW(P0123, "Throttle/Pedal Position Sensor/Switch \"A\" Circuit High",
        E(key_on), track1_high, 4.8, 0.02, REDUCED, 1, "V", "position track 1 above 4.8 V"),
    ROW(P0171, "System Too Lean (Bank 1)",
        TRIMS, lean1, 0.25, 1.0, NONE, 100, "%", "short and long trim of bank 1 together above +25 %"),
    ROW(P0172, "System Too Rich (Bank 1)",
        TRIMS, rich1, 0.25, 1.0, NONE, 100, "%", "short and long trim of bank 1 together below -25 %"),
    ROW(P0174, "System Too Lean (Bank 2)",
        TRIMS | E(two_banks), lean2, 0.25, 1.0, NONE, 100, "%",
                       "short and long trim of bank 2 together above +25 %"),
    ROW(P0222, "Throttle/Pedal Position Sensor/Switch \"B\" Circuit Low",
        E(key_on) | E(two_tracks), track2_low, -0.2, 0.02, REDUCED, -1, "V", "position track 2 below 0.2 V"),
    ROW(P0223, "Throttle/Pedal Position Sensor/Switch \"B\" Circuit High",
        E(key_on) | E(two_tracks), track2_high, 4.8, 0.02, REDUCED, 1, "V", "position track 2 above 4.8 V"),
    ROW(P0300, "Random/Multiple Cylinder Misfire Detected",
        E(running) | E(settled), misfire, 0.02, 1.0, NONE, 100, "%",
                       "more than 2 % of the firings let the crank fall back by 30 % of a firing or more"),
    ROW(P0505, "Idle Control System",
        IDLE | E(at_limit), either_speed, 50 * RPM, 2.0, NONE, 1 / RPM, "rpm",
                       "controller and learned offset both at their limit and idle still more than 50 rpm off target"),
    ROW(P0506, "Idle Control System RPM Lower Than Expected",
        IDLE, low_speed, 100 * RPM, 1.0, NONE, 1 / RPM, "rpm", "idle more than 100 rpm below target"),
    ROW(P0507, "Idle Control System RPM Higher Than Expected",
        IDLE, high_speed, 200 * RPM, 1.0, NONE, 1 / RPM, "rpm", "idle more than 200 rpm above target"),
    ROW(P0508, "Idle Control System Circuit Low", // definition from memory
        E(key_on) | E(bypass), bypass_low, 0.5, 0.05, NONE, 1, "", "a wire of the idle bypass valve is at ground"),
    ROW(P0509, "Idle Control System Circuit High", // definition from memory
        E(key_on) | E(bypass), bypass_high, 0.5, 0.05, NONE, 1, "", "a wire of the idle bypass valve is at the supply"),
    ROW(P0511, "Idle Air Control Circuit", // definition from memory
        E(key_on) | E(bypass), bypass_open, 0.5, 0.05, NONE, 1, "", "a coil of the idle bypass valve or its wire is interrupted"),
    ROW(P0562, "System Voltage Low", // definition from memory
        E(running), low_voltage, -11, 2.0, NONE, -1, "V", "battery below 11 V with the engine running"),
    ROW(P0638, "Throttle Actuator Control Range/Performance (Bank 1)",
        DRIVE, position_off, 2 * DEG, 0.1, NONE, 1 / DEG, "deg", "blade more than 2 degrees off its command"),
    ROW(P2100, "Throttle Actuator \"A\" Control Motor Circuit/Open",
        DRIVE, motor_open, 3, 0.02, REST, 1, "V", "more than 3 V on the throttle motor and no current"),
    ROW(P2101, "Throttle Actuator \"A\" Control Motor Circuit Range/Performance",
        DRIVE, motor_weak, 0.4, 0.2, NONE, 100, "%", "throttle motor draws 40 % less than its voltage should give"),
    ROW(P2106, "Throttle Actuator Control System - Forced Limited Power", // definition from memory
        E(key_on) | E(electronic), limp, 0.5, 0.05, REDUCED, 1, "", "limp-home in force"),
    ROW(P2111, "Throttle Actuator Control System - Stuck Open",
        DRIVE, stuck_open, 5 * DEG, 0.05, REST, 1 / DEG, "deg", "blade more than 5 degrees above its command"),
    ROW(P2112, "Throttle Actuator Control System - Stuck Closed",
        DRIVE, stuck_closed, 5 * DEG, 0.05, REST, 1 / DEG, "deg", "blade more than 5 degrees below its command"),
    ROW(P2118, "Throttle Actuator Control Motor Current Range/Performance",
        DRIVE, motor_stalled, 0.85, 0.1, NONE, 100, "%", "throttle motor at more than 85 % of its stall current"),
    ROW(P2119, "Throttle Actuator Control Throttle Body Range/Performance", // definition from memory
        E(key_on) | E(electronic), body_off, 1, 0.02, NONE, 100, "% of the window",
                       "closed stop or unpowered rest position outside its window"),
    ROW(P2122, "Throttle/Pedal Position Sensor/Switch \"D\" Circuit Low", // definition from memory
        E(key_on) | E(pedal_sensor), pedal1_low, -0.2, 0.02, REDUCED, -1, "V", "pedal track 1 below 0.2 V"),
    ROW(P2127, "Throttle/Pedal Position Sensor/Switch \"E\" Circuit Low", // definition from memory
        E(key_on) | E(pedal_sensor), pedal2_low, -0.2, 0.02, REDUCED, -1, "V", "pedal track 2 below 0.2 V"),
    ROW(P2135, "Throttle/Pedal Position Sensor/Switch \"A\"/\"B\" Voltage Correlation",
        E(key_on) | E(two_tracks), tracks_apart, 0.06, 0.02, REST, 100, "%",
                       "position tracks more than 6 % of travel apart"),
    ROW(P2138, "Throttle/Pedal Position Sensor/Switch \"D\"/\"E\" Voltage Correlation",
        E(key_on) | E(pedal_sensor), pedals_apart, 0.08, 0.03, REDUCED, 100, "%",
                       "pedal tracks more than 8 % of travel apart"),
    ROW(P2176, "Throttle Actuator Control System - Idle Position Not Learned", // definition from memory
        E(key_on) | E(electronic), not_learned, 0.5, 0.1, NONE, 1, "", "closed stop not learned"),
};
// clang-format on
