#include "control/monitors.h"

#include "base/attributes.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

#define RPM UNITS_RAD_S_PER_RPM

enum { LAMP_OFF_AFTER_CYCLES = 3, ERASE_AFTER_WARM_UPS = 40 }; // 13 CCR 1968.2 (d)(2.3.1), (d)(2.4), from memory

const char *const monitor_enable_texts[MONITOR_ENABLE_COUNT] = {
#define ENABLE(name, text) text,
    MONITOR_ENABLE_LIST(ENABLE)
#undef ENABLE
};

static double low_speed(const struct monitor_measures *measures) { return measures->low_speed_rad_s; }
static double high_speed(const struct monitor_measures *measures) { return measures->high_speed_rad_s; }
static double either_way(const struct monitor_measures *measures) {
  return fmax(measures->low_speed_rad_s, measures->high_speed_rad_s);
}

#define IDLE (MONITOR_ENABLE_running | MONITOR_ENABLE_idling | MONITOR_ENABLE_warm | MONITOR_ENABLE_settled)

/* Columns: code, definition, enable bits, measure, threshold, debounce, condition. The 100 and 200 rpm are
 * 13 CCR 1968.2 (e)(15.2.2)(B); the 50 rpm and twice the time of P0505 are our own choice. */
const struct monitor_row monitor_rows[MONITOR_CODE_COUNT] = {
    {"P0505", "Idle Control System", IDLE | MONITOR_ENABLE_at_limit, either_way, 50 * RPM, 2.0,
     "controller and learned offset both at their limit and idle still more than 50 rpm off target"},
    {"P0506", "Idle Control System RPM Lower Than Expected", IDLE, low_speed, 100 * RPM, 1.0,
     "idle more than 100 rpm below target"},
    {"P0507", "Idle Control System RPM Higher Than Expected", IDLE, high_speed, 200 * RPM, 1.0,
     "idle more than 200 rpm above target"},
};

/* First detection in this driving cycle. */
static void store(struct monitor_state *state) {
  if (state->code == CODE_NONE) {
    state->code = CODE_PENDING;
  } else {
    state->code = CODE_CONFIRMED; // it was pending from an earlier cycle, this one had stored nothing yet
  }
  if (state->code == CODE_CONFIRMED) state->lamp = true;
  state->passed_cycles = 0;
  state->warm_ups = 0;
}

void monitors_tick(struct monitors *monitors, const struct monitor_measures *measures, double period_s,
                   double debounce_s) {
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const struct monitor_row *row = &monitor_rows[i];
    struct monitor_state *state = &monitors->code[i];
    const double measure = row->measure(measures);
    const unsigned missing = row->enable & ~measures->enabled;
    const bool beyond = measure > row->threshold_rad_s;
    if (missing) {
      if (beyond && (measures->enabled & MONITOR_ENABLE_running)) state->missing |= missing;
      state->failing_s = state->passing_s = 0.0;
      continue;
    }
    state->largest_measure_rad_s = fmax(state->largest_measure_rad_s, measure);
    state->failing_s = beyond ? state->failing_s + period_s : 0.0;
    state->passing_s = beyond ? 0.0 : state->passing_s + period_s;
    state->longest_failing_s = fmax(state->longest_failing_s, state->failing_s);
    const double debounce = row->debounce_ratio * debounce_s;
    if (state->failing_s >= debounce) {
      if (!state->failed) store(state);
      state->failed = state->tested = true;
    } else if (state->passing_s >= debounce) {
      state->tested = true;
    }
  }
}

void monitors_end_cycle(struct monitors *monitors, bool warmed_up) {
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    struct monitor_state *state = &monitors->code[i];
    if (state->tested && !state->failed) {
      if (state->code == CODE_PENDING) state->code = CODE_NONE;
      if (state->lamp && ++state->passed_cycles >= LAMP_OFF_AFTER_CYCLES) state->lamp = false;
    }
    if (state->code == CODE_CONFIRMED && !state->failed && !state->lamp && warmed_up &&
        ++state->warm_ups >= ERASE_AFTER_WARM_UPS)
      state->code = CODE_NONE;
    state->tested = state->failed = false;
    state->failing_s = state->passing_s = 0.0;
  }
}

void monitors_clear(struct monitors *monitors) {
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    struct monitor_state *state = &monitors->code[i];
    const struct monitor_state seen = *state;
    memset(state, 0, sizeof *state);
    state->longest_failing_s = seen.longest_failing_s;
    state->largest_measure_rad_s = seen.largest_measure_rad_s;
    state->missing = seen.missing;
  }
}

const char *monitors_code_state_name(enum code_state state) {
  static const char *const names[] = {"none", "pending", "confirmed"};
  return names[state];
}
