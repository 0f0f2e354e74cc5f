#include "analysis/estimate/plausible.h"

#include "analysis/estimate/estimate_unlisted.h"

#include <math.h>
#include <stdlib.h>

enum { SHARE_COUNT = 5, PAIR_SHARE_COUNT = 2 };
static const double shares[SHARE_COUNT] = {CAUSE_LEAST_SHARE, 0.275, 0.5, 0.725, CAUSE_MOST_SHARE};
static const double pair_shares[PAIR_SHARE_COUNT] = {0.5, CAUSE_MOST_SHARE};

/* What is predicted: faults, and what each reading would be under them. */
struct trial {
  struct estimate_fault fault;
  bool usual;
  bool runs[ESTIMATE_CONDITION_COUNT];
  double values[ESTIMATE_READING_MAX];
};

enum { TRIAL_MAX = 1 + CAUSE_COUNT * (SHARE_COUNT + PAIR_SHARE_COUNT * PAIR_SHARE_COUNT) };

struct work {
  struct estimate_problem problem;
  struct estimate_car_prior prior;
  struct estimate_slopes slopes;
  struct estimate_forward **forwards; // one a worker
  size_t trial_count;
  struct trial trials[TRIAL_MAX];
};

static void list_trials(struct work *work, const struct engine *engine, bool pairs) {
  work->trials[work->trial_count++].usual = true; // nothing wrong
  for (int c = 0; c < CAUSE_COUNT; c++) {
    const enum cause cause = (enum cause)c;
    if (cause == CAUSE_nothing || cause == CAUSE_unlisted || !cause_applies(engine, cause)) continue;
    for (int i = 0; i < SHARE_COUNT; i++) {
      struct trial *trial = &work->trials[work->trial_count++];
      trial->usual = cause == CAUSE_film;
      trial->fault = (struct estimate_fault){.count = 1, .cause = {cause}, .severity = {cause_severity(cause, shares[i])}};
    }
    for (int i = 0; pairs && !cause_rows[cause].state && cause != CAUSE_film && i < PAIR_SHARE_COUNT * PAIR_SHARE_COUNT; i++)
      work->trials[work->trial_count++].fault =
          (struct estimate_fault){.count = 2,
                                  .cause = {CAUSE_film, cause},
                                  .severity = {cause_severity(CAUSE_film, pair_shares[i / PAIR_SHARE_COUNT]),
                                               cause_severity(cause, pair_shares[i % PAIR_SHARE_COUNT])}};
  }
}

static void trial_job(size_t index, size_t worker, void *user) {
  struct work *work = user;
  const struct estimate_problem *problem = &work->problem;
  struct trial *trial = &work->trials[index];
  const double nominal[SCATTER_COUNT] = {0};
  struct estimate_point points[ESTIMATE_CONDITION_COUNT];
  estimate_forward_predict(work->forwards[worker], problem->setting, nominal, &trial->fault, problem->conditions, points);
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++) trial->runs[c] = (problem->conditions & (1u << c)) && points[c].runs;
  for (size_t i = 0; i < problem->readings->count; i++) {
    const struct estimate_reading *reading = &problem->readings->readings[i];
    trial->values[i] =
        trial->runs[reading->condition] ? estimate_quantities[reading->quantity].value(&points[reading->condition]) : NAN;
  }
}

/* Standard deviation of a good car's readings; false if it does not run. */
static bool find_spreads(struct work *work, struct estimate_forward *forward, struct plausible_ranges *ranges) {
  const struct estimate_problem *problem = &work->problem;
  struct estimate_slopes *slopes = &work->slopes;
  const struct estimate_fault nothing = {0};
  double expected[ESTIMATE_READING_MAX];
  const bool runs = estimate_fit_expect(problem, forward, problem->prior->mean, &nothing, expected) &&
                    estimate_fit_slopes(problem, forward, problem->prior->mean, &nothing, expected, ~0u, slopes);
  for (size_t i = 0; runs && i < problem->readings->count; i++) {
    const double sd = problem->readings->readings[i].sd;
    ranges->rows[i].spread = sqrt(sd * sd + estimate_fit_variance(problem, slopes, problem->prior->covariance, i));
  }
  return runs;
}

static void gather(const struct work *work, size_t reading, struct plausible_range *row) {
  row->good = work->trials[0].values[reading]; // nothing wrong
  row->low = row->usual_low = INFINITY;
  row->high = row->usual_high = -INFINITY;
  for (size_t i = 0; i < work->trial_count; i++) {
    const double value = work->trials[i].values[reading];
    if (isnan(value)) continue;
    row->low = fmin(row->low, value);
    row->high = fmax(row->high, value);
    if (!work->trials[i].usual) continue;
    row->usual_low = fmin(row->usual_low, value);
    row->usual_high = fmax(row->usual_high, value);
  }
  if (row->low > row->high) return;
  const bool positive = row->low > 0.0; // with every cause, and then nothing below 0 is plausible
  const struct estimate_reading *given = &work->problem.readings->readings[reading];
  const double unlisted = sqrt(estimate_unlisted_between(given, given));
  const double margin = PLAUSIBLE_SPREADS * row->spread + PLAUSIBLE_SHARE * (row->high - row->low) + unlisted;
  row->low -= margin;
  row->high += margin;
  if (positive) row->low = fmax(0.0, row->low);
}

enum status plausible_find(const struct engine *engine, const struct estimate_setting *setting,
                           const struct estimate_readings *readings, bool pairs, const struct for_each *for_each,
                           struct plausible_ranges *ranges, struct error *error) {
  struct work *work = calloc(1, sizeof *work);
  struct estimate_forward **forwards = calloc(for_each->worker_count, sizeof *forwards);
  enum status status =
      work && forwards ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for what an engine can show");
  size_t count = 0;
  for (; status == STATUS_OK && count < for_each->worker_count; count++)
    status = estimate_forward_create(engine, &forwards[count], error);
  if (status == STATUS_OK && !estimate_problem_init(&work->problem, engine, setting, readings, &work->prior))
    status = estimate_fit_refuse_ties(engine, error);
  if (status == STATUS_OK && !find_spreads(work, forwards[0], ranges))
    status =
        error_set(error, STATUS_BAD_DATA,
                  "a good %s does not run under the conditions of the readings: look at what --set and the cold readings say",
                  engine->name);
  if (status == STATUS_OK) {
    work->forwards = forwards;
    list_trials(work, engine, pairs);
    for_each->run(for_each, work->trial_count, trial_job, work);
    for (size_t i = 0; i < readings->count; i++) gather(work, i, &ranges->rows[i]);
  }
  for (size_t i = 0; forwards && i < for_each->worker_count; i++) estimate_forward_destroy(forwards[i]);
  free(forwards);
  free(work);
  return status;
}

bool plausible_holds(const struct plausible_range *row, double value) { return value >= row->low && value <= row->high; }

double plausible_off(const struct plausible_range *row, double value) {
  return fmax(0.0, fmax(row->usual_low - value, value - row->usual_high)) / row->spread;
}
