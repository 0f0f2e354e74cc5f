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

#include "analysis/estimate/estimate_hypothesis.h"

struct estimate_area {
  double idle_rad, idle_m2, bypass_m2;      // of the nominal clean engine, idling: blade angle, gap, bypass valve
  double best_ratio, low_ratio, high_ratio; // lost, over all hypotheses with a film in the bore; NaN where there is none
  struct engine car;                        // room for a car
};

/* Blade angle, gap and bypass area of the clean engine, idling. */
void estimate_area_find_clean(const struct engine *engine, struct estimate_forward *forward, struct estimate_area *area);

/* Mean and interval of what is lost. film_probability: of all hypotheses with a film together. */
void estimate_area_mix(const struct estimate_problem *problem, size_t count, const struct estimate_hypothesis *hypotheses,
                       double film_probability, struct estimate_area *area);

#endif
