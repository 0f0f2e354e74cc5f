/* What each cause says should be read, beside what was read: the numbers for and against. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_COMPARE_H
#define ANALYSIS_ESTIMATE_ESTIMATE_COMPARE_H

#include "analysis/estimate/estimate.h"
#include "analysis/estimate/estimate_claim.h"

/* One reading under one hypothesis, at its likeliest severity. */
struct estimate_comparison {
  double expected; // of a nominal car, or of this one as the baseline shows it
  double spread;   // standard deviation of the reading about it: cars and days, rounding, flicker
  double off;      // (read - expected) / spread
  double weight; // log of how much likelier this one reading is than with nothing wrong, by itself; above 0 speaks for the cause
};

#define ESTIMATE_COMPARED_LEAST 0.02 // probability of a cause from which its expectations are worked out

/* comparisons[reading of the problem]. False if the hypothesis is impossible. STATUS by errors of memory only. */
MUST_CHECK enum status estimate_compare(const struct estimate *estimate, size_t hypothesis,
                                        struct estimate_comparison comparisons[ESTIMATE_READING_MAX], struct error *error);

/* Whether two hypotheses are one cause, whatever the computer has learned or forgotten; and the probability of all that are one with it. */
bool estimate_compare_alike(const struct estimate_hypothesis *a, const struct estimate_hypothesis *b);
double estimate_compare_share(const struct estimate *estimate, const struct estimate_hypothesis *hypothesis);

/* The likeliest hypothesis that is another cause than the likeliest; NULL if there is none. */
const struct estimate_hypothesis *estimate_compare_rival(const struct estimate *estimate);

/* A reading that the best-fitting cause does not explain. */
struct estimate_odd {
  size_t reading;  // of the problem
  double expected; // by that cause, the car's deviations fitted
  double off;      // (read - expected) / its standard deviation
};
enum { ESTIMATE_ODD_MAX = 3 };

/* The readings most at odds with the best-fitting cause, furthest off first; returns how many. */
size_t estimate_explain_odds(const struct estimate *estimate, struct estimate_odd odds[ESTIMATE_ODD_MAX]);

/* The explanation, a chain of sentences in numbers of this estimate: what is likeliest and how sure, which readings speak for and
 * against each leading cause, what cannot be told apart, whether anything explains it, whether cleaning will cure it. Where nothing
 * explains the readings, only that and what is at odds. */
enum { ESTIMATE_SENTENCE_MAX = 24 };
struct estimate_why {
  size_t count;
  size_t symptom_count; // the first so many are of codes, freeze frame and complaint
  struct estimate_claim claims[ESTIMATE_SENTENCE_MAX];
};
MUST_CHECK enum status estimate_explain(const struct estimate *estimate, struct estimate_why *why, struct error *error);

#endif
