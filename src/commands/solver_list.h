/* The solvers of the program, for `run --solver` and `list solvers`. */
#ifndef COMMANDS_SOLVER_LIST_H
#define COMMANDS_SOLVER_LIST_H

#include "solver/solver.h"

/* SOLVER(name): a row is the vtable solver_NAME. The first is the default. */
#define SOLVER_LIST(SOLVER) SOLVER(cvode) SOLVER(fast) SOLVER(fixed)

enum {
#define SOLVER(name) SOLVER_LIST_##name,
  SOLVER_LIST(SOLVER)
#undef SOLVER
      SOLVER_LIST_COUNT
};

extern const struct solver_vtable *const solver_list_rows[SOLVER_LIST_COUNT];
extern const char *const solver_list_names[]; // NULL after the last

#endif
