/* Which codes set, and why the others kept quiet. */
#include "analysis/explain_account.h"

#include <math.h>
#include <stdio.h>

#define RPM UNITS_RAD_S_PER_RPM

/* Why a code that did not set kept quiet. */
static void say_quiet(struct explain_account *a, int code) {
  const struct monitor_state *state = &a->sim->computer.memory.monitors.code[code];
  const struct monitor_row *row = &monitor_rows[code];
  const double debounce = row->debounce_ratio * a->sim->engine->computer.supervision.debounce_s;
  const double most_rpm = fmax(state->largest_measure, 0.0) / RPM;
  if (state->largest_measure > row->threshold) {
    explain_account_say(a, "%s kept quiet: its limit of %.0f rpm was passed for %.1f s at most, and it needs %.0f.", row->code,
                        row->threshold / RPM, state->longest_failing_s, debounce);
    return;
  }
  for (int bit = 0; bit < MONITOR_ENABLE_COUNT; bit++) {
    if (!(state->missing & (1u << bit))) continue;
    explain_account_say(a, "%s kept quiet: while the idle was beyond its %.0f rpm, %s.", row->code, row->threshold / RPM,
                        monitor_enable_texts[bit]);
    return;
  }
  explain_account_say(a, "%s kept quiet: the idle was never more than %.0f rpm off on its side while it was watching; it "
                      "needs %.0f.",
                      row->code, most_rpm, row->threshold / RPM);
}

/* Nothing beyond this was seen on the code's side: not worth a sentence of its own. */
#define NOTHING_RPM 1.0

static bool saw_nothing(const struct explain_account *a, int code) {
  const struct monitor_state *state = &a->sim->computer.memory.monitors.code[code];
  return !state->missing && state->largest_measure < NOTHING_RPM * RPM;
}

static void say_nothing_seen(struct explain_account *a, const bool set[MONITOR_CODE_COUNT]) {
  char codes[EXPLAIN_TEXT_SIZE / 2] = "";
  size_t used = 0;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    if (set[i] || !saw_nothing(a, i) || used + 10 > sizeof codes) continue;
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
      explain_account_say(a, "%s (%s) pending at %.0f s: %s for %.0f s.", row->code, row->text, event->time_s, row->condition,
                          row->debounce_ratio * a->sim->engine->computer.supervision.debounce_s);
    else if (event->value == CODE_CONFIRMED)
      explain_account_say(a, "%s confirmed at %.0f s, lamp on: found again in the next driving cycle.", row->code,
                          event->time_s);
    else
      explain_account_say(a, "%s erased at %.0f s.", row->code, event->time_s);
  }
  for (int i = 0; i < MONITOR_CODE_COUNT; i++)
    if (!set[i] && !saw_nothing(a, i)) say_quiet(a, i);
  say_nothing_seen(a, set);
}
