#include "commands/practice_desk.h"

#include "base/attributes.h"
#include "base/near_miss.h"
#include "commands/engine_any.h"
#include "io/config/case_file.h"
#include "io/report/practice_report.h"

#include <stdlib.h>
#include <string.h>

const char practice_desk_help[] =
    "  show                              the complaint, and what has been read so far\n"
    "  tests                             all tests, with their minutes\n"
    "  work                              all that can be done to the car\n"
    "  measure TEST                      a test; its cautions come first\n"
    "  note TEXT                         a note that stays with the case\n"
    "  answer CAUSE SEVERITY WORK        names with + between them; CAUSE also nothing or not_told;\n"
    "                                    SEVERITY a number in the unit of the cause's condition, or -\n"
    "  mark                              the mark, and why\n";

enum status practice_desk_begin(struct practice_desk *desk, const char *path, struct error *error) {
  struct engine *engine = calloc(1, sizeof *engine);
  if (!engine) return error_set(error, STATUS_NO_MEMORY, "out of memory for %s", path);
  desk->path = path;
  enum status status = case_file_read(path, &desk->record, error);
  if (status == STATUS_OK) status = engine_any_read(desk->record.engine, engine, error);
  if (status == STATUS_OK) status = practice_session_create(engine, desk->record.level, &desk->session, error);
  if (status == STATUS_OK) practice_session_draw(desk->session, desk->record.seed);
  free(engine);
  return status;
}

void practice_desk_end(struct practice_desk *desk) { practice_session_destroy(desk->session); }

/* Shows cautions that must be read first. True: they were not acknowledged, and nothing is done. */
static bool stops_at(struct practice_desk *desk, unsigned cautions, const char *what, bool *had_read) {
  *had_read = (cautions & ~desk->record.read) == 0;
  if (cautions == 0 || desk->careful) return false;
  printf("Before %s:\n", what);
  practice_report_cautions(cautions, stdout);
  desk->record.read |= cautions;
  return true;
}

static enum status ask_careful(struct practice_desk *desk, struct error *error) {
  const enum status status = case_file_write(&desk->record, desk->path, error);
  return status == STATUS_OK ? error_set(error, STATUS_NO, "nothing was done: read the cautions, then repeat it with --careful")
                             : status;
}

static enum status do_show(struct practice_desk *desk, char *const *words, struct error *error) {
  (void)words, (void)error;
  practice_report_case(&desk->session->drawn, &desk->session->tests, &desk->record, stdout);
  return STATUS_OK;
}

static enum status do_tests(struct practice_desk *desk, char *const *words, struct error *error) {
  (void)words, (void)error;
  practice_report_tests(&desk->session->tests, stdout);
  return STATUS_OK;
}

static enum status do_work(struct practice_desk *desk, char *const *words, struct error *error) {
  (void)desk, (void)words, (void)error;
  practice_report_work(stdout);
  return STATUS_OK;
}

static enum status refuse_answered(const struct practice_desk *desk, struct error *error) {
  if (!desk->record.words[0][0]) return STATUS_OK;
  return error_set(error, STATUS_USAGE, "the case has been answered: nothing more counts");
}

static enum status do_measure(struct practice_desk *desk, char *const *words, struct error *error) {
  size_t test;
  bool had_read;
  enum status status = refuse_answered(desk, error);
  if (status == STATUS_OK) status = practice_tests_get(&desk->session->tests, words[1], &test, error);
  if (status != STATUS_OK) return status;
  const struct estimate_next_test *what = &desk->session->tests.tests[test].what;
  if (stops_at(desk, what->cautions, what->name, &had_read)) return ask_careful(desk, error);
  struct practice_result result;
  status = practice_session_measure(desk->session, &desk->record, test, had_read, &result, error);
  if (status == STATUS_OK) status = case_file_write(&desk->record, desk->path, error);
  if (status != STATUS_OK) return status;
  if (desk->json) return practice_report_result_json(&desk->session->tests, &result, stdout, error);
  practice_report_result(&desk->session->tests, &result, stdout);
  printf("  spent so far: %.0f min\n", practice_report_minutes(&desk->session->tests, &desk->record));
  return STATUS_OK;
}

static enum status do_note(struct practice_desk *desk, char *const *words, struct error *error) {
  const enum status status = practice_text_note(&desk->record, words[1], error);
  return status == STATUS_OK ? case_file_write(&desk->record, desk->path, error) : status;
}

static enum status do_answer(struct practice_desk *desk, char *const *words, struct error *error) {
  struct practice_answer answer;
  bool had_read;
  const char *const given[] = {words[1], words[2], words[3]};
  enum status status = refuse_answered(desk, error);
  for (int i = 0; status == STATUS_OK && i < 3; i++)
    if (strlen(given[i]) + 10 >= PRACTICE_TEXT_SIZE || !given[i][0])
      status = error_set(error, STATUS_USAGE, "answer: a word is empty or too long");
  if (status == STATUS_OK) status = practice_answer_read(&desk->session->engine, given, &answer, error);
  if (status != STATUS_OK) return status;
  const unsigned cautions = answer.remedies ? practice_answer_cautions(&desk->session->engine, &answer) : 0;
  if (stops_at(desk, cautions, "that work", &had_read)) return ask_careful(desk, error);
  for (int i = 0; i < 3; i++) snprintf(desk->record.words[i], PRACTICE_TEXT_SIZE, "%s", given[i]);
  desk->record.careful = had_read;
  return case_file_write(&desk->record, desk->path, error);
}

static enum status do_mark(struct practice_desk *desk, char *const *words, struct error *error) {
  struct practice_answer answer;
  struct practice_mark *mark = calloc(1, sizeof *mark);
  (void)words;
  if (!mark) return error_set(error, STATUS_NO_MEMORY, "out of memory for a mark");
  enum status status = practice_session_mark(desk->session, &desk->record, &desk->for_each, &answer, mark, error);
  if (status == STATUS_OK && desk->json)
    status = practice_report_mark_json(desk->session->bank, &desk->session->drawn, mark, stdout, error);
  else if (status == STATUS_OK)
    practice_report_mark(desk->session->bank, &desk->session->drawn, &answer, mark, stdout);
  free(mark);
  return status;
}

static const struct {
  const char *name, *wants;
  size_t words; // behind the name
  enum status (*run)(struct practice_desk *desk, char *const *words, struct error *error);
} deeds[] = {
    {"show", "", 0, do_show},      {"tests", "", 0, do_tests},
    {"work", "", 0, do_work},      {"measure", " TEST", 1, do_measure},
    {"note", " TEXT", 1, do_note}, {"answer", " CAUSE SEVERITY WORK", 3, do_answer},
    {"mark", "", 0, do_mark},
};
const char *const practice_desk_names[] = {"show", "tests", "work", "measure", "note", "answer", "mark", NULL};

enum status practice_desk_do(struct practice_desk *desk, size_t count, char *const *words, struct error *error) {
  for (size_t i = 0; i < ARRAY_COUNT(deeds); i++) {
    if (strcmp(words[0], deeds[i].name) != 0) continue;
    if (count - 1 != deeds[i].words)
      return error_set(error, STATUS_USAGE, "%s: it needs %s%s", words[0], deeds[i].name, deeds[i].wants);
    return deeds[i].run(desk, words, error);
  }
  const char *near = near_miss_best(words[0], practice_desk_names, ARRAY_COUNT(practice_desk_names) - 1);
  return error_set(error, STATUS_USAGE, "there is no '%s' in practice%s%s%s", words[0], near ? "; did you mean '" : "",
                   near ? near : "", near ? "'?" : "");
}
