/* From a card and clean readings to an engine, its spread, and what is not determined.
 *
 * The unknowns are the deviations of scatter_params.h, from the card's engine (card_engine.h), with the widths of cars on the road. Each
 * car's readings are fitted as a baseline is (estimate_fit.h). Several cars are of one model:
 *
 *   x_i = mu + u_i       mu ~ N(0, R), the model; u_i ~ N(0, U), the car, U as usual among cars of one model, R + U = 1 in road widths
 *   L_i = C_i^-1 - 1     what car i's readings alone say of x_i: precision; h_i = C_i^-1 x_i
 *   of mu:               (L_i^-1 + U)^-1 = U^-1 - U^-1 (U^-1 + L_i)^-1 U^-1, and U^-1 (U^-1 + L_i)^-1 h_i
 *   another car          N(mean of mu, cov of mu + U); with all spread between cars that is sqrt(1 + 1/n) of it
 *   this car             the first file's: that prior from the others, and its own L_1
 *
 * (A. Gelman and others, "Bayesian Data Analysis", 3rd ed., ch. 5: the normal hierarchical model with known variances.) What the idle
 * controller may do decides nothing here, and what it has learned is not the metal's: both are left out, and the fitted engine's
 * computer is calibrated on it. A film in a car given as clean hides in closed angle and clearance. */
#ifndef ANALYSIS_FIT_FIT_H
#define ANALYSIS_FIT_FIT_H

#include "analysis/fit/fit_result.h"

#define FIT_P_VALUE_LEAST  1e-9 // below it no sound car of this card reads so: a garbled reading, or another car
#define FIT_P_VALUE_POOR   1e-3 // below it the card's engine is stretched, and a second look at card and readings is due
#define FIT_NOT_DETERMINED 0.8  // share of the road's width above which a deviation counts as not determined
#define FIT_INFERRED_BY    20.0 // how many times likelier one meaning must be than the next

/* STATUS_NO_MEMORY; STATUS_NO if no sound car of this card reads so. The question must outlive the answer. */
MUST_CHECK enum status fit_create(const struct fit_question *question, struct fit **fit, struct error *error);
void fit_destroy(struct fit *fit);

/* True if the readings say something of it, beyond what is known of cars on the road. */
bool fit_determined(const struct fit *fit, enum scatter scatter);

/* Conditions at which something was read: bits 1 << enum estimate_condition. */
unsigned fit_conditions(const struct fit *fit);

/* What such a reading means, in the word of the engine file. */
const char *fit_meaning_name(const struct fit *fit, enum estimate_scan_item item);

/* True if the card says it. */
bool fit_said(const struct fit *fit, enum scatter scatter);

#endif
