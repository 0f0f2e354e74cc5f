/* A root of a function of one unknown inside a bracket. */
#ifndef BASE_ROOT_H
#define BASE_ROOT_H

typedef double (*root_function)(double x, void *user);

/* When to be content. */
struct root_limits {
  double x_tolerance; // the bracket is no wider
  double f_tolerance; // the value is no further from zero
  int iteration_max;
};

/* Regula falsi with the Illinois halving, which keeps the bracket: a and b with values fa and fb of opposite sign. Source: M. Dowell,
 * P. Jarratt, "A modified regula falsi method for computing the root of an equation", BIT 11 (1971) 168-174. */
double root_between(root_function f, void *user, double a, double fa, double b, double fb, const struct root_limits *limits);

#endif
