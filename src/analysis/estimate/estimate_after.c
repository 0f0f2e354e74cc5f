#include "analysis/estimate/estimate_after.h"

#include "analysis/estimate/estimate_predictive.h"
#include "base/probability.h"
#include "base/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FILM_WORTH     0.05 // probability of a film below which nothing is said of cleaning
#define WORTH_TELLING  0.01 // of a hypothesis within it
#define RELEARN_MOST_S 3600.0
#define DROOP_RPM      20.0 // below its target by more, it does not idle as it should
enum { FILM_MAX = 8 };

/* What a mechanic looks at after a clean; those that the engine has are told. */
static const struct {
  enum estimate_quantity quantity;
  enum estimate_condition condition;
} told[] = {
    {ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_CONDITION_idle},        {ESTIMATE_QUANTITY_target_rpm, ESTIMATE_CONDITION_idle},
    {ESTIMATE_QUANTITY_tp_pct, ESTIMATE_CONDITION_idle},           {ESTIMATE_QUANTITY_bypass_steps, ESTIMATE_CONDITION_idle},
    {ESTIMATE_QUANTITY_maf_gps, ESTIMATE_CONDITION_idle},          {ESTIMATE_QUANTITY_map_kpa, ESTIMATE_CONDITION_idle},
    {ESTIMATE_QUANTITY_idle_air_pct, ESTIMATE_CONDITION_idle},     {ESTIMATE_QUANTITY_trim_pct, ESTIMATE_CONDITION_idle},
    {ESTIMATE_QUANTITY_spark_deg, ESTIMATE_CONDITION_idle},        {ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_CONDITION_drive},
    {ESTIMATE_QUANTITY_tp_pct, ESTIMATE_CONDITION_hold_2500},      {ESTIMATE_QUANTITY_speed_rpm, ESTIMATE_CONDITION_cold_idle},
    {ESTIMATE_QUANTITY_closed_gap_mm2, ESTIMATE_CONDITION_key_on},
};
_Static_assert(sizeof told / sizeof told[0] <= ESTIMATE_AFTER_MAX, "room for what is told");

/* Hypotheses with a film, and their predictive distributions under one change. */
struct films {
  size_t count;
  size_t hypothesis[FILM_MAX];
  double probability[FILM_MAX]; // among them
  struct estimate_predictive predictive[FILM_MAX];
};

static void find_films(const struct estimate *e, struct films *films) {
  double sum = 0.0;
  films->count = 0;
  for (size_t i = 0; i < e->count && films->count < FILM_MAX; i++) {
    const struct estimate_hypothesis *h = &e->hypotheses[e->order[i]];
    if (estimate_hypothesis_place(h, CAUSE_film) < 0 || h->probability < WORTH_TELLING * e->film_probability) continue;
    films->hypothesis[films->count] = e->order[i];
    films->probability[films->count++] = h->probability;
    sum += h->probability;
  }
  for (size_t i = 0; i < films->count; i++) films->probability[i] /= sum;
}

static void wanted_readings(const struct estimate *e, struct estimate_forward *forward, struct estimate_readings *wanted) {
  struct estimate_readings all;
  estimate_predictive_everything(e, forward, &all);
  wanted->count = 0;
  for (size_t i = 0; i < sizeof told / sizeof told[0]; i++) {
    const struct estimate_reading *found = estimate_readings_find(&all, told[i].quantity, told[i].condition);
    if (found) wanted->readings[wanted->count++] = *found;
  }
}

static double mixture_cdf(const struct films *films, size_t reading, size_t count, double x) {
  double sum = 0.0, mass = 0.0;
  for (size_t i = 0; i < films->count; i++) {
    const struct estimate_predictive *o = &films->predictive[i];
    const double sd = sqrt(o->covariance[reading * count + reading]);
    for (size_t k = 0; k < o->node_count; k++) {
      if (!o->runs[k]) continue;
      const double weight = films->probability[i] * o->mass[k];
      mass += weight;
      sum += weight * probability_normal_cdf((x - o->mean[k][reading]) / sd);
    }
  }
  return mass > 0.0 ? sum / mass : NAN;
}

static double mixture_quantile(const struct films *films, size_t reading, size_t count, double p) {
  double low = -1e5, high = 1e5; // beyond every quantity's unit
  for (int i = 0; i < 60; i++) {
    const double middle = 0.5 * (low + high);
    if (mixture_cdf(films, reading, count, middle) < p)
      low = middle;
    else
      high = middle;
  }
  return 0.5 * (low + high);
}

/* Below nothing there is no light, no step and no flow. */
static double bounded(enum estimate_quantity quantity, double value) {
  const bool signed_one = quantity == ESTIMATE_QUANTITY_trim_pct || quantity == ESTIMATE_QUANTITY_idle_air_pct;
  return signed_one ? value : fmax(value, 0.0);
}

static struct estimate_range range_of(const struct films *films, const struct estimate_readings *wanted, size_t reading) {
  const double outside = 0.5 * (1.0 - ESTIMATE_INTERVAL);
  const enum estimate_quantity quantity = wanted->readings[reading].quantity;
  return (struct estimate_range){bounded(quantity, mixture_quantile(films, reading, wanted->count, 0.5)),
                                 bounded(quantity, mixture_quantile(films, reading, wanted->count, outside)),
                                 bounded(quantity, mixture_quantile(films, reading, wanted->count, 1.0 - outside))};
}

static void look_ahead(const struct estimate *e, struct estimate_forward *forward, const struct estimate_readings *wanted,
                       enum estimate_change change, struct films *films) {
  for (size_t i = 0; i < films->count; i++)
    estimate_predictive(e, films->hypothesis[i], forward, wanted, change, false, &films->predictive[i]);
}

/* ---- how long it takes ---- */
/* Idles on with the film gone and the learned offset where it was, until speed and offset are at rest; s. */
static double relearn_s(const struct estimate *e, struct estimate_forward *forward, const struct estimate_hypothesis *h,
                        double learned_ratio) {
  const struct estimate_fault left = estimate_forward_without(&h->fault, CAUSE_film);
  struct estimate_setting setting = e->question->setting;
  setting.stale = true;
  setting.learned_ratio = learned_ratio;
  return estimate_forward_rest_s(forward, &setting, h->nodes[h->best].fit.z, &left, RELEARN_MOST_S);
}

static size_t place_of(const struct estimate_readings *wanted, enum estimate_quantity quantity) {
  const struct estimate_reading *found = estimate_readings_find(wanted, quantity, ESTIMATE_CONDITION_idle);
  return found ? (size_t)(found - wanted->readings) : wanted->count;
}

/* Probability that it idles on its target once relearned, and that nothing else is wrong with it. */
static double cured(const struct films *films, const struct estimate_readings *wanted, const struct estimate *e) {
  const size_t speed = place_of(wanted, ESTIMATE_QUANTITY_speed_rpm), target = place_of(wanted, ESTIMATE_QUANTITY_target_rpm);
  if (speed == wanted->count || target == wanted->count) return NAN;
  double sum = 0.0;
  for (size_t i = 0; i < films->count; i++) {
    const struct estimate_predictive *o = &films->predictive[i];
    if (e->hypotheses[films->hypothesis[i]].fault.count != 1) continue;
    for (size_t k = 0; k < o->node_count; k++)
      if (o->runs[k] && o->mean[k][speed] > o->mean[k][target] - DROOP_RPM) sum += films->probability[i] * o->mass[k];
  }
  return sum * e->film_probability;
}

enum status estimate_after(const struct estimate *e, struct estimate_after *after, struct error *error) {
  memset(after, 0, sizeof *after);
  after->applies = e->film_probability >= FILM_WORTH;
  if (!after->applies) return STATUS_OK;
  struct films *films = calloc(1, sizeof *films);
  struct estimate_readings *wanted = calloc(1, sizeof *wanted);
  struct estimate_forward *forward = NULL;
  enum status status =
      films && wanted ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for what comes after the clean");
  if (status == STATUS_OK) status = estimate_forward_create(e->problem.engine, &forward, error);
  if (status == STATUS_OK) {
    find_films(e, films);
    wanted_readings(e, forward, wanted);
    after->count = wanted->count;
    for (int change = ESTIMATE_AS_IT_IS; change <= ESTIMATE_CLEANED_RELEARNED; change++) {
      look_ahead(e, forward, wanted, (enum estimate_change)change, films);
      for (size_t i = 0; i < wanted->count; i++) {
        struct estimate_after_reading *reading = &after->readings[i];
        reading->quantity = wanted->readings[i].quantity;
        reading->condition = wanted->readings[i].condition;
        struct estimate_range *range = change == ESTIMATE_AS_IT_IS        ? &reading->now
                                       : change == ESTIMATE_CLEANED_STALE ? &reading->stale
                                                                          : &reading->relearned;
        *range = range_of(films, wanted, i);
      }
    }
    after->cure_probability = cured(films, wanted, e); // of the last: relearned
    const struct estimate_predictive *first = &films->predictive[0];
    for (size_t k = 0; k < first->node_count; k++) after->learned_now_pct += first->mass[k] * first->learned_pct[k];
    after->relearn_s = relearn_s(e, forward, &e->hypotheses[films->hypothesis[0]], after->learned_now_pct * UNITS_RATIO_PER_PCT);
  }
  estimate_forward_destroy(forward);
  free(wanted);
  free(films);
  return status;
}
