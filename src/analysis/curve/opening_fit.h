/* What the curve alone says of the blade and its film: opening_model.h fitted to the points for one film after the other.
 *
 * For each film of a row of them the other unknowns are found by Gauss and Newton's method, damped (Levenberg, Marquardt), from their
 * priors; the second derivatives integrate them out (Laplace). What is left is a density over the film. The points may lie off any such
 * blade by 0.8 % and 0.1 mm2 each. */
#ifndef ANALYSIS_CURVE_OPENING_FIT_H
#define ANALYSIS_CURVE_OPENING_FIT_H

#include "analysis/curve/opening_model.h"
#include "analysis/curve/opening_points.h"

enum {
  OPENING_FIT_FILM_MAX = 10,
  OPENING_FIT_SIZE = OPENING_UNKNOWN_COUNT + OPENING_DOUBT_COUNT, // z, then the doubts
  OPENING_FIT_GRID = 48
};

/* The best blade with this film. */
struct opening_fit_node {
  double film_m;
  double chi2;        // of the points alone
  double misfit;      // and of the priors
  double log_density; // not normalised
  double z[OPENING_FIT_SIZE];
  double covariance[OPENING_FIT_SIZE * OPENING_FIT_SIZE];
};

/* A curve with its error, for drawing. */
struct opening_fit_row {
  double position_ratio;
  double fitted_m2;             // with the likeliest film
  double clean_m2, clean_sd_m2; // this blade without film: what the readings leave open is in the error
};

struct opening_fit {
  struct opening_model model;
  size_t node_count, best;
  bool fits; // some blade of this kind does; else nothing may be read off it
  struct opening_fit_node nodes[OPENING_FIT_FILM_MAX];
  double film_mean_m, film_sd_m, film_low_m, film_high_m; // 5 % and 95 %
  double
      contour_gain; // chi2 of a blade in a plain bore without film, less that of the best: how much the bend at the bottom asks for
  double idle_lost_mean_ratio, idle_lost_sd_ratio, idle_lost_low_ratio, idle_lost_high_ratio; // NAN without idle
  double from_ratio, to_ratio;                                                                // positions with points
  struct opening_fit_row grid[OPENING_FIT_GRID];
};

/* Fits; count of points: at least 4, else false and nothing is set but model. */
MUST_CHECK bool opening_fit_find(const struct opening_points *points, double displacement_m3, double stop_ratio,
                                 struct opening_fit *fit);

/* Open area of the blade of a node with a film at a position, and its standard deviation from the node's covariance (sd_m2 may be NULL). */
double opening_fit_cda_m2(const struct opening_fit *fit, const struct opening_fit_node *node, double film_m,
                          double position_ratio, double *sd_m2);

/* The clean blade of the grid at a position, a line between its rows; false outside of it. */
MUST_CHECK bool opening_fit_clean_at(const struct opening_fit *fit, double position_ratio, double *clean_m2, double *sd_m2);

#endif
