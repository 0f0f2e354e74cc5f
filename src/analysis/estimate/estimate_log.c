#include "analysis/estimate/estimate_log.h"

#include "analysis/log/log_mean.h"
#include "base/attributes.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define COLD_FROM_S  45.0 // after a cold start: estimate_conditions says a minute
#define COLD_TO_S    75.0
#define SHORTEST_S   3.0 // of a window; less is no mean
#define END_S        0.5 // what ends a phase, such as a foot, moves before the speed does
#define START_NEAR_S 5.0

/* Which channel gives which quantity. */
static const struct pair {
  enum channel channel;
  enum estimate_quantity quantity;
} pairs[] = {
#define PAIR(name) \
  { CHANNEL_##name, ESTIMATE_QUANTITY_##name }
    PAIR(speed_rpm),
    PAIR(target_rpm),
    PAIR(tp_pct),
    PAIR(blade_pct),
    PAIR(maf_gps),
    PAIR(map_kpa),
    PAIR(charge_kpa),
    PAIR(load_pct),
    PAIR(spark_deg),
    PAIR(stft_pct),
    PAIR(ltft_pct),
    PAIR(stft2_pct),
    PAIR(ltft2_pct),
    PAIR(learned_pct),
    PAIR(effort_pct),
    PAIR(coolant_c),
    PAIR(intake_c),
    PAIR(bypass_steps),
    PAIR(manifold_kpa),
    PAIR(tps1_v),
    PAIR(tps2_v),
    PAIR(maf_v),
    PAIR(battery_v),
#undef PAIR
    {CHANNEL_battery_v, ESTIMATE_QUANTITY_charging_v},
};

/* Phases that are conditions. */
static const struct {
  enum log_phase_kind kind;
  enum estimate_condition condition;
} steady[] = {
    {LOG_PHASE_key_on, ESTIMATE_CONDITION_key_on},       {LOG_PHASE_idle, ESTIMATE_CONDITION_idle},
    {LOG_PHASE_idle_ac, ESTIMATE_CONDITION_idle_ac},     {LOG_PHASE_drive, ESTIMATE_CONDITION_drive},
    {LOG_PHASE_hold_2500, ESTIMATE_CONDITION_hold_2500}, {LOG_PHASE_cold_idle, ESTIMATE_CONDITION_cold_idle},
};

struct adding {
  struct estimate_readings_input *input;
  struct estimate_log *log;
  struct error *error;
  size_t added;
  struct estimate_log_windows windows;
};

enum channel estimate_log_channel(enum estimate_quantity quantity) {
  for (size_t i = 0; i < ARRAY_COUNT(pairs); i++)
    if (pairs[i].quantity == quantity) return pairs[i].channel;
  return CHANNEL_time_s;
}

static void PRINTF_LIKE(2, 3) note(struct estimate_log *log, const char *format, ...) {
  const size_t used = strlen(log->notes);
  va_list values;
  va_start(values, format);
  vsnprintf(log->notes + used, sizeof log->notes - used, format, values);
  va_end(values);
}

/* ---- Windows ---- */

enum estimate_condition estimate_log_condition(enum log_phase_kind kind) {
  for (size_t i = 0; i < ARRAY_COUNT(steady); i++)
    if (steady[i].kind == kind) return steady[i].condition;
  return ESTIMATE_CONDITION_COUNT;
}

static void add_window(enum log_phase_kind kind, double from_s, double to_s, struct estimate_log_windows *windows) {
  if (to_s - from_s < (kind == LOG_PHASE_key_on ? 0.3 : SHORTEST_S)) return;
  windows->windows[windows->count++] = (struct estimate_log_window){from_s, to_s};
}

void estimate_log_windows_find(const struct log_phases *phases, enum log_phase_kind kind, struct estimate_log_windows *windows) {
  windows->count = 0;
  for (size_t i = 0; i < phases->count; i++)
    if (phases->phases[i].kind == kind)
      add_window(kind, phases->phases[i].settled_s, phases->phases[i].to_s - (phases->phases[i].by_hand ? 0.0 : END_S), windows);
}

/* From a cold start on, if the log shows one. */
static bool cold_window(const struct log_phases *phases, const struct log_phase *phase, struct estimate_log_window *window) {
  if (phase->by_hand) return true;
  for (size_t i = 0; i < phases->count; i++) {
    const struct log_phase *start = &phases->phases[i];
    if (start->kind != LOG_PHASE_cranking || fabs(start->to_s - phase->from_s) > START_NEAR_S) continue;
    *window = (struct estimate_log_window){start->to_s + COLD_FROM_S, fmin(start->to_s + COLD_TO_S, phase->to_s)};
    return true;
  }
  return false;
}

static void find_cold_windows(struct adding *adding) {
  const struct log_phases *phases = adding->log->phases;
  adding->windows.count = 0;
  for (size_t i = 0; i < phases->count; i++) {
    const struct log_phase *phase = &phases->phases[i];
    struct estimate_log_window window = {phase->settled_s, phase->to_s};
    if (phase->kind != LOG_PHASE_cold_idle) continue;
    if (cold_window(phases, phase, &window))
      add_window(phase->kind, window.from_s, window.to_s, &adding->windows);
    else
      note(adding->log, "%s: cold idle from %.1f s not taken: the log does not show the start, and so not how long it has run\n",
           adding->log->name, phase->from_s);
  }
}

/* ---- Means ---- */

bool estimate_log_mean(const struct recording *recording, const struct estimate_log_windows *windows, enum channel channel,
                       double *value, double *sd) {
  double weights = 0.0, sum = 0.0, squares = 0.0, within = 0.0;
  size_t count = 0;
  for (size_t i = 0; i < windows->count; i++) {
    struct log_mean mean;
    const struct estimate_log_window *window = &windows->windows[i];
    if (!log_mean_of(recording, channel, window->from_s, window->to_s, &mean)) continue;
    const double weight = window->to_s - window->from_s;
    const double off = mean.mean - (count ? sum / weights : mean.mean);
    weights += weight;
    sum += weight * mean.mean;
    squares += weight * off * (mean.mean - sum / weights);
    within += weight * weight * mean.se * mean.se;
    count++;
  }
  if (count == 0) return false;
  *value = sum / weights;
  const double of_mean = within / (weights * weights);
  const double between = count > 1 ? squares / weights * (double)count / (double)(count - 1) : 0.0;
  // what windows differ by beyond their own errors is not averaged away: which of them is the car's is not told
  *sd = sqrt(of_mean + fmax(between - (double)count * of_mean, 0.0));
  return true;
}

static bool combined(const struct adding *adding, enum channel channel, double *value, double *sd) {
  return estimate_log_mean(adding->log->recording, &adding->windows, channel, value, sd);
}

static enum status add(struct adding *adding, enum estimate_quantity quantity, enum estimate_condition condition, double value,
                       double sd) {
  const double usual = estimate_reading_sd(quantity, value, NAN, NAN);
  const size_t before = adding->input->given.count;
  const enum status status = estimate_readings_add(adding->input, estimate_quantities[quantity].name,
                                                   estimate_conditions[condition].name, value, fmax(sd, usual), adding->error);
  if (status != STATUS_OK) return status;
  if (adding->input->given.count > before)
    snprintf(adding->input->places[before], ESTIMATE_READINGS_PLACE_SIZE, "%s: %s at %s", adding->log->name,
             estimate_quantities[quantity].name, estimate_conditions[condition].name);
  adding->added++;
  return STATUS_OK;
}

static void note_windows(struct adding *adding, enum estimate_condition condition, size_t taken) {
  note(adding->log, "%s: %s from", adding->log->name, estimate_conditions[condition].name);
  for (size_t i = 0; i < adding->windows.count; i++)
    note(adding->log, "%s %.1f to %.1f s", i ? "," : "", adding->windows.windows[i].from_s, adding->windows.windows[i].to_s);
  note(adding->log, ": %zu reading%s\n", taken, taken == 1 ? "" : "s");
}

/* How cold it was must be told by both sensors; these are no readings. */
static bool take_cold(struct adding *adding) {
  double coolant_c, intake_c, sd;
  if (combined(adding, CHANNEL_coolant_c, &coolant_c, &sd) && combined(adding, CHANNEL_intake_c, &intake_c, &sd)) {
    const char *name = estimate_conditions[ESTIMATE_CONDITION_cold_idle].name;
    return estimate_readings_add(adding->input, "coolant_c", name, coolant_c, NAN, adding->error) == STATUS_OK &&
           estimate_readings_add(adding->input, "intake_c", name, intake_c, NAN, adding->error) == STATUS_OK;
  }
  note(adding->log, "%s: cold idle not taken: it takes the coolant and the intake air, to say how cold the car was\n",
       adding->log->name);
  return false;
}

static enum status add_condition(struct adding *adding, enum log_phase_kind kind, enum estimate_condition condition) {
  if (kind == LOG_PHASE_cold_idle)
    find_cold_windows(adding);
  else
    estimate_log_windows_find(adding->log->phases, kind, &adding->windows);
  if (adding->windows.count == 0 || !estimate_forward_has(adding->input->engine, condition)) return STATUS_OK;
  if (condition == ESTIMATE_CONDITION_cold_idle && !take_cold(adding)) return adding->error->status;
  const size_t before = adding->added;
  for (size_t i = 0; i < ARRAY_COUNT(pairs); i++) {
    double value, sd;
    const enum estimate_quantity quantity = pairs[i].quantity;
    if (!((estimate_quantities[quantity].conditions >> condition) & 1u) || !adding->input->has[condition][quantity]) continue;
    if (!combined(adding, pairs[i].channel, &value, &sd)) continue;
    const enum status status = add(adding, quantity, condition, value, sd);
    if (status != STATUS_OK) return status;
  }
  note_windows(adding, condition, adding->added - before);
  return STATUS_OK;
}

/* Lowest speed after a load that a column names, of a car that idled. */
static enum status add_steps(struct adding *adding, enum log_step_cause cause, enum estimate_condition condition) {
  const struct log_phases *phases = adding->log->phases;
  double sum = 0.0, squares = 0.0;
  size_t count = 0;
  for (size_t i = 0; i < phases->count; i++) {
    const struct log_phase *phase = &phases->phases[i];
    if (phase->kind != LOG_PHASE_load_step || phase->cause != cause || !phase->on || isnan(phase->lowest_rpm) || phase->by_hand)
      continue;
    sum += phase->lowest_rpm;
    squares += phase->lowest_rpm * phase->lowest_rpm;
    count++;
  }
  if (count == 0 || !adding->input->has[condition][ESTIMATE_QUANTITY_speed_rpm]) return STATUS_OK;
  const double mean = sum / (double)count;
  const double spread = count > 1 ? sqrt(fmax(squares - sum * mean, 0.0) / (double)(count - 1)) : 0.0;
  note(adding->log, "%s: %s from %zu step%s: lowest speed %.0f rpm\n", adding->log->name, estimate_conditions[condition].name,
       count, count == 1 ? "" : "s", mean);
  return add(adding, ESTIMATE_QUANTITY_speed_rpm, condition, mean, spread);
}

static void note_untold(struct estimate_log *log) {
  const struct log_phases *phases = log->phases;
  bool idles = false, warm = true;
  for (size_t i = 0; i < phases->count; i++) {
    idles |= phases->phases[i].kind == LOG_PHASE_idle;
    warm &= phases->phases[i].kind != LOG_PHASE_idle || phases->phases[i].warm_told;
  }
  if (idles && !warm) note(log, "%s: no coolant is logged: the engine is taken to have been warm\n", log->name);
  if (idles && (!phases->has[CHANNEL_air_conditioning] || !phases->has[CHANNEL_drive]))
    note(log, "%s: no column tells %s: idle is taken to have been without\n", log->name,
         phases->has[CHANNEL_drive]              ? "the compressor"
         : phases->has[CHANNEL_air_conditioning] ? "the gear"
                                                 : "compressor and gear");
}

enum status estimate_log_add(struct estimate_readings_input *input, struct estimate_log *log, struct error *error) {
  struct adding adding = {.input = input, .log = log, .error = error};
  log->notes[0] = '\0';
  memset(log->shown, 0, sizeof log->shown);
  for (size_t i = 0; i < ARRAY_COUNT(pairs); i++)
    if (log->phases->has[pairs[i].channel]) log->shown[pairs[i].quantity] = true;
  for (size_t i = 0; i < ESTIMATE_WHOLE_COUNT; i++)
    log->shown[estimate_wholes[i].whole] = log->shown[estimate_wholes[i].parts[0]] && log->shown[estimate_wholes[i].parts[1]];
  enum status status = STATUS_OK;
  for (size_t i = 0; i < ARRAY_COUNT(steady) && status == STATUS_OK; i++)
    status = add_condition(&adding, steady[i].kind, steady[i].condition);
  if (status == STATUS_OK) status = add_steps(&adding, LOG_STEP_compressor, ESTIMATE_CONDITION_ac_step);
  if (status == STATUS_OK) status = add_steps(&adding, LOG_STEP_gear, ESTIMATE_CONDITION_gear_step);
  if (status != STATUS_OK) return status;
  note_untold(log);
  if (adding.added == 0)
    return error_append(
        error, STATUS_BAD_DATA,
        "%s: no idle, no 2500 rpm and no key on that could be read is found in this log; bladegap phases %s shows what "
        "is, and --at idle=30:60 says where one is",
        log->name, log->name);
  return STATUS_OK;
}
