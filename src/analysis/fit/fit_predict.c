#include "analysis/fit/fit_predict.h"

#include "analysis/estimate/estimate_fit.h"

#include <math.h>
#include <stdlib.h>

struct work {
  struct estimate_forward *forward;
  struct estimate_problem problem;
  struct estimate_car_prior prior;
  struct estimate_slopes slopes;
  double expected[ESTIMATE_READING_MAX];
};

static enum status predict(struct work *w, const struct engine *engine, const struct estimate_setting *setting, bool with_errors,
                           struct estimate_readings *readings, struct error *error) {
  const struct estimate_fault nothing = {0};
  if (!estimate_problem_init(&w->problem, engine, setting, readings, &w->prior) ||
      !estimate_fit_expect(&w->problem, w->forward, w->prior.mean, &nothing, w->expected) ||
      !estimate_fit_slopes(&w->problem, w->forward, w->prior.mean, &nothing, w->expected, ~0u, &w->slopes))
    return error_set(error, STATUS_BAD_DATA, "%s does not run under these conditions", engine->name);
  for (size_t j = 0; j < readings->count; j++) {
    struct estimate_reading *reading = &readings->readings[j];
    double variance = estimate_fit_variance(&w->problem, &w->slopes, w->prior.covariance, j);
    reading->value = w->expected[j];
    if (with_errors) {
      const double own = estimate_reading_sd(reading->quantity, reading->value, NAN, NAN);
      variance += own * own + estimate_discrepancy_between(reading, reading, true);
    }
    reading->sd = sqrt(variance);
  }
  return STATUS_OK;
}

enum status fit_predict(const struct engine *engine, const struct estimate_setting *setting, bool with_errors,
                        struct estimate_readings *readings, struct error *error) {
  struct work *w = calloc(1, sizeof *w);
  if (!w) return error_set(error, STATUS_NO_MEMORY, "out of memory for predicted readings");
  enum status status = estimate_forward_create(engine, &w->forward, error);
  if (status == STATUS_OK) status = predict(w, engine, setting, with_errors, readings, error);
  estimate_forward_destroy(w->forward);
  free(w);
  return status;
}
