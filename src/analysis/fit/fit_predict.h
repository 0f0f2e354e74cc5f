/* What an engine file lets a good car read, and how far cars and days differ in it. */
#ifndef ANALYSIS_FIT_FIT_PREDICT_H
#define ANALYSIS_FIT_FIT_PREDICT_H

#include "analysis/estimate/estimate_forward.h"
#include "base/error.h"

/* Fills in the readings' values, and their standard deviations: of cars and days, first order about the nominal car, and, if wanted, of the
 * model's errors and the instrument's. Quantities and conditions are the caller's. STATUS_NO_MEMORY; STATUS_BAD_DATA where the engine does
 * not run. */
MUST_CHECK enum status fit_predict(const struct engine *engine, const struct estimate_setting *setting, bool with_errors,
                                   struct estimate_readings *readings, struct error *error);

#endif
