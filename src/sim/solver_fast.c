/* Runge-Kutta of fourth order with the longest step that the equations allow at the moment: a whole tick while nothing quick
 * moves, shorter while the blade slides or the throttle is wide open. The steps themselves are solver_fixed.c's. */
#include "sim/solver.h"

static enum status fast_create(const struct solver_problem *problem, const struct solver_options *options,
                               struct solver **result, struct error *error) {
  struct solver_options hinted = *options;
  hinted.hinted = true;
  const enum status status = solver_fixed.create(problem, &hinted, result, error);
  if (status == STATUS_OK) (*result)->vtable = &solver_fast;
  return status;
}

static enum status fast_advance(struct solver *solver, double *time_s, double end_s, double *state, enum solver_stop *stop,
                                size_t *event, struct error *error) {
  return solver_fixed.advance(solver, time_s, end_s, state, stop, event, error);
}

static void fast_destroy(struct solver *solver) { solver_fixed.destroy(solver); }

const struct solver_vtable solver_fast = {"fast", "Runge-Kutta of fourth order, steps as long as the equations allow",
                                          fast_create, fast_advance, fast_destroy};
