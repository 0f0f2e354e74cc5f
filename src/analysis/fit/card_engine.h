/* From a car card to an engine: a shipped one of the same kind, made as large as the card says.
 *
 *   s = displacement / that of the shipped engine
 *   bore                as measured, else 43 mm cbrt(litres)                      card_usual_bore_mm()
 *   friction            its mean pressure stays, so its torque grows by s
 *   volumes, inertia, heat capacities, starter, converter        s to 1, or little less
 *   belt-driven loads, valves to the manifold, surfaces          s to 0.6 or 0.7: between the shipped 1.0, 1.6 and 3.0 litres
 *   losses of filter and exhaust                                 s to -2 of flow squared: the same at full load
 *   bypass valve                                                 port and lift with the root of s: as many steps for the same idle
 *   efficiency          by 1 - r^-0.3 of the compression ratio r (air-standard Otto cycle, exponent 1.3)
 *   friction, efficiency  then such that it breathes as engines of its size do: 0.8 g/s a litre at 750 rpm, and what the alternator takes
 *   gas as fuel         takes the place of air: filling 1 / (1 + (M_air / M_fuel) / L_st)
 *
 * Then the computer is calibrated on it as those of the shipped engines are: clean and warm it learns nothing, with each load or without.
 * How wide its deviations spread: as among all cars of the kind on the road (scatter_params.h), less what the card says. */
#ifndef ANALYSIS_FIT_CARD_ENGINE_H
#define ANALYSIS_FIT_CARD_ENGINE_H

#include "analysis/settle/settle.h"
#include "car/card.h"
#include "car/engine.h"

/* Name of the shipped engine to start from. */
const char *card_engine_start(const struct card *card);

/* The engine of a card, its deviations those of models on the road. start: the shipped one; it keeps that one's name. Appended to the error:
 * STATUS_BAD_DATA where the card has no displacement, or an engine of these figures does not idle; STATUS_NO_MEMORY. */
MUST_CHECK enum status card_engine_make(const struct card *card, const struct engine *start, struct engine *engine,
                                        struct error *error);

/* Calibrates the computer on the engine: base air and what is fed forward for loads. learned_ratio: what it then shows as learned, 0 as a
 * rule. False if it does not idle at its target, whatever its computer may do. */
bool card_engine_calibrate(struct settle *settle, double learned_ratio, struct engine *engine);

/* Lets the idle controller do whatever it takes, so that what it may do decides nothing. */
void card_engine_widen(struct idle_air_params *air);

/* The day that the card speaks of. */
void card_engine_day(const struct card *card, struct conditions *conditions);

#endif
