#include "analysis/settle/launch.h"

bool launch_runs_on(enum settle_outcome outcome) {
  return outcome == SETTLE_IDLES || outcome == SETTLE_DROOPS || outcome == SETTLE_RACES || outcome == SETTLE_HELD;
}

static enum status launch_settled(const struct engine *engine, const struct scenario *scenario,
                                  const struct solver_vtable *solver, const struct solver_options *options,
                                  struct simulation **simulation, struct error *error) {
  struct settle *settle = NULL;
  enum status status = settle_create(engine, &settle, error);
  if (status != STATUS_OK) return status;
  struct settle_query query;
  settle_query_init(&query);
  query.conditions = scenario->initial;
  struct settle_point point;
  settle_solve(settle, &query, &point);
  if (launch_runs_on(point.outcome))
    status = simulation_create_resting(settle_rest(settle), scenario, solver, options, simulation, error);
  else
    status = error_set(error, STATUS_BAD_CONFIG,
                       "%s has no settled point to start %s from: under its initial conditions it %s. Make the film thinner, the "
                       "load or the fault smaller, or start idling or with the key off",
                       engine->name, scenario->name, settle_outcome_names[point.outcome]);
  settle_destroy(settle);
  return status;
}

enum status launch_scenario(const struct engine *engine, const struct scenario *scenario, const struct solver_vtable *solver,
                            const struct solver_options *options, struct simulation **simulation, struct error *error) {
  const bool settled = scenario->running && scenario->settled;
  return (settled ? launch_settled : simulation_create)(engine, scenario, solver, options, simulation, error);
}
