#include "sim/scenario.h"

#include <stdlib.h>

const char *const scenario_action_names[] = {"none", "clear_codes", "reset_learned", "lose_closed_stop", 0};

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
