/* From a log to readings of one of the two moments: means, and how sure they are, of the phases that are conditions of readings
 * (analysis/log/log_phases.h, estimate_log.h), warm ones and the key on. A cold idle hangs on how cold it was and how long it had run, the
 * lowest speed of a load step on when it came: neither is compared.
 *
 * Where a log has no warm idle, an idle that is not warm is taken for it, so that the verdict can say that. */
#ifndef ANALYSIS_COMPARE_COMPARE_LOG_H
#define ANALYSIS_COMPARE_COMPARE_LOG_H

#include "analysis/compare/compare.h"
#include "analysis/estimate/estimate_log.h"

/* Adds what the phases give to the side's readings; *idle: the stretch that idle was taken from. False if the log
 * idles nowhere. */
MUST_CHECK bool compare_log_add(const struct recording *log, const struct log_phases *phases, struct compare_side *side,
                                struct estimate_log_window *idle);

#endif
