/* Which codes set, and why the others kept quiet. */
#include "analysis/run/explain_account.h"

#include <math.h>
#include <stdio.h>

/* Codes whose silence is worth a word: those a class expects when the idle is not right. Circuit codes are not. */
static const enum monitor_code expected[] = {MONITOR_P0101, MONITOR_P0171, MONITOR_P0172, MONITOR_P0300,
                                             MONITOR_P0505, MONITOR_P0506, MONITOR_P0507};

static bool is_expected(int code) {
  for (size_t i = 0; i < ARRAY_COUNT(expected); i++)
    if ((int)expected[i] == code) return true;
  return false;
}

/* Why a code that did not set kept quiet. */
static void say_quiet(struct explain_account *a, int code) {
  const struct monitor_state *state = &a->sim->vehicle.computer.memory.monitors.code[code];
  const struct monitor_row *row = &monitor_rows[code];
  const double debounce = row->debounce_ratio * a->sim->vehicle.engine->computer.supervision.debounce_s;
  const double limit = row->threshold * row->user_factor, most = state->largest_measure * row->user_factor;
  if (state->watched && state->largest_measure > row->threshold) {
    explain_account_say(a, "%s kept quiet: its limit of %.0f %s was passed for %.1f s at most, and it needs %.1f.", row->code,
                        limit, row->user_unit, state->longest_failing_s, debounce);
    return;
  }
  for (int bit = 0; bit < MONITOR_ENABLE_COUNT; bit++) {
    if (!(state->missing & (1u << bit))) continue;
    explain_account_say(a, "%s kept quiet: while its limit of %.0f %s was passed, %s.", row->code, limit, row->user_unit,
                        monitor_enable_texts[bit]);
    return;
  }
  explain_account_say(a, "%s kept quiet: the most it saw while watching was %.0f %s; it needs %.0f.", row->code, fmax(most, 0.0),
                      row->user_unit, limit);
}

/* Less than this share of the limit was seen on the code's side: not worth a sentence of its own. */
#define NOTHING_RATIO 0.2

static bool saw_nothing(const struct explain_account *a, int code) {
  const struct monitor_state *state = &a->sim->vehicle.computer.memory.monitors.code[code];
  if (state->missing) return false;
  return !state->watched || state->largest_measure < NOTHING_RATIO * monitor_rows[code].threshold;
}

static void say_nothing_seen(struct explain_account *a, const bool set[MONITOR_CODE_COUNT]) {
  char codes[EXPLAIN_TEXT_SIZE / 2] = "";
  size_t used = 0;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const bool watched = a->sim->vehicle.computer.memory.monitors.code[i].watched;
    if (set[i] || !watched || !is_expected(i) || !saw_nothing(a, i) || used + 10 > sizeof codes) continue;
    used += (size_t)snprintf(codes + used, sizeof codes - used, "%s%s", used ? ", " : "", monitor_rows[i].code);
  }
  if (used) explain_account_say(a, "%s kept quiet: there was nothing on that side to see.", codes);
}

void explain_codes_tell(struct explain_account *a) {
  bool set[MONITOR_CODE_COUNT] = {false};
  for (size_t i = 0; i < a->recording->event_count; i++) {
    const struct recording_event *event = &a->recording->events[i];
    if (event->kind != RECORDING_CODE) continue;
    set[event->code] = true;
    const struct monitor_row *row = &monitor_rows[event->code];
    if (event->value == CODE_PENDING)
      explain_account_say(a, "%s (%s) pending at %.0f s: %s for %.3g s.", row->code, row->text, event->time_s, row->condition,
                          row->debounce_ratio * a->sim->vehicle.engine->computer.supervision.debounce_s);
    else if (event->value == CODE_CONFIRMED)
      explain_account_say(a, "%s confirmed at %.0f s, lamp on: %s.", row->code, event->time_s,
                          row->effect == MONITOR_EFFECT_NONE ? "found again in the next driving cycle"
                                                             : "limp-home does not wait for a second cycle");
    else
      explain_account_say(a, "%s erased at %.0f s.", row->code, event->time_s);
  }
  for (int i = 0; i < MONITOR_CODE_COUNT; i++)
    if (!set[i] && is_expected(i) && !saw_nothing(a, i)) say_quiet(a, i);
  say_nothing_seen(a, set);
}
