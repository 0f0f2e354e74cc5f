#include "analysis/settle/launch.h"

bool launch_runs_on(enum settle_outcome outcome) {
  return outcome == SETTLE_IDLES || outcome == SETTLE_DROOPS || outcome == SETTLE_RACES || outcome == SETTLE_HELD;
}

enum status launch_from_point(const struct engine *engine, const struct scenario *scenario, launch_accepts accepts,
                              const struct solver_vtable *solver, const struct solver_options *options,
                              struct simulation **simulation, enum settle_outcome *outcome, struct error *error) {
  struct settle *settle = NULL;
  enum status status = settle_create(engine, &settle, error);
  if (status != STATUS_OK) return status;
  struct settle_query query;
  settle_query_init(&query);
  query.conditions = scenario->initial;
  struct settle_point point;
  settle_solve(settle, &query, &point);
  *outcome = point.outcome;
  if (accepts(point.outcome))
    status = simulation_create_resting(settle_rest(settle), scenario, solver, options, simulation, error);
  settle_destroy(settle);
  return status;
}

static enum status launch_settled(const struct engine *engine, const struct scenario *scenario,
                                  const struct solver_vtable *solver, const struct solver_options *options,
                                  struct simulation **simulation, struct error *error) {
  enum settle_outcome outcome;
  const enum status status = launch_from_point(engine, scenario, launch_runs_on, solver, options, simulation, &outcome, error);
  if (status != STATUS_OK || launch_runs_on(outcome)) return status;
  return error_set(error, STATUS_BAD_CONFIG,
                   "%s has no settled point to start %s from (%s under its initial conditions). Make the film thinner, the "
                   "load or the fault smaller, or start idling or with the key off",
                   engine->name, scenario->name, settle_outcome_names[outcome]);
}

enum status launch_scenario(const struct engine *engine, const struct scenario *scenario, const struct solver_vtable *solver,
                            const struct solver_options *options, struct simulation **simulation, struct error *error) {
  const bool settled = scenario->running && scenario->settled;
  return (settled ? launch_settled : simulation_create)(engine, scenario, solver, options, simulation, error);
}
