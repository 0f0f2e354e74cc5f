#include "sim/scenario.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *const scenario_action_names[] = {"none", "clear_codes", "reset_learned", "lose_closed_stop", 0};
const char *const scenario_start_names[] = {"idling", "key_off", "settled", 0};

void scenario_init(struct scenario *scenario) {
  *scenario = (struct scenario){0};
  scenario->record_s = 0.1;
  scenario->seed = 1;
  scenario->running = true;
  conditions_init(&scenario->initial);
}

void scenario_destroy(struct scenario *scenario) {
  if (!scenario) return;
  free(scenario->steps);
  scenario->steps = NULL;
  scenario->step_count = 0;
}

void scenario_set_start(struct scenario *scenario, enum scenario_start start) {
  scenario->running = start != SCENARIO_START_KEY_OFF;
  scenario->settled = start == SCENARIO_START_SETTLED;
}

enum scenario_start scenario_start_of(const struct scenario *scenario) {
  if (!scenario->running) return SCENARIO_START_KEY_OFF;
  return scenario->settled ? SCENARIO_START_SETTLED : SCENARIO_START_IDLING;
}

/* A value in the user's unit, without the last digit that conversion from SI may have added. */
static double user_value(const struct field *field, double si) {
  const double value = field_from_si(field, si), hair = 1e-12 * (field->max - field->min);
  if (value > field->max && value <= field->max + hair) return field->max;
  if (value < field->min && value >= field->min - hair) return field->min;
  return value;
}

static enum status check_set(const struct scenario_step *step, const struct scenario_set *set, const struct conditions *before,
                             struct error *error) {
  if (set->condition >= condition_count)
    return error_set(error, STATUS_USAGE, "there is no condition %zu; allowed: 0 to %zu", set->condition, condition_count - 1);
  const struct condition_row *row = &condition_rows[set->condition];
  const enum status status = condition_check(row, user_value(&row->field, set->value), error);
  if (status != STATUS_OK || step->ramp_s <= 0.0) return status;
  if (row->field.kind == FIELD_SWITCH)
    return error_set(error, STATUS_USAGE, "%s is a switch and cannot be ramped", row->field.key);
  if (condition_is_ambient(row) && (set->value <= 0.0 || conditions_value(before, &row->field) <= 0.0))
    return error_set(error, STATUS_USAGE, "%s cannot ramp from or to 0, which means: from altitude_m; set a pressure first",
                     row->field.key);
  return STATUS_OK;
}

static bool note_is_plain(const char *note) {
  const char *end = memchr(note, '\0', SCENARIO_TEXT_SIZE);
  if (!end) return false;
  for (const char *at = note; at < end; at++)
    if (iscntrl((unsigned char)*at)) return false;
  return true;
}

enum status scenario_check_step(const struct scenario_step *step, const struct conditions *before, struct error *error) {
  if (step->set_count > SCENARIO_SET_MAX)
    return error_set(error, STATUS_USAGE, "a step sets %zu conditions; allowed: %d", step->set_count, SCENARIO_SET_MAX);
  if (!isfinite(step->ramp_s) || step->ramp_s < 0.0 || step->ramp_s > SCENARIO_TIME_MOST_S)
    return error_set(error, STATUS_USAGE, "a ramp takes %.10g s; allowed: 0 to %d", step->ramp_s, SCENARIO_TIME_MOST_S);
  if (step->key < -1 || step->key > KEY_START)
    return error_set(error, STATUS_USAGE, "key is %d; allowed: %d (off) to %d (start), -1 to leave it", step->key, KEY_OFF,
                     KEY_START);
  if ((int)step->action < SCENARIO_ACTION_NONE || step->action > SCENARIO_ACTION_LOSE_CLOSED)
    return error_set(error, STATUS_USAGE, "action is %d; allowed: %d to %d", (int)step->action, SCENARIO_ACTION_NONE,
                     SCENARIO_ACTION_LOSE_CLOSED);
  if (!note_is_plain(step->note))
    return error_set(error, STATUS_USAGE, "a note is one line of at most %d bytes, without control characters",
                     SCENARIO_TEXT_SIZE - 1);
  if (step->set_count == 0 && step->key < 0 && step->action == SCENARIO_ACTION_NONE && !step->note[0])
    return error_set(error, STATUS_USAGE, "this step does nothing; give it a condition, a key, an action or a note");
  for (size_t i = 0; i < step->set_count; i++) {
    const enum status status = check_set(step, &step->sets[i], before, error);
    if (status != STATUS_OK) return status;
  }
  return STATUS_OK;
}

enum status scenario_append(struct scenario *scenario, const struct scenario_step *step, struct error *error) {
  const size_t count = scenario->step_count;
  if ((count & (count - 1)) == 0) { // full: capacity is the power of two not below the count
    struct scenario_step *steps = realloc(scenario->steps, (count ? 2 * count : 1) * sizeof *steps);
    if (!steps) return error_set(error, STATUS_NO_MEMORY, "out of memory for step %zu", count + 1);
    scenario->steps = steps;
  }
  scenario->steps[scenario->step_count++] = *step;
  return STATUS_OK;
}
