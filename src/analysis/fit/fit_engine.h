/* The engine that a fit is made on, and the one that comes of it. */
#ifndef ANALYSIS_FIT_FIT_ENGINE_H
#define ANALYSIS_FIT_FIT_ENGINE_H

#include "analysis/fit/fit_result.h"

/* For the fit: the idle controller may do whatever it takes, and what it may do is no unknown. */
void fit_engine_loosen(struct engine *engine);

/* fit->engine: the card's engine with the mean of the deviations put in, its computer calibrated on it, its scatter what is left. What
 * is left of friction and the like moves the air that an idle needs; the computer of the next car expects that air all the same, so its
 * feed-forward is tied to them. STATUS_NO_MEMORY, STATUS_NO. */
MUST_CHECK enum status fit_engine_make(struct fit *fit, struct error *error);

#endif
