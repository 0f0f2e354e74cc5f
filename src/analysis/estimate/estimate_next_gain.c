#include "analysis/estimate/estimate_next_gain.h"

#include "base/matrix.h"
#include "base/probability.h"
#include "base/random.h"
#include "base/units.h"

#include <math.h>
#include <stdlib.h>

enum { GRID_LEAST = 64, SAMPLE_COUNT = 384 };
#define GRID_REACH_SD 5.0
#define GRID_STEP_SD  0.4 // of the narrowest: error below 1e-5 bits (base/probability.h)

static double normal_density(double x, double mean, double sd) {
  const double off = (x - mean) / sd;
  return exp(-0.5 * off * off) / (sd * sqrt(2.0 * UNITS_PI));
}

bool estimate_next_gain_readable(const struct open_question *q, size_t reading) {
  for (size_t i = 0; i < q->count; i++)
    for (size_t k = 0; k < q->predictive[i].node_count; k++)
      if (!q->predictive[i].runs[k] || isnan(q->predictive[i].mean[k][reading])) return false;
  return true;
}

/* Weights of all states of a decision, those of the open question in proportion to `posterior`, which sums to `sum`; the others, of which
 * nothing is known, keep their share of it. */
static void weigh_states(const struct open_question *q, const double *posterior, double sum, double *weight) {
  const struct estimate_decide *decide = q->decide;
  double asked = 0.0;
  for (size_t i = 0; i < q->count; i++) asked += decide->probability[q->hypothesis[i]];
  for (size_t s = 0; s < decide->state_count; s++) weight[s] = decide->probability[s] * sum;
  for (size_t i = 0; i < q->count; i++) weight[q->hypothesis[i]] = posterior[i] * asked;
}

/* What a reading comes to, its own cost not counted: of the densities that estimate_next_gain_of_one() left. */
static double cost_of_one(const struct open_question *q, size_t points, double step) {
  double cost = 0.0;
  for (size_t x = 0; x < points; x++) {
    double posterior[ESTIMATE_NEXT_GAIN_LIKELY_MAX], weight[ESTIMATE_HYPOTHESIS_MAX], sum = 0.0;
    for (size_t i = 0; i < q->count; i++) sum += posterior[i] = q->probability[i] * q->densities[i * points + x] * step;
    weigh_states(q, posterior, sum, weight);
    cost += estimate_decide_least(q->decide, weight, NULL);
  }
  return cost;
}

double estimate_next_gain_apart(const struct open_question *q, size_t reading) {
  const struct estimate_predictive *first = q->predictive, *rival = q->predictive + q->rival;
  return q->rival < q->count ? estimate_predictive_apart_bits(first, rival, reading, q->wanted.count) : 0.0;
}

/* By quadrature: the mixture of every hypothesis on one grid. cost: as above; NULL or NaN where it is not asked for. */
double estimate_next_gain_of_one(struct open_question *q, size_t reading, double *cost) {
  double least = INFINITY, most = -INFINITY, narrowest = INFINITY;
  const size_t m = q->wanted.count;
  for (size_t i = 0; i < q->count; i++) {
    const double sd = sqrt(q->predictive[i].covariance[reading * m + reading]);
    narrowest = fmin(narrowest, sd);
    for (size_t k = 0; k < q->predictive[i].node_count; k++) {
      least = fmin(least, q->predictive[i].mean[k][reading] - GRID_REACH_SD * sd);
      most = fmax(most, q->predictive[i].mean[k][reading] + GRID_REACH_SD * sd);
    }
  }
  const size_t points = (size_t)fmin(fmax((most - least) / (GRID_STEP_SD * narrowest), GRID_LEAST), ESTIMATE_NEXT_GAIN_GRID_MOST);
  const double step = (most - least) / (double)(points - 1);
  for (size_t i = 0; i < q->count; i++) {
    const double sd = sqrt(q->predictive[i].covariance[reading * m + reading]);
    for (size_t x = 0; x < points; x++) {
      double sum = 0.0;
      for (size_t k = 0; k < q->predictive[i].node_count; k++)
        sum += q->predictive[i].mass[k] * normal_density(least + step * (double)x, q->predictive[i].mean[k][reading], sd);
      q->densities[i * points + x] = sum;
    }
  }
  if (cost) *cost = q->decide ? cost_of_one(q, points, step) : NAN;
  const double bits = probability_information_bits(q->count, q->probability, points, q->densities, step);
  return isnan(bits) ? 0.0 : bits;
}

/* One hypothesis' normal over some of the readings. */
struct joint {
  double factor[ESTIMATE_QUANTITY_COUNT * ESTIMATE_QUANTITY_COUNT];
  double log_norm;
};

static bool make_joint(const struct open_question *q, size_t i, size_t count, const size_t *readings, struct joint *joint) {
  const size_t m = q->wanted.count;
  for (size_t a = 0; a < count; a++)
    for (size_t b = 0; b < count; b++) joint->factor[a * count + b] = q->predictive[i].covariance[readings[a] * m + readings[b]];
  if (!matrix_cholesky(count, joint->factor)) return false;
  joint->log_norm = -0.5 * matrix_cholesky_log_determinant(count, joint->factor);
  return true;
}

static double log_density(const struct open_question *q, size_t i, size_t count, const size_t *readings,
                          const struct joint *joint, const double *y) {
  double logs[ESTIMATE_PREDICTIVE_NODE_MAX];
  for (size_t k = 0; k < q->predictive[i].node_count; k++) {
    double off[ESTIMATE_QUANTITY_COUNT], sum = 0.0;
    for (size_t a = 0; a < count; a++) off[a] = y[a] - q->predictive[i].mean[k][readings[a]];
    matrix_cholesky_forward(count, joint->factor, off);
    for (size_t a = 0; a < count; a++) sum += off[a] * off[a];
    logs[k] = log(q->predictive[i].mass[k]) - 0.5 * sum + joint->log_norm;
  }
  return probability_log_sum_exp(q->predictive[i].node_count, logs);
}

/* One set of readings as the hypothesis would give them. */
static void draw(const struct open_question *q, size_t i, size_t count, const size_t *readings, const struct joint *joint,
                 uint64_t sample, double *y) {
  double u = random_uniform(1, RANDOM_STREAM_CASE, sample);
  size_t k = 0;
  while (k + 1 < q->predictive[i].node_count && u > q->predictive[i].mass[k]) u -= q->predictive[i].mass[k++];
  for (size_t a = 0; a < count; a++) {
    y[a] = q->predictive[i].mean[k][readings[a]];
    for (size_t b = 0; b <= a; b++)
      y[a] += joint->factor[a * count + b] * random_normal(2, RANDOM_STREAM_CASE, sample * ESTIMATE_QUANTITY_COUNT + b);
  }
}

/* A whole data stream at once, by sampling: mean over readings to come of the entropy that they take away. Each hypothesis is
 * sampled equally often and weighted by its probability; fixed seeds, so that the answer is the same every time. */
double estimate_next_gain_of_many(const struct open_question *q, size_t count, const size_t *readings, double *cost) {
  struct joint *joints = calloc(q->count, sizeof *joints);
  double gain = 0.0;
  *cost = q->decide ? 0.0 : NAN;
  for (size_t i = 0; joints && i < q->count; i++)
    if (!make_joint(q, i, count, readings, &joints[i])) gain = NAN;
  const size_t each = SAMPLE_COUNT / q->count + 1;
  for (size_t i = 0; joints && !isnan(gain) && i < q->count; i++)
    for (size_t s = 0; s < each; s++) {
      double y[ESTIMATE_QUANTITY_COUNT], logs[ESTIMATE_NEXT_GAIN_LIKELY_MAX];
      draw(q, i, count, readings, &joints[i], i * each + s, y);
      for (size_t k = 0; k < q->count; k++) logs[k] = log(q->probability[k]) + log_density(q, k, count, readings, &joints[k], y);
      const double all = probability_log_sum_exp(q->count, logs), posterior = logs[i] - all;
      double shares[ESTIMATE_NEXT_GAIN_LIKELY_MAX], weight[ESTIMATE_HYPOTHESIS_MAX];
      for (size_t k = 0; k < q->count; k++) shares[k] = exp(logs[k] - all);
      if (q->decide) {
        weigh_states(q, shares, 1.0, weight);
        *cost += q->probability[i] / (double)each * estimate_decide_least(q->decide, weight, NULL);
      }
      gain += q->probability[i] * (posterior - log(q->probability[i])) / (double)each / log(2.0);
    }
  free(joints);
  return isnan(gain) ? 0.0 : fmax(gain, 0.0);
}
