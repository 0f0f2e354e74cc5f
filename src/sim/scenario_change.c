#include "sim/scenario_change.h"

#include <stdlib.h>
#include <string.h>

/* Takes a condition out of a step; false if it was not in it. */
static bool drop_set(struct scenario_step *step, size_t condition, scenario_change_told told, void *user) {
  for (size_t i = 0; i < step->set_count; i++) {
    if (step->sets[i].condition != condition) continue;
    if (told) told(step, &step->sets[i], user);
    step->set_count--;
    memmove(step->sets + i, step->sets + i + 1, (step->set_count - i) * sizeof *step->sets);
    if (step->set_count == 0) step->ramp_s = 0.0;
    return true;
  }
  return false;
}

static bool does_nothing(const struct scenario_step *step) {
  return step->set_count == 0 && step->key < 0 && step->action == SCENARIO_ACTION_NONE;
}

void scenario_change_drop(struct scenario *scenario, size_t condition, scenario_change_told told, void *user) {
  size_t kept = 0;
  for (size_t i = 0; i < scenario->step_count; i++) {
    const bool emptied = drop_set(&scenario->steps[i], condition, told, user) && does_nothing(&scenario->steps[i]);
    if (emptied) continue; // its note goes with it
    if (kept != i) scenario->steps[kept] = scenario->steps[i];
    kept++;
  }
  scenario->step_count = kept;
}

void scenario_change_fix(struct scenario *scenario, size_t condition, double value, scenario_change_told told, void *user) {
  conditions_set(&scenario->initial, &condition_rows[condition].field, value);
  scenario_change_drop(scenario, condition, told, user);
}

enum status scenario_change_insert(struct scenario *scenario, const struct scenario_step *step, struct error *error) {
  if (!(step->at_s >= 0.0 && step->at_s <= scenario->duration_s))
    return error_set(error, STATUS_USAGE, "%.10g s is outside the run, which lasts from 0 to %.10g s", step->at_s,
                     scenario->duration_s);
  struct conditions before = scenario->initial;
  size_t place = 0;
  for (; place < scenario->step_count && scenario->steps[place].at_s <= step->at_s; place++)
    for (size_t k = 0; k < scenario->steps[place].set_count; k++) {
      const struct scenario_set *set = &scenario->steps[place].sets[k];
      conditions_set(&before, &condition_rows[set->condition].field, set->value);
    }
  const enum status status = scenario_check_step(step, &before, error);
  if (status != STATUS_OK) return status;
  struct scenario_step *steps = realloc(scenario->steps, (scenario->step_count + 1) * sizeof *steps);
  if (!steps) return error_set(error, STATUS_NO_MEMORY, "out of memory for step %zu", scenario->step_count + 1);
  memmove(steps + place + 1, steps + place, (scenario->step_count - place) * sizeof *steps);
  steps[place] = *step;
  scenario->steps = steps;
  scenario->step_count++;
  return STATUS_OK;
}
