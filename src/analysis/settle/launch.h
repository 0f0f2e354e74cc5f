/* Starts a scenario as it says: by waiting until the engine idles, with the key off, or at once in the settled point. */
#ifndef ANALYSIS_SETTLE_LAUNCH_H
#define ANALYSIS_SETTLE_LAUNCH_H

#include "analysis/settle/settle.h"
#include "sim/simulation.h"

/* Whether a run can begin at such a point. */
bool launch_runs_on(enum settle_outcome outcome);

/* simulation_create(), or for `start = "settled"` settle_solve() under the initial conditions, everything learned, and
 * simulation_create_resting(): 0.3 ms instead of 15. STATUS_BAD_CONFIG if the engine does not keep running under them, or limps. */
MUST_CHECK enum status launch_scenario(const struct engine *engine, const struct scenario *scenario,
                                       const struct solver_vtable *solver, const struct solver_options *options,
                                       struct simulation **simulation, struct error *error);

/* Starts the simulation from the settled point of the initial conditions if its outcome is accepted; else leaves *simulation as it
 * is, and the caller to look at the outcome. */
typedef bool (*launch_accepts)(enum settle_outcome outcome);
MUST_CHECK enum status launch_from_point(const struct engine *engine, const struct scenario *scenario, launch_accepts accepts,
                                         const struct solver_vtable *solver, const struct solver_options *options,
                                         struct simulation **simulation, enum settle_outcome *outcome, struct error *error);

#endif
