/* What must hold of a scenario or record that was taken: its steps lie within the run. */
#ifndef FUZZ_ONE_TIMELINE_H
#define FUZZ_ONE_TIMELINE_H

#include "sim/scenario.h"

#include "one_file.h"

static inline enum status one_timeline(enum status (*read)(const char *path, struct scenario *scenario, struct error *error),
                                       const char *path, struct error *error) {
  struct scenario scenario;
  scenario_init(&scenario);
  const enum status status = read(path, &scenario, error);
  for (size_t i = 0; status == STATUS_OK && i < scenario.step_count; i++)
    assert(scenario.steps[i].at_s >= 0.0 && scenario.steps[i].at_s <= scenario.duration_s);
  scenario_destroy(&scenario);
  return status;
}

#endif
