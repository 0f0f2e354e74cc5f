#include "support/live.h"

#include "analysis/settle/launch.h"
#include "support/check.h"

#include <string.h>

void live_must(enum status status, const struct error *error) {
  if (status != STATUS_OK) fail_msg("%s", error->text);
}

void live_create(struct scene *scene) {
  struct error error;
  error_clear(&error);
  live_must(launch_scenario(&scene->engine, &scene->scenario, scene->solver, &scene->options, &scene->sim, &error), &error);
}

void live_run_until(struct scene *scene, double until_s) {
  struct error error;
  error_clear(&error);
  live_must(simulation_run_until(scene->sim, until_s, &scene->recording, NULL, NULL, &error), &error);
}

void live_set(struct scene *scene, const char *condition, double value, double ramp_s) {
  struct error error;
  error_clear(&error);
  live_must(simulation_set(scene->sim, condition, value, ramp_s, &error), &error);
}

void live_play(struct scene *scene, const struct scenario_step *step) {
  struct error error;
  error_clear(&error);
  live_must(simulation_play(scene->sim, step, &error), &error);
}

void live_same_rows(const char *what, const struct recording *a, const struct recording *b) {
  if (a->row_count != b->row_count) fail_msg("%s: %zu rows and %zu", what, a->row_count, b->row_count);
  for (size_t row = 0; row < a->row_count; row++)
    for (int i = 0; i < CHANNEL_COUNT; i++) {
      const double one = recording_value(a, row, (enum channel)i), other = recording_value(b, row, (enum channel)i);
      if (memcmp(&one, &other, sizeof one) != 0)
        fail_msg("%s: row %zu, channel %s: %.17g and %.17g", what, row, channel_rows[i].name, one, other);
    }
}

void live_same_events(const char *what, const struct recording *a, const struct recording *b) {
  if (a->event_count != b->event_count) fail_msg("%s: %zu events and %zu", what, a->event_count, b->event_count);
  for (size_t i = 0; i < a->event_count; i++) {
    check_close(a->events[i].time_s, b->events[i].time_s, 0.0);
    assert_string_equal(a->events[i].text, b->events[i].text);
  }
}

void live_timeline(struct scene *scene) {
  scene_initial(scene, "warmth_held", 0.0);
  scene_ramp(scene, 0.57, 7.0, "film_um", 40.0);
  scene_set(scene, 3.29, "air_conditioning", 1.0);
  scene_set(scene, 4.0, "coolant_c", 60.0);
  scene_ramp(scene, 4.0, 2.5, "leak_mm2", 3.3);
  scene_action(scene, 12.0, SCENARIO_ACTION_RESET_LEARNED);
  scene_key(scene, 15.1, KEY_OFF);
  scene_key(scene, 17.0, KEY_START);
}

void live_up_to(struct scene *scene, double time_s) {
  struct error error;
  error_clear(&error);
  scene->sim->recording = &scene->recording;
  while (simulation_acts_s(scene->sim) < time_s - 0.5 * COMPUTER_PERIOD_S) live_must(simulation_tick(scene->sim, &error), &error);
}
