/* Readings that are asked about before they are believed: beyond what the engine can show with any cause, or far from the usual
 * while another unit would put them right there. Fuel trims also, where they lie between two counts of the standard's scaling and
 * near 1, as ratios do.
 *
 * Factors between units: NIST SP 811 (2008), appendix B.8. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_CHECK_H
#define ANALYSIS_ESTIMATE_ESTIMATE_CHECK_H

#include "analysis/estimate/estimate_readings.h"
#include "analysis/estimate/plausible.h"

#define ESTIMATE_CHECK_FAR  4.0 // spreads from the usual range beyond which another unit is thought of,
#define ESTIMATE_CHECK_NEAR 2.0 // and within which it must then bring the reading

/* Appends a question for each doubtful reading, with the value that may be meant: STATUS_BAD_DATA if there is any. The ranges are
 * those of input->given. */
MUST_CHECK enum status estimate_check_readings(const struct estimate_readings_input *input,
                                               const struct estimate_setting *setting, const struct plausible_ranges *ranges,
                                               struct error *error);

/* An engine that is not throttled at idle, as a diesel, is none of these: STATUS_NO if its manifold is at the air outside there, or its
 * throttle wide open. Asked first. */
MUST_CHECK enum status estimate_check_throttled(const struct estimate_readings_input *input,
                                                const struct estimate_setting *setting, struct error *error);

#endif
