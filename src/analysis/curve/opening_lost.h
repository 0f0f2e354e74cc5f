/* What a film has taken at idle: a car's opening curve against the same car's when it was clean. No model and no file: one measured
 * curve less the other, at the position where it idles now.
 *
 *   lost = (A_clean - A_now) / (A_clean + a s),   A at the position of now's idle, s the idle valve's steps then, a what one opens
 *
 * So it is the share of all the air that a clean blade would let in there. What both curves have in common (filling, gain of a sensor)
 * goes out but for what changes from one day to another. */
#ifndef ANALYSIS_CURVE_OPENING_LOST_H
#define ANALYSIS_CURVE_OPENING_LOST_H

#include "analysis/curve/opening_points.h"

enum opening_lost_trouble {
  OPENING_LOST_MEASURED,   // none
  OPENING_LOST_NO_IDLE,    // the log of now has no idle
  OPENING_LOST_NO_OVERLAP, // the clean log does not reach where it idles now
  OPENING_LOST_OTHER_AIR,  // one was metered by air flow, the other by pressure
  OPENING_LOST_OTHER_CAR,  // they differ where no film reaches
  OPENING_LOST_OTHER_GAIN, // they differ by the same share everywhere, as when a sensor reads otherwise
};

struct opening_lost {
  enum opening_lost_trouble trouble;
  double position_ratio;                              // where it idles now
  double now_m2, clean_m2, now_sd_m2, clean_sd_m2;    // open there, the idle valve's steps taken off
  double valve_m2;                                    // what the idle valve adds
  double mean_ratio, sd_ratio, low_ratio, high_ratio; // 90 %; NAN if there is trouble
  double upper_ratio, upper_sd_ratio; // now's curve over the clean one well above idle; NAN: they do not meet there
};

void opening_lost_find(const struct opening_points *now, const struct opening_points *clean, struct opening_lost *lost);

/* The curve at a position by local least squares, its error, and its slope; false if it does not reach there. */
MUST_CHECK bool opening_lost_curve_at(const struct opening_points *points, double step_m2, double position_ratio, double *cda_m2,
                                      double *sd_m2, double *slope_m2);

#endif
