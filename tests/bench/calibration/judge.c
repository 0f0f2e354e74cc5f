#include "judge.h"

#include "analysis/estimate/estimate.h"
#include "base/matrix.h"
#include "base/probability.h"
#include "drive.h"
#include "results.h"
#include "support/curve_cdf.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { CHUNK = 32, SPREAD_CARS = 200, SPREAD_LEAST = 8 };
#define NORMAL_QUARTILES 1.349 // standard deviations between the quartiles of a normal distribution

struct work {
  const struct judge_order *order;
  struct tested_car *cars;                                     // all of the order
  struct estimate_point (*expected)[ESTIMATE_CONDITION_COUNT]; // of the first SPREAD_CARS, by the forward model
  struct reading_spread spread;
  size_t driven_count; // of the cars
  size_t begin;        // car at which the chunk begins
  struct result results[CHUNK][READING_SET_COUNT];
  bool judged[CHUNK][READING_SET_COUNT];
  enum status status;
  struct error *error;
};

static void fail(struct work *w, enum status status, const struct error *error) {
  w->status = status;
  *w->error = *error;
}

/* ---- driving ---- */
static void drive_job(size_t index, size_t worker, void *user) {
  (void)worker;
  struct work *w = user;
  const size_t number = w->driven_count + index;
  struct tested_car *t = &w->cars[number];
  const struct engine *engine = w->order->engine;
  struct error error;
  error_clear(&error);
  enum status status = STATUS_OK;
  for (uint64_t attempt = 0; attempt < DRAWN_CAR_ATTEMPT_MAX && status == STATUS_OK && !t->driven; attempt++) {
    drawn_car_draw(engine, w->order->seed, w->order->first + number, attempt, &t->car);
    status = drive_car(engine, t->car.z, &t->car.fault, t->car.cold_c, t->car.key, t->now, &error);
    t->driven = status == STATUS_OK && t->now[ESTIMATE_CONDITION_idle].runs;
  }
  if (status == STATUS_OK && t->driven)
    status = drive_car(engine, t->car.z_then, &drawn_car_good, t->car.cold_then_c, t->car.key + 1, t->then, &error);
  if (status != STATUS_OK) fail(w, status, &error);
}

static void drive_up_to(struct work *w, const struct for_each *for_each, size_t count) {
  if (count <= w->driven_count) return;
  for_each->run(for_each, count - w->driven_count, drive_job, w);
  w->driven_count = count;
}

/* ---- what cycle scatter leaves of a mean over ten seconds ---- */
static void expect_job(size_t index, size_t worker, void *user) {
  (void)worker;
  struct work *w = user;
  const struct tested_car *t = &w->cars[index];
  struct error error;
  error_clear(&error);
  struct estimate_forward *forward;
  const enum status status = estimate_forward_create(w->order->engine, &forward, &error);
  if (status != STATUS_OK) {
    fail(w, status, &error);
    return;
  }
  struct estimate_setting setting;
  estimate_setting_init(&setting);
  setting.cold_coolant_c = t->now[ESTIMATE_CONDITION_cold_idle].values[CHANNEL_coolant_c];
  estimate_forward_predict(forward, &setting, t->car.z, &t->car.fault, (1u << ESTIMATE_CONDITION_COUNT) - 1u, w->expected[index]);
  estimate_forward_destroy(forward);
}

static int by_size(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* From the quartiles of run less forward model, so that a car for which the forward model is wrong does not count. */
static void measure_spread(struct work *w, size_t count) {
  double off[SPREAD_CARS];
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    for (int q = 0; q < ESTIMATE_QUANTITY_COUNT; q++) {
      size_t n = 0;
      for (size_t i = 0; i < count; i++) {
        if (!w->cars[i].now[c].runs || !w->expected[i][c].runs) continue;
        off[n] = estimate_quantities[q].value(&w->cars[i].now[c]) - estimate_quantities[q].value(&w->expected[i][c]);
        if (!isnan(off[n])) n++;
      }
      qsort(off, n, sizeof *off, by_size);
      w->spread.sd[c][q] = n < SPREAD_LEAST ? 0.0 : (off[3 * n / 4] - off[n / 4]) / NORMAL_QUARTILES;
    }
}

/* ---- judging ---- */
/* How far the readings lie from those of the same car when good, were there no noise: sqrt(d' C^-1 d) with C = S + J P^-1 J', the
 * errors of readings and model and what is not known of a good car; C^-1 by H = P + J' S^-1 J. NAN if it cannot be had. */
static double distance(const struct estimate *e, struct estimate_forward *forward, const struct drawn_car *car) {
  const struct estimate_problem *p = &e->problem;
  const struct estimate_fault good = {0};
  double with[ESTIMATE_READING_MAX], without[ESTIMATE_READING_MAX], nominal[ESTIMATE_READING_MAX];
  static const struct estimate_slopes no_slopes;
  struct estimate_slopes slopes = no_slopes;
  if (!estimate_fit_expect(p, forward, car->z, &car->fault, with) || !estimate_fit_expect(p, forward, car->z, &good, without) ||
      !estimate_fit_expect(p, forward, p->prior->mean, &good, nominal) ||
      !estimate_fit_slopes(p, forward, p->prior->mean, &good, nominal, ~0u, &slopes))
    return NAN;
  const size_t n = p->count, m = p->readings->count;
  double h[SCATTER_COUNT * SCATTER_COUNT], g[SCATTER_COUNT] = {0}, sum = 0.0;
  memcpy(h, p->prior->precision, n * n * sizeof *h);
  for (size_t j = 0; j < m; j++)
    for (size_t l = 0; l < m; l++) {
      const double weight = p->discrepancy->weight[j * m + l];
      if (weight == 0.0) continue;
      sum += weight * (with[j] - without[j]) * (with[l] - without[l]);
      for (size_t i = 0; i < n; i++) {
        const double slope = weight * estimate_fit_slope(p, &slopes, j, i);
        g[i] += slope * (with[l] - without[l]);
        for (size_t k = 0; k <= i; k++) h[i * n + k] += slope * estimate_fit_slope(p, &slopes, l, k);
      }
    }
  if (!matrix_cholesky(n, h)) return NAN;
  matrix_cholesky_forward(n, h, g);
  for (size_t i = 0; i < n; i++) sum -= g[i] * g[i];
  return sqrt(fmax(sum, 0.0));
}

/* Posterior of the true cause's severity, were that cause certain. */
static void rank_severity(const struct estimate_hypothesis *h, const struct drawn_car *car, struct result *r) {
  struct probability_curve curve = {.count = h->node_count};
  for (size_t i = 0; i < h->node_count; i++) {
    curve.x[i] = h->nodes[i].share[0];
    curve.log_density[i] = h->nodes[i].fit.log_likelihood;
  }
  r->rank = curve_cdf(&curve, car->share);
  r->low = h->low[0];
  r->high = h->high[0];
  r->mean = h->mean[0];
}

static void note(const struct estimate *e, const struct drawn_car *car, struct result *r) {
  r->p_value = e->p_value;
  r->rank = r->low = r->high = r->mean = NAN;
  for (size_t i = 0; i < e->count; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[i];
    const enum cause cause = h->fault.cause[0];
    r->probability[cause] += h->probability; // a film with and without a fresh offset
    if (cause == car->cause && cause != CAUSE_nothing && !h->fault.fresh) rank_severity(h, car, r);
  }
}

static double thread_cpu_s(void) {
  struct timespec time;
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &time);
  return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* False if this set cannot be read on this car. */
static bool judge(const struct work *w, const struct tested_car *t, enum reading_set set, struct result *r, enum status *status,
                  struct error *error) {
  const struct engine *engine = w->order->engine;
  struct estimate_question question = {.engine = engine};
  if (!readings_take(engine, set, t, false, &w->spread, &question.readings, &question.setting)) return false;
  if (set == READING_SET_baseline &&
      !readings_take(engine, set, t, true, &w->spread, &question.baseline, &question.baseline_setting))
    return false;
  struct estimate *estimate = NULL;
  struct estimate_forward *forward = NULL;
  const double start = thread_cpu_s();
  *status = estimate_create(&question, &for_each_serial, &estimate, error);
  r->cpu_s = thread_cpu_s() - start;
  if (*status == STATUS_OK) *status = estimate_forward_create(engine, &forward, error);
  if (*status == STATUS_OK) {
    note(estimate, &t->car, r);
    r->distance = t->car.cause == CAUSE_nothing ? 0.0 : distance(estimate, forward, &t->car);
  }
  estimate_forward_destroy(forward);
  estimate_destroy(estimate);
  return *status == STATUS_OK;
}

static void judge_job(size_t index, size_t worker, void *user) {
  (void)worker;
  struct work *w = user;
  const struct tested_car *t = &w->cars[w->begin + index];
  for (int set = 0; set < READING_SET_COUNT; set++) {
    struct result *r = &w->results[index][set];
    struct error error;
    error_clear(&error);
    enum status status = STATUS_OK;
    *r = (struct result){
        .car = w->order->first + w->begin + index, .set = (enum reading_set)set, .cause = t->car.cause, .share = t->car.share};
    r->severity = t->car.fault.count ? t->car.fault.severity[0] : 0.0;
    w->judged[index][set] = t->driven && judge(w, t, (enum reading_set)set, r, &status, &error);
    if (status != STATUS_OK)
      fprintf(stderr, "car %zu (%s, share %.2f), %s: %s\n", r->car, cause_rows[r->cause].name, r->share, reading_set_names[set],
              error.text);
  }
}

/* ---- the whole ---- */
static void judge_in_chunks(struct work *w, const struct for_each *for_each, FILE *stream) {
  results_print_head(stream);
  for (w->begin = 0; w->begin < w->order->count && w->status == STATUS_OK; w->begin += CHUNK) {
    const size_t count = w->order->count - w->begin < CHUNK ? w->order->count - w->begin : CHUNK;
    drive_up_to(w, for_each, w->begin + count);
    if (w->status != STATUS_OK) return;
    for_each->run(for_each, count, judge_job, w);
    for (size_t i = 0; i < count; i++)
      for (int set = 0; set < READING_SET_COUNT; set++)
        if (w->judged[i][set]) results_print(stream, &w->results[i][set]);
    fflush(stream);
  }
}

enum status judge_cars(const struct judge_order *order, const struct for_each *for_each, FILE *stream, struct error *error) {
  struct work *w = calloc(1, sizeof *w);
  const size_t spread_count = order->count < SPREAD_CARS ? order->count : SPREAD_CARS;
  if (w) {
    *w = (struct work){.order = order, .error = error};
    w->cars = calloc(order->count, sizeof *w->cars);
    w->expected = calloc(spread_count, sizeof *w->expected);
  }
  enum status status =
      w && w->cars && w->expected ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for %zu cars", order->count);
  if (status == STATUS_OK) {
    drive_up_to(w, for_each, spread_count);
    if (w->status == STATUS_OK) for_each->run(for_each, spread_count, expect_job, w);
    if (w->status == STATUS_OK) {
      measure_spread(w, spread_count);
      judge_in_chunks(w, for_each, stream);
    }
    status = w->status;
  }
  if (w) {
    free(w->expected);
    free(w->cars);
  }
  free(w);
  return status;
}
