/* What the opening curves of two days would say of an idling car: the share of all idle air area that is missing against the same car's
 * clean curve, at the position that it idles at now. The definition is that of analysis/curve/opening_lost.h, as the model has it:
 *
 *   lost = 1 - m_seen / m_clean ,   m_clean = G (CdA_blade + CdA_valve + CdA_ventilation) at the blade that reads so on a sound track
 *
 * G: flow per area of now. Seen is what the sensor of air flow shows, or what manifold pressure stands for. So whatever narrows the way in is
 * lost, wall, edge and idle valve alike; a track that has moved and a sensor that reads otherwise look lost or gained, as they do in two logs;
 * air that comes in behind the sensor is not seen by it. Nought on a car with nothing wrong. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_LOST_H
#define ANALYSIS_ESTIMATE_ESTIMATE_LOST_H

#include "sim/vehicle.h"

/* What the logs of the curve have the air from. */
enum estimate_lost_air { ESTIMATE_LOST_AS_ENGINE, ESTIMATE_LOST_BY_FLOW, ESTIMATE_LOST_BY_PRESSURE };

/* rest: idling, as settle_rest() has it, the same car clean being one without its faults; position_ratio: what track 1 reads, share of its
 * supply. Below 0 where more comes in than through a clean throttle; NaN where a clean one would let nothing in. */
double estimate_lost_ratio(const struct vehicle *rest, double position_ratio, enum estimate_lost_air air);

#endif
