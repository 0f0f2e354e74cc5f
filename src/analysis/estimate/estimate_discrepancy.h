/* The model is not the car: by how much what it predicts is off, and what a baseline leaves of that.
 *
 *   y = f(z, fault) + d + e ,   d ~ N(0, D) ,   e the reading's own error
 *
 * Each predicted quantity is off by a part that it has in common under all conditions, a part of its own under each, and a part that another
 * day has otherwise. Readings of the
 * same car when it was good, y_b = f_b(z) + d_b + e_b, tell of d what D lets the two have in common: with f_b linear about z^, the likeliest,
 *
 *   d | y_b, z  ~  N( D_b' W (y_b - f_b(z^)) - D_b' W J_b (z - z^),  D - D_b' W D_b ) ,   W = (D_bb + S_b + J_day J_day')^-1
 *
 * A fault's effect on each reading is off by a share of it, the same on every day but never seen in a baseline: ESTIMATE_EFFECT_SD, what the
 * effects of one fault on engines of other structure differ by (tests/alien), as if independent from reading to reading.
 *
 * M. C. Kennedy, A. O'Hagan, "Bayesian Calibration of Computer Models", J. R. Stat. Soc. B 63 (2001) 425 (idea; from memory); the
 * conditional normal is any textbook's. Quantities are in the units of their names. */
#ifndef ANALYSIS_ESTIMATE_ESTIMATE_DISCREPANCY_H
#define ANALYSIS_ESTIMATE_ESTIMATE_DISCREPANCY_H

#include "analysis/estimate/estimate_reading.h"
#include "base/attributes.h"
#include "car/scatter.h"

/* Derivative of every reading by every deviation in use: [reading][deviation]. */
struct estimate_slopes {
  double by[ESTIMATE_READING_MAX][SCATTER_COUNT];
};

/* By how much the model is off, standard deviations in the quantity's unit or, with a `floor`, as shares of the reading, taken for no less than that: what goes with the
 * quantity under all conditions, under each of its own, and with the day; and how far something that nobody listed may move it. */
struct estimate_discrepancy_row {
  double common, own, day, unlisted;
  double floor; // 0: not relative
};
extern const struct estimate_discrepancy_row estimate_discrepancy_rows[ESTIMATE_QUANTITY_COUNT];

/* What a row's standard deviations are to be multiplied by for a reading of this size. */
double estimate_discrepancy_scale(const struct estimate_discrepancy_row *row, double value);

/* D between two readings, of one day or of two. */
double estimate_discrepancy_between(const struct estimate_reading *a, const struct estimate_reading *b, bool same_day);

/* What a baseline's readings say of the model's errors. Empty (count 0): there is no baseline. */
struct estimate_past {
  struct estimate_readings readings;
  double pull[ESTIMATE_READING_MAX];                          // W (y_b - f_b)
  double tie[ESTIMATE_READING_MAX][SCATTER_COUNT];            // W J_b
  double weight[ESTIMATE_READING_MAX * ESTIMATE_READING_MAX]; // W
  double room[ESTIMATE_READING_MAX * ESTIMATE_READING_MAX];
};

/* residual: y_b - f_b at the prior's mean; slopes: at the likeliest deviations; count: deviations in use; lasts: how far each is the same on
 * another day (estimate_place.h). False if
 * the readings' covariance is singular; the past is then empty. */
MUST_CHECK bool estimate_past_take(const struct estimate_readings *readings, const double *residual,
                                   const struct estimate_slopes *slopes, size_t count, const double *lasts,
                                   struct estimate_past *past);

/* The errors of some readings, their own included. */
struct estimate_discrepancy {
  double offset[ESTIMATE_READING_MAX];                        // expected error at the prior's mean
  double tie[ESTIMATE_READING_MAX][SCATTER_COUNT];            // and per deviation in use from there
  double weight[ESTIMATE_READING_MAX * ESTIMATE_READING_MAX]; // inverse of the covariance, count x count
  double covariance[ESTIMATE_READING_MAX * ESTIMATE_READING_MAX];
  double room[ESTIMATE_READING_MAX * ESTIMATE_READING_MAX];
  double log_sd; // half the logarithm of the covariance's determinant
};

/* All but its inverse and log_sd. past: NULL or empty without a baseline; count: deviations in use. */
void estimate_discrepancy_expect(const struct estimate_readings *readings, const struct estimate_past *past, size_t count,
                                 struct estimate_discrepancy *discrepancy);

/* The same errors with a fault: what it moves the readings by is itself off by a share. moved: by the fault, at the prior's mean. False if
 * the covariance is singular. */
#define ESTIMATE_EFFECT_SD 0.2
MUST_CHECK bool estimate_discrepancy_widen(const struct estimate_discrepancy *good, size_t reading_count, const double *moved,
                                           struct estimate_discrepancy *with_fault);

/* All of it. False if the covariance is singular. */
MUST_CHECK bool estimate_discrepancy_of(const struct estimate_readings *readings, const struct estimate_past *past, size_t count,
                                        struct estimate_discrepancy *discrepancy);

#endif
