#include "commands/lesson_compute.h"

#include "analysis/estimate/estimate_place.h"
#include "analysis/lesson/lesson_lookup.h"
#include "analysis/run/explain.h"
#include "analysis/settle/launch.h"
#include "analysis/sweep/sweep_axis.h"
#include "car/engine_check.h"
#include "commands/command.h"
#include "commands/engine_any.h"
#include "commands/engine_options.h"
#include "commands/scenario_any.h"
#include "commands/threads.h"
#include "commands/what_if.h"
#include "io/config/engine_file.h"
#include "solver/solver.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WORD_MAX = 4 * LESSON_FILE_FIELD_MAX };

static const char *const yes[] = {"yes", NULL};

/* The keys of blocks that are options of commands. */
static const struct option_row block_options[] = {
    WHAT_IF_SET_ROW,
    ENGINE_OPTIONS_SCALE_ROW,
    WHAT_IF_FREEZE_ROW,
    OPTION_ROW_COUNT("seed", "N", 0, 2147483647, "seed of the cycle scatter, instead of the scenario's"),
    OPTION_ROW_REAL("stale-learned", "PCT", -100, 200, "keep the learned offset at this value, as after a clean"),
    OPTION_ROW_CHOICE("engine-off", "yes", yes, "key on, engine standing"),
};

static const struct command block_command = {
    .name = "lesson", .text = "", .operands = "", .options = block_options, .option_count = ARRAY_COUNT(block_options)};

/* The lines of a block as a command line. words live as long as the line. */
static enum status make_line(const struct lesson_item *item, char *words[WORD_MAX], struct command_line *line,
                             struct error *error) {
  int count = 0;
  static char name[] = "lesson";
  words[count++] = name;
  for (size_t i = 0; i < item->field_count; i++) {
    const struct lesson_field *field = &item->fields[i];
    bool is_option = false;
    for (size_t k = 0; k < ARRAY_COUNT(block_options); k++) is_option |= strcmp(block_options[k].name, field->key) == 0;
    if (!is_option) continue;
    char *word = NULL;
    if (asprintf(&word, "--%s=%s", field->key, field->value) < 0)
      return error_set(error, STATUS_NO_MEMORY, "out of memory for a lesson");
    words[count++] = word;
  }
  words[count] = NULL;
  return options_parse(&block_command, count, words, line, error);
}

static void end_line(char *words[WORD_MAX], struct command_line *line) {
  options_destroy(line);
  for (size_t i = 1; words[i]; i++) free(words[i]); // parsing only reorders them
}

/* ---- runs ---- */

static enum status change(const struct command_line *line, const char *path, struct scenario *scenario, struct engine *engine,
                          struct error *error) {
  struct what_if *what = calloc(1, sizeof *what);
  if (!what) return error_set(error, STATUS_NO_MEMORY, "out of memory for a lesson");
  enum status status = what_if_apply(line, path, engine, scenario, what, error);
  if (status == STATUS_OK && what->engine_changed) status = engine_check(engine, error);
  if (options_given(line, "seed")) scenario->seed = (uint64_t)options_count(line, "seed", 1);
  free(what);
  return status;
}

enum status lesson_compute_scenario(const struct lesson_item *item, struct scenario *scenario, struct engine *engine,
                                    struct error *error) {
  char path[SCENARIO_PATH_SIZE], *words[WORD_MAX] = {NULL};
  struct command_line line = {0};
  enum status status = scenario_any_read(lesson_file_value(item, "scenario"), path, scenario, error);
  if (status == STATUS_OK) status = engine_file_read(scenario->engine_path, engine, error);
  if (status != STATUS_OK) return status;
  status = make_line(item, words, &line, error);
  if (status == STATUS_OK) status = change(&line, path, scenario, engine, error);
  end_line(words, &line);
  return status;
}

static enum status compute_run(const struct lesson_item *item, struct lesson_result *result, struct error *error) {
  struct simulation *sim = NULL;
  const struct solver_options options = solver_options_default();
  enum status status = lesson_compute_scenario(item, &result->scenario, &result->engine, error);
  if (status == STATUS_OK) status = launch_scenario(&result->engine, &result->scenario, &solver_fast, &options, &sim, error);
  if (status != STATUS_OK) return status;
  status = simulation_run(sim, &result->recording, NULL, NULL, error);
  if (status == STATUS_OK) {
    story_find(&result->recording, &result->story);
    result->story.load_count = load_steps_find(&result->recording, &result->scenario, result->story.loads, STORY_LOAD_MAX);
    explain_run(sim, &result->recording, &result->story, &result->explanation);
  }
  simulation_destroy(sim);
  return status;
}

/* ---- settled points ---- */

static enum status begin_engine(const struct lesson_item *item, struct lesson_result *result, struct error *error) {
  char *words[WORD_MAX] = {NULL};
  struct command_line line = {0};
  enum status status = engine_any_read(lesson_file_value(item, "engine"), &result->engine, error);
  settle_query_init(&result->query);
  if (status != STATUS_OK) return status;
  status = make_line(item, words, &line, error);
  if (status == STATUS_OK) status = engine_options_apply(&line, &result->engine, &result->query.conditions, error);
  if (status == STATUS_OK) status = engine_check(&result->engine, error);
  if (status == STATUS_OK) status = what_if_check_sets(&line, &result->engine, error);
  if (status == STATUS_OK && options_given(&line, "stale-learned")) {
    result->query.learning = SETTLE_STALE;
    result->query.learned_ratio = options_real(&line, "stale-learned", 0.0) * UNITS_RATIO_PER_PCT;
  }
  if (status == STATUS_OK) result->query.engine_off = options_given(&line, "engine-off") > 0;
  end_line(words, &line);
  return status;
}

static enum status make_points(struct lesson_result *result, size_t count, struct error *error) {
  result->count = count;
  result->points = calloc(count, sizeof *result->points);
  return result->points ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for a lesson");
}

static enum status compute_point(const struct lesson_item *item, struct lesson_result *result, struct error *error) {
  struct settle *settle = NULL;
  enum status status = begin_engine(item, result, error);
  if (status == STATUS_OK) status = make_points(result, 1, error);
  if (status == STATUS_OK) status = settle_create(&result->engine, &settle, error);
  if (status == STATUS_OK) settle_solve(settle, &result->query, &result->points[0]);
  settle_destroy(settle);
  return status;
}

static enum status sweep_points_of(struct lesson_result *result, const struct sweep_axis *axis, struct error *error) {
  struct settle *settle = NULL;
  enum status status = settle_create(&result->engine, &settle, error);
  for (size_t i = 0; status == STATUS_OK && i < axis->count; i++) {
    struct engine engine = result->engine;
    struct settle_query query = result->query;
    result->inputs[i] = axis->values[i];
    if (axis->learned) {
      query.learning = SETTLE_STALE;
      query.learned_ratio = axis->values[i] * UNITS_RATIO_PER_PCT;
    } else {
      setting_apply(&axis->setting, axis->values[i], &engine, &query.conditions);
      if (axis->setting.of_engine) status = engine_check(&engine, error);
      if (axis->setting.of_engine) settle_change_engine(settle, &engine);
    }
    if (status == STATUS_OK) settle_solve(settle, &query, &result->points[i]);
  }
  settle_destroy(settle);
  return status;
}

static enum status compute_sweep(const struct lesson_item *item, struct lesson_result *result, struct error *error) {
  struct sweep_axis axis = {0};
  enum status status = begin_engine(item, result, error);
  if (status == STATUS_OK) status = sweep_axis_read(lesson_file_value(item, "vary"), &axis, error);
  if (status == STATUS_OK && axis.count > LESSON_RESULT_POINT_MAX)
    status = error_set(error, STATUS_USAGE, "vary: %zu values; a lesson takes up to %d", axis.count, LESSON_RESULT_POINT_MAX);
  if (status == STATUS_OK) status = make_points(result, axis.count, error);
  if (status == STATUS_OK) {
    snprintf(result->axis, sizeof result->axis, "%s", axis.name);
    result->inputs = calloc(axis.count, sizeof *result->inputs);
    status =
        result->inputs ? sweep_points_of(result, &axis, error) : error_set(error, STATUS_NO_MEMORY, "out of memory for a lesson");
  }
  sweep_axis_destroy(&axis);
  return status;
}

/* ---- estimates ---- */

/* The readings of a settled point at idle, named by the key `read`. */
static enum status read_point(const struct lesson_item *item, const struct lesson_results *results, const char *key,
                              struct estimate_readings_input *input, struct error *error) {
  const char *of = lesson_file_value(item, key), *list = lesson_file_value(item, "read");
  const struct lesson_result *point;
  if (!of) return STATUS_OK;
  if (!list)
    return error_set(error, STATUS_USAGE, "'%s' goes with 'read': which readings at idle, as in read = maf_gps tp_pct", key);
  enum status status = lesson_lookup_result(results, of, &point, error);
  if (status == STATUS_OK && point->kind != LESSON_RESULT_POINT)
    status = error_set(error, STATUS_USAGE, "'%s' is not a settled point: readings at idle are taken from one", of);
  while (status == STATUS_OK && *(list += strspn(list, " ,"))) {
    char name[64];
    enum channel channel = CHANNEL_time_s;
    double value;
    snprintf(name, sizeof name, "%.*s", (int)strcspn(list, " ,"), list);
    list += strcspn(list, " ,");
    status = lesson_lookup_channel(name, &channel, error);
    if (status == STATUS_OK) status = lesson_lookup_value(point, channel, NAN, &value, error);
    if (status == STATUS_OK) status = estimate_readings_add(input, name, "idle", value, NAN, error);
  }
  return status;
}

static enum status read_all(const struct lesson_item *item, const struct lesson_results *results, struct lesson_result *result,
                            struct error *error) {
  struct estimate_readings_input baseline;
  struct estimate_question *question = &result->question;
  const double ambient_sd_kpa = result->input.ambient_sd_kpa;
  enum status status = estimate_readings_init(&result->input, &result->engine, error);
  if (status != STATUS_OK) return status;
  result->input.ambient_sd_kpa = ambient_sd_kpa;
  result->input.ambient_kpa = conditions_ambient_pa(&question->setting.conditions) / UNITS_PA_PER_KPA;
  baseline = result->input;
  status = read_point(item, results, "of", &result->input, error);
  if (status == STATUS_OK) status = read_point(item, results, "baseline", &baseline, error);
  for (size_t i = 0; i < item->field_count && status == STATUS_OK; i++)
    if (strcmp(item->fields[i].key, "reading") == 0)
      status = estimate_readings_add_text(&result->input, "reading =", item->fields[i].value, error);
  if (status == STATUS_OK && result->input.given.count == 0)
    status = error_set(error, STATUS_USAGE, "an estimate needs readings: 'of' with 'read', or 'reading'");
  if (status == STATUS_OK) status = estimate_readings_finish(&result->input, &question->setting, &question->readings, error);
  if (status == STATUS_OK) status = estimate_readings_finish(&baseline, &question->baseline_setting, &question->baseline, error);
  return status;
}

/* Whether the block says where the car stands; else its air is uncertain, as for the command. */
static bool is_place_told(const struct lesson_item *item) {
  for (size_t i = 0; i < item->field_count; i++)
    if (strcmp(item->fields[i].key, "set") == 0 &&
        (strncmp(item->fields[i].value, "altitude_m", 10) == 0 || strncmp(item->fields[i].value, "ambient_kpa", 11) == 0))
      return true;
  return false;
}

static enum status compute_estimate(const struct lesson_item *item, const struct lesson_results *results,
                                    struct lesson_result *result, struct error *error) {
  const struct for_each for_each = threads_for_each(0);
  struct estimate_question *question = &result->question;
  enum status status = begin_engine(item, result, error);
  question->engine = &result->engine;
  estimate_setting_init(&question->setting);
  question->setting.conditions = result->query.conditions;
  if (status == STATUS_OK && !is_place_told(item)) {
    estimate_place_unknown(&result->engine, &question->setting.conditions);
    result->input.ambient_sd_kpa = ESTIMATE_PLACE_SD_PA / UNITS_PA_PER_KPA;
  }
  question->baseline_setting = question->setting;
  if (status == STATUS_OK) status = read_all(item, results, result, error);
  if (status == STATUS_OK) status = estimate_create(question, &for_each, &result->estimate, error);
  if (status == STATUS_OK) status = estimate_findings_init(&result->findings, result->estimate, NULL, error);
  return status;
}

/* ---- all ---- */

static void name_result(const struct lesson_item *item, struct lesson_result *result) {
  const char *label = lesson_file_value(item, "label");
  result->line = item->line;
  snprintf(result->label, sizeof result->label, "%s", label ? label : item->name);
}

static enum status compute(const struct lesson_item *item, struct lesson_results *results, struct error *error) {
  static const enum lesson_result_kind kinds[LESSON_KIND_COUNT] = {[LESSON_KIND_run] = LESSON_RESULT_RUN,
                                                                   [LESSON_KIND_settle] = LESSON_RESULT_POINT,
                                                                   [LESSON_KIND_sweep] = LESSON_RESULT_SWEEP,
                                                                   [LESSON_KIND_estimate] = LESSON_RESULT_ESTIMATE};
  if (strlen(item->name) >= LESSON_RESULT_NAME_SIZE)
    return error_set(error, STATUS_USAGE, "a name has up to %d letters", LESSON_RESULT_NAME_SIZE - 1);
  struct lesson_result *result = lesson_result_add(results, item->name, kinds[item->kind]);
  if (!result) return error_set(error, STATUS_USAGE, "a lesson has up to %d results", LESSON_RESULT_MAX);
  name_result(item, result);
  switch (item->kind) {
  case LESSON_KIND_run:
    return compute_run(item, result, error);
  case LESSON_KIND_settle:
    return compute_point(item, result, error);
  case LESSON_KIND_sweep:
    return compute_sweep(item, result, error);
  default:
    return compute_estimate(item, results, result, error);
  }
}

/* The line of the field that a message is about, by the value that it quotes; else the block's. */
static int line_of(const struct lesson_item *item, const char *message) {
  for (size_t i = 0; i < item->field_count; i++) {
    const char *value = item->fields[i].value;
    char name[64];
    snprintf(name, sizeof name, "%.*s", (int)strcspn(value, "=@:"), value);
    if (*name && strstr(message, name)) return item->fields[i].line;
  }
  return item->line;
}

enum status lesson_compute(const struct lesson_file *file, struct lesson_results *results, struct error *error) {
  for (size_t i = 0; i < file->count; i++) {
    const struct lesson_item *item = &file->items[i];
    const bool computes = item->kind == LESSON_KIND_run || item->kind == LESSON_KIND_settle || item->kind == LESSON_KIND_sweep ||
                          item->kind == LESSON_KIND_estimate;
    struct error one;
    error_clear(&one);
    if (computes && compute(item, results, &one) != STATUS_OK)
      error_append(error, STATUS_BAD_CONFIG, "%s:%d: %s", file->path, line_of(item, one.text), one.text);
  }
  return error->status;
}
