/* By how much a reading of a warm, sound, untouched car differs from one day to another, and with unequal conditions. */
#ifndef ANALYSIS_COMPARE_COMPARE_ROWS_H
#define ANALYSIS_COMPARE_COMPARE_ROWS_H

#include "analysis/estimate/estimate_reading.h"

/* What is unlike between the two, after less before; 0 where it is equal or not known. */
struct compare_unlike {
  double coolant_k, intake_k, ambient_kpa;
  bool coolant_known, intake_known, ambient_known; // on both sides
};

/* Standard deviation of one day against another's mean, unit of the quantity; value: the reading. on_target: idle control holds the speed. */
double compare_rows_day_sd(enum estimate_quantity quantity, double value, bool on_target);

/* What of that comes of electrical loads that nobody logs, which is more than the real car's, on which nothing was switched on; 1 sd. */
double compare_rows_load_sd(enum estimate_condition condition, enum estimate_quantity quantity, double value);

/* By how much a reading at held speed rises per rpm of that speed. */
double compare_rows_by_speed(enum estimate_quantity quantity, double value);

/* How far an opening follows 1 % more air, as loads ask for it; 0 for others. Half of it is its doubt. */
double compare_rows_per_air(enum estimate_quantity quantity);

/* What such a difference of conditions may do to a reading of this size: taken as one standard deviation. An intake temperature or an air
 * pressure that is not known is taken to have changed as it does from day to day. */
double compare_rows_unequal_sd(enum estimate_quantity quantity, double value, const struct compare_unlike *unlike);

/* Whether less of it means that air comes in more easily: position of the blade, steps of the valve, idle air added. least: a change that
 * is worth a word; 0 for other quantities. */
double compare_rows_opening_least(enum estimate_quantity quantity);

#endif
