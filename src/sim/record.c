#include "sim/record.h"

#include "base/near_miss.h"
#include "car/former.h"
#include "sim/record_text.h"

#include <ctype.h>
#include <inttypes.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { WORD_SIZE = 64 };
#define RECORD_LEAST_S COMPUTER_PERIOD_S
#define RECORD_MOST_S  60.0
#define TIME_MOST_S    ((double)SCENARIO_TIME_MOST_S)

/* What can stand behind `start` and behind a time, besides a condition. */
enum start_word { START_TITLE, START_STATE, START_SEED, START_RECORD_S, START_FILM, START_SOLVER, START_WORD_COUNT };
static const char *const start_words[] = {"title", "state", "seed", "record_s", "film", "solver", NULL};
enum action_word { ACTION_KEY, ACTION_ACTION, ACTION_NOTE, ACTION_END };
static const char *const action_words[] = {"key", "action", "note", "end", NULL};
static const char *const film_words[] = {"blended", "on_demand", NULL};     // by scenario.film_on_demand
static const char *const solver_words[] = {"cvode", "fast", "fixed", NULL}; // names of solver.h

/* ---- reading ---- */

struct reader {
  const char *name;
  struct scenario *scenario;
  struct error *error;
  struct record_text_line line;
  bool started[START_WORD_COUNT], started_condition[CONDITION_MOST];
  bool timed, ended;            // a line with a time has come, the last one
  double now_s;                 // of the last line with a time
  struct conditions conditions; // as they will be after the line before; ramps as if ended
};

static void fault(struct reader *r, const char *format, ...) PRINTF_LIKE(2, 3);

static void fault(struct reader *r, const char *format, ...) {
  char text[512];
  va_list values;
  va_start(values, format);
  vsnprintf(text, sizeof text, format, values);
  va_end(values);
  error_append(r->error, STATUS_BAD_CONFIG, "%.300s:%zu: %s", r->name, r->line.number, text);
}

static int find(const char *const *words, const char *word) {
  for (int i = 0; words[i]; i++)
    if (strcmp(words[i], word) == 0) return i;
  return -1;
}

/* Says that a name is unknown: the words, or a condition. */
static void fault_name(struct reader *r, const char *const *words, const char *word) {
  const char *now = former_name_now(word);
  if (now) {
    fault(r, "'%.60s' is no longer known; %s", word, now);
    return;
  }
  const char *names[CONDITION_MOST + START_WORD_COUNT];
  size_t count = 0;
  for (size_t i = 0; words[i]; i++) names[count++] = words[i];
  for (size_t i = 0; i < condition_count; i++) names[count++] = condition_rows[i].field.key;
  const char *near = near_miss_best(word, names, count);
  char list[WORD_SIZE];
  record_text_list(words, sizeof list, list);
  if (near)
    fault(r, "'%.60s' is unknown; did you mean '%s'?", word, near);
  else
    fault(r, "'%.60s' is unknown; allowed: %s, or a condition (bladegap list faults)", word, list);
}

/* The next word, which must be one of these; its index, -1 after a fault. */
static int take_choice(struct reader *r, const char *what, const char *const *words) {
  char word[WORD_SIZE], list[2 * WORD_SIZE];
  record_text_word(&r->line, sizeof word, word);
  const int found = find(words, word);
  if (found >= 0) return found;
  size_t count = 0;
  while (words[count]) count++;
  const char *near = near_miss_best(word, words, count);
  record_text_list(words, sizeof list, list);
  if (near)
    fault(r, "%s is '%s'; did you mean '%s'? Allowed: %s", what, word, near, list);
  else
    fault(r, "%s is '%s'; allowed: %s", what, word, list);
  return -1;
}

/* The next word as a number in a range; false after a fault. */
static bool take_number(struct reader *r, const char *what, double least, double most, double *value) {
  char word[WORD_SIZE];
  if (!record_text_word(&r->line, sizeof word, word)) {
    fault(r, "%s has no value; allowed: %.10g to %.10g", what, least, most);
  } else if (!record_text_number(word, value)) {
    fault(r, "%s is '%s', which is not a number; allowed: %.10g to %.10g", what, word, least, most);
  } else if (*value < least || *value > most) {
    fault(r, "%s is %s; allowed: %.10g to %.10g", what, word, least, most);
  } else {
    return true;
  }
  return false;
}

static void take_title(struct reader *r) {
  if (!record_text_rest(&r->line, sizeof r->scenario->title, r->scenario->title))
    fault(r, "a title is one line of at most %d bytes, without control characters", SCENARIO_TEXT_SIZE - 1);
}

static void take_seed(struct reader *r) {
  char word[WORD_SIZE];
  record_text_word(&r->line, sizeof word, word);
  if (!record_text_whole(word, &r->scenario->seed))
    fault(r, "seed is '%s'; allowed: whole numbers from 0 to %" PRIu64, word, UINT64_MAX);
}

static void take_record_s(struct reader *r) {
  double value;
  if (!take_number(r, "record_s", RECORD_LEAST_S, RECORD_MOST_S, &value)) return;
  const double ticks = value / COMPUTER_PERIOD_S;
  if (fabs(ticks - round(ticks)) > 1e-6)
    fault(r, "record_s is %.10g; it must be a multiple of %.10g", value, COMPUTER_PERIOD_S);
  else
    r->scenario->record_s = value;
}

/* The value of a condition, checked, into a step's first set. */
static bool take_value(struct reader *r, const struct condition_row *row, struct scenario_step *step) {
  double value;
  if (!take_number(r, row->field.key, row->field.min, row->field.max, &value)) return false;
  struct error error;
  error_clear(&error);
  if (condition_check(row, value, &error) != STATUS_OK) {
    fault(r, "%s", error.text);
    return false;
  }
  *step = (struct scenario_step){.key = -1, .line = (int)r->line.number, .set_count = 1};
  step->sets[0] = (struct scenario_set){(size_t)(row - condition_rows), field_to_si(&row->field, value)};
  return true;
}

static void start_line(struct reader *r) {
  char word[WORD_SIZE];
  record_text_word(&r->line, sizeof word, word);
  const int start = find(start_words, word);
  const struct condition_row *row = start < 0 ? condition_find(word) : NULL;
  if (start < 0 && !row) {
    fault_name(r, start_words, word);
    return;
  }
  bool *seen = row ? &r->started_condition[row - condition_rows] : &r->started[start];
  if (*seen) fault(r, "'start %s' is given twice", word);
  if (r->timed) fault(r, "'start %s' comes after a line with a time; it belongs before the first", word);
  *seen = true;
  int choice;
  struct scenario_step step;
  if (row && take_value(r, row, &step)) conditions_set(&r->scenario->initial, &row->field, step.sets[0].value);
  if (start == START_TITLE) take_title(r);
  if (start == START_SEED) take_seed(r);
  if (start == START_RECORD_S) take_record_s(r);
  if (start == START_STATE && (choice = take_choice(r, "state", scenario_start_names)) >= 0)
    scenario_set_start(r->scenario, (enum scenario_start)choice);
  if (start == START_FILM && (choice = take_choice(r, "film", film_words)) >= 0) r->scenario->film_on_demand = choice == 1;
  if (start == START_SOLVER && (choice = take_choice(r, "solver", solver_words)) >= 0)
    snprintf(r->scenario->solver, sizeof r->scenario->solver, "%s", solver_words[choice]);
}

static void take_note(struct reader *r, struct scenario_step *step) {
  if (!record_text_rest(&r->line, sizeof step->note, step->note) || !step->note[0])
    fault(r, "a note is one line of 1 to %d bytes, without control characters", SCENARIO_TEXT_SIZE - 1);
}

/* Puts a step that has been read behind the others. */
static void add_step(struct reader *r, const struct scenario_step *step) {
  struct error error;
  error_clear(&error);
  if (scenario_check_step(step, &r->conditions, &error) != STATUS_OK)
    fault(r, "%s", error.text);
  else if (scenario_append(r->scenario, step, &error) != STATUS_OK)
    error_append(r->error, error.status, "%.300s: %.200s", r->name, error.text);
  for (size_t i = 0; i < step->set_count; i++)
    conditions_set(&r->conditions, &condition_rows[step->sets[i].condition].field, step->sets[i].value);
}

static void action_line(struct reader *r) {
  char word[WORD_SIZE];
  record_text_word(&r->line, sizeof word, word);
  const int action = find(action_words, word);
  const struct condition_row *row = action < 0 ? condition_find(word) : NULL;
  struct scenario_step step = {.key = -1, .line = (int)r->line.number};
  const size_t faults_before = r->error->line_count;
  if (action < 0 && !row) fault_name(r, action_words, word);
  if (row && take_value(r, row, &step) && record_text_more(&r->line)) take_number(r, "a ramp", 0.0, TIME_MOST_S, &step.ramp_s);
  if (action == ACTION_KEY) step.key = take_choice(r, "key", computer_key_names);
  if (action == ACTION_ACTION) {
    const int choice = take_choice(r, "action", scenario_action_names + 1); // not "none"
    if (choice >= 0) step.action = (enum scenario_action)(choice + 1);
  }
  if (action == ACTION_NOTE) take_note(r, &step);
  if (action == ACTION_END) {
    r->ended = true;
    r->scenario->duration_s = r->now_s;
    if (r->now_s < COMPUTER_PERIOD_S)
      fault(r, "the end is at %.10g s; allowed: %.10g to %.10g", r->now_s, COMPUTER_PERIOD_S, TIME_MOST_S);
    return;
  }
  if (r->error->line_count > faults_before) return;
  step.at_s = r->now_s;
  add_step(r, &step);
}

static void timed_line(struct reader *r, const char *word) {
  double at_s;
  if (!record_text_number(word, &at_s)) {
    const char *const names[] = {"start"};
    const char *near = near_miss_best(word, names, 1);
    fault(r,
          near ? "'%.60s' is neither a time nor 'start'; did you mean 'start'?"
               : "'%.60s' is neither a time in seconds nor 'start'",
          word);
    return;
  }
  if (at_s < 0.0 || at_s > TIME_MOST_S) {
    fault(r, "the time is %s s; allowed: 0 to %.10g", word, TIME_MOST_S);
    return;
  }
  if (r->timed && at_s < r->now_s) fault(r, "%s s comes after %.10g s; lines must be in order of time", word, r->now_s);
  if (!r->timed) r->conditions = r->scenario->initial;
  r->timed = true;
  r->now_s = at_s;
  action_line(r);
}

/* The first line; false if there is no use in reading on. */
static bool first_line(struct reader *r) {
  char word[WORD_SIZE] = "";
  uint64_t format = 0;
  if (record_text_next(&r->line)) record_text_word(&r->line, sizeof word, word);
  if (strcmp(word, RECORD_MARK) != 0) {
    fault(r, "this is not a record: its first line must begin with '%s FORMAT ENGINE'", RECORD_MARK);
    return false;
  }
  record_text_word(&r->line, sizeof word, word);
  if (!record_text_whole(word, &format) || format != RECORD_FORMAT) {
    fault(r, "the record's format is '%s'; this program reads format %d", word, RECORD_FORMAT);
    return false;
  }
  if (!record_text_rest(&r->line, sizeof r->scenario->engine_path, r->scenario->engine_path) || !r->scenario->engine_path[0])
    fault(r, "the first line names no engine: '%s %d ENGINE', of at most %d bytes", RECORD_MARK, RECORD_FORMAT,
          SCENARIO_PATH_SIZE - 1);
  return true;
}

static void one_line(struct reader *r) {
  char word[WORD_SIZE];
  record_text_word(&r->line, sizeof word, word);
  if (r->ended)
    fault(r, "a line after the end");
  else if (strcmp(word, "start") == 0)
    start_line(r);
  else
    timed_line(r, word);
  if (record_text_more(&r->line) && r->error->line_count == 0) {
    record_text_word(&r->line, sizeof word, word);
    fault(r, "'%s' is one word too many", word);
  }
}

bool record_is(const char *text, size_t size) {
  struct record_text_line line;
  char word[WORD_SIZE] = "";
  record_text_begin(&line, text, size);
  if (record_text_next(&line)) record_text_word(&line, sizeof word, word);
  return strcmp(word, RECORD_MARK) == 0;
}

enum status record_read(const char *text, size_t size, const char *name, struct scenario *scenario, struct error *error) {
  scenario_init(scenario);
  struct reader reader = {.name = name, .scenario = scenario, .error = error};
  record_text_begin(&reader.line, text, size);
  if (!first_line(&reader)) return error->status;
  while (record_text_next(&reader.line)) one_line(&reader);
  if (!reader.ended) fault(&reader, "the record has no last line 'TIME end'");
  return error->status;
}

/* ---- writing ---- */

struct writer {
  char *text;
  size_t size, used;
};

static void put(struct writer *w, const char *format, ...) PRINTF_LIKE(2, 3);

static void put(struct writer *w, const char *format, ...) {
  const size_t at = w->used < w->size ? w->used : w->size;
  va_list values;
  va_start(values, format);
  const int length = vsnprintf(w->text ? w->text + at : NULL, w->size - at, format, values);
  va_end(values);
  if (length > 0) w->used += (size_t)length;
}

/* One line of text whatever it holds. */
static void put_plain(struct writer *w, const char *before, const char *text) {
  put(w, "%s", before);
  for (; *text; text++) put(w, "%c", iscntrl((unsigned char)*text) ? ' ' : *text);
  put(w, "\n");
}

static void put_number(struct writer *w, const char *before, const struct field *field, double value) {
  char number[RECORD_TEXT_NUMBER_SIZE];
  record_text_shortest(field, value, number);
  put(w, "%s%s", before, number);
}

static void put_start(struct writer *w, const struct scenario *scenario) {
  if (scenario->title[0]) put_plain(w, "start title ", scenario->title);
  put(w, "start state %s\n", scenario_start_names[scenario_start_of(scenario)]);
  put(w, "start seed %" PRIu64 "\n", scenario->seed);
  if (scenario->solver[0]) put(w, "start solver %s\n", scenario->solver);
  put_number(w, "start record_s ", NULL, scenario->record_s);
  put(w, "\n");
  if (scenario->film_on_demand && !scenario->settled) put(w, "start film %s\n", film_words[1]);
  struct conditions usual;
  conditions_init(&usual);
  for (size_t i = 0; i < condition_count; i++) {
    const struct field *field = &condition_rows[i].field;
    const double value = conditions_value(&scenario->initial, field), other = conditions_value(&usual, field);
    if (value >= other && value <= other) continue;
    put(w, "start %s ", field->key);
    put_number(w, "", field, value);
    put(w, "\n");
  }
}

static void put_step(struct writer *w, const struct scenario_step *step) {
  char at[RECORD_TEXT_NUMBER_SIZE];
  record_text_shortest(NULL, step->at_s, at);
  if (step->note[0]) {
    put(w, "%s ", at);
    put_plain(w, "note ", step->note);
  }
  for (size_t i = 0; i < step->set_count; i++) {
    const struct field *field = &condition_rows[step->sets[i].condition].field;
    put(w, "%s %s ", at, field->key);
    put_number(w, "", field, step->sets[i].value);
    if (step->ramp_s > 0.0) put_number(w, " ", NULL, step->ramp_s);
    put(w, "\n");
  }
  if (step->key >= 0) put(w, "%s key %s\n", at, computer_key_names[step->key]);
  if (step->action != SCENARIO_ACTION_NONE) put(w, "%s action %s\n", at, scenario_action_names[step->action]);
}

size_t record_write(const struct scenario *scenario, const char *engine, char *text, size_t size) {
  struct writer writer = {text, size, 0};
  put(&writer, "%s %d ", RECORD_MARK, RECORD_FORMAT);
  put_plain(&writer, "", engine);
  put_start(&writer, scenario);
  for (size_t i = 0; i < scenario->step_count; i++)
    if (scenario->steps[i].at_s <= scenario->duration_s) put_step(&writer, &scenario->steps[i]);
  put_number(&writer, "", NULL, scenario->duration_s);
  put(&writer, " end\n");
  return writer.used;
}
