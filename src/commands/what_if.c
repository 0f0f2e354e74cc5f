#include "commands/what_if.h"

#include "base/attributes.h"
#include "base/near_miss.h"
#include "base/number.h"
#include "io/format/json.h"
#include "io/format/text.h"
#include "sim/scenario_change.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum { WORD_SIZE = 2 * SETTING_NAME_SIZE };

const char *const what_if_freeze_names[] = {"controller", "learned", "spark", NULL};
static const char *const freeze_conditions[] = {"controller_frozen", "learned_frozen", "spark_frozen"};

static void PRINTF_LIKE(2, 3) note(struct what_if *what, const char *format, ...) {
  va_list values;
  if (what->count == WHAT_IF_NOTE_MAX) return;
  va_start(values, format);
  vsnprintf(what->notes[what->count++], WHAT_IF_NOTE_SIZE, format, values);
  va_end(values);
  if (what->count == WHAT_IF_NOTE_MAX) snprintf(what->notes[what->count - 1], WHAT_IF_NOTE_SIZE, "and more");
}

static void add_name(struct what_if *what, const char *word) {
  const size_t used = strlen(what->name);
  snprintf(what->name + used, sizeof what->name - used, "%s%s", used ? " " : "", word);
}

/* The row of the table that a field is of. */
static size_t index_of(const struct field *field) {
  size_t i = 0;
  while (&condition_rows[i].field != field) i++; // it is of the table
  return i;
}

static double user_value(size_t condition, double si) { return field_from_si(&condition_rows[condition].field, si); }

/* "at 10 s: film_um to 100 over 60 s". */
static void note_replaced(const struct scenario_step *step, const struct scenario_set *set, void *user) {
  char ramp[48] = "", note_text[SCENARIO_TEXT_SIZE + 32] = "", line[32] = "";
  const bool alone = step->set_count == 1 && step->key < 0 && step->action == SCENARIO_ACTION_NONE;
  if (step->ramp_s > 0.0) snprintf(ramp, sizeof ramp, " over %.10g s", step->ramp_s);
  if (alone && step->note[0]) snprintf(note_text, sizeof note_text, ", and its note \"%.120s\"", step->note);
  if (step->line > 0) snprintf(line, sizeof line, " (line %d)", step->line);
  note(user, "replaced: at %.10g s %s to %.10g%s%s%s", step->at_s, condition_rows[set->condition].field.key,
       user_value(set->condition, set->value), ramp, line, note_text);
}

void what_if_vary(struct what_if *what, struct scenario *scenario, const struct setting *setting) {
  if (!setting->of_engine) scenario_change_drop(scenario, index_of(setting->field), note_replaced, what);
}

static void fix_condition(struct what_if *what, struct scenario *scenario, size_t condition, double value) {
  const struct field *field = &condition_rows[condition].field;
  const double before = conditions_value(&scenario->initial, field);
  if (before < value || before > value)
    note(what, "%s is %.10g from the start and not %.10g", field->key, field_from_si(field, value), field_from_si(field, before));
  else
    note(what, "%s is %.10g, as it was at the start", field->key, field_from_si(field, value));
  scenario_change_fix(scenario, condition, value, note_replaced, what);
}

static bool is_usual(const struct condition_row *row, double si) {
  return fabs(field_from_si(&row->field, si) - row->initial) <= 1e-9 * (row->field.max - row->field.min);
}

/* The first thing that an engine would need for a condition and has not; NULL for none. */
static const char *lacks(const struct engine *engine, const struct condition_row *row) {
  const unsigned missing = row->needs & ~engine_features(engine);
  for (int i = 0; i < FEATURE_COUNT; i++)
    if (missing & 1u << i) return feature_texts[i];
  return NULL;
}

/* What is not there cannot be broken: a fault of it is refused. where: "--set bypass_open=1", "long.cfg:12". */
static enum status check_there(const struct engine *engine, size_t condition, double si, enum status status, const char *where,
                               struct error *error) {
  const struct condition_row *row = &condition_rows[condition];
  const char *lacking = row->kind == CONDITION_FAULT && !is_usual(row, si) ? lacks(engine, row) : NULL;
  if (!lacking) return STATUS_OK;
  return error_set(error, status, "%s: %s lacks %s, so %s cannot be; leave it out, or use an engine that has one", where,
                   engine->name, lacking, row->field.key);
}

static enum status fix(const char *text, struct engine *engine, struct scenario *scenario, struct what_if *what,
                       struct error *error) {
  struct setting setting;
  double value;
  const char *equals = strchr(text, '=');
  if (equals && strchr(equals, '@'))
    return error_set(error, STATUS_USAGE, "--set %s: a step is written NAME@T=VALUE, as in film_um@30=0", text);
  const enum status status = setting_read("set", text, &setting, &value, error);
  if (status != STATUS_OK) return status;
  if (setting.of_engine) {
    char before[SETTING_TEXT_SIZE], now[SETTING_TEXT_SIZE];
    setting_write(&setting, engine, &scenario->initial, before);
    setting_apply(&setting, value, engine, &scenario->initial);
    setting_write(&setting, engine, &scenario->initial, now);
    note(what, "engine: %s is %.110s and not %.110s", setting.name, now, before);
    what->engine_changed = true;
  } else {
    fix_condition(what, scenario, index_of(setting.field), field_to_si(setting.field, value));
  }
  add_name(what, text);
  return STATUS_OK;
}

/* A factor on a value of the engine. */
static enum status scale(const char *text, struct engine *engine, struct what_if *what, struct error *error) {
  struct setting setting;
  char word[WORD_SIZE], now[SETTING_TEXT_SIZE];
  const struct conditions *none = NULL; // it is of the engine
  const enum status status = setting_scale_text("scale", text, &setting, engine, error);
  if (status != STATUS_OK) return status;
  setting_write(&setting, engine, none, now);
  const int name = (int)strcspn(text, "=");
  note(what, "engine: %s is %.200s, %s times as much", setting.name, now, text + name + 1);
  snprintf(word, sizeof word, "%.*s=x%.30s", name, text, text + name + 1);
  add_name(what, word);
  what->engine_changed = true;
  return STATUS_OK;
}

/* One of these words; -1 after a fault. */
static int choose(const char *text, const char *value, const char *const *words, struct error *error) {
  size_t count = 0;
  char list[128] = "";
  for (; words[count]; count++) {
    if (strcmp(words[count], value) == 0) return (int)count;
    const size_t used = strlen(list);
    snprintf(list + used, sizeof list - used, "%s%s", count ? ", " : "", words[count]);
  }
  const char *near = near_miss_best(value, words, count);
  error_set(error, STATUS_USAGE, "--set %s: '%s' is none of %s%s%s%s", text, value, list, near ? "; did you mean " : "",
            near ? near : "", near ? "?" : "");
  return -1;
}

/* What stands behind NAME@T, as a step without its time. */
static enum status read_what(const char *text, const char *name, const char *value, struct scenario_step *step,
                             struct error *error) {
  if (strcmp(name, "key") == 0) {
    step->key = choose(text, value, computer_key_names, error);
    return step->key < 0 ? STATUS_USAGE : STATUS_OK;
  }
  if (strcmp(name, "action") == 0) {
    const int action = choose(text, value, scenario_action_names, error);
    if (action >= 0) step->action = (enum scenario_action)action;
    return action < 0 ? STATUS_USAGE : STATUS_OK;
  }
  char whole[WORD_SIZE];
  struct setting setting;
  double number;
  snprintf(whole, sizeof whole, "%s=%s", name, value);
  const enum status status = setting_read("set", whole, &setting, &number, error);
  if (status != STATUS_OK) return status;
  if (setting.of_engine)
    return error_set(error, STATUS_USAGE, "--set %s: %s belongs to the engine, which does not change during a run; leave out @T",
                     text, setting.name);
  step->set_count = 1;
  step->sets[0] = (struct scenario_set){index_of(setting.field), field_to_si(setting.field, number)};
  return STATUS_OK;
}

static enum status add_step(const char *text, struct scenario *scenario, struct what_if *what, struct error *error) {
  const char *at = strchr(text, '@'), *equals = strchr(text, '=');
  char name[SETTING_NAME_SIZE], time[32];
  struct scenario_step step = {.key = -1};
  if (at == text || at - text >= SETTING_NAME_SIZE || equals - at > (long)sizeof time || strlen(equals) >= SETTING_NAME_SIZE)
    return error_set(error, STATUS_USAGE, "--set %.100s: it needs NAME@T=VALUE, as in film_um@30=0", text);
  snprintf(name, sizeof name, "%.*s", (int)(at - text), text);
  snprintf(time, sizeof time, "%.*s", (int)(equals - at - 1), at + 1);
  if (!number_read(time, &step.at_s))
    return error_set(error, STATUS_USAGE, "--set %s: '%s' is not a time in seconds; it needs NAME@T=VALUE, as in film_um@30=0",
                     text, time);
  enum status status = read_what(text, name, equals + 1, &step, error);
  if (status != STATUS_OK) return status;
  struct error why;
  error_clear(&why);
  status = scenario_change_insert(scenario, &step, &why);
  if (status != STATUS_OK) return error_set(error, status, "--set %s: %s", text, why.text);
  note(what, "added: at %.10g s %s to %s", step.at_s, name, equals + 1);
  add_name(what, text);
  return STATUS_OK;
}

/* Whether a text asks for a step: NAME@T=VALUE. */
static bool asks_step(const char *text) {
  const char *at = strchr(text, '@'), *equals = strchr(text, '=');
  return at && equals && at < equals;
}

static enum status freeze(int which, struct scenario *scenario, struct what_if *what, struct error *error) {
  const struct condition_row *row = condition_find(freeze_conditions[which]);
  const size_t condition = (size_t)(row - condition_rows);
  const struct scenario_step step = {.key = -1, .set_count = 1, .sets = {{condition, 1.0}}};
  scenario_change_fix(scenario, condition, 0.0, note_replaced, what); // it settles in first, and then stays
  const enum status status = scenario_change_insert(scenario, &step, error);
  note(what, "frozen from the first moment: %s", row->field.text);
  char word[64];
  snprintf(word, sizeof word, "%s=1", row->field.key);
  add_name(what, word);
  return status;
}

/* ---- What does nothing ---- */

static void note_idle(struct what_if *what, const struct engine *engine, size_t condition) {
  const char *lacking = lacks(engine, &condition_rows[condition]);
  if (lacking) note(what, "%s does nothing here: this engine lacks %s", condition_rows[condition].field.key, lacking);
}

void what_if_note_idle(struct what_if *what, const struct engine *engine, const struct conditions *conditions) {
  for (size_t i = 0; i < condition_count; i++)
    if (!is_usual(&condition_rows[i], conditions_value(conditions, &condition_rows[i].field))) note_idle(what, engine, i);
}

/* The same of all that the timeline sets; each condition once. */
static void note_idle_steps(struct what_if *what, const struct engine *engine, const struct scenario *scenario) {
  bool noted[CONDITION_MOST];
  for (size_t i = 0; i < condition_count; i++)
    noted[i] = !is_usual(&condition_rows[i], conditions_value(&scenario->initial, &condition_rows[i].field));
  what_if_note_idle(what, engine, &scenario->initial);
  for (size_t i = 0; i < scenario->step_count; i++)
    for (size_t k = 0; k < scenario->steps[i].set_count; k++) {
      const struct scenario_set *set = &scenario->steps[i].sets[k];
      if (noted[set->condition] || is_usual(&condition_rows[set->condition], set->value)) continue;
      noted[set->condition] = true;
      note_idle(what, engine, set->condition);
    }
}

enum status what_if_check_sets(const struct command_line *line, const struct engine *engine, struct error *error) {
  enum status status = STATUS_OK;
  for (size_t i = 0; status == STATUS_OK && i < options_given(line, "set"); i++) {
    const char *text = options_text_at(line, "set", i);
    struct setting setting;
    double value;
    char where[WORD_SIZE + 8];
    if (asks_step(text)) continue;
    status = setting_read("set", text, &setting, &value, error);
    snprintf(where, sizeof where, "--set %s", text);
    if (status == STATUS_OK && !setting.of_engine)
      status = check_there(engine, index_of(setting.field), field_to_si(setting.field, value), STATUS_USAGE, where, error);
  }
  return status;
}

/* Faults of the file, and steps of --set, that the engine cannot have. */
static enum status check_timeline(const char *path, const struct engine *engine, const struct scenario *scenario,
                                  struct error *error) {
  char where[SCENARIO_PATH_SIZE + 64];
  enum status status = STATUS_OK;
  snprintf(where, sizeof where, "%s: initial", path);
  for (size_t i = 0; status == STATUS_OK && i < condition_count; i++)
    status =
        check_there(engine, i, conditions_value(&scenario->initial, &condition_rows[i].field), STATUS_BAD_CONFIG, where, error);
  for (size_t i = 0; status == STATUS_OK && i < scenario->step_count; i++) {
    const struct scenario_step *step = &scenario->steps[i];
    if (step->line > 0)
      snprintf(where, sizeof where, "%s:%d", path, step->line);
    else
      snprintf(where, sizeof where, "--set %s@%.10g", step->set_count ? condition_rows[step->sets[0].condition].field.key : "",
               step->at_s);
    for (size_t k = 0; status == STATUS_OK && k < step->set_count; k++)
      status = check_there(engine, step->sets[k].condition, step->sets[k].value,
                           step->line > 0 ? STATUS_BAD_CONFIG : STATUS_USAGE, where, error);
  }
  return status;
}

/* ---- All of it ---- */

enum status what_if_apply(const struct command_line *line, const char *path, struct engine *engine, struct scenario *scenario,
                          struct what_if *what, struct error *error) {
  enum status status = STATUS_OK;
  if (scenario->engine_elsewhere)
    note(what, "the engine that %.100s names is missing; the shipped one of that name is used: %.140s", path,
         scenario->engine_path);
  for (size_t pass = 0; pass < 2; pass++) // what holds from the start, then steps
    for (size_t i = 0; status == STATUS_OK && i < options_given(line, "set"); i++) {
      const char *text = options_text_at(line, "set", i);
      if (asks_step(text) != (pass == 1)) continue;
      status = pass == 1 ? add_step(text, scenario, what, error) : fix(text, engine, scenario, what, error);
    }
  for (size_t i = 0; status == STATUS_OK && i < options_given(line, "scale"); i++)
    status = scale(options_text_at(line, "scale", i), engine, what, error);
  for (size_t i = 0; status == STATUS_OK && i < options_given(line, "freeze"); i++)
    for (int k = 0; what_if_freeze_names[k]; k++)
      if (strcmp(options_text_at(line, "freeze", i), what_if_freeze_names[k]) == 0) status = freeze(k, scenario, what, error);
  if (status == STATUS_OK) status = what_if_check_sets(line, engine, error);
  if (status == STATUS_OK) status = check_timeline(path, engine, scenario, error);
  if (status != STATUS_OK) return status;
  note_idle_steps(what, engine, scenario);
  if (what->name[0]) {
    snprintf(what->suffix, sizeof what->suffix, "-%s", what->name);
    for (char *at = what->suffix; *at; at++)
      if (*at == ' ' || *at == '/') *at = '+';
    const size_t used = strlen(scenario->title);
    snprintf(scenario->title + used, sizeof scenario->title - used, " (%s)", what->name);
  }
  return STATUS_OK;
}

void what_if_print(const struct what_if *what, FILE *stream) {
  if (what->count == 0) return;
  fprintf(stream, "%s\n", what->name[0] ? "What if" : "Note");
  for (size_t i = 0; i < what->count; i++) {
    fprintf(stream, "  ");
    text_wrap(stream, 2, what->notes[i]);
  }
  fputc('\n', stream);
}

void what_if_put_json(const struct what_if *what, struct json *json) {
  if (what->count == 0) return;
  json_open_array(json, "what_if");
  for (size_t i = 0; i < what->count; i++) json_put_text(json, NULL, what->notes[i]);
  json_close(json);
}
