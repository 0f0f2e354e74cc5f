/* What can be tested on an engine in practice: the tests of an estimate and of a visit (estimate_next.h), all of them, with what each
 * shows. There is no list of tests of its own here. */
#ifndef ANALYSIS_PRACTICE_PRACTICE_TESTS_H
#define ANALYSIS_PRACTICE_PRACTICE_TESTS_H

#include "analysis/estimate/estimate_next.h"

enum { PRACTICE_TEST_MAX = 96, PRACTICE_SHOWN_MAX = 24 };

enum practice_kind { PRACTICE_STREAM, PRACTICE_READING, PRACTICE_LOOK };

struct practice_test {
  struct estimate_next_test what; // name, text, minutes, cautions
  enum practice_kind kind;
  enum estimate_condition condition; // but of a look
  size_t look;                       // of a look: its number
  size_t count;                      // readings that it shows,
  size_t shown[PRACTICE_SHOWN_MAX];  // by their place among all
};

/* Large, so on the heap. */
struct practice_tests {
  const struct engine *engine;          // must outlive it
  struct estimate_readings readings;    // all that can be read, as a good car of the kind reads it
  double flicker[ESTIMATE_READING_MAX]; // standard deviation of each, beside the rounding
  size_t count;
  struct practice_test tests[PRACTICE_TEST_MAX];
};

void practice_tests_init(struct practice_tests *tests, const struct engine *engine, struct estimate_forward *forward);

/* Its place by name, hyphens counting as underscores; tests->count if there is none. */
size_t practice_tests_find(const struct practice_tests *tests, const char *name);

/* STATUS_USAGE: there is no test of this name on this engine, with the nearest that there is. */
MUST_CHECK enum status practice_tests_get(const struct practice_tests *tests, const char *name, size_t *test,
                                          struct error *error);

#endif
