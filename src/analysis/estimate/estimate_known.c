#include "analysis/estimate/estimate_known.h"

#include <math.h>
#include <stdlib.h>

/* Room to work in; too large for a stack. */
struct work {
  struct estimate_problem problem;
  struct estimate_car_prior prior;
  struct estimate_discrepancy discrepancy;
};

enum status estimate_known_refuse_singular(struct error *error) {
  return error_set(error, STATUS_BAD_DATA, "two of the readings are one and the same: leave one out");
}

static enum status take_baseline(const struct estimate_known_question *question, struct estimate_forward *forward,
                                 struct estimate_slopes *slopes, struct work *w, struct estimate_known *known,
                                 struct error *error) {
  if (!estimate_problem_init(&w->problem, question->engine, question->setting, question->baseline, &w->prior))
    return estimate_fit_refuse_ties(question->engine, error);
  if (!question->model_is_car) {
    if (!estimate_discrepancy_of(question->baseline, NULL, w->problem.count, &w->discrepancy))
      return estimate_known_refuse_singular(error);
    w->problem.discrepancy = &w->discrepancy;
  }
  if (!estimate_fit_baseline(&w->problem, forward, slopes, known->prior, question->model_is_car ? NULL : known->past,
                             &known->p_value))
    return error_set(error, STATUS_BAD_DATA,
                     "the baseline's readings fit no good %s that runs: is it the same engine, and was it good?",
                     question->engine->name);
  return STATUS_OK;
}

static enum status take_fitted(const struct estimate_known_question *question, struct estimate_forward *forward,
                               struct estimate_slopes *slopes, struct work *w, struct estimate_known *known,
                               struct error *error) {
  if (!estimate_problem_init(&w->problem, question->engine, question->setting, question->fitted_to, &w->prior))
    return estimate_fit_refuse_ties(question->engine, error);
  if (!estimate_fit_past(&w->problem, forward, slopes, known->past))
    return error_set(error, STATUS_BAD_DATA,
                     "%s does not run where its good_readings were taken: were its other values changed after the fit?",
                     question->engine->name);
  return STATUS_OK;
}

enum status estimate_known_take(const struct estimate_known_question *question, struct estimate_forward *forward,
                                struct estimate_slopes *slopes, struct estimate_known *known, struct error *error) {
  const bool baseline = question->baseline->count > 0;
  const bool fitted = question->fitted_to->count > 0 && !question->model_is_car;
  known->p_value = NAN;
  if (!baseline && !fitted) return STATUS_OK;
  struct work *w = calloc(1, sizeof *w);
  if (!w) return error_set(error, STATUS_NO_MEMORY, "out of memory for a baseline");
  const enum status status = baseline ? take_baseline(question, forward, slopes, w, known, error)
                                      : take_fitted(question, forward, slopes, w, known, error);
  free(w);
  return status;
}
