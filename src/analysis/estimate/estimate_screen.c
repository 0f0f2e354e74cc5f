#include "analysis/estimate/estimate_screen.h"

#include "base/matrix.h"

#include <math.h>
#include <string.h>

#define ADDS_UP_SD \
  0.2 // share of an effect by which two together are off from their sum; found by tests/reference/test_estimate_screen.c
enum {
  WITH_BEST = 6,      // places for pairs with the best single cause
  CANDIDATE_MAX = 80, // pairs that are looked at again
  LOOK_ROUNDS = 3,    // so often, while the place where they fit best moves
};

/* Where two effects fit best together, on the grid of each. */
struct best {
  size_t first, second;
};

/* Two effects on the whitened residual: mean over their grids of the likelihood, as a logarithm. What they are together is off from their
 * sum by a share of each. */
static double score_of(size_t m, double certainty, const double *residual, const struct estimate_effect *a,
                       const struct estimate_effect *b, struct best *at) {
  double best = -INFINITY, sum = 0.0;
  for (size_t i = 0; i < a->count; i++)
    for (size_t k = 0; k < b->count; k++) {
      if (!a->runs[i] || !b->runs[k]) continue;
      double chi2 = 0.0, widths = 1.0;
      for (size_t j = 0; j < m; j++) {
        const double one = a->moved[i][j], two = b->moved[k][j], off = residual[j] - one - two;
        const double variance = 1.0 + ADDS_UP_SD * ADDS_UP_SD * (one * one + two * two);
        chi2 += off * off / variance;
        widths *= variance;
      }
      const double log_density = -0.5 * certainty * (chi2 + log(widths));
      if (log_density > best) {
        sum = sum * exp(best - log_density) + 1.0;
        best = log_density;
        *at = (struct best){i, k};
      } else {
        sum += exp(log_density - best);
      }
    }
  return best + log(sum) - log((double)(a->count * b->count)) + a->log_prior + b->log_prior;
}

struct candidate {
  size_t first, second; // of the effects
  struct best at;
  double score;
};

static void insert(struct candidate *list, size_t most, size_t *count, const struct candidate *candidate) {
  if (*count == most && !(candidate->score > list[most - 1].score)) return;
  size_t place = *count < most ? (*count)++ : most - 1;
  for (; place > 0 && list[place - 1].score < candidate->score; place--) list[place] = list[place - 1];
  list[place] = *candidate;
}

/* The score anew, with what the two do together where they fit best in place of the sum there; as it was if they do not run so. */
static void look_once(const struct estimate_problem *p, struct estimate_forward *forward, const double *good,
                      const double *factor, const double *white, const struct estimate_effect *effects,
                      struct candidate *candidate) {
  const struct estimate_effect *a = &effects[candidate->first], *b = &effects[candidate->second];
  const size_t i = candidate->at.first, k = candidate->at.second, m = p->readings->count;
  const struct estimate_fault both = {.count = 2, .cause = {a->cause, b->cause}, .severity = {a->severity[i], b->severity[k]}};
  double moved[ESTIMATE_READING_MAX], rest[ESTIMATE_READING_MAX], z[SCATTER_COUNT];
  estimate_fit_start(p, a->cause, a->start, z);
  if (b->start != ESTIMATE_START_MEAN) estimate_fit_start(p, b->cause, b->start, z); // if both have one, that of the second
  if (!estimate_fit_expect(p, forward, z, &both, moved)) return;
  for (size_t j = 0; j < m; j++) moved[j] -= good[j];
  matrix_cholesky_forward(m, factor, moved);
  for (size_t j = 0; j < m; j++) rest[j] = white[j] - (moved[j] - a->moved[i][j] - b->moved[k][j]);
  candidate->score = score_of(m, estimate_fit_certainty(p), rest, a, b, &candidate->at);
}

static void look_again(const struct estimate_problem *p, struct estimate_forward *forward, const double *good,
                       const double *factor, const double *white, const struct estimate_effect *effects,
                       struct candidate *candidate) {
  for (int round = 0; round < LOOK_ROUNDS; round++) {
    const struct best at = candidate->at;
    look_once(p, forward, good, factor, white, effects, candidate);
    if (candidate->at.first == at.first && candidate->at.second == at.second) return;
  }
}

static bool has(const struct estimate_pair *pairs, size_t count, const struct estimate_pair *pair) {
  for (size_t i = 0; i < count; i++)
    if (pairs[i].first == pair->first && pairs[i].second == pair->second) return true;
  return false;
}

/* All effects whitened; the best single cause. */
static size_t whiten(size_t m, const double *factor, size_t effect_count, struct estimate_effect *effects) {
  size_t alone = 0;
  for (size_t e = 0; e < effect_count; e++) {
    for (size_t i = 0; i < effects[e].count; i++)
      if (effects[e].runs[i]) matrix_cholesky_forward(m, factor, effects[e].moved[i]);
    if (effects[e].log_evidence + effects[e].log_prior > effects[alone].log_evidence + effects[alone].log_prior) alone = e;
  }
  return alone;
}

/* The best few by the sum, looked at again and in their new order. */
static size_t find_candidates(const struct estimate_problem *p, struct estimate_forward *forward, const double *good,
                              const double *factor, const double *white, size_t effect_count,
                              const struct estimate_effect *effects, struct candidate list[CANDIDATE_MAX]) {
  struct candidate rough[CANDIDATE_MAX];
  size_t rough_count = 0, count = 0;
  for (size_t e = 0; e < effect_count; e++)
    for (size_t k = 0; k < e; k++) {
      if (effects[k].cause == effects[e].cause) continue; // from another start
      struct candidate candidate = {.first = k, .second = e};
      candidate.score = score_of(p->readings->count, estimate_fit_certainty(p), white, &effects[k], &effects[e], &candidate.at);
      if (isfinite(candidate.score)) insert(rough, CANDIDATE_MAX, &rough_count, &candidate);
    }
  for (size_t i = 0; i < rough_count; i++) {
    look_again(p, forward, good, factor, white, effects, &rough[i]);
    if (isfinite(rough[i].score)) insert(list, CANDIDATE_MAX, &count, &rough[i]);
  }
  return count;
}

size_t estimate_screen(const struct estimate_problem *p, struct estimate_forward *forward,
                       const double good[ESTIMATE_READING_MAX], const double residual[ESTIMATE_READING_MAX],
                       const struct estimate_slopes *slopes, size_t effect_count, struct estimate_effect *effects,
                       struct estimate_unlisted_room *room, struct estimate_pair pairs[ESTIMATE_LOOK_MAX]) {
  const size_t m = p->readings->count;
  estimate_fit_spread(p, slopes, p->prior->covariance, room->factor);
  if (!matrix_cholesky(m, room->factor)) return 0;
  double white[ESTIMATE_READING_MAX];
  memcpy(white, residual, m * sizeof *white);
  matrix_cholesky_forward(m, room->factor, white);
  const size_t alone = whiten(m, room->factor, effect_count, effects);
  struct candidate list[CANDIDATE_MAX];
  const size_t candidates = find_candidates(p, forward, good, room->factor, white, effect_count, effects, list);
  struct estimate_pair with_best[WITH_BEST];
  size_t count = 0, with_count = 0;
  for (size_t i = 0; i < candidates; i++) {
    const struct estimate_pair pair = {effects[list[i].first].cause, effects[list[i].second].cause, list[i].score};
    if (has(pairs, count, &pair)) continue;
    if (count < ESTIMATE_LOOK_MAX) pairs[count++] = pair;
    if (with_count < WITH_BEST && !has(with_best, with_count, &pair) && (list[i].first == alone || list[i].second == alone))
      with_best[with_count++] = pair;
  }
  for (size_t i = 0; i < with_count; i++)
    if (!has(pairs, count, &with_best[i])) pairs[count < ESTIMATE_LOOK_MAX ? count++ : ESTIMATE_LOOK_MAX - 1 - i] = with_best[i];
  return count;
}
