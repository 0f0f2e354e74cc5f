/* What an opening curve (analysis/curve) brings to an estimate: its area lost at idle as a reading, where it tells one. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_CURVE_H
#define ANALYSIS_ESTIMATE_ESTIMATE_CURVE_H

#include "analysis/curve/opening_curve.h"
#include "analysis/estimate/estimate_readings.h"

enum { ESTIMATE_CURVE_TEXT_SIZE = 900 };

struct estimate_curve {
  const char *log, *clean; // their names, not owned; clean NULL: there is none
  enum opening_verdict verdict;
  struct opening_lost lost;            // without a clean log, all NAN
  bool taken;                          // it is among the readings
  char text[ESTIMATE_CURVE_TEXT_SIZE]; // a sentence: what it told, or why it is left out
};

/* Adds the reading area_lost_pct@idle where the curve says lost or none_lost and idles where the readings do, and has the setting predict
 * it as these logs meter the air; else only the sentence is made. STATUS_USAGE if that was read already; the fault is appended. */
MUST_CHECK enum status estimate_curve_take(const struct opening_curve *curve, const char *log, const char *clean,
                                           struct estimate_readings_input *input, struct estimate_setting *setting,
                                           struct estimate_curve *taken, struct error *error);

#endif
