/* One row per thing that is read at the bench. Resolutions: voltmeter 0.01 V; an eye on a blade 1 degree;
 * service 01 scaling from SAE J1979 (PID 0C 0.25 rpm, 10 0.01 g/s, 0B 1 kPa, 06 and 07 0.78 %, 11 0.39 %;
 * from memory). Stated allowances: 0.15 V is the computer's own window for the closed stop
 * (control/position.c); the others common practice, no source. */
#include "analysis/testsheet/sheet.h"

#include "analysis/run/window.h"
#include "base/attributes.h"
#include "base/units.h"
#include "control/position.h"

#include <math.h>

#define VOLT_COUNT     0.01
#define POSITION_COUNT 0.39 // 100 % in 255 counts
#define TRIM_COUNT     0.78 // 100 % in 128 counts
#define EYE_DEG        1.0
#define TORCH_MM2      0.3 // of the number in the JSON; what an eye tells is sheet.c's LIGHT_SHARE
#define TRACK_V        0.15
#define ALIKE_RATIO    0.02 // tracks are a sum, or a ratio, if both ends agree to this

#define STEP(name) CAUTION_STEP_##name
#define METER      STEP(meter)
#define KEYED      STEP(key_on)
#define PROBED     (KEYED | METER)
#define PULLED     (STEP(blade) | STEP(unplug) | STEP(relearn))
#define BY_HAND    (PULLED | STEP(press))
#define RUNNING    STEP(run)
#define IN_GEAR    (RUNNING | STEP(gear))

static struct window window_of(const struct sheet_view *v) { return window_between(v->recording, v->from_s, v->to_s); }

/* Mean over the view of one channel; NaN stays NaN. */
static double mean(const struct sheet_view *v, enum channel channel) { return window_mean(v->recording, window_of(v), channel); }

/* ---- tracks ---- */
static double track1_closed(const struct sheet_view *v) {
  const struct throttle_params *throttle = &v->engine->plant.throttle;
  const bool rises = throttle->open_position_ratio > throttle->closed_position_ratio;
  return (rises ? window_least : window_most)(v->recording, window_of(v), CHANNEL_tps1_v);
}

static double track2_closed(const struct sheet_view *v) {
  const struct throttle_params *throttle = &v->engine->plant.throttle;
  const bool rises = throttle->open2_position_ratio > throttle->closed2_position_ratio;
  return engine_has(v->engine, FEATURE_two_tracks)
             ? (rises ? window_least : window_most)(v->recording, window_of(v), CHANNEL_tps2_v)
             : NAN;
}

/* How two tracks belong together by the engine file. */
enum pair { PAIR_NONE, PAIR_SUM, PAIR_RATIO, PAIR_DIFFERENCE };

static enum pair pair_of(double low1, double high1, double low2, double high2) {
  if (high2 <= 0.0) return PAIR_NONE;
  if (fabs((low1 + low2) - (high1 + high2)) < ALIKE_RATIO) return PAIR_SUM;
  if (low2 > 0.0 && fabs(low1 / low2 - high1 / high2) < ALIKE_RATIO) return PAIR_RATIO;
  return PAIR_DIFFERENCE;
}

static enum pair blade_pair(const struct engine *engine) {
  const struct throttle_params *t = &engine->plant.throttle;
  return pair_of(t->closed_position_ratio, t->open_position_ratio, t->closed2_position_ratio, t->open2_position_ratio);
}

static enum pair pedal_pair(const struct engine *engine) {
  const struct throttle_params *t = &engine->plant.throttle;
  if (t->kind != THROTTLE_ELECTRONIC) return PAIR_NONE;
  return pair_of(t->released_pedal_ratio[0], t->floored_pedal_ratio[0], t->released_pedal_ratio[1], t->floored_pedal_ratio[1]);
}

static double combined(const struct sheet_view *v, size_t row, enum channel one, enum channel two, enum pair pair) {
  const double a = recording_value(v->recording, row, one), b = recording_value(v->recording, row, two);
  if (pair == PAIR_SUM) return a + b;
  if (pair == PAIR_RATIO) return fabs(b) > 0.05 ? a / b : NAN;
  return a - b;
}

static double pair_mean(const struct sheet_view *v, enum channel one, enum channel two, enum pair pair) {
  const struct window window = window_of(v);
  double sum = 0.0;
  for (size_t row = window.first; row < window.last; row++) sum += combined(v, row, one, two, pair);
  return window_rows(window) ? sum / (double)window_rows(window) : NAN;
}

/* Largest change of the sum or the ratio. */
static double pair_change(const struct sheet_view *v, enum channel one, enum channel two, enum pair pair) {
  const struct window window = window_of(v);
  double least = NAN, most = NAN;
  for (size_t row = window.first; row < window.last; row++) {
    least = fmin(least, combined(v, row, one, two, pair));
    most = fmax(most, combined(v, row, one, two, pair));
  }
  return most - least;
}

#define PAIR_ROW(name, owner, channel1, channel2, kind) \
  static double name(const struct sheet_view *v) { \
    return owner##_pair(v->engine) == kind ? pair_mean(v, channel1, channel2, kind) : NAN; \
  }
#define CHANGE_ROW(name, owner, channel1, channel2, kind) \
  static double name(const struct sheet_view *v) { \
    return owner##_pair(v->engine) == kind ? pair_change(v, channel1, channel2, kind) : NAN; \
  }
PAIR_ROW(blade_sum, blade, CHANNEL_tps1_v, CHANNEL_tps2_v, PAIR_SUM)
PAIR_ROW(blade_ratio, blade, CHANNEL_tps1_v, CHANNEL_tps2_v, PAIR_RATIO)
PAIR_ROW(blade_difference, blade, CHANNEL_tps1_v, CHANNEL_tps2_v, PAIR_DIFFERENCE)
PAIR_ROW(pedal_sum, pedal, CHANNEL_app1_v, CHANNEL_app2_v, PAIR_SUM)
PAIR_ROW(pedal_ratio, pedal, CHANNEL_app1_v, CHANNEL_app2_v, PAIR_RATIO)
PAIR_ROW(pedal_difference, pedal, CHANNEL_app1_v, CHANNEL_app2_v, PAIR_DIFFERENCE)
CHANGE_ROW(blade_sum_change, blade, CHANNEL_tps1_v, CHANNEL_tps2_v, PAIR_SUM)
CHANGE_ROW(blade_ratio_change, blade, CHANNEL_tps1_v, CHANNEL_tps2_v, PAIR_RATIO)
CHANGE_ROW(pedal_sum_change, pedal, CHANNEL_app1_v, CHANNEL_app2_v, PAIR_SUM)
CHANGE_ROW(pedal_ratio_change, pedal, CHANNEL_app1_v, CHANNEL_app2_v, PAIR_RATIO)

/* Largest step back of a signal that should only rise, or only fall, while the pedal goes down. */
static double step_back(const struct sheet_view *v, enum channel channel, bool rises) {
  const struct window window = window_of(v);
  double furthest = -INFINITY, back = NAN;
  for (size_t row = window.first; row < window.last; row++) {
    const double value = (rises ? 1.0 : -1.0) * recording_value(v->recording, row, channel);
    if (isnan(value)) return NAN;
    furthest = fmax(furthest, value);
    back = fmax(back, furthest - value);
  }
  return back;
}

static double track1_back(const struct sheet_view *v) {
  const struct throttle_params *t = &v->engine->plant.throttle;
  return step_back(v, CHANNEL_tps1_v, t->open_position_ratio > t->closed_position_ratio);
}

static double track2_back(const struct sheet_view *v) {
  const struct throttle_params *t = &v->engine->plant.throttle;
  return step_back(v, CHANNEL_tps2_v, t->open2_position_ratio > t->closed2_position_ratio);
}

static double pedal1_back(const struct sheet_view *v) {
  const struct throttle_params *t = &v->engine->plant.throttle;
  return step_back(v, CHANNEL_app1_v, t->floored_pedal_ratio[0] > t->released_pedal_ratio[0]);
}

static double pedal2_back(const struct sheet_view *v) {
  const struct throttle_params *t = &v->engine->plant.throttle;
  return step_back(v, CHANNEL_app2_v, t->floored_pedal_ratio[1] > t->released_pedal_ratio[1]);
}

/* ---- movement ---- */
static bool has_drive(const struct sheet_view *v) { return engine_has(v->engine, FEATURE_drive); }

static double wake_travel_deg(const struct sheet_view *v) {
  if (!has_drive(v)) return NAN;
  const struct window window = window_of(v);
  return window_most(v->recording, window, CHANNEL_blade_deg) - window_least(v->recording, window, CHANNEL_blade_deg);
}

/* Where track 1 says the blade is, degrees above closed. */
static double seen_deg(const struct sheet_view *v, size_t row) {
  const struct throttle_params *t = &v->engine->plant.throttle;
  const double span = 90.0 - t->bore.closed_angle_rad / UNITS_RAD_PER_DEG;
  const double share = recording_value(v->recording, row, CHANNEL_tps1_v) / POSITION_SUPPLY_V;
  return span * (share - t->closed_position_ratio) / (t->open_position_ratio - t->closed_position_ratio);
}

static double position_off_deg(const struct sheet_view *v) {
  if (!has_drive(v)) return NAN;
  const struct window window = window_of(v);
  double most = NAN;
  for (size_t row = window.first; row < window.last; row++)
    most = fmax(most, fabs(recording_value(v->recording, row, CHANNEL_command_deg) - seen_deg(v, row)));
  return most;
}

/* Mean voltage over mean current; no current is no answer. */
static double motor_ohm(const struct sheet_view *v) {
  const double current = mean(v, CHANNEL_motor_a);
  return fabs(current) > 0.01 ? mean(v, CHANNEL_motor_v) / current : NAN;
}

/* ---- running ---- */
static double trims(const struct sheet_view *v) { return mean(v, CHANNEL_stft_pct) + mean(v, CHANNEL_ltft_pct); }
static double trims2(const struct sheet_view *v) { return mean(v, CHANNEL_stft2_pct) + mean(v, CHANNEL_ltft2_pct); }

/* The channel speed_sd_rpm looks ten seconds back and would see the change of gear before this stretch. */
static double steadiness_rpm(const struct sheet_view *v) {
  const struct window window = window_of(v);
  const double middle = mean(v, CHANNEL_speed_rpm);
  double squares = 0.0;
  for (size_t row = window.first; row < window.last; row++) {
    const double off = recording_value(v->recording, row, CHANNEL_speed_rpm) - middle;
    squares += off * off;
  }
  return window_rows(window) > 1 ? sqrt(squares / (double)(window_rows(window) - 1)) : NAN;
}

/* On a cable throttle the blade at rest stands on its stop screw. */
static double stop_gap(const struct sheet_view *v) {
  return engine_has(v->engine, FEATURE_cable) ? mean(v, CHANNEL_area_mm2) : NAN;
}

static double idle_opening(const struct sheet_view *v) {
  return engine_has(v->engine, FEATURE_electronic) ? mean(v, CHANNEL_blade_pct) : NAN;
}

#define AT(section_, window_) .section = SHEET_SECTION_##section_, .window = SHEET_PROCEDURE_WINDOW_##window_
#define VOLTS                 .unit = "V", .decimals = 2, .resolution = VOLT_COUNT
#define DEGREES               .unit = "deg", .decimals = 1
#define PERCENT(count)        .unit = "%", .decimals = 1, .resolution = count
#define GRAMS                 .unit = "g/s", .decimals = 2, .resolution = 0.01
#define KPA                   .unit = "kPa", .decimals = 1, .resolution = 1.0

// clang-format off
const struct sheet_row sheet_rows[] = {
    // ---- supply ----
    {"battery_rest", "Battery at rest", "Voltmeter across the battery's posts.", NULL, AT(supply, key_off),
     .channel = CHANNEL_battery_v, VOLTS, .steps = METER | STEP(battery)},
    {"supply_asleep", "Motor supply, drive asleep",
     "Voltmeter: 'throttle motor supply' at the drive to battery minus.",
     "0 V here while everything sleeps; common practice, no source.", AT(supply, asleep),
     .channel = CHANNEL_motor_supply_v, VOLTS, .stated = 0.1, .steps = PROBED},
    {"supply_key_on", "Motor supply, key on", "Voltmeter: 'throttle motor supply' to battery minus.",
     "Battery voltage, about 12 V; common practice, no source.", AT(supply, key_on),
     .channel = CHANNEL_motor_supply_v, VOLTS, .stated = 0.2, .steps = PROBED},
    {"supply_key_off", "Motor supply, just after key off",
     "Voltmeter: 'throttle motor supply' to battery minus.",
     "Still there: the drive goes to sleep only some seconds later.", AT(supply, just_off),
     .channel = CHANNEL_motor_supply_v, VOLTS, .stated = 0.2, .steps = PROBED},
    {"supply_charging", "Motor supply, charging", "Voltmeter: 'throttle motor supply' to battery minus.",
     "As the battery's posts, 13.8 to 14.7 V; common practice, no source.", AT(supply, idle),
     .channel = CHANNEL_motor_supply_v, VOLTS, .usual_low = 13.8, .usual_high = 14.7, .steps = METER | KEYED | RUNNING},
    {"charging", "Charging voltage, idle", "Voltmeter across the battery's posts, idling.",
     "13.8 to 14.7 V is usual; common practice, no source. Cars that manage the generator may leave that range on purpose.",
     AT(supply, idle), .channel = CHANNEL_battery_v, VOLTS, .usual_low = 13.8, .usual_high = 14.7,
     .steps = METER | STEP(battery) | RUNNING},
    // ---- movement ----
    {"wake_travel", "Key-on movement of the blade",
     "Eye on the blade (mirror, no fingers): from its rest to the closed stop and "
     "back to where it waits.",
     "It looks for its closed stop; common practice, no source.", AT(movement, wake),
     .value = wake_travel_deg, DEGREES, .resolution = EYE_DEG, .steps = KEYED},
    {"key_on_position", "Blade position, key on", "Scan tool: absolute throttle position (PID 11).",
     "The closed stop reads about 10 % here, not 0.", AT(movement, key_on), .channel = CHANNEL_tp_pct,
     PERCENT(POSITION_COUNT), .stated = 3.0, .steps = KEYED},
    {"floored_position", "Blade position, pedal on the floor",
     "Scan tool: absolute throttle position (PID 11).", NULL, AT(movement, floored),
     .channel = CHANNEL_tp_pct, PERCENT(POSITION_COUNT), .stated = 3.0,
     .steps = KEYED},
    {"follows_sweep", "Position against command, moving",
     "Scan tool: commanded less actual blade position, largest of the sweep.", NULL, AT(movement, sweep),
     .value = position_off_deg, DEGREES, .resolution = 0.3, .stated = 0.5, .less_is_good = true,
     .steps = KEYED},
    {"follows_still", "Position against command, at rest",
     "Scan tool: commanded less actual blade position, pedal let up again.", NULL, AT(movement, released),
     .value = position_off_deg, DEGREES, .resolution = 0.3, .stated = 0.5, .less_is_good = true,
     .steps = KEYED},
    {"motor_ohm", "Motor and wiring: voltage over current",
     "Mean voltage 'throttle motor +' to 'throttle motor -' over the mean "
     "current in a clamp round one of them, pedal on the floor.",
     NULL, AT(movement, floored), .value = motor_ohm, .unit = "ohm", .decimals = 2, .resolution = 0.05,
     .stated = 0.2, .steps = PROBED},
    {"floored_duty", "Duty to hold the blade open",
     "Scan tool or scope: duty of the drive, pedal on the floor.", NULL, AT(movement, floored),
     .channel = CHANNEL_duty_pct, PERCENT(1.0), .stated = 2.0, .steps = PROBED},
    // ---- tracks ----
    {"track1_closed", "Track 1, closed",
     "'Position track 1 signal' to 'sensor ground', lowest (track that falls: highest) reading "
     "with the meter's minimum-maximum function.",
     NULL, AT(tracks, wake), .value = track1_closed, VOLTS, .stated = TRACK_V, .steps = PROBED},
    {"track1_rest", "Track 1, springs alone", "'Position track 1 signal' to 'sensor ground'.", NULL,
     AT(tracks, springs_alone), .channel = CHANNEL_tps1_v, VOLTS, .stated = TRACK_V,
     .steps = PULLED | METER},
    {"track1_open", "Track 1, open", "'Position track 1 signal' to 'sensor ground'.", NULL,
     AT(tracks, floored), .channel = CHANNEL_tps1_v, VOLTS, .stated = TRACK_V, .steps = PROBED},
    {"track2_closed", "Track 2, closed", "'Position track 2 signal' to 'sensor ground', as track 1.", NULL,
     AT(tracks, wake), .value = track2_closed, VOLTS, .stated = TRACK_V, .steps = PROBED},
    {"track2_rest", "Track 2, springs alone", "'Position track 2 signal' to 'sensor ground'.", NULL,
     AT(tracks, springs_alone), .channel = CHANNEL_tps2_v, VOLTS, .stated = TRACK_V,
     .steps = PULLED | METER},
    {"track2_open", "Track 2, open", "'Position track 2 signal' to 'sensor ground'.", NULL,
     AT(tracks, floored), .channel = CHANNEL_tps2_v, VOLTS, .stated = TRACK_V, .steps = PROBED},
    {"tracks_sum", "Track 1 plus track 2", "Both signals to 'sensor ground', added; mean of the sweep.",
     "The tracks mirror each other: the sum stays.", AT(tracks, sweep), .value = blade_sum, VOLTS,
     .stated = 0.1, .steps = PROBED},
    {"tracks_ratio", "Track 1 over track 2", "Both signals to 'sensor ground', divided; mean of the sweep.",
     "Both rise together: the ratio stays.", AT(tracks, sweep), .value = blade_ratio, .unit = "",
     .decimals = 3, .resolution = 0.01, .stated = 0.04, .steps = PROBED},
    {"tracks_difference", "Track 1 less track 2",
     "Both signals to 'sensor ground', subtracted; mean of the sweep.", NULL, AT(tracks, sweep),
     .value = blade_difference, VOLTS, .stated = 0.1, .steps = PROBED},
    {"tracks_sum_change", "Track 1 plus track 2, change over the sweep", "The same sum, highest less lowest.",
     NULL, AT(tracks, sweep), .value = blade_sum_change, VOLTS, .stated = 0.05, .less_is_good = true,
     .steps = PROBED},
    {"tracks_ratio_change", "Track 1 over track 2, change over the sweep",
     "The same ratio, highest less lowest.", NULL, AT(tracks, sweep), .value = blade_ratio_change, .unit = "",
     .decimals = 3, .resolution = 0.02, .stated = 0.04, .less_is_good = true, .steps = PROBED},
    {"track1_smooth", "Track 1, largest step back in the sweep",
     "Scope: 'position track 1 signal' to 'sensor ground'.", "A good track never steps back.",
     AT(tracks, sweep), .value = track1_back, VOLTS, .stated = 0.03, .less_is_good = true, .steps = PROBED},
    {"track2_smooth", "Track 2, largest step back in the sweep",
     "Scope: 'position track 2 signal' to 'sensor ground'.", NULL, AT(tracks, sweep), .value = track2_back,
     VOLTS, .stated = 0.03, .less_is_good = true, .steps = PROBED},
    // ---- pedal ----
    {"pedal1_released", "Pedal track 1, released", "'Pedal track 1 signal' to 'pedal ground'.", NULL,
     AT(pedal, key_on), .channel = CHANNEL_app1_v, VOLTS, .stated = 0.1, .steps = PROBED},
    {"pedal1_floored", "Pedal track 1, on the floor", "'Pedal track 1 signal' to 'pedal ground'.", NULL,
     AT(pedal, floored), .channel = CHANNEL_app1_v, VOLTS, .stated = 0.2, .steps = PROBED},
    {"pedal2_released", "Pedal track 2, released", "'Pedal track 2 signal' to 'pedal ground'.", NULL,
     AT(pedal, key_on), .channel = CHANNEL_app2_v, VOLTS, .stated = 0.1, .steps = PROBED},
    {"pedal2_floored", "Pedal track 2, on the floor", "'Pedal track 2 signal' to 'pedal ground'.", NULL,
     AT(pedal, floored), .channel = CHANNEL_app2_v, VOLTS, .stated = 0.2, .steps = PROBED},
    {"pedal_sum", "Pedal track 1 plus track 2", "Both signals to 'pedal ground', added; mean of the sweep.",
     NULL, AT(pedal, sweep), .value = pedal_sum, VOLTS, .stated = 0.1, .steps = PROBED},
    {"pedal_ratio", "Pedal track 1 over track 2",
     "Both signals to 'pedal ground', divided; mean of the sweep.", "Both rise together: the ratio stays.",
     AT(pedal, sweep), .value = pedal_ratio, .unit = "", .decimals = 3, .resolution = 0.01, .stated = 0.04,
     .steps = PROBED},
    {"pedal_difference", "Pedal track 1 less track 2",
     "Both signals to 'pedal ground', subtracted; mean of the sweep.", NULL, AT(pedal, sweep),
     .value = pedal_difference, VOLTS, .stated = 0.1, .steps = PROBED},
    {"pedal_sum_change", "Pedal track 1 plus 2, change over the sweep", "The same sum, highest less lowest.",
     NULL, AT(pedal, sweep), .value = pedal_sum_change, VOLTS, .stated = 0.05, .less_is_good = true,
     .steps = PROBED},
    {"pedal_ratio_change", "Pedal track 1 over 2, change over the sweep",
     "The same ratio, highest less lowest.", NULL, AT(pedal, sweep), .value = pedal_ratio_change, .unit = "",
     .decimals = 3, .resolution = 0.02, .stated = 0.04, .less_is_good = true, .steps = PROBED},
    {"pedal1_smooth", "Pedal track 1, largest step back", "Scope: 'pedal track 1 signal' to 'pedal ground'.",
     NULL, AT(pedal, sweep), .value = pedal1_back, VOLTS, .stated = 0.03, .less_is_good = true,
     .steps = PROBED},
    {"pedal2_smooth", "Pedal track 2, largest step back", "Scope: 'pedal track 2 signal' to 'pedal ground'.",
     NULL, AT(pedal, sweep), .value = pedal2_back, VOLTS, .stated = 0.03, .less_is_good = true,
     .steps = PROBED},
    // ---- bore ----
    {"rest_opening", "Blade at rest", "Eye or protractor: opening above the closed stop.", NULL,
     AT(bore, rest), .channel = CHANNEL_blade_deg, DEGREES, .resolution = EYE_DEG, .stated = 1.0,
     .steps = PULLED},
    {"closed_gap", "Gap at the closed stop",
     "Torch behind the blade: light all round, none, or on one side.",
     "No light, or light on one side only, is a dirty bore; common practice, no source.",
     AT(bore, pressed_shut), .channel = CHANNEL_area_mm2, .unit = "mm2", .decimals = 1,
     .resolution = TORCH_MM2, .torch = true, .steps = BY_HAND | STEP(clean_bore)},
    {"stop_gap", "Gap at the stop screw",
     "Torch behind the blade: light all round, none, or on one side.",
     "No light, or light on one side only, is a dirty bore; common practice, no source.", AT(bore, key_off),
     .value = stop_gap, .unit = "mm2", .decimals = 1, .resolution = TORCH_MM2,
     .torch = true, .steps = STEP(blade) | STEP(clean_bore)},
    {"hand_shut", "Hand-press: shut", "Press the blade to its closed stop: opening left.", NULL,
     AT(bore, pressed_shut), .channel = CHANNEL_blade_deg, DEGREES, .resolution = EYE_DEG,
     .steps = BY_HAND},
    {"hand_from_shut", "Hand-press: let go from shut", "Let go: opening the springs bring it back to.", NULL,
     AT(bore, from_shut), .channel = CHANNEL_blade_deg, DEGREES, .resolution = EYE_DEG, .stated = 1.0,
     .steps = BY_HAND},
    {"hand_open", "Hand-press: wide open", "Press the blade open to its stop: opening.", NULL,
     AT(bore, pressed_open), .channel = CHANNEL_blade_deg, DEGREES, .resolution = EYE_DEG,
     .steps = BY_HAND},
    {"hand_from_open", "Hand-press: let go from open", "Let go: opening the springs bring it back to.", NULL,
     AT(bore, from_open), .channel = CHANNEL_blade_deg, DEGREES, .resolution = EYE_DEG, .stated = 1.0,
     .steps = BY_HAND},
    // ---- air ----
    {"air_signal_still", "Air-flow signal, no flow", "'Air-flow signal' to 'sensor ground'.", NULL,
     AT(air, key_on), .channel = CHANNEL_maf_v, VOLTS, .stated = 0.05, .steps = PROBED},
    {"air_idle", "Air flow, idle", "Scan tool: air flow (PID 10).", NULL, AT(air, idle),
     .channel = CHANNEL_maf_gps, GRAMS, .steps = RUNNING},
    {"air_signal_idle", "Air-flow signal, idle", "'Air-flow signal' to 'sensor ground'.", NULL, AT(air, idle),
     .channel = CHANNEL_maf_v, VOLTS, .stated = 0.03, .steps = RUNNING | METER},
    {"air_held", "Air flow, 2500 rpm", "Scan tool: air flow (PID 10).", NULL, AT(air, held),
     .channel = CHANNEL_maf_gps, GRAMS, .steps = RUNNING},
    {"air_gear", "Air flow, idle in gear", "Scan tool: air flow (PID 10).", NULL, AT(air, gear),
     .channel = CHANNEL_maf_gps, GRAMS, .steps = IN_GEAR},
    {"sensor_still", "Pressure sensor, engine off", "Scan tool: manifold absolute pressure (PID 0B).",
     "Reads the barometer.", AT(air, key_on), .channel = CHANNEL_map_kpa, KPA, .stated = 1.0,
     .steps = KEYED},
    {"charge_still", "Charge-pressure sensor, engine off", "Scan tool: charge pressure, absolute.",
     "Reads the barometer.", AT(air, key_on), .channel = CHANNEL_charge_kpa, KPA, .stated = 1.0,
     .steps = KEYED},
    {"sensor_idle", "Pressure sensor, idle", "Scan tool: manifold absolute pressure (PID 0B).", NULL,
     AT(air, idle), .channel = CHANNEL_map_kpa, KPA, .stated = 1.0, .steps = RUNNING},
    {"gauge_idle", "Manifold pressure, idle", "Gauge at the manifold, absolute.", NULL, AT(air, idle),
     .channel = CHANNEL_manifold_kpa, KPA, .stated = 1.0, .steps = RUNNING},
    {"gauge_held", "Manifold pressure, 2500 rpm", "Gauge at the manifold, absolute.", NULL, AT(air, held),
     .channel = CHANNEL_manifold_kpa, KPA, .stated = 1.0, .steps = RUNNING},
    {"gauge_gear", "Manifold pressure, idle in gear", "Gauge at the manifold, absolute.", NULL, AT(air, gear),
     .channel = CHANNEL_manifold_kpa, KPA, .stated = 1.0, .steps = IN_GEAR},
    // ---- mixture ----
    {"trims_idle", "Trims bank 1, idle", "Scan tool: short-term plus long-term trim (PIDs 06, 07).", NULL,
     AT(mixture, idle), .value = trims, PERCENT(TRIM_COUNT), .stated = 4.0, .steps = RUNNING},
    {"trims_held", "Trims bank 1, 2500 rpm", "Scan tool: short-term plus long-term trim (PIDs 06, 07).",
     "A leak shows at idle and fades here; a sensor that reads wrong shows at both.", AT(mixture, held),
     .value = trims, PERCENT(TRIM_COUNT), .stated = 4.0, .steps = RUNNING},
    {"trims2_idle", "Trims bank 2, idle", "Scan tool: short-term plus long-term trim (PIDs 08, 09).", NULL,
     AT(mixture, idle), .value = trims2, PERCENT(TRIM_COUNT), .stated = 4.0, .steps = RUNNING},
    {"trims2_held", "Trims bank 2, 2500 rpm", "Scan tool: short-term plus long-term trim (PIDs 08, 09).",
     NULL, AT(mixture, held), .value = trims2, PERCENT(TRIM_COUNT), .stated = 4.0, .steps = RUNNING},
    // ---- idle ----
    {"idle_speed", "Idle speed", "Scan tool: engine speed (PID 0C).", NULL, AT(idle, idle),
     .channel = CHANNEL_speed_rpm, .unit = "rpm", .decimals = 0, .resolution = 0.25, .stated = 15.0,
     .steps = RUNNING},
    {"idle_steadiness", "Unsteadiness of idle", "Scan tool, logged: standard deviation of engine speed.",
     NULL, AT(idle, idle), .value = steadiness_rpm, .unit = "rpm", .decimals = 1, .resolution = 0.25,
     .less_is_good = true, .steps = RUNNING},
    {"idle_opening", "Blade opening, idle",
     "Scan tool: relative throttle position (absolute less its closed reading).", NULL, AT(idle, idle),
     .value = idle_opening, .unit = "%", .decimals = 2, .resolution = POSITION_COUNT, .steps = RUNNING},
    {"idle_steps", "Bypass valve, idle", "Scan tool: steps of the idle bypass valve from its seat.", NULL,
     AT(idle, idle), .channel = CHANNEL_bypass_steps, .unit = "steps", .decimals = 0, .resolution = 1.0,
     .steps = RUNNING},
    {"gear_steps", "Bypass valve, idle in gear", "Scan tool: steps of the idle bypass valve from its seat.",
     NULL, AT(idle, gear), .channel = CHANNEL_bypass_steps, .unit = "steps", .decimals = 0, .resolution = 1.0,
     .steps = IN_GEAR},
    {"idle_learned", "Learned idle air", "Scan tool, where the maker shows it: learned air offset.",
     "Near zero on a new unit; the computer keeps it until it is reset.", AT(idle, idle),
     .channel = CHANNEL_learned_pct, PERCENT(0.4), .steps = RUNNING | STEP(relearn)},
    {"idle_spark", "Spark, idle", "Scan tool: spark advance (PID 0E).", NULL, AT(idle, idle),
     .channel = CHANNEL_spark_deg, .unit = "deg", .decimals = 1, .resolution = 0.5, .stated = 1.0,
     .steps = RUNNING},
};
// clang-format on
const size_t sheet_row_count = ARRAY_COUNT(sheet_rows);
_Static_assert(ARRAY_COUNT(sheet_rows) <= SHEET_ROW_MAX, "room for every row");
