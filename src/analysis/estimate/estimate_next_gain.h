/* What it is worth to read a number while several causes are open: information, and what the decision after it costs. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_NEXT_GAIN_H
#define ANALYSIS_ESTIMATE_ESTIMATE_NEXT_GAIN_H

#include "analysis/estimate/estimate_decide.h"
#include "analysis/estimate/estimate_predictive.h"

enum { ESTIMATE_NEXT_GAIN_GRID_MOST = 2000, ESTIMATE_NEXT_GAIN_LIKELY_MAX = 24 };

struct estimate_next_wish;

/* The hypotheses still open, and what each expects of every reading that could be had. */
struct open_question {
  const struct estimate_next_wish *wish; // what its asker is after
  const struct estimate_decide *decide;  // NULL: no costs are asked for
  size_t count;
  size_t hypothesis[ESTIMATE_NEXT_GAIN_LIKELY_MAX];
  double probability[ESTIMATE_NEXT_GAIN_LIKELY_MAX];
  size_t rival;                           // place of the likeliest that is another cause than the first; `count`: none
  struct estimate_predictive *predictive; // [count]
  struct estimate_readings wanted;
  double densities[ESTIMATE_NEXT_GAIN_LIKELY_MAX * ESTIMATE_NEXT_GAIN_GRID_MOST];
};

/* Whether every open hypothesis has a value of the reading. */
bool estimate_next_gain_readable(const struct open_question *question, size_t reading);

/* Bits by which a reading tells the first from its rival; 0 without one. */
double estimate_next_gain_apart(const struct open_question *question, size_t reading);

/* Bits that one reading brings. cost: of the decision after it, its own not counted; NULL or NaN where it is not asked for. */
double estimate_next_gain_of_one(struct open_question *question, size_t reading, double *cost);

/* The same of several together, by samples. */
double estimate_next_gain_of_many(const struct open_question *question, size_t count, const size_t *readings, double *cost);

#endif
