#include "commands/compare_side.h"

#include "commands/engine_any.h"
#include "commands/log_options.h"
#include "commands/stretch_option.h"
#include "io/config/find_file.h"
#include "io/log/readings_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Without an engine any reading is taken in: a shipped one lends its units. */
static enum status begin_list(const struct engine *engine, struct engine *any, struct estimate_readings_input *input,
                              struct error *error) {
  if (engine) return estimate_readings_init(input, engine, error);
  enum status status = engine_any_read("four-16", any, error);
  if (status == STATUS_OK) status = estimate_readings_init(input, any, error);
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    for (int q = 0; q < ESTIMATE_QUANTITY_COUNT; q++) input->has[c][q] = (estimate_quantities[q].conditions >> c) & 1u;
  return status;
}

static enum status read_list(const struct engine *engine, struct compare_moment *moment, struct error *error) {
  struct estimate_readings_input *input = calloc(1, sizeof *input);
  struct engine *any = calloc(1, sizeof *any);
  enum status status = input && any ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for %s", moment->path);
  if (status == STATUS_OK) status = begin_list(engine, any, input, error);
  if (status == STATUS_OK) status = readings_file_add(input, moment->path, error);
  if (status == STATUS_OK) moment->side.readings = input->given;
  free(any);
  free(input);
  return status;
}

/* ---- Logs ---- */

static enum status check_by_hand(const char *path, const struct log_phases_setting *setting, struct error *error) {
  for (size_t i = 0; i < setting->by_hand_count; i++) {
    const enum estimate_condition condition = estimate_log_condition(setting->by_hand[i].kind);
    if (condition == ESTIMATE_CONDITION_COUNT || condition == ESTIMATE_CONDITION_cold_idle)
      return error_set(error, STATUS_USAGE, "--at: %s: %s is not compared; give one of key_on, idle, idle_ac, drive, hold_2500",
                       path, log_phase_rows[setting->by_hand[i].kind].name);
  }
  return STATUS_OK;
}

static enum status add_log(const char *name, const struct log_phases_setting *setting, struct compare_moment *moment,
                           struct error *error) {
  struct error one;
  error_clear(&one);
  struct log_phases *phases = calloc(1, sizeof *phases);
  if (!phases) return error_set(error, STATUS_NO_MEMORY, "out of memory for the phases of %s", moment->path);
  enum status status = log_phases_find(&moment->log.recording, setting, phases, &one);
  if (status != STATUS_OK)
    error_set(error, status, "%s: %s", moment->path, one.text);
  else if (!compare_log_add(&moment->log.recording, phases, &moment->side, &moment->window))
    status =
        error_set(error, STATUS_BAD_DATA,
                  "%s: no idle of ten seconds or more was found in it, with the pedal released and nothing switched on; bladegap "
                  "phases %s shows what was found. Name it with --at %s.idle=FROM:TO, or log two minutes of warm idle",
                  moment->path, moment->path, name);
  free(phases);
  return status;
}

static enum status take_log(const struct command_line *line, const struct compare_side_which *which,
                            struct compare_moment *moment, struct error *error) {
  struct log_phase by_hand[STRETCH_OPTION_MAX];
  struct log_phases_setting setting = {.by_hand = by_hand};
  enum status status =
      stretch_option_phases_of(line, "at", which->moments, which->moment, by_hand, &setting.by_hand_count, error);
  if (status == STATUS_OK) status = check_by_hand(moment->path, &setting, error);
  return status == STATUS_OK ? add_log(which->moment, &setting, moment, error) : status;
}

enum status compare_side_read(const struct command_line *line, const struct compare_side_which *which, const char *path,
                              const struct engine *engine, struct compare_moment *moment, struct error *error) {
  *moment = (struct compare_moment){.path = path};
  enum status status = find_file_exists(path, error);
  if (status == STATUS_OK) status = log_options_is_log(line, path, &moment->is_log, error);
  if (status != STATUS_OK) return status;
  if (!moment->is_log) return read_list(engine, moment, error);
  const enum status read = log_options_read(line, path, &moment->log, error);
  return read == STATUS_OK ? take_log(line, which, moment, error) : read;
}

enum status compare_side_explain(const struct compare_side *side, struct estimate_readings_input *input, struct error *error) {
  enum status status = STATUS_OK;
  for (size_t i = 0; status == STATUS_OK && i < side->readings.count; i++) {
    const struct estimate_reading *r = &side->readings.readings[i];
    if (!input->has[r->condition][r->quantity]) continue;
    const double least = estimate_reading_sd(r->quantity, r->value, NAN, NAN);
    status = estimate_readings_add(input, estimate_quantities[r->quantity].name, estimate_conditions[r->condition].name, r->value,
                                   fmax(r->sd, least), error);
  }
  return status;
}

void compare_side_end(struct compare_moment *moment) {
  if (moment->is_log) log_text_destroy(&moment->log);
}
