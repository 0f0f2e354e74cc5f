#include "analysis/curve/opening_fit.h"

#include "base/matrix.h"
#include "base/probability.h"

#include <math.h>
#include <string.h>

#define MODEL_SD_RATIO 0.008 // the model is not the blade; invented
#define MODEL_SD_M2    0.1e-6
#define DIFFERENCE_Z   0.02
#define DAMPING_FIRST  1e-2
#define DAMPING_MOST   1e8
#define ENOUGH         0.02  // of the sum of squares
#define GIVEN_UP       9.0   // a log density so far below the best ends the row of films
#define FITS_LEAST     0.002 // of good logs so many would be turned away
#define FILM_PRIOR_M   40e-6 // mean of an exponential prior: thick films are rarer; invented
enum { ROUND_MAX = 24, POINT_LEAST = 4, SIZE = OPENING_FIT_SIZE };

// Films that are tried; between them the log density is taken as a line.
static const double films_m[] = {0.0, 8e-6, 18e-6, 30e-6, 45e-6, 65e-6, 90e-6, 125e-6};
enum { FILM_COUNT = sizeof films_m / sizeof films_m[0] };
_Static_assert((int)FILM_COUNT <= (int)OPENING_FIT_FILM_MAX, "room for every film");

static double square(double x) { return x * x; }

/* ---- One film ---- */

struct task {
  const struct opening_model *model;
  const struct opening_points *points;
  double film_m;
  bool plain; // the bore has no contour
  double sd_m2[OPENING_POINT_MAX];
};

static double predicted_m2(const struct task *t, const double *z, size_t i) {
  double own[OPENING_UNKNOWN_COUNT];
  memcpy(own, z, sizeof own);
  struct opening_model plain;
  const struct opening_model *model = t->model;
  if (t->plain) {
    plain = *model;
    plain.rows[OPENING_UNKNOWN_contour].middle = 0.0;
    model = &plain;
  }
  double cda = opening_model_cda_m2(model, own, t->film_m, t->points->points[i].position_ratio);
  for (int k = 0; k < OPENING_DOUBT_COUNT; k++) cda += t->points->points[i].per_doubt_m2[k] * z[OPENING_UNKNOWN_COUNT + k];
  return cda;
}

static double sum_of_squares(const struct task *t, const double *z, double *misses, double *chi2) {
  double of_points = 0.0, of_prior = 0.0;
  for (size_t i = 0; i < t->points->count; i++) {
    misses[i] = (t->points->points[i].cda_m2 - predicted_m2(t, z, i)) / t->sd_m2[i];
    of_points += square(misses[i]);
  }
  for (int k = 0; k < SIZE; k++) of_prior += square(z[k]);
  if (chi2) *chi2 = of_points;
  return of_points + of_prior;
}

/* Normal matrix (lower triangle) and gradient of half the sum of squares. */
static void linearise(const struct task *t, const double *z, const double *misses, double *normal, double *downhill) {
  memset(normal, 0, SIZE * SIZE * sizeof *normal);
  for (int k = 0; k < SIZE; k++) {
    downhill[k] = -z[k];
    normal[k * SIZE + k] = 1.0;
  }
  for (size_t i = 0; i < t->points->count; i++) {
    double slope[SIZE], moved[SIZE];
    const double here = t->points->points[i].cda_m2 - misses[i] * t->sd_m2[i];
    memcpy(moved, z, sizeof moved);
    for (int k = 0; k < SIZE; k++) {
      if (k >= OPENING_UNKNOWN_COUNT) {
        slope[k] = t->points->points[i].per_doubt_m2[k - OPENING_UNKNOWN_COUNT] / t->sd_m2[i];
        continue;
      }
      moved[k] = z[k] + DIFFERENCE_Z;
      slope[k] = (predicted_m2(t, moved, i) - here) / (DIFFERENCE_Z * t->sd_m2[i]);
      moved[k] = z[k];
    }
    for (int k = 0; k < SIZE; k++) {
      downhill[k] += slope[k] * misses[i];
      for (int j = 0; j <= k; j++) normal[k * SIZE + j] += slope[k] * slope[j];
    }
  }
}

/* From node->z on; sets everything of the node but film_m. */
static void fit_node(const struct task *t, struct opening_fit_node *node) {
  double misses[OPENING_POINT_MAX], tried[OPENING_POINT_MAX], normal[SIZE * SIZE], factor[SIZE * SIZE], downhill[SIZE];
  double damping = DAMPING_FIRST, sum = sum_of_squares(t, node->z, misses, &node->chi2);
  linearise(t, node->z, misses, normal, downhill);
  for (int round = 0; round < ROUND_MAX; round++) {
    double step[SIZE], next[SIZE], chi2;
    memcpy(factor, normal, sizeof factor);
    memcpy(step, downhill, sizeof step);
    for (int k = 0; k < SIZE; k++) factor[k * SIZE + k] *= 1.0 + damping;
    if (!matrix_cholesky(SIZE, factor)) break;
    matrix_cholesky_solve(SIZE, factor, step);
    for (int k = 0; k < SIZE; k++) next[k] = node->z[k] + step[k];
    const double now = sum_of_squares(t, next, tried, &chi2);
    if (!(now < sum)) {
      damping *= 8.0;
      if (damping > DAMPING_MOST) break;
      continue;
    }
    const bool enough = sum - now < ENOUGH;
    sum = now;
    damping *= 0.2;
    node->chi2 = chi2;
    memcpy(node->z, next, sizeof next);
    memcpy(misses, tried, sizeof misses);
    linearise(t, node->z, misses, normal, downhill);
    if (enough) break;
  }
  node->misfit = sum;
  if (matrix_cholesky(SIZE, normal)) {
    matrix_cholesky_inverse(SIZE, normal, node->covariance);
    node->log_density = -0.5 * sum - 0.5 * matrix_cholesky_log_determinant(SIZE, normal) - t->film_m / FILM_PRIOR_M;
  } else {
    node->log_density = -INFINITY;
  }
}

/* ---- All films ---- */

static void set_errors(struct task *t) {
  for (size_t i = 0; i < t->points->count; i++) {
    const struct opening_point *p = &t->points->points[i];
    t->sd_m2[i] = sqrt(square(opening_points_sd_m2(t->points, p)) + square(MODEL_SD_RATIO * p->cda_m2) + square(MODEL_SD_M2));
  }
}

/* Where the search begins: bores bend at the bottom in two ways, and between them lies a hill. */
enum { START_EVEN, START_RIDGE, START_COUNT };
static void set_start(int start, double z[SIZE]) {
  memset(z, 0, SIZE * sizeof *z);
  if (start != START_RIDGE) return;
  z[OPENING_UNKNOWN_contour] = 1.2;
  z[OPENING_UNKNOWN_contour_length] = -0.5;
  z[OPENING_UNKNOWN_land] = -1.0;
}

static void fit_films(struct task *t, struct opening_fit *fit) {
  double z[START_COUNT][SIZE];
  for (int start = 0; start < START_COUNT; start++) set_start(start, z[start]);
  for (size_t i = 0; i < FILM_COUNT; i++) {
    struct opening_fit_node *node = &fit->nodes[i];
    for (int start = 0; start < START_COUNT; start++) {
      struct opening_fit_node one = {.film_m = films_m[i]};
      memcpy(one.z, z[start], sizeof one.z);
      t->film_m = films_m[i];
      fit_node(t, &one);
      memcpy(z[start], one.z, sizeof one.z);
      if (start == 0 || one.log_density > node->log_density) *node = one;
    }
    fit->node_count = i + 1;
    if (node->log_density > fit->nodes[fit->best].log_density) fit->best = i;
    if (node->log_density < fit->nodes[fit->best].log_density - GIVEN_UP && fit->node_count > 2) break;
  }
  struct opening_fit_node plain = {.film_m = 0.0};
  t->film_m = 0.0;
  t->plain = true;
  fit_node(t, &plain);
  t->plain = false;
  fit->contour_gain = plain.chi2 - fit->nodes[fit->best].chi2;
}

/* Mean of a quantity that is a line between the nodes, over the film's density; its square too if wanted. */
static struct probability_curve density_of(const struct opening_fit *fit) {
  struct probability_curve curve = {.count = fit->node_count};
  for (size_t i = 0; i < fit->node_count; i++) {
    curve.x[i] = fit->nodes[i].film_m / UNITS_M_PER_UM;
    curve.log_density[i] = fit->nodes[i].log_density - fit->nodes[fit->best].log_density;
  }
  return curve;
}

/* Share of the area at a position that a node's film takes. */
static double lost_ratio(const struct opening_fit *fit, const struct opening_fit_node *node, double position_ratio) {
  return 1.0 - opening_model_cda_m2(&fit->model, node->z, node->film_m, position_ratio) /
                   opening_model_cda_m2(&fit->model, node->z, 0.0, position_ratio);
}

/* Where a quantile of the film lies between the nodes, as a value that belongs to them. */
static double value_at(const struct opening_fit *fit, const double *values, double film_um) {
  const double film_m = film_um * UNITS_M_PER_UM;
  size_t i = 1;
  while (i + 1 < fit->node_count && fit->nodes[i].film_m < film_m) i++;
  const double from = fit->nodes[i - 1].film_m, share = (film_m - from) / (fit->nodes[i].film_m - from);
  // a value for each node is there. NOLINTNEXTLINE(clang-analyzer-core.UndefinedBinaryOperatorResult)
  return values[i - 1] + share * (values[i] - values[i - 1]);
}

enum { QUANTILES = 40 };

/* Mean and standard deviation over the film's density, and both ends of 90 %. */
static void sum_up(const struct opening_fit *fit, const double *values, double *mean, double *sd, double *low, double *high) {
  const struct probability_curve curve = density_of(fit);
  double sum = 0.0, squares = 0.0;
  for (int i = 0; i < QUANTILES; i++) {
    const double value = value_at(fit, values, probability_curve_quantile(&curve, (i + 0.5) / QUANTILES));
    sum += value / QUANTILES;
    squares += value * value / QUANTILES;
  }
  *mean = sum;
  *sd = sqrt(fmax(squares - sum * sum, 0.0));
  *low = value_at(fit, values, probability_curve_quantile(&curve, 0.05));
  *high = value_at(fit, values, probability_curve_quantile(&curve, 0.95));
}

static void set_film(const struct opening_points *points, struct opening_fit *fit) {
  double film[OPENING_FIT_FILM_MAX], lost[OPENING_FIT_FILM_MAX];
  const bool idles = points->has_idle;
  for (size_t i = 0; i < fit->node_count; i++) {
    film[i] = fit->nodes[i].film_m;
    lost[i] = idles ? lost_ratio(fit, &fit->nodes[i], points->idle.position_ratio) : NAN;
  }
  sum_up(fit, film, &fit->film_mean_m, &fit->film_sd_m, &fit->film_low_m, &fit->film_high_m);
  sum_up(fit, lost, &fit->idle_lost_mean_ratio, &fit->idle_lost_sd_ratio, &fit->idle_lost_low_ratio, &fit->idle_lost_high_ratio);
}

double opening_fit_cda_m2(const struct opening_fit *fit, const struct opening_fit_node *node, double film_m,
                          double position_ratio, double *sd_m2) {
  const double here = opening_model_cda_m2(&fit->model, node->z, film_m, position_ratio);
  if (!sd_m2) return here;
  double slope[OPENING_UNKNOWN_COUNT], moved[OPENING_UNKNOWN_COUNT], variance = 0.0;
  memcpy(moved, node->z, sizeof moved);
  for (int k = 0; k < OPENING_UNKNOWN_COUNT; k++) {
    moved[k] = node->z[k] + DIFFERENCE_Z;
    slope[k] = (opening_model_cda_m2(&fit->model, moved, film_m, position_ratio) - here) / DIFFERENCE_Z;
    moved[k] = node->z[k];
  }
  for (int k = 0; k < OPENING_UNKNOWN_COUNT; k++)
    for (int j = 0; j < OPENING_UNKNOWN_COUNT; j++) variance += slope[k] * slope[j] * node->covariance[k * SIZE + j];
  *sd_m2 = sqrt(fmax(variance, 0.0) + square(MODEL_SD_RATIO * here) + square(MODEL_SD_M2));
  return here;
}

/* Weights of the nodes, of the density's trapezia. */
static void set_weights(const struct opening_fit *fit, double *weights) {
  double sum = 0.0;
  for (size_t i = 0; i < fit->node_count; i++) {
    const double below = i > 0 ? fit->nodes[i].film_m - fit->nodes[i - 1].film_m : 0.0;
    const double above = i + 1 < fit->node_count ? fit->nodes[i + 1].film_m - fit->nodes[i].film_m : 0.0;
    weights[i] = (below + above) * exp(fit->nodes[i].log_density - fit->nodes[fit->best].log_density);
    sum += weights[i];
  }
  for (size_t i = 0; i < fit->node_count; i++) weights[i] /= sum;
}

#define WEIGHT_LEAST 0.01

static void set_grid(struct opening_fit *fit) {
  double weights[OPENING_FIT_FILM_MAX];
  set_weights(fit, weights);
  const struct opening_fit_node *best = &fit->nodes[fit->best];
  const double stop = opening_model_value(&fit->model, best->z, OPENING_UNKNOWN_stop);
  const double from = fmin(fmax(stop, fit->from_ratio - 0.06), fit->from_ratio), to = fit->to_ratio + 0.005;
  for (int g = 0; g < OPENING_FIT_GRID; g++) {
    struct opening_fit_row *row = &fit->grid[g];
    const double u = (double)g / (OPENING_FIT_GRID - 1);
    row->position_ratio = from + (to - from) * u * (0.4 + 0.6 * u); // closer together where it bends
    row->fitted_m2 = opening_fit_cda_m2(fit, best, best->film_m, row->position_ratio, NULL);
    double sum = 0.0, mean = 0.0, squares = 0.0;
    for (size_t i = 0; i < fit->node_count; i++) {
      double sd;
      if (weights[i] < WEIGHT_LEAST) continue;
      const double clean = opening_fit_cda_m2(fit, &fit->nodes[i], 0.0, row->position_ratio, &sd);
      sum += weights[i];
      mean += weights[i] * clean;
      squares += weights[i] * (clean * clean + sd * sd);
    }
    row->clean_m2 = mean / sum;
    row->clean_sd_m2 = sqrt(fmax(squares / sum - square(row->clean_m2), 0.0));
  }
}

bool opening_fit_find(const struct opening_points *points, double displacement_m3, double stop_ratio, struct opening_fit *fit) {
  memset(fit, 0, sizeof *fit);
  const double lowest = points->count > 0 ? points->points[0].position_ratio : 0.15;
  opening_model_init(&fit->model, displacement_m3, stop_ratio, lowest);
  if (points->count < POINT_LEAST) return false;
  struct task task = {.model = &fit->model, .points = points};
  set_errors(&task);
  fit->from_ratio = lowest;
  fit->to_ratio = points->points[points->count - 1].position_ratio;
  fit_films(&task, fit);
  if (!isfinite(fit->nodes[fit->best].log_density)) return false;
  // priors are readings too: as many degrees of freedom as points
  fit->fits = probability_chi2_tail(fit->nodes[fit->best].misfit, (double)points->count) > FITS_LEAST;
  set_film(points, fit);
  set_grid(fit);
  return true;
}

bool opening_fit_clean_at(const struct opening_fit *fit, double position_ratio, double *clean_m2, double *sd_m2) {
  for (int g = 1; g < OPENING_FIT_GRID; g++) {
    const struct opening_fit_row *a = &fit->grid[g - 1], *b = &fit->grid[g];
    if (position_ratio < a->position_ratio || position_ratio > b->position_ratio) continue;
    const double share = (position_ratio - a->position_ratio) / (b->position_ratio - a->position_ratio);
    *clean_m2 = a->clean_m2 + share * (b->clean_m2 - a->clean_m2);
    *sd_m2 = a->clean_sd_m2 + share * (b->clean_sd_m2 - a->clean_sd_m2);
    return true;
  }
  return false;
}
