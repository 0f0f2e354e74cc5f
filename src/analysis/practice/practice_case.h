/* A case: an invented complaint and the car behind it, drawn from a level, a seed and an engine. Every number is a function of those three,
 * so whoever has them has the case; a reading is one of test and repetition as well, in whatever order it is taken. */
#ifndef ANALYSIS_PRACTICE_PRACTICE_CASE_H
#define ANALYSIS_PRACTICE_PRACTICE_CASE_H

#include "analysis/estimate/estimate_symptoms.h"
#include "analysis/practice/practice_prior.h"
#include "analysis/practice/practice_tests.h"

struct practice_case {
  const struct engine *engine; // must outlive it
  int level;
  uint64_t seed;
  struct estimate_fault fault;      // count 0: nothing is wrong
  double share[ESTIMATE_CAUSE_MAX]; // of each cause's range
  double z[SCATTER_COUNT];          // the car and the day
  enum estimate_complaint complaint;
  uint64_t codes; // that are stored: monitors_bit() of each
  int driven_km, weeks;
  struct estimate_setting setting;
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
};

/* Probability that a driver says so, of a car that reads like this; good_rpm: what he is used to. Stalling when a load comes on counts. */
double practice_case_says(enum estimate_complaint complaint, const struct estimate_point points[ESTIMATE_CONDITION_COUNT],
                          unsigned conditions, double good_rpm, double misfires);

/* Draws it. Where nobody would notice anything it draws again, up to PRACTICE_CASE_ATTEMPT_MAX times. */
enum { PRACTICE_CASE_ATTEMPT_MAX = 64 };
void practice_case_draw(const struct practice_tests *tests, const struct practice_prior *prior, int level, uint64_t seed,
                        struct estimate_forward *forward, struct practice_case *drawn);

enum practice_outcome { PRACTICE_READ, PRACTICE_STALLS, PRACTICE_YES, PRACTICE_NO };

/* What a test showed. */
struct practice_result {
  size_t test;     // of practice_tests
  unsigned repeat; // how many times it had been done before
  enum practice_outcome outcome;
  double
      values[PRACTICE_SHOWN_MAX]; // PRACTICE_READ: one for each reading of the test, with noise and rounding; NaN: nothing there
};

/* Looks say the same however often one looks. */
void practice_case_measure(const struct practice_case *drawn, const struct practice_tests *tests, size_t test, unsigned repeat,
                           struct practice_result *result);

#endif
