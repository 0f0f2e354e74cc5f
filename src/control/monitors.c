#include "control/monitors.h"

#include "base/attributes.h"
#include "base/bounds.h"
#include "control/features.h"

#include <ctype.h>
#include <string.h>

enum { LAMP_OFF_AFTER_CYCLES = 3, ERASE_AFTER_WARM_UPS = 40 }; // 13 CCR 1968.2 (d)(2.3.1), (d)(2.4), from memory

const char *const monitor_enable_texts[MONITOR_ENABLE_COUNT] = {
#define ENABLE(name, text) text,
    MONITOR_ENABLE_LIST(ENABLE)
#undef ENABLE
};

/* What an engine must have for an enable condition ever to hold. */
static const struct {
  enum monitor_enable enable;
  unsigned needs; // bits of enum feature
} fitted[] = {
    {MONITOR_ENABLE_drive, FEATURE_electronic | FEATURE_drive},
    {MONITOR_ENABLE_air_flow, FEATURE_air_flow},
    {MONITOR_ENABLE_pressure, FEATURE_manifold_sensor},
    {MONITOR_ENABLE_two_tracks, FEATURE_two_tracks},
    {MONITOR_ENABLE_one_track, FEATURE_one_track},
    {MONITOR_ENABLE_pedal_sensor, FEATURE_electronic},
    {MONITOR_ENABLE_electronic, FEATURE_electronic | FEATURE_drive},
    {MONITOR_ENABLE_two_banks, FEATURE_two_banks},
    {MONITOR_ENABLE_bypass, FEATURE_cable},
};

unsigned monitors_possible(unsigned features) {
  unsigned possible = (1u << MONITOR_ENABLE_COUNT) - 1u;
  for (size_t i = 0; i < ARRAY_COUNT(fitted); i++)
    if (fitted[i].needs & ~features) possible &= ~(unsigned)fitted[i].enable;
  return possible;
}

/* First detection in this driving cycle. */
static void store(struct monitor_state *state, bool at_once) {
  if (at_once || state->code == CODE_PENDING) {
    state->code = CODE_CONFIRMED; // pending from an earlier cycle, or a limp-home that cannot wait
    state->lamp = true;
  } else if (state->code == CODE_NONE) {
    state->code = CODE_PENDING;
  } else if (state->lamp || state->again) {
    state->lamp = true; // confirmed long ago: still there, or back for the second time
  } else {
    state->again = true;
  }
  state->passed_cycles = 0;
  state->warm_ups = 0;
}

enum monitor_effect monitors_tick(struct monitors *monitors, const struct monitor_measures *measures, double period_s,
                                  double debounce_s) {
  enum monitor_effect effect = MONITOR_EFFECT_NONE;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const struct monitor_row *row = &monitor_rows[i];
    struct monitor_state *state = &monitors->code[i];
    if (row->enable & ~measures->enabled) {
      state->failing_s = state->passing_s = 0.0;
      continue;
    }
    const double measure = row->measure(measures);
    const bool beyond = measure > row->threshold;
    const double debounce = row->debounce_ratio * debounce_s;
    // passed long ago and still passing, as nearly always: nothing would change
    if (!beyond && state->tested && state->passing_s >= debounce && measure <= state->largest_measure) continue;
    state->largest_measure = state->watched ? bounds_larger(state->largest_measure, measure) : measure;
    state->watched = true;
    state->failing_s = beyond ? state->failing_s + period_s : 0.0;
    state->passing_s = beyond ? 0.0 : state->passing_s + period_s;
    state->longest_failing_s = bounds_larger(state->longest_failing_s, state->failing_s);
    if (state->failing_s >= debounce) {
      if (!state->failed) {
        store(state, row->effect != MONITOR_EFFECT_NONE);
        monitors->changes++;
      }
      state->failed = state->tested = state->ready = true;
      if (row->effect > effect) effect = row->effect;
    } else if (state->passing_s >= debounce) {
      state->tested = state->ready = true;
    }
  }
  return effect;
}

enum monitor_effect monitors_rest(const struct monitor_measures *measures, uint64_t *codes) {
  enum monitor_effect effect = MONITOR_EFFECT_NONE;
  *codes = 0;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const struct monitor_row *row = &monitor_rows[i];
    if (row->enable & ~measures->enabled || row->measure(measures) <= row->threshold) continue;
    *codes |= monitors_bit((enum monitor_code)i);
    if (row->effect > effect) effect = row->effect;
  }
  return effect;
}

void monitors_end_cycle(struct monitors *monitors, bool warmed_up) {
  monitors->changes++;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    struct monitor_state *state = &monitors->code[i];
    if (state->tested && !state->failed) {
      if (state->code == CODE_PENDING) state->code = CODE_NONE;
      state->again = false;
      if (state->lamp && ++state->passed_cycles >= LAMP_OFF_AFTER_CYCLES) state->lamp = false;
    }
    if (state->code == CODE_CONFIRMED && !state->failed && !state->lamp && warmed_up && ++state->warm_ups >= ERASE_AFTER_WARM_UPS)
      state->code = CODE_NONE;
    state->tested = state->failed = false;
    state->failing_s = state->passing_s = 0.0;
  }
}

void monitors_clear(struct monitors *monitors) {
  monitors->changes++;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    struct monitor_state *state = &monitors->code[i];
    const struct monitor_state seen = *state;
    memset(state, 0, sizeof *state);
    state->longest_failing_s = seen.longest_failing_s;
    state->largest_measure = seen.largest_measure;
    state->watched = seen.watched;
  }
}

const char *monitors_code_state_name(enum code_state state) {
  static const char *const names[] = {"none", "pending", "confirmed"};
  return names[state];
}

int monitors_code_bytes(const char *name) {
  static const char letters[] = "PCBU";
  static const char digits[] = "0123456789ABCDEF";
  const char *letter = name[0] ? strchr(letters, name[0]) : NULL;
  if (!letter || strlen(name) != 5 || name[1] < '0' || name[1] > '3') return -1;
  int bytes = (int)(letter - letters) << 14 | (name[1] - '0') << 12;
  for (int i = 2; i < 5; i++) {
    const char *digit = strchr(digits, toupper((unsigned char)name[i]));
    if (!digit) return -1;
    bytes |= (int)(digit - digits) << (4 * (4 - i));
  }
  return bytes;
}
