/* Runs a small set of equations with one of the program's solvers, in pieces as a controller's ticks would
 * cut it. */
#ifndef TESTS_SUPPORT_INTEGRATE_H
#define TESTS_SUPPORT_INTEGRATE_H

#include "solver/solver.h"

/* Integrates state from start_s to end_s, or to the first event; returns the time reached. A solver that
 * fails fails the test with its message. Tolerance 1e-9, fixed step 1 ms, pieces of 10 ms. */
double integrate(const struct solver_vtable *vtable, const struct solver_problem *problem, double start_s, double end_s,
                 double *state);

#endif
