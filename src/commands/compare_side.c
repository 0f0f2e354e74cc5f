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

/* ---- Stretches of a log ---- */

/* WHICH.CONDITION=FROM:TO; *mine is false if it is the other moment's. */
static enum status read_stretch(const char *text, const char *which, struct compare_window *window, bool *mine,
                                struct error *error) {
  struct stretch_option stretch;
  struct error no_stretch;
  error_clear(&no_stretch);
  const enum status status = stretch_option_read("at", text, "before.idle=30:60", &stretch, &no_stretch);
  const char *dot = status == STATUS_OK ? strchr(stretch.name, '.') : NULL;
  if (!dot)
    return error_set(error, STATUS_USAGE,
                     "--at %s: it wants WHICH.CONDITION=FROM:TO in seconds, FROM first, as in before.idle=30:60", text);
  const size_t length = (size_t)(dot - stretch.name);
  *mine = strlen(which) == length && strncmp(which, text, length) == 0;
  if (!*mine && strncmp(text, "before.", 7) != 0 && strncmp(text, "after.", 6) != 0)
    return error_set(error, STATUS_USAGE, "--at %s: it begins with before. or after.", text);
  const int condition = estimate_condition_find(dot + 1);
  if (condition < 0)
    return error_set(error, STATUS_USAGE,
                     "--at %s: there is no condition '%s'; they are key_on, idle, idle_ac, drive, hold_2500, cold_idle", text,
                     dot + 1);
  if (condition == ESTIMATE_CONDITION_ac_step || condition == ESTIMATE_CONDITION_gear_step)
    return error_set(error, STATUS_USAGE, "--at %s: a load step has no mean; give one of the steady conditions", text);
  if (!isfinite(stretch.from_s) || !isfinite(stretch.to_s))
    return error_set(error, STATUS_USAGE, "--at %s: FROM and TO are both wanted, in seconds", text);
  *window = (struct compare_window){(enum estimate_condition)condition, stretch.from_s, stretch.to_s};
  return STATUS_OK;
}

static enum status take_stretches(const struct command_line *line, const char *which, struct compare_moment *moment,
                                  struct error *error) {
  bool idle = false;
  for (size_t i = 0; i < options_given(line, "at"); i++) {
    struct compare_window window;
    bool mine = false;
    const enum status status = read_stretch(options_text_at(line, "at", i), which, &window, &mine, error);
    if (status != STATUS_OK) return status;
    if (!mine) continue;
    const size_t count = moment->side.readings.count;
    compare_log_add(&moment->log.recording, &window, &moment->side);
    if (moment->side.readings.count == count)
      return error_set(error, STATUS_BAD_DATA, "%s has no reading between %g and %g s, as --at %s asks", moment->path,
                       window.from_s, window.to_s, options_text_at(line, "at", i));
    if (window.condition == ESTIMATE_CONDITION_idle) {
      idle = true;
      moment->window = window;
    }
  }
  if (idle) return STATUS_OK;
  if (!compare_log_find_idle(&moment->log.recording, &moment->window))
    return error_set(
        error, STATUS_BAD_DATA,
        "%s: no idle of ten seconds or more was found in it, pedal released and nothing switched on; name it with --at "
        "%s.idle=FROM:TO, or log two minutes of warm idle",
        moment->path, which);
  compare_log_add(&moment->log.recording, &moment->window, &moment->side);
  return STATUS_OK;
}

enum status compare_side_read(const struct command_line *line, const char *which, const char *path, const struct engine *engine,
                              struct compare_moment *moment, struct error *error) {
  *moment = (struct compare_moment){.path = path};
  enum status status = find_file_exists(path, error);
  if (status == STATUS_OK) status = log_options_is_log(line, path, &moment->is_log, error);
  if (status != STATUS_OK) return status;
  if (!moment->is_log) return read_list(engine, moment, error);
  const enum status read = log_options_read(line, path, &moment->log, error);
  return read == STATUS_OK ? take_stretches(line, which, moment, error) : read;
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
