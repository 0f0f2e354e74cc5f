/* A smooth curve through a few points, for the tables of an engine file (discharge coefficient over blade angle,
 * spark for best torque over speed, ...).
 *
 * Piecewise cubic Hermite with Fritsch and Carlson's slopes: it passes through every point, has a continuous first
 * derivative and never overshoots. Outside its points it keeps the end value.
 * Source: F. N. Fritsch, R. E. Carlson, "Monotone Piecewise Cubic Interpolation", SIAM J. Numer. Anal. 17 (1980)
 * 238-246; the three-point slope is Brodlie's form, as in PCHIP. */
#ifndef BASE_CURVE_H
#define BASE_CURVE_H

#include "base/attributes.h"

#include <stdbool.h>
#include <stddef.h>

enum { CURVE_POINT_MAX = 24 };

struct curve {
  size_t count; // 1 to CURVE_POINT_MAX; one point makes a constant
  double x[CURVE_POINT_MAX];
  double y[CURVE_POINT_MAX];
  double slope[CURVE_POINT_MAX];
  double square[CURVE_POINT_MAX], cube[CURVE_POINT_MAX]; // y + dx (slope + dx (square + dx cube)) right of each point
};

/* Fills in the slopes after count, x and y are set. False if count is out of range or x does not rise strictly. */
MUST_CHECK bool curve_init(struct curve *curve);

/* Whether all slopes are finite numbers: points may lie too close for that. */
PURE bool curve_is_smooth(const struct curve *curve);

PURE double curve_value(const struct curve *curve, double x);

/* The slopes anew after y changed; count and x are as they were in a good curve. */
void curve_renew(struct curve *curve);

/* Values become `factor` times as far from `from`. */
void curve_stretch(struct curve *curve, double from, double factor);

/* The same curve, all values times a factor, or all higher by an amount. */
void curve_scale(struct curve *curve, double factor);
void curve_raise(struct curve *curve, double amount);

/* Points at x <= from stay, those at x >= to are multiplied by a factor and then raised by an amount, those between by their share. */
void curve_bend(struct curve *curve, double from, double to, double factor, double amount);

/* Slopes that make a monotone cubic through count >= 2 points; x must rise strictly. */
void curve_monotone_slopes(size_t count, const double *x, const double *y, double *slope);

#endif
