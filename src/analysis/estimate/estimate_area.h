/* What a film takes of the area through which an engine idles: the answer that hangs least on how the film lies, and what an opening curve
 * measures (analysis/curve).
 *
 *   lost = (A(0, theta) - A(film, theta)) / (A(0, theta) + A_bypass)
 *
 * of the car that each node of the posterior stands for: its bore, closed stop, clearance and the width of the film's ring. theta is where it
 * idles now: where its filmed gap is as large as the nominal engine's clean one, idling, but no further open than the computer may go; a cable
 * throttle stays on its stop. A_bypass: the idle bypass valve of a cable throttle, clean. What is left open of these deviations at a node goes
 * in linearly. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_AREA_H
#define ANALYSIS_ESTIMATE_ESTIMATE_AREA_H

#include "analysis/estimate/estimate.h"

/* Blade angle and bypass area of the nominal clean engine, idling. */
void estimate_area_find_clean(struct estimate *estimate, struct estimate_forward *forward);

/* Mean and interval over all hypotheses with a film in the bore: fills area_best_ratio, area_low_ratio, area_high_ratio; NaN where there is none. */
void estimate_area_mix(struct estimate *estimate);

#endif
