/* The nodes of one hypothesis: where its severity may lie, fitted. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_SEARCH_H
#define ANALYSIS_ESTIMATE_ESTIMATE_SEARCH_H

#include "analysis/estimate/estimate_hypothesis.h"
#include "base/probability.h"

/* Slopes of the good car, and where each cause stands by quick fits; kept between the stages. */
struct estimate_anchors {
  size_t count;
  double share[3];
  struct estimate_slopes slopes[3];
};

/* One worker: its model, and room for what is too large for a stack of 64 kB. */
struct estimate_worker {
  struct estimate_forward *forward;
  struct estimate_slopes slopes; // of the node that is being fitted
  double covariance[SCATTER_COUNT * SCATTER_COUNT];
};

/* Coarse search: a single cause on a grid over its severities, with the slopes of the good car. nothing: those, at the prior's mean, load
 * steps included. */
void estimate_search_coarse(const struct estimate_problem *problem, struct estimate_worker *worker,
                            const struct estimate_slopes *nothing, struct estimate_hypothesis *hypothesis);

/* Fine search: with slopes of the cause itself at a few places, and closest round the best. */
void estimate_search_fine(const struct estimate_problem *problem, struct estimate_worker *worker,
                          const struct estimate_slopes *nothing, struct estimate_hypothesis *hypothesis,
                          struct estimate_anchors *anchors);

/* Slopes of a single cause at a few severities, for pairs. */
void estimate_search_anchor(const struct estimate_problem *problem, struct estimate_worker *worker,
                            const struct estimate_slopes *nothing, const struct estimate_hypothesis *hypothesis,
                            struct estimate_anchors *anchors);

/* Full search, where the posterior is: nodes added until it is smooth between them. enough: log likelihood below which it is
 * enough to fit the likeliest node, the others keep their quick fits, moved by as much. */
void estimate_search_full(const struct estimate_problem *problem, struct estimate_worker *worker,
                          const struct estimate_slopes *nothing, double enough, struct estimate_hypothesis *hypothesis);

/* The likeliest node. */
size_t estimate_search_likeliest(const struct estimate_hypothesis *hypothesis);

/* A node has been fitted in full: its covariance is kept if it is the likeliest so far. */
void estimate_search_keep(const struct estimate_node *node, const double *covariance, struct estimate_hypothesis *hypothesis);

/* Likeliest node, its severities and its fit. */
void estimate_search_judge(const struct estimate_problem *problem, struct estimate_hypothesis *hypothesis);

/* Interval and mean of one severity from its posterior over shares. */
void estimate_search_interval(const struct probability_curve *curve, size_t place, struct estimate_hypothesis *hypothesis);

/* Evidence, masses, interval and fit from the nodes of a single cause. */
void estimate_search_weigh(const struct estimate_problem *problem, struct estimate_hypothesis *hypothesis);

/* A problem and the slopes of the good car in it. */
struct estimate_view {
  const struct estimate_problem *problem;
  const struct estimate_slopes *nothing;
};

/* Two causes, looked at by quick fits on a grid over both severities, which is laid closer round the best twice: whether they are worth a fit,
 * and where. steady: without load steps; first and second: anchors of either alone, in that view. Nodes, masses and evidence are set. */
void estimate_search_look(const struct estimate_view *steady, struct estimate_worker *worker,
                          const struct estimate_anchors *first, const struct estimate_anchors *second,
                          struct estimate_hypothesis *hypothesis);

/* The same two fitted, on a grid round the best of that look. enough: log evidence below which the quick answer will do. */
void estimate_search_pair(const struct estimate_view *whole, struct estimate_worker *worker, double enough,
                          struct estimate_hypothesis *hypothesis);

#endif
