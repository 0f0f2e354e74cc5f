/* The larger and the smaller of two numbers, and a number kept between two, as one instruction each: fmax() and fmin() are library calls, because they must pass over
 * what is not a number, and the equations ask hundreds of times a tick. Here b is the answer if either is not a number. */
#ifndef BASE_BOUNDS_H
#define BASE_BOUNDS_H

static inline double bounds_larger(double a, double b) { return a > b ? a : b; }
static inline double bounds_smaller(double a, double b) { return a < b ? a : b; }
static inline double bounds_clamp(double value, double low, double high) {
  return bounds_smaller(bounds_larger(value, low), high);
}

#endif
