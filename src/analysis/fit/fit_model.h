/* Several cars of one model, each known so far: what that says of the model, and of one more car. The algebra stands in fit.h. Numbers are in
 * road widths. */
#ifndef ANALYSIS_FIT_FIT_MODEL_H
#define ANALYSIS_FIT_FIT_MODEL_H

#include "base/attributes.h"
#include "car/scatter.h"

enum { FIT_MODEL_SIZE = SCATTER_COUNT * SCATTER_COUNT };

/* Large, so on the heap. n: deviations of the unit in use; matrices n x n, row by row. */
struct fit_model {
  size_t all, n; // deviations in use; those of the unit
  enum scatter scatter[SCATTER_COUNT];
  size_t place[SCATTER_COUNT];                             // of each of the unit's among all in use
  double car_variance[SCATTER_COUNT];                      // U
  double model_variance[SCATTER_COUNT];                    // R
  double precision[FIT_MODEL_SIZE], moment[SCATTER_COUNT]; // of mu, from the cars so far; without its prior
  size_t car_count;
  double own_precision[FIT_MODEL_SIZE], own_moment[SCATTER_COUNT]; // L and h of the first car
  double room[3][FIT_MODEL_SIZE];
};

/* start: whose scatter is that among cars of one model; nominal: whose is the road's. */
void fit_model_begin(struct fit_model *model, const struct engine *start, const struct engine *nominal, size_t count,
                     const enum scatter *scatter);

/* One car: z by enum scatter, covariance of all in use. False if the covariance is none. */
MUST_CHECK bool fit_model_add(struct fit_model *model, const double *z, const double *covariance);

/* mean and what is left of its width (of the model, or of the first car), and that as a share of what it was before anything was read, by
 * enum scatter; covariance of one more car of the model, or of the first, of all in
 * use. False if they contradict each other. */
MUST_CHECK bool fit_model_end(struct fit_model *model, bool this_car, double *mean, double *left, double *share,
                              double *covariance);

#endif
