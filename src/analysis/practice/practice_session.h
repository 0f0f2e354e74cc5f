/* One case with all that it is drawn, measured and marked by. Cases of the same engine and level can share a bank. */
#ifndef ANALYSIS_PRACTICE_PRACTICE_SESSION_H
#define ANALYSIS_PRACTICE_PRACTICE_SESSION_H

#include "analysis/practice/practice_mark.h"

/* Large, so on the heap. */
struct practice_session {
  struct engine engine;
  struct estimate_forward *forward; // owned
  struct practice_tests tests;
  struct practice_prior prior;
  struct practice_case drawn;
  struct practice_bank *bank; // owned; NULL until something is marked
};

/* engine: copied. STATUS_NO_MEMORY. */
MUST_CHECK enum status practice_session_create(const struct engine *engine, int level, struct practice_session **session,
                                               struct error *error);
void practice_session_destroy(struct practice_session *session);

/* Another case of the same engine and level. */
void practice_session_draw(struct practice_session *session, uint64_t seed);

/* The seed of one case of a class: a function of both, far from its neighbours'. */
uint64_t practice_session_seed(uint64_t class_seed, int number);

/* Does a test: appends it to the record. careful: its cautions had been read. STATUS_BAD_DATA if the record is full. */
MUST_CHECK enum status practice_session_measure(const struct practice_session *session, struct practice_record *record,
                                                size_t test, bool careful, struct practice_result *result, struct error *error);

/* STATUS_USAGE if there is no answer yet. The bank is made at the first time. */
MUST_CHECK enum status practice_session_mark(struct practice_session *session, const struct practice_record *record,
                                             const struct for_each *for_each, struct practice_answer *answer,
                                             struct practice_mark *mark, struct error *error);

#endif
