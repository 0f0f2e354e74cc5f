#include "analysis/fit/fit.h"

#include "analysis/estimate/estimate_fit.h"
#include "analysis/fit/fit_engine.h"
#include "analysis/fit/fit_model.h"
#include "base/probability.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What is needed on the way; too large for a stack. */
struct work {
  struct fit *fit;
  struct estimate_forward *forward;
  struct estimate_slopes slopes;
  struct estimate_car_prior prior;
  struct estimate_discrepancy discrepancy;
  struct estimate_fit fits[FIT_CAR_MAX];
  struct fit_model model;
  struct estimate_readings readings; // of one car, for a trial
  double covariance[SCATTER_COUNT * SCATTER_COUNT];
};

bool fit_determined(const struct fit *fit, enum scatter scatter) { return fit->sd[scatter] < FIT_NOT_DETERMINED; }

bool fit_said(const struct fit *fit, enum scatter scatter) {
  const double road = scatter_rows[scatter].factor * scatter_road[scatter];
  return fit->question->nominal->scatter.sd[scatter] < 0.999 * road;
}

unsigned fit_conditions(const struct fit *fit) {
  unsigned conditions = 0;
  for (size_t i = 0; i < fit->question->car_count; i++)
    for (size_t k = 0; k < fit->cars[i].readings.count; k++) conditions |= 1u << fit->cars[i].readings.readings[k].condition;
  return conditions;
}

const char *fit_meaning_name(const struct fit *fit, enum estimate_scan_item item) {
  for (size_t i = 0; i < computer_params_group_count; i++) {
    const struct field_group *group = &computer_params_groups[i];
    const struct field *field =
        strcmp(group->name, "scan") == 0 ? field_find(group->fields, group->count, estimate_scan_rows[item].key) : NULL;
    if (field) return field->choices[fit->definitions[item].choice];
  }
  return "";
}

/* ---- Which readings ---- */

/* What the computer has learned and adds is its own, and no sign of the metal. */
static bool of_computer(enum estimate_quantity quantity) {
  return quantity == ESTIMATE_QUANTITY_idle_air_pct || quantity == ESTIMATE_QUANTITY_learned_pct ||
         quantity == ESTIMATE_QUANTITY_effort_pct;
}

static size_t take_out_computer(struct estimate_readings *readings) {
  size_t kept = 0;
  for (size_t i = 0; i < readings->count; i++)
    if (!of_computer(readings->readings[i].quantity)) readings->readings[kept++] = readings->readings[i];
  const size_t out = readings->count - kept;
  readings->count = kept;
  return out;
}

static int *choice_of(struct engine *engine, enum estimate_scan_item item) {
  return (int *)((char *)&engine->computer.scan + estimate_scan_rows[item].offset);
}

/* ---- One car ---- */

static bool fit_one(struct work *w, const struct estimate_setting *setting, const struct estimate_readings *readings,
                    const double *start, struct estimate_problem *problem, struct estimate_fit *fit) {
  if (!estimate_problem_init(problem, &w->fit->nominal, setting, readings, &w->prior)) return false;
  if (!estimate_discrepancy_of(readings, NULL, problem->count, &w->discrepancy)) return false;
  problem->discrepancy = &w->discrepancy;
  return estimate_fit_good(problem, w->forward, start, &w->slopes, fit, w->covariance);
}

/* ---- What readings mean ---- */

/* Log likelihood of all cars' readings with one more kind of them, meant so. */
static double log_likelihood(struct work *w) {
  struct estimate_problem problem;
  double sum = 0.0;
  for (size_t i = 0; i < w->fit->question->car_count; i++) {
    struct estimate_fit fit;
    w->readings = w->fit->question->readings[i];
    take_out_computer(&w->readings);
    estimate_scan_leave_out(&w->fit->nominal, &w->readings);
    if (!fit_one(w, &w->fit->question->settings[i], &w->readings, NULL, &problem, &fit)) return -INFINITY;
    sum += fit.log_likelihood;
  }
  return sum;
}

static size_t count_item(const struct fit_question *question, enum estimate_scan_item item) {
  size_t count = 0;
  for (size_t i = 0; i < question->car_count; i++)
    for (size_t k = 0; k < question->readings[i].count; k++) {
      const struct estimate_reading *reading = &question->readings[i].readings[k];
      count += estimate_scan_of(reading->quantity, reading->condition) == item;
    }
  return count;
}

static void infer(struct work *w, enum estimate_scan_item item, struct fit_definition *definition) {
  const int known = estimate_scan_rows[item].known_count;
  int *choice = choice_of(&w->fit->nominal, item);
  double best = -INFINITY, next = -INFINITY;
  for (int i = 0; i < known; i++) {
    *choice = i;
    const double now = log_likelihood(w);
    if (now > best) {
      next = best;
      best = now;
      definition->choice = i;
    } else {
      next = fmax(next, now);
    }
  }
  definition->against = exp(fmin(best - next, 50.0));
  const bool told = isfinite(best) && definition->against >= FIT_INFERRED_BY;
  definition->how = told ? FIT_MEANING_INFERRED : FIT_MEANING_OPEN;
  *choice = told ? definition->choice : known;
}

static void find_meanings(struct work *w) {
  struct fit *fit = w->fit;
  for (int i = 0; i < ESTIMATE_SCAN_COUNT; i++) {
    const enum estimate_scan_item item = (enum estimate_scan_item)i;
    struct fit_definition *definition = &fit->definitions[item];
    definition->choice = *choice_of(&fit->nominal, item);
    definition->reading_count = count_item(fit->question, item);
    if (definition->choice < estimate_scan_rows[item].known_count)
      definition->how = FIT_MEANING_SAID;
    else if (definition->reading_count == 0)
      definition->how = FIT_MEANING_NOT_READ;
    else
      infer(w, item, definition);
  }
}

/* ---- All cars ---- */

static enum status cannot_be(const struct work *w, size_t car, struct error *error) {
  const struct fit_car *c = &w->fit->cars[car];
  size_t worst = 0;
  double most = 0.0;
  for (size_t k = 0; k < c->readings.count; k++) {
    const struct estimate_reading *r = &c->readings.readings[k];
    const double sd = sqrt(r->sd * r->sd + estimate_discrepancy_between(r, r, true));
    const double off = fabs(r->value - c->expected[k]) / sd;
    if (off > most) {
      most = off;
      worst = k;
    }
  }
  const struct estimate_reading *r = &c->readings.readings[worst];
  return error_set(error, STATUS_NO,
                   "the readings of car %zu cannot be those of a good car of this card: no friction, filling or gap gives such "
                   "readings (%.1g of good cars fit worse). Furthest off is %s=%.6g@%s, where %.6g would fit. Read it again, "
                   "check the card, or use another good car",
                   car + 1, c->p_value, estimate_quantities[r->quantity].name, r->value, estimate_conditions[r->condition].name,
                   c->expected[worst]);
}

static enum status fit_car(struct work *w, size_t i, struct error *error) {
  const struct fit_question *question = w->fit->question;
  struct fit_car *car = &w->fit->cars[i];
  struct estimate_problem problem;
  car->readings = question->readings[i];
  w->fit->computer_count += take_out_computer(&car->readings);
  estimate_scan_leave_out(&w->fit->nominal, &car->readings);
  if (!fit_one(w, &question->settings[i], &car->readings, NULL, &problem, &w->fits[i]))
    return error_set(error, STATUS_NO,
                     "an engine of this card cannot run as it did when the readings of car %zu were taken: check their "
                     "conditions, and displacement and idle target on the card",
                     i + 1);
  memcpy(car->expected, w->fits[i].expected, sizeof car->expected);
  car->chi2 = w->fits[i].chi2;
  car->p_value = car->readings.count ? probability_chi2_tail(car->chi2, (double)car->readings.count) : 1.0;
  w->fit->p_value = isnan(w->fit->p_value) ? car->p_value : fmin(w->fit->p_value, car->p_value);
  if (car->p_value < FIT_P_VALUE_LEAST) return cannot_be(w, i, error);
  if (!fit_model_add(&w->model, w->fits[i].z, w->covariance))
    return error_set(error, STATUS_BAD_DATA, "the readings of car %zu contain nothing usable", i + 1);
  return STATUS_OK;
}

static enum status solve(struct work *w, struct error *error) {
  struct fit *fit = w->fit;
  find_meanings(w);
  struct estimate_readings none = {0};
  struct estimate_setting day;
  estimate_setting_init(&day);
  struct estimate_problem problem;
  if (!estimate_problem_init(&problem, &fit->nominal, &day, &none, &w->prior))
    return error_set(error, STATUS_BAD_DATA, "the correlations of the engine's deviations are impossible");
  fit->count = problem.count;
  memcpy(fit->scatter, problem.scatter, sizeof fit->scatter);
  fit_model_begin(&w->model, fit->question->start, &fit->nominal, problem.count, problem.scatter);
  enum status status = STATUS_OK;
  for (size_t i = 0; status == STATUS_OK && i < fit->question->car_count; i++) status = fit_car(w, i, error);
  if (status == STATUS_OK && !fit_model_end(&w->model, fit->question->this_car, fit->mean, fit->left, fit->sd, fit->covariance))
    status = error_set(error, STATUS_NO, "the cars' readings contradict each other: are they of one model?");
  return status == STATUS_OK ? fit_engine_make(fit, error) : status;
}

enum status fit_create(const struct fit_question *question, struct fit **result, struct error *error) {
  struct fit *fit = calloc(1, sizeof *fit);
  struct work *w = calloc(1, sizeof *w);
  enum status status = fit && w ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for a fit");
  if (status == STATUS_OK) {
    fit->question = question;
    fit->p_value = NAN;
    fit->nominal = *question->nominal;
    fit_engine_loosen(&fit->nominal);
    w->fit = fit;
    status = estimate_forward_create(&fit->nominal, &w->forward, error);
  }
  if (status == STATUS_OK) status = solve(w, error);
  if (w) estimate_forward_destroy(w->forward);
  free(w);
  if (status == STATUS_OK)
    *result = fit;
  else
    fit_destroy(fit);
  return status;
}

void fit_destroy(struct fit *fit) { free(fit); }
