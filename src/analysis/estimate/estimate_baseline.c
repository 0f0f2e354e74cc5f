#include "analysis/estimate/estimate_baseline.h"

#include <stdlib.h>

/* Room to work in; too large for a stack. */
struct work {
  struct estimate_problem problem;
  struct estimate_car_prior prior, taken;
  struct estimate_discrepancy discrepancy;
  struct estimate_slopes slopes;
};

/* How often a good car of this kind would lie further off by chance; 0 if none reads that at all, or if that is not known. */
static double fit_of_good(const struct engine *engine, const struct estimate_setting *setting,
                          const struct estimate_readings *readings, struct estimate_forward *forward, struct work *w) {
  double p_value = 0.0;
  if (!estimate_problem_init(&w->problem, engine, setting, readings, &w->prior)) return 0.0;
  if (!estimate_discrepancy_of(readings, NULL, w->problem.count, &w->discrepancy)) return 0.0;
  w->problem.discrepancy = &w->discrepancy;
  w->taken = w->prior;
  return estimate_fit_baseline(&w->problem, forward, &w->slopes, &w->taken, NULL, &p_value) ? p_value : 0.0;
}

enum status estimate_baseline_check(const struct estimate_question *question, struct error *error) {
  if (question->baseline.count == 0 || question->readings.count == 0) return STATUS_OK;
  struct work *w = calloc(1, sizeof *w);
  struct estimate_forward *forward = NULL;
  enum status status = w ? estimate_forward_create(question->engine, &forward, error)
                         : error_set(error, STATUS_NO_MEMORY, "out of memory for a baseline");
  if (status == STATUS_OK) {
    const double then = fit_of_good(question->engine, &question->baseline_setting, &question->baseline, forward, w);
    const double now =
        then < ESTIMATE_P_VALUE_LEAST ? fit_of_good(question->engine, &question->setting, &question->readings, forward, w) : 0.0;
    if (then < ESTIMATE_P_VALUE_LEAST && now >= ESTIMATE_P_VALUE_LEAST)
      status = error_set(
          error, STATUS_NO,
          "the baseline looks like no good %s (one in a hundred lies so far off by chance, at most), but the readings of "
          "now do: are the two files swapped? If they are not, --trust",
          question->engine->name);
  }
  estimate_forward_destroy(forward);
  free(w);
  return status;
}
