/* What is known of a car before the readings of now: from a baseline, or from readings that the engine's file was fitted to. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_KNOWN_H
#define ANALYSIS_ESTIMATE_ESTIMATE_KNOWN_H

#include "analysis/estimate/estimate_fit.h"
#include "base/error.h"

struct estimate_known_question {
  const struct engine *engine;
  const struct estimate_setting *setting;    // of the day when the car was good
  const struct estimate_readings *baseline;  // empty: none
  const struct estimate_readings *fitted_to; // taken where there is no baseline; empty: none
  bool model_is_car;
};

struct estimate_known {
  struct estimate_car_prior *prior; // in: of cars like this engine; out: of this car
  struct estimate_past *past;       // of the model's errors
  double p_value;                   // of the baseline as a good car; NaN without one
};

/* Readings that the engine was fitted to tell of the model's errors alone, as its spread is what they have left already. STATUS_BAD_DATA if
 * the readings fit no good car that runs, STATUS_NO_MEMORY. slopes: room. */
MUST_CHECK enum status estimate_known_take(const struct estimate_known_question *question, struct estimate_forward *forward,
                                           struct estimate_slopes *slopes, struct estimate_known *known, struct error *error);

/* Two readings that tell the same: STATUS_BAD_DATA, set. */
enum status estimate_known_refuse_singular(struct error *error);

#endif
