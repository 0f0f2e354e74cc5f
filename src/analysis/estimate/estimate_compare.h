/* What each cause says should be read, beside what was read: the numbers for and against. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_COMPARE_H
#define ANALYSIS_ESTIMATE_ESTIMATE_COMPARE_H

#include "analysis/estimate/estimate.h"

/* One reading under one hypothesis, at its likeliest severity. */
struct estimate_comparison {
  double expected; // of a nominal car, or of this one as the baseline shows it
  double spread;   // standard deviation of the reading about it: cars and days, rounding, flicker
  double off;      // (read - expected) / spread
  double weight; // log of how much likelier this one reading is than with nothing wrong, by itself; above 0 speaks for the cause
};

/* comparisons[reading of the problem]. False if the hypothesis is impossible. STATUS by errors of memory only. */
MUST_CHECK enum status estimate_compare(const struct estimate *estimate, size_t hypothesis,
                                        struct estimate_comparison comparisons[ESTIMATE_READING_MAX], struct error *error);

/* The explanation, a chain of sentences in numbers of this estimate: what is likeliest and how sure, which readings speak for and
 * against each leading cause, what cannot be told apart, whether anything explains it, whether cleaning will cure it. */
enum { ESTIMATE_SENTENCE_MAX = 24, ESTIMATE_SENTENCE_SIZE = 400 };
struct estimate_why {
  size_t count;
  char text[ESTIMATE_SENTENCE_MAX][ESTIMATE_SENTENCE_SIZE];
};
MUST_CHECK enum status estimate_explain(const struct estimate *estimate, struct estimate_why *why, struct error *error);

#endif
