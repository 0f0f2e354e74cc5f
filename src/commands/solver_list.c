#include "commands/solver_list.h"

const struct solver_vtable *const solver_list_rows[SOLVER_LIST_COUNT] = {
#define SOLVER(name) &solver_##name,
    SOLVER_LIST(SOLVER)
#undef SOLVER
};

const char *const solver_list_names[] = {
#define SOLVER(name) #name,
    SOLVER_LIST(SOLVER)
#undef SOLVER
        NULL};
