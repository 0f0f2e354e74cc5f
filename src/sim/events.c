#include "sim/events.h"

#include "control/idle.h"

#include <stdarg.h>
#include <stdio.h>

static enum status add(struct simulation *sim, double time_s, enum recording_event_kind kind, int code, int value,
                       struct error *error, const char *format, ...) PRINTF_LIKE(7, 8);

static enum status add(struct simulation *sim, double time_s, enum recording_event_kind kind, int code, int value,
                       struct error *error, const char *format, ...) {
  if (!sim->recording) return STATUS_OK;
  struct recording_event event = {.time_s = time_s, .kind = kind, .code = code, .value = value};
  va_list values;
  va_start(values, format);
  vsnprintf(event.text, sizeof event.text, format, values);
  va_end(values);
  return recording_add_event(sim->recording, &event, error);
}

void events_init(struct simulation *sim) {
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) sim->codes_seen[i] = sim->vehicle.computer.memory.monitors.code[i].code;
  sim->learned_limit_seen = sim->at_limit_seen = false;
  sim->freeze_frame = (struct freeze_frame){.state = FREEZE_FRAME_NONE};
}

enum status events_log_step(struct simulation *sim, const struct scenario_step *step, struct error *error) {
  const double now = simulation_time_s(sim);
  enum status status = STATUS_OK;
  if (step->note[0]) status = add(sim, now, RECORDING_NOTE, -1, 0, error, "%s", step->note);
  if (status == STATUS_OK && step->key >= 0)
    status = add(sim, now, RECORDING_ENGINE, -1, RECORDING_VALUE_KEY + step->key, error, "key %s", computer_key_names[step->key]);
  if (status == STATUS_OK && step->action == SCENARIO_ACTION_CLEAR_CODES)
    status = add(sim, now, RECORDING_CONTROLLER, -1, RECORDING_VALUE_CLEARED, error, "codes cleared");
  if (status == STATUS_OK && step->action == SCENARIO_ACTION_RESET_LEARNED)
    status = add(sim, now, RECORDING_CONTROLLER, -1, RECORDING_VALUE_RESET, error, "learned offset reset");
  if (status == STATUS_OK && step->action == SCENARIO_ACTION_LOSE_CLOSED)
    status = add(sim, now, RECORDING_CONTROLLER, -1, RECORDING_VALUE_LOST_CLOSED, error, "closed stop forgotten");
  return status;
}

enum status events_log_plant(struct simulation *sim, double time_s, enum plant_event event, struct error *error) {
  if (event == PLANT_EVENT_stall) return add(sim, time_s, RECORDING_ENGINE, -1, RECORDING_VALUE_STALL, error, "engine stalled");
  if (event == PLANT_EVENT_standstill)
    return add(sim, time_s, RECORDING_ENGINE, -1, RECORDING_VALUE_STANDSTILL, error, "engine stands");
  return STATUS_OK; // a blade touching its stop is nothing to report
}

static void store_frame(struct simulation *sim, enum monitor_code code, enum code_state now) {
  if (sim->freeze_frame.state == FREEZE_FRAME_STORED) return;
  struct reading reading;
  simulation_read(sim, &reading);
  freeze_frame_code_stored(&sim->freeze_frame, &reading, code, now);
}

/* The freeze frame comes and goes with its code. */
static void keep_frame(struct simulation *sim, enum monitor_code code, enum code_state now) {
  if (!sim->recording) return; // still settling in
  if (now == CODE_NONE)
    freeze_frame_code_erased(&sim->freeze_frame, code, simulation_time_s(sim));
  else
    store_frame(sim, code, now);
}

static enum status log_codes(struct simulation *sim, struct error *error) {
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const enum code_state now = sim->vehicle.computer.memory.monitors.code[i].code;
    if (now == sim->codes_seen[i]) continue;
    sim->codes_seen[i] = now;
    keep_frame(sim, (enum monitor_code)i, now);
    const enum status status = add(sim, simulation_time_s(sim), RECORDING_CODE, i, (int)now, error, "%s %s", monitor_rows[i].code,
                                   now == CODE_NONE ? "erased" : monitors_code_state_name(now));
    if (status != STATUS_OK) return status;
  }
  return STATUS_OK;
}

/* A limit is noted when it is reached, and again only after the controller was well away from it: chatter is one event. */
static enum status log_limits(struct simulation *sim, struct error *error) {
  const struct idle_air_params *air = &sim->vehicle.engine->computer.air;
  const double learned = sim->vehicle.computer.memory.learned_ratio, effort = sim->vehicle.computer.effort_ratio;
  const bool learned_limit = learned >= air->learned_most_ratio - 1e-9 || learned <= air->learned_least_ratio + 1e-9;
  const bool at_limit = idle_at_limit(&sim->vehicle.design, &sim->vehicle.computer) && sim->vehicle.computer.idling;
  const double now = simulation_time_s(sim);
  enum status status = STATUS_OK;
  if (learned_limit && !sim->learned_limit_seen)
    status = add(sim, now, RECORDING_CONTROLLER, -1, RECORDING_VALUE_LEARNED_LIMIT, error,
                 "learned offset at its limit of %.0f %%", 100.0 * learned);
  if (status == STATUS_OK && at_limit && !sim->at_limit_seen)
    status =
        add(sim, now, RECORDING_CONTROLLER, -1, RECORDING_VALUE_AT_LIMIT, error, "controller at its limit too: nothing left");
  const bool away = effort < 0.8 * air->effort_most_ratio && effort > 0.8 * air->effort_least_ratio;
  sim->learned_limit_seen = learned_limit;
  sim->at_limit_seen = at_limit || (sim->at_limit_seen && !away);
  return status;
}

/* Takes what is due at this tick. */
static void take_scans(struct simulation *sim) {
  const double nearest_from_s = simulation_time_s(sim) + 0.5 * COMPUTER_PERIOD_S;
  for (size_t i = 0; i < sim->scan_count; i++)
    if (!sim->scans[i].taken && sim->scans[i].wanted_s < nearest_from_s) simulation_scan(sim, &sim->scans[i]);
}

enum status events_log_computer(struct simulation *sim, enum computer_mode before, struct error *error) {
  enum status status = STATUS_OK;
  const double now = simulation_time_s(sim);
  if (sim->vehicle.computer.mode == COMPUTER_RUNNING && before == COMPUTER_CRANKING)
    status = add(sim, now, RECORDING_ENGINE, -1, RECORDING_VALUE_STARTED, error, "engine started after %.1f s of cranking",
                 sim->crank_s);
  if (status == STATUS_OK && sim->vehicle.computer.limp != sim->limp_seen && sim->vehicle.computer.limp != COMPUTER_LIMP_NONE)
    status = add(sim, now, RECORDING_CONTROLLER, -1, RECORDING_VALUE_LIMP, error, "limp-home: %s",
                 computer_limp_names[sim->vehicle.computer.limp]);
  sim->limp_seen = sim->vehicle.computer.limp;
  if (status == STATUS_OK) status = log_codes(sim, error);
  if (status == STATUS_OK) status = log_limits(sim, error);
  if (sim->recording) take_scans(sim);
  return status;
}
