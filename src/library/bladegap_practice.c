/* Practice: a case with a hidden fault, its tests, an answer and its mark. */
#include "analysis/practice/practice_session.h"
#include "analysis/practice/practice_text.h"
#include "analysis/practice/practice_words.h"
#include "car/remedy.h"
#include "library/bladegap_engine.h"
#include "library/bladegap_table.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct bladegap_practice {
  struct practice_record record;
  struct practice_session *session; // owned
  struct practice_answer answer;
  struct practice_mark *mark; // owned; NULL: not marked yet
};

/* ---- Life ---- */

void bladegap_practice_destroy(bladegap_practice *practice) {
  if (!practice) return;
  practice_session_destroy(practice->session);
  free(practice->mark);
  free(practice);
}

static bladegap_practice *allocate(struct edge edge) {
  bladegap_practice *practice = calloc(1, sizeof *practice);
  if (!practice) edge_fail(edge, STATUS_NO_MEMORY, "out of memory for a case");
  return practice;
}

static bladegap_practice *draw(bladegap_practice *practice, const struct engine *engine, struct edge edge) {
  struct error what;
  error_clear(&what);
  if (practice_session_create(engine, practice->record.level, &practice->session, &what) != STATUS_OK) {
    edge_tell(edge, &what);
    bladegap_practice_destroy(practice);
    return NULL;
  }
  practice_session_draw(practice->session, practice->record.seed);
  return practice;
}

bladegap_practice *bladegap_practice_open(const bladegap_engine *engine, int level, uint64_t seed, char *error,
                                          size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (bladegap_engine_ready(engine, edge) != BLADEGAP_OK) return NULL;
  if (level < PRACTICE_LEVEL_LEAST || level > PRACTICE_LEVEL_MOST) {
    edge_fail(edge, STATUS_USAGE, "level %d: it is %d to %d", level, PRACTICE_LEVEL_LEAST, PRACTICE_LEVEL_MOST);
    return NULL;
  }
  bladegap_practice *practice = allocate(edge);
  if (!practice) return NULL;
  practice->record.level = level;
  practice->record.seed = seed;
  snprintf(practice->record.engine, sizeof practice->record.engine, "%s", engine->engine.name);
  return draw(practice, &engine->engine, edge);
}

bladegap_practice *bladegap_practice_resume(const char *source, const char *text, size_t size, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!source || !text) {
    edge_fail(edge, STATUS_USAGE, "the text of the case or the name of its source is NULL");
    return NULL;
  }
  bladegap_practice *practice = allocate(edge);
  if (!practice) return NULL;
  struct error what;
  error_clear(&what);
  if (practice_text_read(source, text, size, &practice->record, &what) != STATUS_OK) {
    edge_tell(edge, &what);
    bladegap_practice_destroy(practice);
    return NULL;
  }
  bladegap_engine *engine = bladegap_engine_shipped(practice->record.engine, error, error_size);
  if (!engine) {
    bladegap_practice_destroy(practice);
    return NULL;
  }
  practice = draw(practice, &engine->engine, edge);
  bladegap_engine_destroy(engine);
  return practice;
}

static int ready(const bladegap_practice *practice, struct edge edge) {
  return practice ? BLADEGAP_OK : edge_fail(edge, STATUS_USAGE, "the case is NULL");
}

/* ---- Acting ---- */

static int open_still(const bladegap_practice *practice, struct edge edge) {
  if (!practice) return ready(practice, edge);
  return practice->record.words[0][0] ? edge_fail(edge, STATUS_USAGE, "the case has been answered: nothing more counts")
                                      : BLADEGAP_OK;
}

int bladegap_practice_measure(bladegap_practice *practice, const char *test, int careful, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = open_still(practice, edge);
  if (code != BLADEGAP_OK) return code;
  if (!test) return edge_fail(edge, STATUS_USAGE, "the name of the test is NULL");
  struct error what;
  error_clear(&what);
  size_t found;
  struct practice_result result;
  enum status status = practice_tests_get(&practice->session->tests, test, &found, &what);
  if (status == STATUS_OK)
    status = practice_session_measure(practice->session, &practice->record, found, careful != 0, &result, &what);
  return status == STATUS_OK ? BLADEGAP_OK : edge_tell(edge, &what);
}

int bladegap_practice_answer(bladegap_practice *practice, const char *cause, const char *severity, const char *work, int careful,
                             char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = open_still(practice, edge);
  if (code != BLADEGAP_OK) return code;
  const char *const words[] = {cause, severity, work};
  for (int i = 0; i < 3; i++)
    if (!words[i] || !words[i][0] || strlen(words[i]) + 10 >= PRACTICE_TEXT_SIZE)
      return edge_fail(edge, STATUS_USAGE, "cause, severity or work is NULL, empty or too long");
  struct error what;
  error_clear(&what);
  struct practice_answer answer;
  if (practice_answer_read(&practice->session->engine, words, &answer, &what) != STATUS_OK) return edge_tell(edge, &what);
  for (int i = 0; i < 3; i++) snprintf(practice->record.words[i], PRACTICE_TEXT_SIZE, "%s", words[i]);
  practice->record.careful = careful != 0;
  return BLADEGAP_OK;
}

int bladegap_practice_mark(bladegap_practice *practice, double *total, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!practice) return ready(practice, edge);
  if (!total) return edge_fail(edge, STATUS_USAGE, "there is nowhere to put the mark: NULL");
  struct error what;
  error_clear(&what);
  struct practice_mark *mark = calloc(1, sizeof *mark);
  if (!mark) return edge_fail(edge, STATUS_NO_MEMORY, "out of memory for a mark");
  const enum status status =
      practice_session_mark(practice->session, &practice->record, &for_each_serial, &practice->answer, mark, &what);
  if (status != STATUS_OK) {
    free(mark);
    return edge_tell(edge, &what);
  }
  free(practice->mark);
  practice->mark = mark;
  *total = mark->total;
  return BLADEGAP_OK;
}

int bladegap_practice_text(const bladegap_practice *practice, char *text, size_t size, size_t *needed, char *error,
                           size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!practice) return ready(practice, edge);
  char *whole = malloc(PRACTICE_TEXT_MOST);
  if (!whole) return edge_fail(edge, STATUS_NO_MEMORY, "out of memory for the text of a case");
  const size_t length = practice_text_write(&practice->record, whole);
  if (needed) *needed = length + 1;
  if (text && size > 0) snprintf(text, size, "%s", whole);
  free(whole);
  if (!text || size > length) return BLADEGAP_OK;
  return edge_fail(edge, STATUS_USAGE, "there is room for %zu bytes; the text of the case needs %zu", size, length + 1);
}

/* ---- Tables ---- */

static void fill_case(const bladegap_practice *p, struct grid *grid) {
  grid_column(grid, "text");
  for (int i = 0; i < PRACTICE_WORDS_CASE_LINES; i++) {
    char text[PRACTICE_WORDS_SIZE];
    practice_words_case(&p->session->drawn, i, text);
    grid_text(grid, text);
  }
}

static void fill_tests(const bladegap_practice *p, struct grid *grid) {
  static const char *const columns[] = {"name", "minutes", "text", "cautions"};
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  for (size_t i = 0; i < p->session->tests.count; i++) {
    const struct estimate_next_test *what = &p->session->tests.tests[i].what;
    char cautions[4096] = "";
    for (int c = 0, used = 0; c < CAUTION_COUNT; c++)
      if (((what->cautions >> c) & 1u) && used < (int)sizeof cautions)
        used += snprintf(cautions + used, sizeof cautions - (size_t)used, "%s%s", used ? "\n" : "", caution_rows[c].text);
    grid_text(grid, what->name);
    grid_number(grid, what->minutes);
    grid_text(grid, what->text);
    grid_text(grid, cautions);
  }
}

static void fill_readings(const bladegap_practice *p, struct grid *grid) {
  static const char *const outcomes[] = {"read", "the engine stalls, nothing can be read", "yes, something is found",
                                         "no, nothing is found"};
  static const char *const columns[] = {"test", "minutes", "name", "value", "text"};
  const struct practice_tests *tests = &p->session->tests;
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  for (size_t i = 0; i < p->record.done_count; i++) {
    struct practice_result result;
    if (!practice_mark_shown(&p->session->drawn, tests, &p->record, i, &result)) continue;
    const struct practice_test *test = &tests->tests[result.test];
    for (size_t k = 0; k < (result.outcome == PRACTICE_READ ? test->count : 1); k++) {
      if (result.outcome == PRACTICE_READ && !isfinite(result.values[k])) continue;
      const struct estimate_quantity_row *row = &estimate_quantities[tests->readings.readings[test->shown[k]].quantity];
      grid_text(grid, test->what.name);
      grid_number(grid, test->what.minutes);
      grid_text(grid, result.outcome == PRACTICE_READ ? row->name : "");
      if (result.outcome == PRACTICE_READ)
        grid_number(grid, result.values[k]);
      else
        grid_nothing(grid);
      grid_text(grid, result.outcome == PRACTICE_READ ? row->text : outcomes[result.outcome]);
    }
  }
}

static void fill_work(const bladegap_practice *p, struct grid *grid) {
  static const char *const columns[] = {"name", "text"};
  (void)p;
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  for (size_t i = 0; i < REMEDY_COUNT; i++) {
    if (remedy_rows[i].kind == REMEDY_NONE) continue;
    grid_text(grid, remedy_rows[i].name);
    grid_text(grid, remedy_rows[i].text);
  }
  for (size_t i = 0; i < PRACTICE_WORDS_ACT_COUNT; i++) {
    grid_text(grid, practice_words_acts[i].name);
    grid_text(grid, practice_words_acts[i].text);
  }
}

static void fill_points(const bladegap_practice *p, struct grid *grid) {
  static const char *const columns[] = {"part", "points", "most"};
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  for (int i = 0; p->mark && i < PRACTICE_PART_COUNT; i++) {
    grid_text(grid, practice_mark_parts[i].name);
    grid_number(grid, p->mark->points[i]);
    grid_number(grid, practice_mark_parts[i].most);
  }
}

static void put_steps(const bladegap_practice *p, const char *whose, const struct practice_step *steps, size_t count,
                      struct grid *grid) {
  for (size_t i = 0; i < count; i++) {
    grid_text(grid, whose);
    grid_text(grid, p->session->tests.tests[steps[i].result.test].what.name);
    grid_number(grid, steps[i].minutes);
    grid_number(grid, steps[i].gain_bits);
    grid_number(grid, steps[i].truth_before);
    grid_number(grid, steps[i].truth_after);
  }
}

static void fill_steps(const bladegap_practice *p, struct grid *grid) {
  static const char *const columns[] = {"plan", "test", "minutes", "gain_bits", "before", "after"};
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  if (!p->mark) return;
  put_steps(p, "yours", p->mark->steps, p->mark->count, grid);
  put_steps(p, "best", p->mark->best.steps, p->mark->best.count, grid);
}

static void fill_why(const bladegap_practice *p, struct grid *grid) {
  char text[PRACTICE_WORDS_SIZE];
  grid_column(grid, "text");
  if (!p->mark) return;
  for (size_t i = 0; i < practice_words_truth_count(&p->session->drawn); i++) {
    practice_words_truth(&p->session->drawn, i, text);
    grid_text(grid, text);
  }
  practice_words_backed(&p->answer, p->mark, text);
  grid_text(grid, text);
  practice_words_settled(p->session->bank, p->mark, text);
  grid_text(grid, text);
  practice_words_best(p->session->bank, &p->mark->best, text);
  grid_text(grid, text);
}

static const char *const kind_names[] = {"case", "tests", "readings", "work", "points", "steps", "why"};
static void (*const kind_fills[])(const bladegap_practice *practice, struct grid *grid) = {
    fill_case, fill_tests, fill_readings, fill_work, fill_points, fill_steps, fill_why};

bladegap_table *bladegap_practice_table(const bladegap_practice *practice, const char *kind, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (ready(practice, edge) != BLADEGAP_OK) return NULL;
  const int found = kind ? edge_find(kind, kind_names, ARRAY_COUNT(kind_names)) : -1;
  bladegap_table *table = NULL;
  if (!kind)
    edge_fail(edge, STATUS_USAGE, "a table of what? The kind is NULL");
  else if (found < 0)
    edge_unknown(edge, "table of a case", kind, kind_names, ARRAY_COUNT(kind_names));
  else
    table = bladegap_table_create(edge);
  if (!table) return NULL;
  kind_fills[found](practice, &table->grid);
  return bladegap_table_finish(table, edge);
}
