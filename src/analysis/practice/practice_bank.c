#include "analysis/practice/practice_bank.h"

#include "analysis/estimate/estimate_symptoms_weigh.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DIFFERENCE_SD 0.5 // of a deviation, for its slope, as in estimate_fit.c

struct work {
  struct practice_bank *bank;
  struct estimate_forward **forwards; // one for each worker
  double good_rpm;
  unsigned conditions; // that this engine has
  float *step_slope;   // [reading][deviation], of the good car: those of load steps, which take long
};

/* ---- what there is ---- */

static void add_hypothesis(struct practice_bank *b, size_t count, const enum cause *causes, double prior) {
  struct practice_hypothesis *h = &b->hypotheses[b->hypothesis_count];
  const double least = b->prior->level->share_least, range = b->prior->level->share_most - least;
  size_t side[ESTIMATE_CAUSE_MAX] = {1, 1};
  *h = (struct practice_hypothesis){.fault = {.count = count}, .prior = prior, .first = b->node_count};
  for (size_t i = 0; i < count; i++) {
    const struct cause_row *row = &cause_rows[causes[i]];
    h->fault.cause[i] = causes[i];
    h->fault.severity[i] = cause_severity(causes[i], least + 0.5 * range);
    side[i] = row->least < row->most || row->least > row->most ? count == 1 ? PRACTICE_SINGLE_NODES : PRACTICE_PAIR_SIDE : 1;
  }
  h->count = side[0] * side[1];
  for (size_t k = 0; k < h->count; k++) {
    struct practice_node *node = &b->nodes[b->node_count];
    const size_t at[ESTIMATE_CAUSE_MAX] = {k / side[1], k % side[1]};
    *node = (struct practice_node){
        .hypothesis = b->hypothesis_count, .log_prior = log(prior / (double)h->count), .slopes = b->node_count};
    for (size_t i = 0; i < count; i++) {
      node->share[i] = least + range * ((double)at[i] + 0.5) / (double)side[i];
      node->width[i] = side[i] > 1 ? range / (double)side[i] / sqrt(12.0) : 0.0;
    }
    b->node_count++;
  }
  b->hypothesis_count++;
}

static void add_all(struct practice_bank *b) {
  const struct practice_prior *prior = b->prior;
  for (int c = 0; c < CAUSE_COUNT; c++) {
    const enum cause cause = (enum cause)c;
    if (prior->single[c] > 0.0) add_hypothesis(b, cause == CAUSE_nothing ? 0 : 1, &cause, prior->single[c]);
  }
  for (int c = 0; c < CAUSE_COUNT; c++) {
    const enum cause both[] = {CAUSE_film, (enum cause)c};
    if (prior->pair[c] > 0.0) add_hypothesis(b, 2, both, prior->pair[c]);
  }
}

static struct estimate_fault fault_of(const struct practice_bank *b, const struct practice_node *node) {
  struct estimate_fault fault = b->hypotheses[node->hypothesis].fault;
  for (size_t i = 0; i < fault.count; i++) fault.severity[i] = cause_severity(fault.cause[i], node->share[i]);
  return fault;
}

size_t practice_bank_find(const struct practice_bank *b, size_t count, const enum cause *causes) {
  for (size_t i = 0; i < b->hypothesis_count; i++) {
    const struct estimate_fault *fault = &b->hypotheses[i].fault;
    if (fault->count != count) continue;
    size_t same = 0;
    for (size_t k = 0; k < count; k++)
      for (size_t j = 0; j < count; j++) same += fault->cause[k] == causes[j];
    if (same == count) return i;
  }
  return b->hypothesis_count;
}

/* ---- what it reads ---- */

static double value_of(const struct practice_bank *b, const struct estimate_point *points, size_t reading) {
  const struct estimate_reading *r = &b->tests->readings.readings[reading];
  return points[r->condition].runs ? estimate_quantities[r->quantity].value(&points[r->condition]) : NAN;
}

/* By differences; where a car does not run with a deviation, it is as if it were not felt. */
static void find_slopes(const struct work *w, struct estimate_forward *forward, const struct estimate_fault *fault,
                        unsigned conditions, const float *mean, float *slope) {
  const struct practice_bank *b = w->bank;
  const size_t n = b->tests->readings.count, m = b->deviation_count;
  struct estimate_setting setting;
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_setting_init(&setting);
  for (size_t i = 0; i < m; i++) {
    double z[SCATTER_COUNT] = {0.0};
    const double by = DIFFERENCE_SD * b->prior->level->spread;
    z[b->scatter[i]] = by;
    estimate_forward_predict(forward, &setting, z, fault, conditions, points);
    for (size_t j = 0; j < n; j++) {
      if (!(conditions & (1u << b->tests->readings.readings[j].condition))) continue;
      const double moved = value_of(b, points, j) - (double)mean[j];
      slope[j * m + i] = isfinite(moved) ? (float)(moved / DIFFERENCE_SD) : 0.0f;
    }
  }
}

static void read_symptoms(const struct work *w, struct estimate_forward *forward, const struct estimate_fault *fault,
                          struct estimate_point *points, struct practice_node *node) {
  const double z[SCATTER_COUNT] = {0.0};
  struct estimate_setting setting;
  estimate_setting_init(&setting);
  estimate_forward_predict(forward, &setting, z, fault, ESTIMATE_AT(idle), points);
  struct monitor_measures measures = *estimate_forward_measures(forward);
  measures.misfire_ratio = estimate_symptoms_weigh_misfires(w->bank->tests->engine, fault);
  for (int c = 0; c < MONITOR_CODE_COUNT; c++)
    node->code[c] = (float)estimate_symptoms_weigh_code((enum monitor_code)c, &measures);
  const bool idles = points[ESTIMATE_CONDITION_idle].runs;
  if (!idles) node->log_prior = -INFINITY; // cases idle
  if (idles) estimate_forward_predict(forward, &setting, z, fault, w->conditions, points);
  for (int c = 0; idles && c < ESTIMATE_CONDITION_COUNT; c++)
    if ((w->conditions & (1u << c)) && points[c].runs) node->runs |= 1u << c;
  for (int c = 0; c < ESTIMATE_COMPLAINT_COUNT; c++)
    node->says[c] = (float)practice_case_says((enum estimate_complaint)c, points, idles ? w->conditions : 0, w->good_rpm,
                                              estimate_symptoms_weigh_code(MONITOR_P0300, &measures));
}

static void read_node(const struct work *w, struct estimate_forward *forward, size_t number) {
  struct practice_bank *b = w->bank;
  struct practice_node *node = &b->nodes[number];
  const size_t n = b->tests->readings.count, m = b->deviation_count;
  const struct estimate_fault fault = fault_of(b, node);
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  float *mean = b->mean + number * n, *slope = b->slope + number * n * m;
  read_symptoms(w, forward, &fault, points, node);
  for (size_t j = 0; j < n; j++)
    mean[j] = node->runs & (1u << b->tests->readings.readings[j].condition) ? (float)value_of(b, points, j) : NAN;
  if (fault.count > 1 || isinf(node->log_prior)) return;
  // idling on its target, a load step feels the car's deviations as on a good one (estimate_forward_idles())
  const unsigned steps = points[ESTIMATE_CONDITION_idle].outcome == SETTLE_IDLES ? ESTIMATE_AT_STEPS : 0;
  find_slopes(w, forward, &fault, node->runs & ~steps, mean, slope);
  for (size_t j = 0; j < n; j++)
    if (steps & (1u << b->tests->readings.readings[j].condition)) memcpy(slope + j * m, w->step_slope + j * m, m * sizeof *slope);
}

/* By how much one width of severity moves each reading: of the two neighbours, or of one and itself at an end. */
static void find_severities(struct practice_bank *b, const struct practice_hypothesis *h) {
  const size_t n = b->tests->readings.count, pairs = h->fault.count > 1;
  for (size_t k = 0; k < h->count; k++) {
    const size_t number = h->first + k;
    for (size_t place = 0; place < h->fault.count; place++) {
      const size_t side = h->count == 1 ? 1 : pairs ? PRACTICE_PAIR_SIDE : PRACTICE_SINGLE_NODES;
      const size_t step = pairs && place == 0 ? PRACTICE_PAIR_SIDE : 1;
      const size_t at = pairs && place == 0 ? k / PRACTICE_PAIR_SIDE : k % side;
      if (side == 1 || h->count % side != 0 || !(b->nodes[number].width[place] > 0.0)) continue;
      for (size_t j = 0; j < n; j++) {
        size_t before = at > 0 ? number - step : number, after = at + 1 < side ? number + step : number;
        if (isnan(b->mean[before * n + j])) before = number;
        if (isnan(b->mean[after * n + j])) after = number;
        const double run = b->nodes[after].share[place] - b->nodes[before].share[place];
        const double rise = (double)b->mean[after * n + j] - (double)b->mean[before * n + j];
        if (run > 0.0 && isfinite(rise))
          b->severity[(number * n + j) * ESTIMATE_CAUSE_MAX + place] = (float)(rise / run * b->nodes[number].width[place]);
      }
    }
  }
}

/* A pair's cars deviate as those with the film alone do. */
static void borrow_slopes(struct practice_bank *b, const struct practice_hypothesis *h) {
  const size_t film = practice_bank_find(b, 1, (const enum cause[]){CAUSE_film});
  for (size_t k = h->first; k < h->first + h->count; k++) {
    double least = INFINITY;
    const struct practice_hypothesis *alone = &b->hypotheses[film];
    for (size_t i = alone->first; i < alone->first + alone->count; i++) {
      const double off = fabs(b->nodes[i].share[0] - b->nodes[k].share[0]);
      if (isinf(b->nodes[i].log_prior) || !(off < least)) continue;
      least = off;
      b->nodes[k].slopes = i;
    }
  }
}

static void read_job(size_t index, size_t worker, void *user) {
  struct work *w = user;
  read_node(w, w->forwards[worker], index);
}

static void prepare(struct work *w) {
  struct practice_bank *b = w->bank;
  const struct estimate_readings *readings = &b->tests->readings;
  for (int i = 0; i < SCATTER_COUNT; i++)
    if (scatter_applies(b->tests->engine, (enum scatter)i)) b->scatter[b->deviation_count++] = (enum scatter)i;
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    if (estimate_forward_has(b->tests->engine, (enum estimate_condition)c)) w->conditions |= 1u << c;
  for (size_t j = 0; j < readings->count; j++)
    if (readings->readings[j].quantity == ESTIMATE_QUANTITY_speed_rpm &&
        readings->readings[j].condition == ESTIMATE_CONDITION_idle)
      w->good_rpm = readings->readings[j].value;
}

static bool allocate(struct work *w) {
  struct practice_bank *b = w->bank;
  const size_t n = b->tests->readings.count, m = b->deviation_count;
  b->mean = calloc(b->node_count * n, sizeof *b->mean);
  b->slope = calloc(b->node_count * n * m, sizeof *b->slope);
  b->severity = calloc(b->node_count * n * ESTIMATE_CAUSE_MAX, sizeof *b->severity);
  w->step_slope = calloc(n * m, sizeof *w->step_slope);
  return b->mean && b->slope && b->severity && w->step_slope;
}

static void read_all(struct work *w, const struct for_each *for_each) {
  struct practice_bank *b = w->bank;
  const struct estimate_fault good = {0};
  float means[ESTIMATE_READING_MAX];
  for (size_t j = 0; j < b->tests->readings.count; j++) means[j] = (float)b->tests->readings.readings[j].value;
  find_slopes(w, w->forwards[0], &good, w->conditions & ESTIMATE_AT_STEPS, means, w->step_slope);
  for_each->run(for_each, b->node_count, read_job, w);
  for (size_t i = 0; i < b->hypothesis_count; i++) {
    find_severities(b, &b->hypotheses[i]);
    if (b->hypotheses[i].fault.count > 1) borrow_slopes(b, &b->hypotheses[i]);
  }
}

enum status practice_bank_create(const struct practice_tests *tests, const struct practice_prior *prior,
                                 const struct for_each *for_each, struct practice_bank **bank, struct error *error) {
  struct work w = {.bank = calloc(1, sizeof *w.bank)};
  w.forwards = calloc(for_each->worker_count, sizeof *w.forwards);
  enum status status = w.bank && w.forwards ? STATUS_OK : STATUS_NO_MEMORY;
  for (size_t i = 0; status == STATUS_OK && i < for_each->worker_count; i++)
    status = estimate_forward_create(tests->engine, &w.forwards[i], error);
  if (status == STATUS_OK) {
    w.bank->tests = tests;
    w.bank->prior = prior;
    add_all(w.bank);
    prepare(&w);
    if (!allocate(&w)) status = STATUS_NO_MEMORY;
  }
  if (status == STATUS_OK) read_all(&w, for_each);
  for (size_t i = 0; w.forwards && i < for_each->worker_count; i++) estimate_forward_destroy(w.forwards[i]);
  free(w.forwards);
  free(w.step_slope);
  *bank = w.bank;
  if (status == STATUS_OK) return status;
  practice_bank_destroy(w.bank);
  *bank = NULL;
  return error_set(error, status, "out of memory for what a practice car may read");
}

void practice_bank_destroy(struct practice_bank *b) {
  if (!b) return;
  free(b->mean);
  free(b->slope);
  free(b->severity);
  free(b);
}

size_t practice_bank_slopes(const struct practice_bank *b, size_t node, size_t reading, double slope[PRACTICE_STATE_MAX]) {
  const size_t n = b->tests->readings.count, m = b->deviation_count;
  const float *car = b->slope + (b->nodes[node].slopes * n + reading) * m;
  for (size_t i = 0; i < m; i++) slope[i] = car[i];
  for (size_t i = 0; i < ESTIMATE_CAUSE_MAX; i++) slope[m + i] = b->severity[(node * n + reading) * ESTIMATE_CAUSE_MAX + i];
  return m + ESTIMATE_CAUSE_MAX;
}
