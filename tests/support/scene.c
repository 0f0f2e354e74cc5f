#include "support/scene.h"

#include "analysis/run/window.h"
#include "analysis/settle/launch.h"
#include "io/config/engine_file.h"
#include "io/config/scenario_file.h"
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void must_be_ok(enum status status, const struct error *error) {
  if (status != STATUS_OK) fail_msg("%s", error->text);
}

static void set_defaults(struct scene *scene) {
  scene->solver = &solver_cvode;
  scene->options = solver_options_default();
  scene->sim = NULL;
  recording_init(&scene->recording);
}

void scene_init(struct scene *scene, const char *model, double duration_s) {
  char path[SCENARIO_PATH_SIZE];
  snprintf(path, sizeof path, "models/%s.cfg", model);
  scene_init_path(scene, path, duration_s);
}

void scene_init_standing(struct scene *scene, const char *model, double duration_s) {
  scene_init(scene, model, duration_s);
  scene->solver = &solver_fast;
  scene->scenario.running = false;
  scene->scenario.record_s = 0.01;
  scene_key(scene, 1.0, KEY_ON);
}

void scene_init_path(struct scene *scene, const char *engine_path, double duration_s) {
  struct error error;
  error_clear(&error);
  set_defaults(scene);
  scenario_init(&scene->scenario);
  snprintf(scene->scenario.name, sizeof scene->scenario.name, "scene");
  snprintf(scene->scenario.engine_path, sizeof scene->scenario.engine_path, "%s", engine_path);
  scene->scenario.duration_s = duration_s;
  must_be_ok(engine_file_read(scene->scenario.engine_path, &scene->engine, &error), &error);
}

void scene_read(struct scene *scene, const char *scenario_path) {
  struct error error;
  error_clear(&error);
  set_defaults(scene);
  must_be_ok(scenario_file_read(scenario_path, &scene->scenario, &error), &error);
  must_be_ok(engine_file_read(scene->scenario.engine_path, &scene->engine, &error), &error);
}

void scene_end(struct scene *scene) {
  simulation_destroy(scene->sim);
  scene->sim = NULL;
  recording_destroy(&scene->recording);
  scenario_destroy(&scene->scenario);
}

static const struct condition_row *condition(const char *key) {
  const struct condition_row *row = condition_find(key);
  if (!row) fail_msg("no condition is called %s", key);
  return row;
}

void scene_initial(struct scene *scene, const char *key, double value) {
  const struct condition_row *row = condition(key);
  conditions_set(&scene->scenario.initial, &row->field, field_to_si(&row->field, value));
}

/* A new step in order of time, after those of the same moment. */
static struct scenario_step *add_step(struct scene *scene, double at_s) {
  struct scenario *scenario = &scene->scenario;
  struct scenario_step *steps = realloc(scenario->steps, (scenario->step_count + 1) * sizeof *steps);
  if (!steps) fail_msg("out of memory for step %zu", scenario->step_count);
  size_t place = scenario->step_count++;
  for (; place > 0 && steps[place - 1].at_s > at_s; place--) steps[place] = steps[place - 1];
  scenario->steps = steps;
  steps[place] = (struct scenario_step){.at_s = at_s, .key = -1};
  return &steps[place];
}

void scene_ramp(struct scene *scene, double at_s, double ramp_s, const char *key, double value) {
  const struct condition_row *row = condition(key);
  struct scenario_step *step = add_step(scene, at_s);
  step->ramp_s = ramp_s;
  step->set_count = 1;
  step->sets[0] = (struct scenario_set){(size_t)(row - condition_rows), field_to_si(&row->field, value)};
}

void scene_set(struct scene *scene, double at_s, const char *key, double value) { scene_ramp(scene, at_s, 0.0, key, value); }

void scene_key(struct scene *scene, double at_s, enum key key) { add_step(scene, at_s)->key = (int)key; }

void scene_action(struct scene *scene, double at_s, enum scenario_action action) { add_step(scene, at_s)->action = action; }

enum status scene_try(struct scene *scene, struct error *error) {
  const enum status status =
      launch_scenario(&scene->engine, &scene->scenario, scene->solver, &scene->options, &scene->sim, error);
  return status == STATUS_OK ? simulation_run(scene->sim, &scene->recording, NULL, NULL, error) : status;
}

void scene_run(struct scene *scene) {
  struct error error;
  error_clear(&error);
  must_be_ok(scene_try(scene, &error), &error);
}

double scene_mean(const struct scene *scene, double from_s, double to_s, enum channel channel) {
  return window_mean(&scene->recording, window_between(&scene->recording, from_s, to_s), channel);
}

double scene_least(const struct scene *scene, double from_s, double to_s, enum channel channel) {
  return window_least(&scene->recording, window_between(&scene->recording, from_s, to_s), channel);
}

double scene_most(const struct scene *scene, double from_s, double to_s, enum channel channel) {
  return window_most(&scene->recording, window_between(&scene->recording, from_s, to_s), channel);
}

double scene_last(const struct scene *scene, enum channel channel) {
  return recording_value(&scene->recording, scene->recording.row_count - 1, channel);
}

double scene_at(const struct scene *scene, double time_s, enum channel channel) {
  const double half = 0.5 * scene->scenario.record_s;
  const struct window window = window_between(&scene->recording, time_s - half, time_s + half);
  return window_rows(window) ? recording_value(&scene->recording, window.first, channel) : NAN;
}

static bool matches(const struct recording_event *event, enum recording_event_kind kind, int code, int value) {
  return event->kind == kind && event->value == value && (code < 0 || event->code == code);
}

int scene_events(const struct scene *scene, enum recording_event_kind kind, int code, int value) {
  int count = 0;
  for (size_t i = 0; i < scene->recording.event_count; i++) count += matches(&scene->recording.events[i], kind, code, value);
  return count;
}

double scene_event_s(const struct scene *scene, enum recording_event_kind kind, int code, int value) {
  for (size_t i = 0; i < scene->recording.event_count; i++)
    if (matches(&scene->recording.events[i], kind, code, value)) return scene->recording.events[i].time_s;
  return NAN;
}

bool scene_stalled(const struct scene *scene) { return scene_events(scene, RECORDING_ENGINE, -1, RECORDING_VALUE_STALL) > 0; }
