#include "analysis/estimate/estimate_search.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { COARSE_SIDE = 8, ZOOM_SIDE = 7, ZOOM_ROUNDS = 3, LOOK_ZOOMS = 2 };
#define WORTH_ZOOMING 8.0   // log likelihood below the best that the second grid still covers
#define MATTERS       4.0   // and that must not lie on its edge, nor ...
enum { FEW_NODES = 6 };     // ... in fewer nodes than these
enum { HURRIED_STEPS = 4 }; // of a full fit: it goes on from neighbours, and neighbours from it
_Static_assert(COARSE_SIDE *COARSE_SIDE <= (int)ESTIMATE_NODE_MAX && (int)ZOOM_SIDE <= (int)COARSE_SIDE,
               "the grids must fit into the nodes");

static const struct estimate_slopes *slopes_at(const struct estimate_anchors *alone, double share) {
  size_t nearest = 0;
  for (size_t i = 1; i < alone->count; i++)
    if (fabs(alone->share[i] - share) < fabs(alone->share[nearest] - share)) nearest = i;
  return &alone->slopes[nearest];
}

/* What each does to the slopes, added. */
static void add_slopes(const struct estimate_anchors *first, const struct estimate_anchors *second,
                       const struct estimate_slopes *nothing, const double share[ESTIMATE_CAUSE_MAX],
                       struct estimate_slopes *slopes) {
  const struct estimate_slopes *a = slopes_at(first, share[0]), *b = slopes_at(second, share[1]);
  for (size_t j = 0; j < ESTIMATE_READING_MAX; j++)
    for (size_t k = 0; k < SCATTER_COUNT; k++) slopes->by[j][k] = a->by[j][k] + b->by[j][k] - nothing->by[j][k];
}

/* A grid over a rectangle of shares, the film's the slow one. */
struct grid {
  int side;
  double from[ESTIMATE_CAUSE_MAX], to[ESTIMATE_CAUSE_MAX];
};

static double grid_share(const struct grid *grid, int axis, int i) {
  return grid->from[axis] + (grid->to[axis] - grid->from[axis]) * i / (grid->side - 1);
}

/* The rectangle round all nodes that are not far below the best, a cell wider. */
static struct grid zoom(const struct grid *grid, const struct estimate_hypothesis *h, size_t best) {
  struct grid zoomed = {.side = ZOOM_SIDE, .from = {1.0, 1.0}, .to = {0.0, 0.0}};
  for (size_t i = 0; i < h->node_count; i++) {
    if (h->nodes[i].fit.log_likelihood < h->nodes[best].fit.log_likelihood - WORTH_ZOOMING) continue;
    for (int axis = 0; axis < ESTIMATE_CAUSE_MAX; axis++) {
      const double cell = (grid->to[axis] - grid->from[axis]) / (grid->side - 1);
      zoomed.from[axis] = fmin(zoomed.from[axis], fmax(h->nodes[i].share[axis] - cell, 0.0));
      zoomed.to[axis] = fmax(zoomed.to[axis], fmin(h->nodes[i].share[axis] + cell, 1.0));
    }
  }
  return zoomed;
}

/* Trapezia over the grid: a node's mass is its density times the area of its quarter cells. */
static void weigh(const struct estimate_problem *p, const struct grid *grid, struct estimate_hypothesis *h) {
  estimate_search_judge(p, h);
  double logs[ESTIMATE_NODE_MAX];
  const double cell = (grid->to[0] - grid->from[0]) * (grid->to[1] - grid->from[1]) / ((grid->side - 1) * (grid->side - 1));
  for (size_t i = 0; i < h->node_count; i++) {
    const int row = (int)i / grid->side, column = (int)i % grid->side;
    const double edge = (row == 0 || row == grid->side - 1 ? 0.5 : 1.0) * (column == 0 || column == grid->side - 1 ? 0.5 : 1.0);
    logs[i] = h->nodes[i].fit.log_likelihood + log(edge * cell);
  }
  h->log_evidence = probability_log_sum_exp(h->node_count, logs);
  if (!isfinite(h->log_evidence)) return;
  for (size_t i = 0; i < h->node_count; i++) h->nodes[i].mass = exp(logs[i] - h->log_evidence);
}

/* Interval of one of the two: the sums over the other, as a density that is linear in its log. */
static void marginal(const struct grid *grid, int axis, struct estimate_hypothesis *h) {
  struct probability_curve curve = {.count = (size_t)grid->side};
  for (int i = 0; i < grid->side; i++) {
    double sum = 0.0;
    for (int k = 0; k < grid->side; k++) sum += h->nodes[axis == 0 ? i * grid->side + k : k * grid->side + i].mass;
    const double width = i == 0 || i == grid->side - 1 ? 0.5 : 1.0;
    curve.x[i] = grid_share(grid, axis, i);
    curve.log_density[i] = log(fmax(sum / width, 1e-300));
  }
  estimate_search_interval(&curve, (size_t)axis, h);
}

static void lay_nodes(const struct grid *grid, struct estimate_hypothesis *h) {
  h->node_count = 0;
  h->covariance_of = -INFINITY;
  for (int i = 0; i < grid->side; i++)
    for (int k = 0; k < grid->side; k++) {
      struct estimate_node *node = &h->nodes[h->node_count++];
      memset(node, 0, sizeof *node);
      node->share[0] = grid_share(grid, 0, i);
      node->share[1] = grid_share(grid, 1, k);
      node->fit.log_likelihood = -INFINITY;
    }
}

/* Quick fits at all nodes of a grid. */
static void look_at(const struct estimate_view *steady, struct estimate_worker *worker, const struct estimate_anchors *first,
                    const struct estimate_anchors *second, const struct grid *grid, struct estimate_hypothesis *h) {
  lay_nodes(grid, h);
  for (size_t i = 0; i < h->node_count; i++) {
    struct estimate_node *node = &h->nodes[i];
    add_slopes(first, second, steady->nothing, node->share, &worker->slopes);
    const struct estimate_fault fault = estimate_node_fault(h, node);
    estimate_fit_quick(steady->problem, worker->forward, &fault, NULL, &worker->slopes, &node->fit);
  }
}

/* True if what matters goes on beyond the rectangle, or is a few nodes of it only. */
static bool badly_laid(const struct grid *grid, const struct estimate_hypothesis *h) {
  const double best = h->nodes[estimate_search_likeliest(h)].fit.log_likelihood;
  int count = 0;
  for (size_t i = 0; i < h->node_count; i++) {
    if (h->nodes[i].fit.log_likelihood < best - MATTERS) continue;
    count++;
    const int place[ESTIMATE_CAUSE_MAX] = {(int)i / grid->side, (int)i % grid->side};
    for (int axis = 0; axis < ESTIMATE_CAUSE_MAX; axis++) {
      if (place[axis] == 0 && grid->from[axis] > 0.0) return true;
      if (place[axis] == grid->side - 1 && grid->to[axis] < 1.0) return true;
    }
  }
  return count < FEW_NODES;
}

/* Every node of the rectangle from the fit at its best. */
static void fit_from_best(const struct estimate_problem *p, struct estimate_worker *worker, const struct estimate_fit *fit,
                          struct estimate_hypothesis *h) {
  for (size_t i = 0; i < h->node_count; i++) {
    struct estimate_node *node = &h->nodes[i];
    const struct estimate_fault here = estimate_node_fault(h, node);
    node->full =
        fit->possible && estimate_fit_near(p, worker->forward, &here, fit->z, &h->slopes, &node->fit, worker->covariance);
    if (node->full)
      estimate_search_keep(node, worker->covariance, h);
    else
      estimate_fit_quick(p, worker->forward, &here, fit->possible ? fit->z : NULL, &h->slopes, &node->fit);
  }
}

/* The neighbour that fits best of those already done. */
static const struct estimate_node *best_neighbour(const struct grid *grid, const struct estimate_hypothesis *h, const bool *done,
                                                  int i, int k) {
  const struct estimate_node *best = NULL;
  for (int a = i - 1; a <= i + 1; a++)
    for (int b = k - 1; b <= k + 1; b++) {
      if (a < 0 || b < 0 || a >= grid->side || b >= grid->side || !done[a * grid->side + b]) continue;
      const struct estimate_node *node = &h->nodes[a * grid->side + b];
      if (node->full && (!best || node->fit.log_likelihood > best->fit.log_likelihood)) best = node;
    }
  return best;
}

/* Node after node outwards from the place of the fit, ring by ring, each from its best neighbour, and in full where one step does not
 * do and it matters: beside a limit of the controller nothing less finds the way. What has fallen far below the best is not followed further. */
static void fit_outwards(const struct estimate_problem *p, struct estimate_worker *worker, const struct grid *grid,
                         const struct estimate_node *from, struct estimate_hypothesis *h) {
  bool done[ESTIMATE_NODE_MAX] = {false};
  int centre[ESTIMATE_CAUSE_MAX];
  for (int axis = 0; axis < ESTIMATE_CAUSE_MAX; axis++)
    centre[axis] = (int)lround((from->share[axis] - grid->from[axis]) / (grid->to[axis] - grid->from[axis]) * (grid->side - 1));
  double best = -INFINITY;
  for (int ring = 0; ring < grid->side; ring++)
    for (int i = 0; i < grid->side; i++)
      for (int k = 0; k < grid->side; k++) {
        if (abs(i - centre[0]) != ring && abs(k - centre[1]) != ring) continue;
        if (abs(i - centre[0]) > ring || abs(k - centre[1]) > ring) continue;
        struct estimate_node *node = &h->nodes[i * grid->side + k];
        const struct estimate_node *neighbour = ring == 0 ? from : best_neighbour(grid, h, done, i, k);
        done[i * grid->side + k] = true;
        if (!neighbour || neighbour->fit.log_likelihood < best - WORTH_ZOOMING) continue;
        const struct estimate_fault here = estimate_node_fault(h, node);
        const struct estimate_fit start = neighbour->fit;
        worker->slopes = h->slopes;
        node->full = estimate_fit_near(p, worker->forward, &here, start.z, &worker->slopes, &node->fit, worker->covariance);
        if (!node->full && start.log_likelihood > best - MATTERS) {
          estimate_fit_full(p, worker->forward, &here, start.z, &worker->slopes, &node->fit, worker->covariance);
          node->full = node->fit.possible;
        } else if (!node->full) {
          estimate_fit_quick(p, worker->forward, &here, start.z, &worker->slopes, &node->fit);
        }
        if (node->full) estimate_search_keep(node, worker->covariance, h);
        best = fmax(best, node->fit.log_likelihood);
      }
}

/* The fit at the likeliest node; false if the engine does not run there. */
static bool fit_best(const struct estimate_problem *p, struct estimate_worker *worker, const struct estimate_slopes *nothing,
                     struct estimate_hypothesis *h, struct estimate_node *best) {
  *best = h->nodes[estimate_search_likeliest(h)];
  if (!best->fit.possible) return false;
  const struct estimate_fault fault = estimate_node_fault(h, best);
  const struct estimate_fit coarse = best->fit;
  h->slopes = *nothing;
  estimate_fit_full(p, worker->forward, &fault, coarse.z, &h->slopes, &best->fit, worker->covariance);
  best->full = best->fit.possible;
  return true;
}

static void conclude(const struct estimate_problem *p, const struct grid *grid, struct estimate_hypothesis *h) {
  weigh(p, grid, h);
  if (!isfinite(h->log_evidence)) return;
  for (int axis = 0; axis < ESTIMATE_CAUSE_MAX; axis++) marginal(grid, axis, h);
}

/* The rectangle of a hypothesis whose nodes lie on a grid. */
static struct grid grid_of(const struct estimate_hypothesis *h) {
  struct grid grid = {.side = (int)lround(sqrt((double)h->node_count))};
  memcpy(grid.from, h->nodes[0].share, sizeof grid.from);
  memcpy(grid.to, h->nodes[h->node_count - 1].share, sizeof grid.to);
  return grid;
}

void estimate_search_look(const struct estimate_view *steady, struct estimate_worker *worker,
                          const struct estimate_anchors *first, const struct estimate_anchors *second,
                          struct estimate_hypothesis *h) {
  struct grid grid = {.side = COARSE_SIDE, .from = {0.0, 0.0}, .to = {1.0, 1.0}};
  look_at(steady, worker, first, second, &grid, h);
  for (int round = 0; round < LOOK_ZOOMS; round++) {
    const size_t best = estimate_search_likeliest(h);
    if (!h->nodes[best].fit.possible) break;
    grid = zoom(&grid, h, best);
    look_at(steady, worker, first, second, &grid, h);
  }
  weigh(steady->problem, &grid, h);
}

void estimate_search_pair(const struct estimate_view *whole, struct estimate_worker *worker, double enough,
                          struct estimate_hypothesis *h) {
  struct estimate_problem hurried = *whole->problem;
  hurried.steps_most = HURRIED_STEPS;
  const struct estimate_problem *p = &hurried;
  struct grid grid = grid_of(h);
  h->log_evidence = -INFINITY;
  struct estimate_node best;
  if (!fit_best(p, worker, whole->nothing, h, &best)) return;
  grid = zoom(&grid, h, estimate_search_likeliest(h));
  if (best.fit.log_likelihood < enough) { // no evidence is more than the likeliest node
    lay_nodes(&grid, h);
    fit_from_best(p, worker, &best.fit, h);
    conclude(p, &grid, h);
    return;
  }
  for (int round = 0; round < ZOOM_ROUNDS; round++) {
    if (round > 0 && !fit_best(p, worker, whole->nothing, h, &best)) return;
    if (round > 0) grid = zoom(&grid, h, estimate_search_likeliest(h));
    lay_nodes(&grid, h);
    fit_outwards(p, worker, &grid, &best, h);
    if (!badly_laid(&grid, h)) break;
  }
  conclude(p, &grid, h);
}
