#include "io/config/scenario_file.h"

#include "base/units.h"
#include "io/config/config_field.h"
#include "io/config/find_file.h"

#include <assert.h>
#include <errno.h>
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define HINT "bladegap list faults"

#define AMBIENT_LEAST_PA CONDITION_AMBIENT_LEAST_PA

enum { CONDITION_MAX = 160, KEY_MAX = 16 };

/* What the file says in another form than the scenario keeps it. */
struct settings {
  int seed;
  int start;
  int film;
  int solver; // -1: left open
};

static const struct field duration_field =
    FIELD_ROW_REAL(struct scenario, duration_s, "duration_s", 1.0, 0.1, 86400, "how long to simulate, seconds");
static const struct field record_field =
    FIELD_ROW_REAL(struct scenario, record_s, "record_s", 1.0, 0.01, 60, "spacing of the rows written");
static const struct field seed_field = FIELD_ROW_COUNT(struct settings, seed, "seed", 0, INT_MAX, "of the cycle scatter");
static const struct field start_field =
    FIELD_ROW_CHOICE(struct settings, start, "start", scenario_start_names, "state of the engine at the start");

static const char *const film_names[] = {"blended", "on_demand", NULL};     // by scenario.film_on_demand
static const char *const solver_names[] = {"cvode", "fast", "fixed", NULL}; // names of solver.h
static const struct field film_field =
    FIELD_ROW_CHOICE(struct settings, film, "film_tables", film_names, "how gap tables of a film that grows are made");
static const struct field solver_field =
    FIELD_ROW_CHOICE(struct settings, solver, "solver", solver_names, "what integrates, unless --solver says");

static const struct field at_field =
    FIELD_ROW_REAL(struct scenario_step, at_s, "at_s", 1.0, 0, 86400, "when the step happens, seconds");
static const struct field ramp_field =
    FIELD_ROW_REAL(struct scenario_step, ramp_s, "ramp_s", 1.0, 0, 86400, "how long its values take to get there");
static const struct field key_field = FIELD_ROW_CHOICE(struct scenario_step, key, "key", computer_key_names, "ignition key");
static const struct field action_field =
    FIELD_ROW_CHOICE(struct scenario_step, action, "action", scenario_action_names, "scan tool");
static const struct field ends_ramp_field =
    FIELD_ROW_SWITCH(struct scenario_step, ends_ramp, "ends_ramp", "may end a ramp that still runs");
_Static_assert(sizeof(enum scenario_action) == sizeof(int), "FIELD_CHOICE writes an int");

/* Columns: place, key, kind, required, range or choices, what holds without it, what it is. */
// clang-format off
const struct scenario_file_key scenario_file_keys[] = {
    {"file", "title", "text", true, NULL, "", "what the scenario shows: heading of summary and pictures"},
    {"file", "engine", "text", true, NULL, "", "a file relative to the scenario's folder (../models/four-16.cfg), or the name of a shipped engine (four-16)"},
    {"file", "duration_s", "number", true, &duration_field, "", "how long to simulate, seconds"},
    {"file", "record_s", "number", false, &record_field, "0.1", "seconds between rows of run.csv, a multiple of 0.01"},
    {"file", "seed", "whole number", false, &seed_field, "1", "seed of the scatter from cycle to cycle"},
    {"file", "start", "choice", false, &start_field, "idling", "state of the engine at the start: left to idle until nothing changes, standing with the key off, or in its settled point"},
    {"file", "film_tables", "choice", false, &film_field, "blended", "gap tables of a film that grows: blended from few, or integrated where they are looked at, as start = settled does; of a live session"},
    {"file", "solver", "choice", false, &solver_field, "cvode", "what integrates, unless --solver says otherwise"},
    {"file", "initial", "group", false, NULL, "", "conditions at the start, by name (bladegap list faults)"},
    {"file", "timeline", "list", false, NULL, "", "steps; those at the same time in the order of the file"},
    {"step", "at_s", "number", true, &at_field, "", "when it happens, seconds; not after duration_s"},
    {"step", "ramp_s", "number", false, &ramp_field, "0", "how long its conditions take to reach their values; switches cannot be ramped"},
    {"step", "ends_ramp", "switch", false, &ends_ramp_field, "false", "a ramp of the same condition that still runs ends here; without it that is taken for a slip"},
    {"step", "note", "text", false, NULL, "", "a sentence shown in picture and summary at that moment"},
    {"step", "key", "choice", false, &key_field, "", "the ignition key is turned"},
    {"step", "action", "choice", false, &action_field, "none", "what is done with the scan tool; lose_closed_stop: the computer forgets the closed stop"},
};
// clang-format on
const size_t scenario_file_key_count = ARRAY_COUNT(scenario_file_keys);

/* The keys of a place; returns how many. */
static size_t keys_of(const char *place, const char *names[KEY_MAX]) {
  size_t count = 0;
  assert(scenario_file_key_count <= KEY_MAX);
  for (size_t i = 0; i < scenario_file_key_count; i++)
    if (strcmp(scenario_file_keys[i].place, place) == 0) names[count++] = scenario_file_keys[i].key;
  return count;
}

/* The keys of a step, or of `initial`: conditions, after `extra` other ones. */
static void check_known(struct config *config, const struct config_setting_t *group, const char *const *extra,
                        size_t extra_count) {
  const char *names[CONDITION_MAX + KEY_MAX];
  size_t count = 0;
  assert(condition_count <= CONDITION_MAX && extra_count <= KEY_MAX);
  for (size_t i = 0; i < extra_count; i++) names[count++] = extra[i];
  for (size_t i = 0; i < condition_count; i++) names[count++] = condition_rows[i].field.key;
  config_field_check_known(config, group, names, count, HINT);
}

/* Reads the value of one condition; false if it is faulty. */
static bool condition_read(struct config *config, const struct config_setting_t *node, const struct condition_row *row,
                           struct conditions *conditions) {
  struct conditions read = *conditions;
  if (!config_field_read(config, node, &row->field, &read)) return false;
  conditions_set(conditions, &row->field, field_real(&row->field, &read));
  const double ambient_pa = conditions->ambient_pa;
  if (row->field.offset != offsetof(struct conditions, ambient_pa) || ambient_pa <= 0.0) return true;
  if (ambient_pa >= AMBIENT_LEAST_PA) return true;
  config_fault_at(config, node, "is %.10g; allowed: %.10g to %.10g, or 0 to take it from altitude_m",
                  field_from_si(&row->field, ambient_pa), AMBIENT_LEAST_PA / UNITS_PA_PER_KPA, row->field.max);
  return false;
}

static void read_initial(struct config *config, struct scenario *scenario) {
  const struct config_setting_t *group = config_member(config_root(config), "initial");
  if (!group || !config_field_is_group(config, group)) return;
  for (size_t i = 0; i < condition_count; i++) {
    const struct config_setting_t *node = config_member(group, condition_rows[i].field.key);
    if (node) condition_read(config, node, &condition_rows[i], &scenario->initial);
  }
  check_known(config, group, NULL, 0);
}

/* The conditions that a step sets. */
static void read_sets(struct config *config, const struct config_setting_t *group, struct scenario_step *step) {
  size_t set_count = 0;
  for (size_t i = 0; i < condition_count; i++) {
    const struct condition_row *row = &condition_rows[i];
    const struct config_setting_t *node = config_member(group, row->field.key);
    if (!node) continue;
    set_count++;
    struct conditions conditions;
    conditions_init(&conditions);
    if (!condition_read(config, node, row, &conditions)) continue;
    if (row->field.kind == FIELD_SWITCH && step->ramp_s > 0.0)
      config_fault_at(config, node, "is a switch and cannot be ramped; give it a step of its own without ramp_s");
    if (step->set_count == SCENARIO_SET_MAX) continue;
    step->sets[step->set_count++] = (struct scenario_set){i, conditions_value(&conditions, &row->field)};
  }
  if (set_count > SCENARIO_SET_MAX)
    config_fault(config, step->line, "this step sets %zu conditions; allowed: %d. Write a second step with the same at_s",
                 set_count, SCENARIO_SET_MAX);
}

static bool step_is_empty(const struct scenario_step *step) {
  return step->set_count == 0 && step->key < 0 && step->action == SCENARIO_ACTION_NONE && !step->note[0];
}

/* Reads one step. False if its place in time is unknown, so that it cannot be compared with the others. */
static bool read_step(struct config *config, const struct config_setting_t *group, double duration_s,
                      struct scenario_step *step) {
  const char *keys[KEY_MAX];
  *step = (struct scenario_step){.key = -1, .line = config_line(group)};
  if (!config_field_is_group(config, group)) return false;
  const size_t faults_before = config_fault_count(config);
  const bool at_good = config_field_required(config, group, &at_field, step);
  const bool ramp_good = config_field_optional(config, group, &ramp_field, step);
  config_field_optional(config, group, &key_field, step);
  config_field_optional(config, group, &action_field, step);
  config_field_optional(config, group, &ends_ramp_field, step);
  if (config_member(group, "note")) config_field_text(config, group, "note", sizeof step->note, step->note);
  read_sets(config, group, step);
  check_known(config, group, keys, keys_of("step", keys));
  if (step->at_s > duration_s)
    config_fault_at(config, config_member(group, "at_s"), "is %.10g, after the end: duration_s is %.10g", step->at_s, duration_s);
  if (config_fault_count(config) == faults_before && step_is_empty(step))
    config_fault(config, step->line, "this step does nothing; give it a condition, a key, an action or a note");
  else if (config_fault_count(config) == faults_before && step->ramp_s > 0.0 && step->set_count == 0)
    config_fault_at(config, config_member(group, "ramp_s"), "has no condition to ramp in this step");
  return at_good && ramp_good;
}

struct place {
  double at_s;
  size_t index; // in the file
};

static int place_order(const void *left, const void *right) {
  const struct place *a = left, *b = right;
  if (a->at_s < b->at_s) return -1;
  if (a->at_s > b->at_s) return 1;
  return a->index < b->index ? -1 : a->index > b->index;
}

/* Sorts by time; steps of one moment keep the order of the file. False if memory ran out. */
static bool sort_steps(struct scenario *scenario) {
  const size_t count = scenario->step_count;
  bool sorted = false;
  struct place *places = calloc(count + 1, sizeof *places);
  struct scenario_step *steps = calloc(count + 1, sizeof *steps);
  if (!places || !steps) goto cleanup;
  for (size_t i = 0; i < count; i++) places[i] = (struct place){scenario->steps[i].at_s, i};
  qsort(places, count, sizeof *places, place_order);
  for (size_t i = 0; i < count; i++) steps[i] = scenario->steps[places[i].index];
  free(scenario->steps);
  scenario->steps = steps;
  steps = NULL;
  sorted = true;
cleanup:
  free(steps);
  free(places);
  return sorted;
}

static const struct scenario_set *find_set(const struct scenario_step *step, size_t condition) {
  for (size_t i = 0; i < step->set_count; i++)
    if (step->sets[i].condition == condition) return &step->sets[i];
  return NULL;
}

/* A condition must not be set again before its ramp has ended, and an ambient pressure of 0 (from the
 * altitude) is no place for a ramp to begin or end. The steps are sorted. */
static void check_ramps(struct config *config, const struct scenario *scenario, size_t condition) {
  const struct field *field = &condition_rows[condition].field;
  const bool ambient = field->offset == offsetof(struct conditions, ambient_pa);
  const double slack_s = 0.5 * COMPUTER_PERIOD_S; // 0.1 + 0.2 is a hair more than 0.3
  const struct scenario_step *ramp = NULL;
  double value = conditions_value(&scenario->initial, field);
  for (size_t i = 0; i < scenario->step_count; i++) {
    const struct scenario_step *step = &scenario->steps[i];
    const struct scenario_set *set = find_set(step, condition);
    if (!set) continue;
    if (ramp && step->ends_ramp < 0.5 && step->at_s < ramp->at_s + ramp->ramp_s - slack_s)
      config_fault(config, step->line,
                   "key 'timeline.%s' is set at %.10g s while the ramp of line %d still runs, until "
                   "%.10g s",
                   field->key, step->at_s, ramp->line, ramp->at_s + ramp->ramp_s);
    if (ambient && step->ramp_s > 0.0 && (value <= 0.0 || set->value <= 0.0))
      config_fault(config, step->line,
                   "key 'timeline.%s' cannot ramp from or to 0, which means: from altitude_m; set a "
                   "pressure first",
                   field->key);
    value = set->value;
    if (step->ramp_s > 0.0)
      ramp = step;
    else if (step->ends_ramp > 0.5)
      ramp = NULL;
  }
}

static enum status read_timeline(struct config *config, struct scenario *scenario, struct error *error) {
  const struct config_setting_t *list = config_member(config_root(config), "timeline");
  if (!list || !config_field_is_list(config, list)) return STATUS_OK;
  const size_t count = config_child_count(list);
  scenario->steps = calloc(count + 1, sizeof *scenario->steps);
  if (!scenario->steps) return error_append(error, STATUS_NO_MEMORY, "out of memory for a timeline of %zu steps", count);
  for (size_t i = 0; i < count; i++) {
    struct scenario_step *step = &scenario->steps[scenario->step_count];
    if (read_step(config, config_child(list, i), scenario->duration_s, step)) scenario->step_count++;
  }
  if (!sort_steps(scenario)) return error_append(error, STATUS_NO_MEMORY, "out of memory for a timeline of %zu steps", count);
  for (size_t i = 0; i < condition_count; i++) check_ramps(config, scenario, i);
  return STATUS_OK;
}

static bool is_file(const char *path) {
  struct stat about;
  return stat(path, &about) == 0 && S_ISREG(about.st_mode) && access(path, R_OK) == 0;
}

/* Where the file says, seen from its folder, with or without .cfg; else the shipped engine of that name, so that a scenario can be
 * copied anywhere. A whole path means that file and no other. */
static void read_engine_path(struct config *config, struct scenario *scenario) {
  char given[SCENARIO_PATH_SIZE], near[FIND_FILE_PATH_SIZE], there[SCENARIO_PATH_SIZE], *path = scenario->engine_path;
  const struct config_setting_t *root = config_root(config);
  if (!config_field_text(config, root, "engine", sizeof given, given)) return;
  const struct config_setting_t *node = config_member(root, "engine");
  if (!config_resolve(config, given, sizeof there, there)) {
    config_fault_at(config, node, "makes a path longer than %d bytes", SCENARIO_PATH_SIZE - 1);
    return;
  }
  memcpy(path, there, sizeof there);
  const int why = access(path, R_OK) == 0 ? EISDIR : errno;
  const bool is_name = find_file_is_name(given);
  if (is_file(path)) return;
  const size_t size = strlen(path);
  if (is_name && size + 5 <= sizeof there) {
    memcpy(path + size, ".cfg", 5);
    if (is_file(path)) return;
  }
  scenario->engine_elsewhere = !is_name;
  if (given[0] != '/' && find_file_shipped("models", given, path)) return;
  memcpy(path, there, sizeof there);
  const bool is_near = find_file_near("models", path, near);
  config_fault_at(config, node, "names %.200s, which cannot be read: %s%s%.120s%s", path, strerror(why),
                  is_near ? "; did you mean " : "", near, is_near ? "?" : "");
}

static void read_top(struct config *config, struct scenario *scenario) {
  const char *keys[KEY_MAX];
  const struct config_setting_t *root = config_root(config);
  struct settings settings = {.seed = (int)scenario->seed, .start = SCENARIO_START_IDLING, .solver = -1};
  config_stem(config, sizeof scenario->name, scenario->name);
  config_field_text(config, root, "title", sizeof scenario->title, scenario->title);
  read_engine_path(config, scenario);
  config_field_required(config, root, &duration_field, scenario);
  config_field_optional(config, root, &record_field, scenario);
  config_field_optional(config, root, &seed_field, &settings);
  config_field_optional(config, root, &start_field, &settings);
  config_field_optional(config, root, &film_field, &settings);
  config_field_optional(config, root, &solver_field, &settings);
  const double ticks = scenario->record_s / COMPUTER_PERIOD_S;
  if (fabs(ticks - round(ticks)) > 1e-6) // far above rounding, far below a tick
    config_fault_at(config, config_member(root, "record_s"), "is %.10g; it must be a multiple of %.10g", scenario->record_s,
                    COMPUTER_PERIOD_S);
  scenario->seed = (uint64_t)settings.seed;
  scenario_set_start(scenario, (enum scenario_start)settings.start);
  scenario->film_on_demand = settings.film == 1;
  if (settings.solver >= 0) snprintf(scenario->solver, sizeof scenario->solver, "%s", solver_names[settings.solver]);
  config_field_check_known(config, root, keys, keys_of("file", keys), NULL);
}

bool scenario_file_recognises(const struct config *config) {
  static const char *const marks[] = {"engine", "timeline", "duration_s"};
  for (size_t i = 0; i < ARRAY_COUNT(marks); i++)
    if (config_member(config_root(config), marks[i])) return true;
  return false;
}

enum status scenario_file_read(const char *path, struct scenario *scenario, struct error *error) {
  struct config *config;
  scenario_init(scenario);
  enum status status = config_open(path, &config, error);
  if (status != STATUS_OK) return status;
  if (!scenario_file_recognises(config) && config_member(config_root(config), "throttle")) {
    config_fault(config, 1, "this is an engine file; a scenario is needed here");
  } else {
    read_top(config, scenario);
    read_initial(config, scenario);
    status = read_timeline(config, scenario, error);
  }
  if (status == STATUS_OK) status = config_report(config, error);
  config_close(config);
  return status;
}
