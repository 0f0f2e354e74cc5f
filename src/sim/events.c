#include "sim/events.h"

#include "control/idle.h"
#include "sim/roughness.h"

#include <stdarg.h>
#include <stdio.h>

static enum status add(struct events *events, double time_s, enum recording_event_kind kind, int code, int value,
                       struct error *error, const char *format, ...) PRINTF_LIKE(7, 8);

static enum status add(struct events *events, double time_s, enum recording_event_kind kind, int code, int value,
                       struct error *error, const char *format, ...) {
  struct recording_event event = {.time_s = time_s, .kind = kind, .code = code, .value = value};
  va_list values;
  va_start(values, format);
  vsnprintf(event.text, sizeof event.text, format, values);
  va_end(values);
  return events->sink ? events->sink(&event, events->user, error) : STATUS_OK;
}

void events_init(struct events *events, const struct vehicle *vehicle) {
  events->seen = (struct events_seen){.limp = vehicle->computer.limp, .freeze_frame = {.state = FREEZE_FRAME_NONE}};
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) events->seen.codes[i] = vehicle->computer.memory.monitors.code[i].code;
  events->seen.code_changes = vehicle->computer.memory.monitors.changes;
}

enum status events_log_step(struct events *events, double now, const struct scenario_step *step, struct error *error) {
  enum status status = STATUS_OK;
  if (step->note[0]) status = add(events, now, RECORDING_NOTE, -1, 0, error, "%s", step->note);
  if (status == STATUS_OK && step->key >= 0)
    status =
        add(events, now, RECORDING_ENGINE, -1, RECORDING_VALUE_KEY + step->key, error, "key %s", computer_key_names[step->key]);
  if (status == STATUS_OK && step->action == SCENARIO_ACTION_CLEAR_CODES)
    status = add(events, now, RECORDING_CONTROLLER, -1, RECORDING_VALUE_CLEARED, error, "codes cleared");
  if (status == STATUS_OK && step->action == SCENARIO_ACTION_RESET_LEARNED)
    status = add(events, now, RECORDING_CONTROLLER, -1, RECORDING_VALUE_RESET, error, "learned offset reset");
  if (status == STATUS_OK && step->action == SCENARIO_ACTION_LOSE_CLOSED)
    status = add(events, now, RECORDING_CONTROLLER, -1, RECORDING_VALUE_LOST_CLOSED, error, "closed stop forgotten");
  return status;
}

enum status events_log_plant(struct events *events, double time_s, enum plant_event event, struct error *error) {
  if (event == PLANT_EVENT_stall)
    return add(events, time_s, RECORDING_ENGINE, -1, RECORDING_VALUE_STALL, error, "engine stalled");
  if (event == PLANT_EVENT_standstill)
    return add(events, time_s, RECORDING_ENGINE, -1, RECORDING_VALUE_STANDSTILL, error, "engine stands");
  return STATUS_OK; // a blade touching its stop is nothing to report
}

static void store_frame(struct events *events, const struct events_moment *moment, enum monitor_code code, enum code_state now) {
  if (events->seen.freeze_frame.state == FREEZE_FRAME_STORED) return;
  struct scan_data reading;
  const double roughness = roughness_rad_s(moment->roughness);
  scan_data_take(moment->vehicle, moment->time_s, roughness, &reading);
  freeze_frame_code_stored(&events->seen.freeze_frame, &reading, code, now);
}

static enum status log_codes(struct events *events, const struct events_moment *moment, struct error *error) {
  const unsigned changes = moment->vehicle->computer.memory.monitors.changes;
  if (changes == events->seen.code_changes) return STATUS_OK;
  events->seen.code_changes = changes;
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const enum code_state now = moment->vehicle->computer.memory.monitors.code[i].code;
    if (now == events->seen.codes[i]) continue;
    events->seen.codes[i] = now;
    if (now == CODE_NONE) // the freeze frame comes and goes with its code
      freeze_frame_code_erased(&events->seen.freeze_frame, (enum monitor_code)i, moment->time_s);
    else
      store_frame(events, moment, (enum monitor_code)i, now);
    const enum status status = add(events, moment->time_s, RECORDING_CODE, i, (int)now, error, "%s %s", monitor_rows[i].code,
                                   now == CODE_NONE ? "erased" : monitors_code_state_name(now));
    if (status != STATUS_OK) return status;
  }
  return STATUS_OK;
}

/* A limit is noted when it is reached, and again only after the controller was well away from it: chatter is one event. */
static enum status log_limits(struct events *events, const struct events_moment *moment, struct error *error) {
  const struct vehicle *vehicle = moment->vehicle;
  const struct idle_air_params *air = &vehicle->engine->computer.air;
  const double learned = vehicle->computer.memory.learned_ratio, effort = vehicle->computer.effort_ratio;
  const bool learned_limit = learned >= air->learned_most_ratio - 1e-9 || learned <= air->learned_least_ratio + 1e-9;
  const bool at_limit = idle_at_limit(&vehicle->design, &vehicle->computer) && vehicle->computer.idling;
  const double now = moment->time_s;
  enum status status = STATUS_OK;
  if (learned_limit && !events->seen.learned_limit)
    status = add(events, now, RECORDING_CONTROLLER, -1, RECORDING_VALUE_LEARNED_LIMIT, error,
                 "learned offset at its limit of %.0f %%", 100.0 * learned);
  if (status == STATUS_OK && at_limit && !events->seen.at_limit)
    status =
        add(events, now, RECORDING_CONTROLLER, -1, RECORDING_VALUE_AT_LIMIT, error, "controller at its limit too: nothing left");
  const bool away = effort < 0.8 * air->effort_most_ratio && effort > 0.8 * air->effort_least_ratio;
  events->seen.learned_limit = learned_limit;
  events->seen.at_limit = at_limit || (events->seen.at_limit && !away);
  return status;
}

enum status events_log_computer(struct events *events, const struct events_moment *moment, enum computer_mode before,
                                struct error *error) {
  const struct computer_state *computer = &moment->vehicle->computer;
  enum status status = STATUS_OK;
  const double now = moment->time_s;
  if (computer->mode == COMPUTER_RUNNING && before == COMPUTER_CRANKING)
    status = add(events, now, RECORDING_ENGINE, -1, RECORDING_VALUE_STARTED, error, "engine started after %.1f s of cranking",
                 moment->crank_s);
  if (status == STATUS_OK && computer->limp != events->seen.limp && computer->limp != COMPUTER_LIMP_NONE)
    status = add(events, now, RECORDING_CONTROLLER, -1, RECORDING_VALUE_LIMP, error, "limp-home: %s",
                 computer_limp_names[computer->limp]);
  events->seen.limp = computer->limp;
  if (status == STATUS_OK) status = log_codes(events, moment, error);
  if (status == STATUS_OK) status = log_limits(events, moment, error);
  return status;
}
