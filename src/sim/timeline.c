#include "sim/timeline.h"

#include <math.h>

#define TIME_HAIR_S 1e-9 // a step written for 0.3 s is due at the tick whose time is 0.3 s but for rounding

void timeline_init(struct timeline *timeline, const struct scenario *scenario) {
  *timeline = (struct timeline){.scenario = scenario};
}

static void drop_ramp(struct timeline *timeline, size_t condition) {
  for (size_t i = 0; i < timeline->ramp_count; i++)
    if (timeline->ramps[i].condition == condition) {
      timeline->ramps[i] = timeline->ramps[--timeline->ramp_count];
      return;
    }
}

void timeline_apply(struct timeline *timeline, const struct scenario_step *step, double at_s, struct conditions *conditions) {
  for (size_t i = 0; i < step->set_count; i++) {
    const struct scenario_set *set = &step->sets[i];
    const struct field *field = &condition_rows[set->condition].field;
    drop_ramp(timeline, set->condition); // so there are never more ramps than conditions
    if (step->ramp_s <= 0.0) {
      conditions_set(conditions, field, set->value);
      continue;
    }
    timeline->ramps[timeline->ramp_count++] =
        (struct timeline_ramp){set->condition, at_s, at_s + step->ramp_s, conditions_value(conditions, field), set->value};
  }
}

const struct scenario_step *timeline_step(struct timeline *timeline, double time_s, struct conditions *conditions) {
  const struct scenario *scenario = timeline->scenario;
  if (timeline->next >= scenario->step_count) return NULL;
  const struct scenario_step *step = &scenario->steps[timeline->next];
  if (step->at_s > time_s + TIME_HAIR_S) return NULL;
  timeline->next++;
  timeline_apply(timeline, step, step->at_s, conditions);
  return step;
}

void timeline_ramps(struct timeline *timeline, double time_s, struct conditions *conditions) {
  for (size_t i = timeline->ramp_count; i-- > 0;) {
    const struct timeline_ramp ramp = timeline->ramps[i];
    const double share = fmin(fmax((time_s - ramp.start_s) / (ramp.end_s - ramp.start_s), 0.0), 1.0);
    const double value = share >= 1.0 ? ramp.to : ramp.from + share * (ramp.to - ramp.from);
    conditions_set(conditions, &condition_rows[ramp.condition].field, value);
    if (share >= 1.0) timeline->ramps[i] = timeline->ramps[--timeline->ramp_count];
  }
}
