#include "analysis/estimate/estimate_search.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Both ends, even steps between the corners of the prior (car/causes.h), and two in its upper tail. */
static const double coarse_shares[] = {0.0,    CAUSE_LEAST_SHARE, 0.1625, 0.275, 0.3875, 0.5, 0.6125, 0.725,
                                       0.8375, CAUSE_MOST_SHARE,  0.965,  0.985, 1.0};
enum { COARSE_COUNT = sizeof coarse_shares / sizeof *coarse_shares, FINE_ROUNDS = 4 };
#define WORTH_FITTING 9.0  // log likelihood below the best at which a node's quick value will do
#define STEEP         0.8  // change of log likelihood between nodes that want one between them ...
#define HEAVY         0.01 // ... if so much of the posterior lies there
#define TOO_HEAVY     0.12 // so much of it in one piece wants a node anyway, unless it is level
#define LEVEL         0.05
#define NARROWEST     (1.0 / 512.0)
enum { FULL_MAX = 56, MEND_ROUNDS = 3 };
_Static_assert((int)FULL_MAX <= (int)ESTIMATE_NODE_MAX && COARSE_COUNT + 2 * FINE_ROUNDS <= FULL_MAX, "the nodes must have room");
#define CLOSE  0.07 // share between neighbours within which ...
#define CAUGHT 0.5  // ... log likelihood does not fall by more

static struct estimate_node *add_node(struct estimate_hypothesis *h, double share) {
  size_t place = h->node_count++;
  for (; place > 0 && h->nodes[place - 1].share[0] > share; place--) h->nodes[place] = h->nodes[place - 1];
  memset(&h->nodes[place], 0, sizeof h->nodes[place]);
  h->nodes[place].share[0] = share;
  return &h->nodes[place];
}

size_t estimate_search_likeliest(const struct estimate_hypothesis *h) {
  size_t best = 0;
  for (size_t i = 1; i < h->node_count; i++)
    if (h->nodes[i].fit.log_likelihood > h->nodes[best].fit.log_likelihood) best = i;
  return best;
}

/* Slopes between anchors, linear in the share. */
static void slopes_between(const struct estimate_anchors *anchors, double share, struct estimate_slopes *slopes) {
  size_t i = 1;
  while (i + 1 < anchors->count && share > anchors->share[i]) i++;
  if (anchors->count < 2) {
    *slopes = anchors->slopes[0];
    return;
  }
  const struct estimate_slopes *a = &anchors->slopes[i - 1], *b = &anchors->slopes[i];
  const double span = anchors->share[i] - anchors->share[i - 1];
  const double weight = fmin(fmax((share - anchors->share[i - 1]) / span, 0.0), 1.0);
  for (size_t j = 0; j < ESTIMATE_READING_MAX; j++)
    for (size_t k = 0; k < SCATTER_COUNT; k++) slopes->by[j][k] = (1.0 - weight) * a->by[j][k] + weight * b->by[j][k];
}

static void fit_by_anchors(const struct estimate_problem *p, struct estimate_worker *worker,
                           const struct estimate_anchors *anchors, const struct estimate_hypothesis *h,
                           struct estimate_node *node) {
  slopes_between(anchors, node->share[0], &worker->slopes);
  const struct estimate_fault fault = estimate_node_fault(h, node);
  estimate_fit_quick(p, worker->forward, &fault, NULL, &worker->slopes, &node->fit);
}

/* Slopes of a share at the prior's mean; load steps' from `nothing`. */
static bool anchor_at(const struct estimate_problem *p, struct estimate_forward *forward, const struct estimate_slopes *nothing,
                      const struct estimate_hypothesis *h, double share, struct estimate_anchors *anchors) {
  const struct estimate_node node = {.share = {share}};
  const struct estimate_fault fault = estimate_node_fault(h, &node);
  struct estimate_slopes *slopes = &anchors->slopes[anchors->count];
  double expected[ESTIMATE_READING_MAX];
  *slopes = *nothing;
  if (!estimate_fit_expect(p, forward, p->prior->mean, &fault, expected)) return false;
  if (!estimate_fit_slopes(p, forward, p->prior->mean, &fault, expected, ~ESTIMATE_AT_STEPS, slopes)) return false;
  anchors->share[anchors->count++] = share;
  return true;
}

static void anchor_at_nothing(const struct estimate_slopes *nothing, struct estimate_anchors *anchors) {
  anchors->count = 1;
  anchors->share[0] = 0.0;
  anchors->slopes[0] = *nothing;
}

void estimate_search_coarse(const struct estimate_problem *p, struct estimate_worker *worker,
                            const struct estimate_slopes *nothing, struct estimate_hypothesis *h) {
  h->node_count = 0;
  const int count = h->fault.count == 0 ? 1 : COARSE_COUNT;
  for (int i = 0; i < count; i++) {
    struct estimate_node *node = add_node(h, coarse_shares[i]);
    const struct estimate_fault fault = estimate_node_fault(h, node);
    estimate_fit_quick(p, worker->forward, &fault, NULL, nothing, &node->fit);
  }
}

void estimate_search_anchor(const struct estimate_problem *p, struct estimate_worker *worker,
                            const struct estimate_slopes *nothing, const struct estimate_hypothesis *h,
                            struct estimate_anchors *anchors) {
  anchor_at_nothing(nothing, anchors);
  if (h->fault.count == 0) return;
  (void)anchor_at(p, worker->forward, nothing, h, 0.5, anchors); // where it does not run, the others serve
  (void)anchor_at(p, worker->forward, nothing, h, CAUSE_MOST_SHARE, anchors);
}

void estimate_search_fine(const struct estimate_problem *p, struct estimate_worker *worker, const struct estimate_slopes *nothing,
                          struct estimate_hypothesis *h, struct estimate_anchors *anchors) {
  estimate_search_anchor(p, worker, nothing, h, anchors);
  if (h->fault.count == 0) return;
  for (size_t i = 0; i < h->node_count; i++) fit_by_anchors(p, worker, anchors, h, &h->nodes[i]);
  for (int round = 0; round < FINE_ROUNDS; round++) { // closer and closer round the best
    const size_t best = estimate_search_likeliest(h);
    const double here = h->nodes[best].share[0];
    const double left = best > 0 ? h->nodes[best - 1].share[0] : here;
    const double right = best + 1 < h->node_count ? h->nodes[best + 1].share[0] : here;
    if (left < here) fit_by_anchors(p, worker, anchors, h, add_node(h, 0.5 * (left + here)));
    if (right > here) fit_by_anchors(p, worker, anchors, h, add_node(h, 0.5 * (here + right)));
  }
}

/* A full fit, or one step from a neighbour that has had one. */
static void fit_node(const struct estimate_problem *p, struct estimate_worker *worker, struct estimate_hypothesis *h,
                     const struct estimate_fit *neighbour, struct estimate_slopes *slopes, struct estimate_node *node) {
  const struct estimate_fault fault = estimate_node_fault(h, node);
  if (!neighbour || !estimate_fit_near(p, worker->forward, &fault, neighbour->z, slopes, &node->fit, worker->covariance))
    estimate_fit_full(p, worker->forward, &fault,
                      neighbour            ? neighbour->z
                      : node->fit.possible ? node->fit.z
                                           : NULL,
                      slopes, &node->fit, worker->covariance);
  node->full = node->fit.possible;
  if (node->full) estimate_search_keep(node, worker->covariance, h);
}

/* Fits outwards from the best, each from its inner neighbour, until one that is fitted matters no more: a quick fit from the prior's
 * mean cannot be trusted beyond a limit of the controller that the fit has come to on this side. */
static void fit_side(const struct estimate_problem *p, struct estimate_worker *worker, struct estimate_hypothesis *h, size_t from,
                     int direction) {
  worker->slopes = h->slopes;
  double best = h->nodes[from].fit.log_likelihood;
  size_t last = from;
  for (size_t i = from + (size_t)direction; i < h->node_count; i += (size_t)direction) { // past 0 it wraps, and ends
    struct estimate_node *node = &h->nodes[i];
    if (h->nodes[last].fit.log_likelihood < best - WORTH_FITTING) break;
    fit_node(p, worker, h, &h->nodes[last].fit, &worker->slopes, node);
    if (!node->full) break;
    last = i;
    best = fmax(best, node->fit.log_likelihood);
  }
}

/* The piece that most wants a node in its middle; node_count if none does. */
static size_t piece_to_split(const struct estimate_hypothesis *h) {
  struct probability_curve curve = {.count = h->node_count};
  for (size_t i = 0; i < h->node_count; i++) {
    curve.x[i] = h->nodes[i].share[0];
    curve.log_density[i] = h->nodes[i].fit.log_likelihood;
  }
  const double whole = probability_curve_log_integral(&curve);
  size_t worst = h->node_count;
  double most = 0.0;
  for (size_t i = 0; i + 1 < h->node_count; i++) {
    const double width = curve.x[i + 1] - curve.x[i], a = curve.log_density[i], b = curve.log_density[i + 1];
    const bool edge = isinf(a) != isinf(b); // beyond it the engine does not run
    const double inside = isinf(a) ? b : a;
    const double mass =
        edge ? width * exp(inside - whole) : exp(probability_loglinear_integral(curve.x[i], a, curve.x[i + 1], b) - whole);
    const double change = edge ? INFINITY : fabs(b - a);
    const bool wants =
        (change > STEEP && mass * fmin(change, WORTH_FITTING) > HEAVY * STEEP) || (mass > TOO_HEAVY && change > LEVEL);
    if (!wants || width < NARROWEST || mass <= most) continue;
    most = mass;
    worst = i;
  }
  return worst;
}

/* A node that lies far below its neighbour close by has been caught beside a limit: it is tried again from there. */
static bool mend_side(const struct estimate_problem *p, struct estimate_worker *worker, struct estimate_hypothesis *h,
                      int direction) {
  const size_t first = direction > 0 ? 0 : h->node_count - 1;
  bool mended = false;
  for (size_t i = first; i + (size_t)direction < h->node_count; i += (size_t)direction) {
    const struct estimate_node *good = &h->nodes[i];
    struct estimate_node *node = &h->nodes[i + (size_t)direction];
    const bool close = fabs(node->share[0] - good->share[0]) < CLOSE;
    if (!good->full || !node->full || !close || node->fit.log_likelihood > good->fit.log_likelihood - CAUGHT) continue;
    worker->slopes = h->slopes;
    struct estimate_fit again;
    const struct estimate_fault fault = estimate_node_fault(h, node);
    estimate_fit_full(p, worker->forward, &fault, good->fit.z, &worker->slopes, &again, worker->covariance);
    if (!again.possible || again.log_likelihood <= node->fit.log_likelihood) continue;
    node->fit = again;
    estimate_search_keep(node, worker->covariance, h);
    mended = true;
  }
  return mended;
}

static bool mend(const struct estimate_problem *p, struct estimate_worker *worker, struct estimate_hypothesis *h) {
  const bool upwards = mend_side(p, worker, h, 1), downwards = mend_side(p, worker, h, -1);
  return upwards || downwards;
}

/* Nodes where the posterior is, until it is smooth between them. */
static void split(const struct estimate_problem *p, struct estimate_worker *worker, struct estimate_hypothesis *h) {
  while (h->node_count < FULL_MAX) {
    const size_t piece = piece_to_split(h);
    if (piece >= h->node_count) return;
    const size_t better = h->nodes[piece].fit.log_likelihood > h->nodes[piece + 1].fit.log_likelihood ? piece : piece + 1;
    const struct estimate_fit neighbour = h->nodes[better].fit;
    const bool fitted = h->nodes[better].full;
    worker->slopes = h->slopes;
    struct estimate_node *node = add_node(h, 0.5 * (h->nodes[piece].share[0] + h->nodes[piece + 1].share[0]));
    fit_node(p, worker, h, fitted ? &neighbour : NULL, &worker->slopes, node);
  }
}

void estimate_search_full(const struct estimate_problem *p, struct estimate_worker *worker, const struct estimate_slopes *nothing,
                          double enough, struct estimate_hypothesis *h) {
  size_t best = estimate_search_likeliest(h);
  if (!h->nodes[best].fit.possible) return;
  const struct estimate_fault fault = estimate_node_fault(h, &h->nodes[best]);
  double expected[ESTIMATE_READING_MAX];
  h->slopes = *nothing;
  h->covariance_of = -INFINITY;
  if ((p->conditions & ESTIMATE_AT_STEPS) && !estimate_forward_idles(worker->forward, p->setting, p->prior->mean, &fault) &&
      estimate_fit_expect(p, worker->forward, p->prior->mean, &fault, expected) &&
      !estimate_fit_slopes(p, worker->forward, p->prior->mean, &fault, expected, ESTIMATE_AT_STEPS, &h->slopes))
    h->slopes = *nothing;
  const double before = h->nodes[best].fit.log_likelihood;
  fit_node(p, worker, h, NULL, &h->slopes, &h->nodes[best]);
  if (h->nodes[best].full && h->nodes[best].fit.log_likelihood < enough) {
    const double moved = h->nodes[best].fit.log_likelihood - before;
    for (size_t i = 0; i < h->node_count; i++)
      if (i != best) h->nodes[i].fit.log_likelihood += moved;
    return;
  }
  fit_side(p, worker, h, best, 1);
  fit_side(p, worker, h, best, -1);
  if (h->fault.count == 0) return;
  (void)mend(p, worker, h);
  for (int round = 0; round < MEND_ROUNDS; round++) {
    split(p, worker, h);
    if (!mend(p, worker, h)) break;
  }
}

/* Half of each piece's mass to either end, in the ratio of the ends' densities. */
static void share_masses(const struct probability_curve *curve, double whole, struct estimate_hypothesis *h) {
  for (size_t i = 0; i < h->node_count; i++) h->nodes[i].mass = 0.0;
  for (size_t i = 0; i + 1 < h->node_count; i++) {
    const double a = curve->log_density[i], b = curve->log_density[i + 1];
    const double mass = exp(probability_loglinear_integral(curve->x[i], a, curve->x[i + 1], b) - whole);
    if (!(mass > 0.0)) continue;
    const double right = 1.0 / (1.0 + exp(a - b));
    h->nodes[i].mass += (1.0 - right) * mass;
    h->nodes[i + 1].mass += right * mass;
  }
}

void estimate_search_keep(const struct estimate_node *node, const double *covariance, struct estimate_hypothesis *h) {
  if (!(node->fit.log_likelihood > h->covariance_of)) return;
  memcpy(h->covariance, covariance, sizeof h->covariance);
  h->covariance_of = node->fit.log_likelihood;
}

void estimate_search_judge(const struct estimate_problem *p, struct estimate_hypothesis *h) {
  h->best = estimate_search_likeliest(h);
  assert(!h->nodes[h->best].full || h->covariance_of >= h->nodes[h->best].fit.log_likelihood);
  h->chi2 = h->nodes[h->best].fit.chi2;
  const double freedom = (double)p->readings->count - (double)h->fault.count;
  h->p_value = probability_chi2_tail(h->chi2, fmax(freedom, 1.0));
  for (size_t i = 0; i < h->fault.count; i++) h->fault.severity[i] = estimate_node_severity(h, &h->nodes[h->best], i);
}

void estimate_search_interval(const struct probability_curve *curve, size_t place, struct estimate_hypothesis *h) {
  const enum cause cause = h->fault.cause[place];
  const double outside = 0.5 * (1.0 - ESTIMATE_INTERVAL);
  const double a = cause_severity(cause, probability_curve_quantile(curve, outside));
  const double b = cause_severity(cause, probability_curve_quantile(curve, 1.0 - outside));
  h->low[place] = fmin(a, b);
  h->high[place] = fmax(a, b);
  const double mean = cause_severity(cause, probability_curve_mean(curve));
  h->mean[place] = fmin(fmax(mean, h->low[place]), h->high[place]); // a long tail draws the mean out of it
}

void estimate_search_weigh(const struct estimate_problem *p, struct estimate_hypothesis *h) {
  estimate_search_judge(p, h);
  if (h->fault.count == 0) {
    h->log_evidence = h->nodes[0].fit.log_likelihood;
    h->nodes[0].mass = 1.0;
    return;
  }
  struct probability_curve curve = {.count = h->node_count};
  for (size_t i = 0; i < h->node_count; i++) {
    curve.x[i] = h->nodes[i].share[0];
    curve.log_density[i] = h->nodes[i].fit.log_likelihood;
  }
  h->log_evidence = probability_curve_log_integral(&curve); // the prior's density is one
  if (!isfinite(h->log_evidence)) return;
  share_masses(&curve, h->log_evidence, h);
  estimate_search_interval(&curve, 0, h);
}
