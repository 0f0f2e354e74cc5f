/* Which two causes may stand together behind the readings: all pairs tried as if what each does alone added up, so that none needs a
 * settled point of its own; the likeliest of them again with what the two really do where they fit best, a few settled points each. What is
 * left is looked at by quick fits, with the slopes of either cause (estimate_search_look()), and the best of those are fitted in full.
 *
 *   chi2(a, b) = (r - d_a - d_b)' C^-1 (r - d_a - d_b) ,   C = S + (J + T) P^-1 (J + T)' of the good car
 *
 * d: by how much a cause alone moves the readings of the car at the prior's mean. Where a limit of the controller is reached by the two
 * together only, this misjudges them, so that pairs with the best single cause have places of their own in the list. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_SCREEN_H
#define ANALYSIS_ESTIMATE_ESTIMATE_SCREEN_H

#include "analysis/estimate/estimate_unlisted.h"

enum { ESTIMATE_EFFECT_MAX = 14, ESTIMATE_LOOK_MAX = 24, ESTIMATE_PAIR_MAX = 8 };

/* What one cause does alone, an unknown of its own being as it is at a start. */
struct estimate_effect {
  enum cause cause;
  int start; // estimate_fit_start()
  double log_prior;
  double log_evidence; // of the cause alone
  size_t count;        // of severities
  bool runs[ESTIMATE_EFFECT_MAX];
  double severity[ESTIMATE_EFFECT_MAX];
  double moved[ESTIMATE_EFFECT_MAX][ESTIMATE_READING_MAX]; // overwritten by the screening
};

struct estimate_pair {
  enum cause first, second;
  double score; // log of evidence times prior, as far as it is known
};

/* The likeliest pairs, best first; returns how many. good: what a good car at the prior's mean reads, residual: what was read against it; slopes:
 * its own. */
size_t estimate_screen(const struct estimate_problem *problem, struct estimate_forward *forward,
                       const double good[ESTIMATE_READING_MAX], const double residual[ESTIMATE_READING_MAX],
                       const struct estimate_slopes *slopes, size_t effect_count, struct estimate_effect *effects,
                       struct estimate_unlisted_room *room, struct estimate_pair pairs[ESTIMATE_LOOK_MAX]);

#endif
