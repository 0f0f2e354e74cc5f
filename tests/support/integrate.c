#include "support/integrate.h"

#include "support/check.h"

#include <math.h>

#define PIECE_S 0.01

static void must_be_ok(enum status status, const struct solver_vtable *vtable, const struct error *error) {
  if (status != STATUS_OK) fail_msg("solver %s: %s", vtable->name, error->text);
}

double integrate(const struct solver_vtable *vtable, const struct solver_problem *problem, double start_s, double end_s,
                 double *state) {
  struct error error;
  error_clear(&error);
  struct solver_options options = solver_options_default();
  options.relative_tolerance = 1e-9;
  struct solver *solver = NULL;
  must_be_ok(vtable->create(problem, &options, &solver, &error), vtable, &error);
  const int pieces = (int)ceil((end_s - start_s) / PIECE_S - 1e-9);
  double time_s = start_s;
  enum solver_stop stop = SOLVER_STOP_TIME;
  for (int i = 1; i <= pieces && stop == SOLVER_STOP_TIME; i++) {
    size_t event = 0;
    const double piece_end = i == pieces ? end_s : start_s + i * PIECE_S;
    must_be_ok(solver_advance(solver, &time_s, piece_end, state, &stop, &event, &error), vtable, &error);
  }
  solver_destroy(solver);
  return time_s;
}
