#include "analysis/estimate/estimate_screen.h"

#include "base/matrix.h"

#include <math.h>
#include <string.h>

enum { WITH_BEST = 3 }; // places for pairs with the best single cause

/* Two effects on the whitened residual: mean over their grids of exp(-chi2 / 2), as a logarithm. */
static double score_of(size_t m, double certainty, const double *residual, const struct estimate_effect *a,
                       const struct estimate_effect *b) {
  double best = -INFINITY, sum = 0.0;
  for (size_t i = 0; i < a->count; i++)
    for (size_t k = 0; k < b->count; k++) {
      if (!a->runs[i] || !b->runs[k]) continue;
      double chi2 = 0.0;
      for (size_t j = 0; j < m; j++) {
        const double off = residual[j] - a->moved[i][j] - b->moved[k][j];
        chi2 += off * off;
      }
      const double log_density = -0.5 * certainty * chi2;
      if (log_density > best) {
        sum = sum * exp(best - log_density) + 1.0;
        best = log_density;
      } else {
        sum += exp(log_density - best);
      }
    }
  return best + log(sum) - log((double)(a->count * b->count)) + a->log_prior + b->log_prior;
}

static void insert(struct estimate_pair *pairs, size_t most, size_t *count, const struct estimate_pair *pair) {
  if (*count == most && !(pair->score > pairs[most - 1].score)) return;
  size_t place = *count < most ? (*count)++ : most - 1;
  for (; place > 0 && pairs[place - 1].score < pair->score; place--) pairs[place] = pairs[place - 1];
  pairs[place] = *pair;
}

static bool has(const struct estimate_pair *pairs, size_t count, const struct estimate_pair *pair) {
  for (size_t i = 0; i < count; i++)
    if (pairs[i].first == pair->first && pairs[i].second == pair->second) return true;
  return false;
}

size_t estimate_screen(const struct estimate_problem *p, const double residual[ESTIMATE_READING_MAX],
                       const struct estimate_slopes *slopes, size_t effect_count, struct estimate_effect *effects,
                       struct estimate_unlisted_room *room, struct estimate_pair pairs[ESTIMATE_PAIR_MAX]) {
  const size_t m = p->readings->count;
  estimate_fit_spread(p, slopes, p->prior->covariance, room->factor);
  if (!matrix_cholesky(m, room->factor)) return 0;
  double white[ESTIMATE_READING_MAX];
  memcpy(white, residual, sizeof white);
  matrix_cholesky_forward(m, room->factor, white);
  size_t alone = 0;
  for (size_t e = 0; e < effect_count; e++) {
    for (size_t i = 0; i < effects[e].count; i++)
      if (effects[e].runs[i]) matrix_cholesky_forward(m, room->factor, effects[e].moved[i]);
    if (effects[e].log_evidence + effects[e].log_prior > effects[alone].log_evidence + effects[alone].log_prior) alone = e;
  }
  struct estimate_pair with_best[WITH_BEST];
  size_t count = 0, with_count = 0;
  for (size_t e = 0; e < effect_count; e++)
    for (size_t k = 0; k < e; k++) {
      const struct estimate_pair pair = {effects[k].cause, effects[e].cause,
                                         score_of(m, estimate_fit_certainty(p), white, &effects[k], &effects[e])};
      if (!isfinite(pair.score)) continue;
      insert(pairs, ESTIMATE_PAIR_MAX, &count, &pair);
      if (e == alone || k == alone) insert(with_best, WITH_BEST, &with_count, &pair);
    }
  for (size_t i = 0; i < with_count; i++)
    if (!has(pairs, count, &with_best[i])) pairs[count < ESTIMATE_PAIR_MAX ? count++ : ESTIMATE_PAIR_MAX - 1 - i] = with_best[i];
  return count;
}
