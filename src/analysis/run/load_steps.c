#include "analysis/run/load_steps.h"

#include "analysis/run/window.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define AFTER_S        3.0   // a load's dip is over by then
#define PEDAL_AFTER_S  8.0   // the engine must come down first
#define STALL_AFTER_S  6.0   // a stall this soon is the load's
#define STEERING_PCT   50.0  // more is a turn of the wheel that counts
#define ELECTRICAL_W   150.0 // less is hardly felt
#define PEDAL_PRESSED  2.0   // per cent
#define PEDAL_RELEASED 0.5   // a driver who holds a speed that is high by itself keeps one per cent

const struct load_steps_kind_row load_steps_kind_rows[LOAD_STEPS_KIND_COUNT] = {
#define KIND(name, text) {#name, text},
    LOAD_STEPS_KIND_LIST(KIND)
#undef KIND
};

/* What is being filled. */
struct list {
  const struct recording *recording;
  struct load_step *steps;
  size_t count, most;
};

static bool stalled_between(const struct recording *r, double from_s, double to_s) {
  for (size_t i = 0; i < r->event_count; i++) {
    const struct recording_event *event = &r->events[i];
    if (event->kind == RECORDING_ENGINE && event->value == RECORDING_VALUE_STALL && event->time_s >= from_s &&
        event->time_s <= to_s)
      return true;
  }
  return false;
}

/* Idling a moment ago: a load that comes while the engine stands or is driven is no load step. The pedal's own step begins off
 * idle. */
static bool was_idling(const struct recording *r, double time_s, enum load_steps_kind kind) {
  const struct window now = window_between(r, time_s - 0.5, time_s);
  if (window_rows(now) == 0 || !(window_least(r, now, CHANNEL_speed_rpm) > 0.0)) return false;
  if (!(window_least(r, now, CHANNEL_target_rpm) > 0.0)) return false;
  return kind == LOAD_STEPS_pedal || window_most(r, now, CHANNEL_pedal_pct) < PEDAL_RELEASED ||
         isnan(window_most(r, now, CHANNEL_pedal_pct));
}

static void add(struct list *list, double time_s, enum load_steps_kind kind, bool on) {
  const struct recording *r = list->recording;
  if (list->count >= list->most || !was_idling(r, time_s, kind)) return;
  const bool pedal = kind == LOAD_STEPS_pedal;
  const double after_s = pedal ? PEDAL_AFTER_S : AFTER_S;
  const struct window after = window_between(r, time_s, time_s + after_s);
  if (window_rows(after) == 0) return;
  struct load_step *step = &list->steps[list->count++];
  *step = (struct load_step){.time_s = time_s, .kind = kind, .on = on};
  step->film_um = recording_value(r, after.first, CHANNEL_film_um);
  step->before_rpm = window_mean(r, window_between(r, time_s - 1.0, time_s), CHANNEL_speed_rpm);
  step->stalled = stalled_between(r, time_s, time_s + (pedal ? PEDAL_AFTER_S : STALL_AFTER_S));
  step->target_rpm = window_least(r, after, CHANNEL_target_rpm);
  step->lowest_rpm = step->stalled ? 0.0 : window_least(r, after, CHANNEL_speed_rpm);
}

static void find_in_recording(struct list *list) {
  static const struct {
    enum channel channel;
    enum load_steps_kind kind;
  } switches[] = {{CHANNEL_air_conditioning, LOAD_STEPS_compressor}, {CHANNEL_drive, LOAD_STEPS_gear}};
  const struct recording *r = list->recording;
  bool pressed = false;
  for (size_t row = 1; row < r->row_count; row++) {
    const double now = recording_value(r, row, CHANNEL_time_s);
    for (size_t i = 0; i < ARRAY_COUNT(switches); i++) {
      const double before = recording_value(r, row - 1, switches[i].channel);
      const double after = recording_value(r, row, switches[i].channel);
      if (fabs(after - before) > 0.5) add(list, now, switches[i].kind, after > before);
    }
    const double pedal = recording_value(r, row, CHANNEL_pedal_pct);
    if (pressed && pedal < PEDAL_RELEASED) add(list, now, LOAD_STEPS_pedal, true);
    pressed = pedal > PEDAL_PRESSED || (pressed && pedal >= PEDAL_RELEASED);
  }
}

/* The loads that are no channel. */
static void find_in_scenario(struct list *list, const struct scenario *scenario, const char *key, enum load_steps_kind kind,
                             double least_change) {
  const struct condition_row *row = condition_find(key);
  double value = field_from_si(&row->field, conditions_value(&scenario->initial, &row->field));
  for (size_t i = 0; i < scenario->step_count; i++) {
    const struct scenario_step *step = &scenario->steps[i];
    for (size_t k = 0; k < step->set_count; k++) {
      if (&condition_rows[step->sets[k].condition] != row) continue;
      const double after = field_from_si(&row->field, step->sets[k].value);
      if (fabs(after - value) >= least_change) add(list, step->at_s, kind, after > value);
      value = after;
    }
  }
}

static int compare_times(const void *a, const void *b) {
  const struct load_step *left = a, *right = b;
  return (left->time_s > right->time_s) - (left->time_s < right->time_s);
}

size_t load_steps_find(const struct recording *recording, const struct scenario *scenario, struct load_step *steps, size_t most) {
  struct list list = {recording, steps, 0, most};
  find_in_recording(&list);
  if (scenario) {
    find_in_scenario(&list, scenario, "steering_pct", LOAD_STEPS_steering, STEERING_PCT);
    find_in_scenario(&list, scenario, "electrical_load_w", LOAD_STEPS_electrical, ELECTRICAL_W);
  }
  qsort(steps, list.count, sizeof *steps, compare_times);
  return list.count;
}
