#include "analysis/practice/practice_session.h"

#include "base/digest.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum status practice_session_create(const struct engine *engine, int level, struct practice_session **session,
                                    struct error *error) {
  struct practice_session *s = *session = calloc(1, sizeof *s);
  if (!s) return error_set(error, STATUS_NO_MEMORY, "out of memory for a practice case");
  s->engine = *engine;
  const enum status status = estimate_forward_create(&s->engine, &s->forward, error);
  if (status != STATUS_OK) {
    practice_session_destroy(s);
    *session = NULL;
    return status;
  }
  practice_tests_init(&s->tests, &s->engine, s->forward);
  practice_prior_find(&s->engine, level, s->forward, &s->prior);
  s->drawn.level = level;
  return STATUS_OK;
}

void practice_session_destroy(struct practice_session *s) {
  if (!s) return;
  practice_bank_destroy(s->bank);
  estimate_forward_destroy(s->forward);
  free(s);
}

void practice_session_draw(struct practice_session *s, uint64_t seed) {
  practice_case_draw(&s->tests, &s->prior, s->drawn.level, seed, s->forward, &s->drawn);
}

uint64_t practice_session_seed(uint64_t class_seed, int number) {
  return digest_add(digest_add(DIGEST_OF_NOTHING, &class_seed, sizeof class_seed), &number, sizeof number);
}

enum status practice_session_measure(const struct practice_session *s, struct practice_record *record, size_t test, bool careful,
                                     struct practice_result *result, struct error *error) {
  if (record->done_count == PRACTICE_DONE_MAX)
    return error_set(error, STATUS_BAD_DATA, "a case has room for %d tests: answer it", (int)PRACTICE_DONE_MAX);
  struct practice_done *done = &record->done[record->done_count++];
  snprintf(done->test, sizeof done->test, "%s", s->tests.tests[test].what.name);
  done->careful = careful;
  const bool shown = practice_mark_shown(&s->drawn, &s->tests, record, record->done_count - 1, result);
  assert(shown); // its own name
  (void)shown;
  return STATUS_OK;
}

enum status practice_session_mark(struct practice_session *s, const struct practice_record *record,
                                  const struct for_each *for_each, struct practice_answer *answer, struct practice_mark *mark,
                                  struct error *error) {
  const char *const words[] = {record->words[0], record->words[1], record->words[2]};
  if (!record->words[0][0])
    return error_set(error, STATUS_USAGE,
                     "the case has not been answered yet: bladegap practice answer CASE CAUSE SEVERITY WORK");
  enum status status = practice_answer_read(&s->engine, words, answer, error);
  answer->careful = record->careful;
  if (status == STATUS_OK && !s->bank) status = practice_bank_create(&s->tests, &s->prior, for_each, &s->bank, error);
  return status == STATUS_OK ? practice_mark_find(s->bank, &s->drawn, record, answer, mark, error) : status;
}
