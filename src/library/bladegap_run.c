/* A run: its beginning, its steps, and what can be seen of it. */
#include "library/bladegap_run.h"

#include "analysis/settle/launch.h"
#include "base/attributes.h"
#include "library/bladegap_engine.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* ---- Beginning ---- */

/* The settled point with what was set of the learned offset, which a scenario does not know. */
static enum status begin_stale(bladegap_run *run, double learned_ratio, const struct solver_options *options,
                               struct error *error) {
  struct settle *settle = NULL;
  enum status status = settle_create(run->engine, &settle, error);
  if (status != STATUS_OK) return status;
  struct settle_query query;
  settle_query_init(&query);
  query.conditions = run->scenario.initial;
  query.learning = SETTLE_STALE;
  query.learned_ratio = learned_ratio;
  struct settle_point point;
  settle_solve(settle, &query, &point);
  if (launch_runs_on(point.outcome))
    status = simulation_create_resting(settle_rest(settle), &run->scenario, &solver_fast, options, &run->sim, error);
  else
    status = error_set(error, STATUS_BAD_CONFIG, "%s has no settled point to start from: with that learned offset it %s",
                       run->engine->name, settle_outcome_names[point.outcome]);
  settle_destroy(settle);
  return status;
}

static enum status note_event(const struct recording_event *event, void *user, struct error *error) {
  return recording_add_event(user, event, error);
}

enum status bladegap_run_begin(bladegap_run *run, double learned_ratio, struct error *error) {
  const struct solver_options options = solver_options_default();
  const bool stale = !isnan(learned_ratio);
  enum status status = stale && run->scenario.settled
                           ? begin_stale(run, learned_ratio, &options, error)
                           : launch_scenario(run->engine, &run->scenario, &solver_fast, &options, &run->sim, error);
  if (status != STATUS_OK) return status;
  if (stale) {
    run->sim->vehicle.computer.memory.learned_ratio = learned_ratio;
    run->unrecorded = "it began with a learned offset of its own (learned_pct)";
  }
  simulation_watch(run->sim, note_event, &run->events);
  return simulation_keep(run->sim, &run->record, error);
}

static enum status begin(bladegap_run *run, const bladegap_engine *engine, enum scenario_start start, uint64_t seed,
                         struct error *error) {
  if (engine->query.engine_off) return error_set(error, STATUS_USAGE, "engine_off is of settled points: begin with \"key_off\"");
  *run->engine = engine->engine;
  scenario_set_start(&run->scenario, start);
  run->scenario.initial = engine->query.conditions;
  run->scenario.seed = seed;
  run->scenario.film_on_demand = true; // somebody may turn it about
  snprintf(run->scenario.name, sizeof run->scenario.name, "the run");
  const bool stale = engine->query.learning == SETTLE_STALE;
  return bladegap_run_begin(run, stale ? engine->query.learned_ratio : (double)NAN, error);
}

/* Which start a name means, -1 and a text for none. */
static int find_start(const char *start, struct edge edge) {
  size_t count = 0;
  while (scenario_start_names[count]) count++;
  const int found = start ? edge_find(start, scenario_start_names, count) : -1;
  if (!start)
    edge_fail(edge, STATUS_USAGE, "how it starts is NULL");
  else if (found < 0)
    edge_unknown(edge, "start", start, scenario_start_names, count);
  return found;
}

bladegap_run *bladegap_run_allocate(struct edge edge) {
  bladegap_run *run = calloc(1, sizeof *run);
  struct engine *engine = calloc(1, sizeof *engine);
  if (!run || !engine) {
    edge_fail(edge, STATUS_NO_MEMORY, "out of memory for a run");
    free(run);
    free(engine);
    return NULL;
  }
  run->engine = engine;
  scenario_init(&run->scenario);
  scenario_init(&run->record);
  recording_init(&run->events);
  return run;
}

bladegap_run *bladegap_run_create(const bladegap_engine *engine, const char *start, uint64_t seed, char *error,
                                  size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (bladegap_engine_ready(engine, edge) != BLADEGAP_OK) return NULL;
  const int found = find_start(start, edge);
  if (found < 0) return NULL;
  bladegap_run *run = bladegap_run_allocate(edge);
  if (!run) return NULL;
  struct error what;
  error_clear(&what);
  if (begin(run, engine, (enum scenario_start)found, seed, &what) == STATUS_OK) return run;
  edge_tell(edge, &what);
  bladegap_run_destroy(run);
  return NULL;
}

void bladegap_run_destroy(bladegap_run *run) {
  if (!run) return;
  simulation_destroy(run->sim);
  recording_destroy(&run->events);
  scenario_destroy(&run->scenario);
  scenario_destroy(&run->record);
  free(run->engine);
  free(run);
}

int bladegap_run_ready(const bladegap_run *run, struct edge edge) {
  return run ? BLADEGAP_OK : edge_fail(edge, STATUS_USAGE, "the run is NULL");
}

/* ---- Time ---- */

double bladegap_run_time_s(const bladegap_run *run) { return run ? simulation_time_s(run->sim) : (double)NAN; }

int bladegap_run_step(bladegap_run *run, size_t ticks, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = bladegap_run_ready(run, edge);
  if (code != BLADEGAP_OK) return code;
  const double left = (double)SCENARIO_TIME_MOST_S * BLADEGAP_TICKS_PER_S - (double)run->sim->tick;
  if ((double)ticks > left)
    return edge_fail(edge, STATUS_USAGE, "%zu steps more is more than a day in all: %.0f are left", ticks, left);
  struct error what;
  error_clear(&what);
  for (size_t i = 0; i < ticks; i++)
    if (simulation_tick(run->sim, &what) != STATUS_OK) return edge_tell(edge, &what);
  return BLADEGAP_OK;
}

/* ---- Looking ---- */

int bladegap_run_values(bladegap_run *run, double *values, size_t count, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = bladegap_run_ready(run, edge);
  if (code != BLADEGAP_OK) return code;
  if (!values) return edge_fail(edge, STATUS_USAGE, "there is nowhere to put the values: NULL");
  if (count != CHANNEL_COUNT)
    return edge_fail(edge, STATUS_USAGE, "room for %zu values, there are %d channels", count, CHANNEL_COUNT);
  struct error what;
  error_clear(&what);
  return simulation_sample(run->sim, values, &what) == STATUS_OK ? BLADEGAP_OK : edge_tell(edge, &what);
}

int bladegap_run_value(bladegap_run *run, const char *channel, double *value, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = bladegap_run_ready(run, edge);
  if (code != BLADEGAP_OK) return code;
  if (!channel) return edge_fail(edge, STATUS_USAGE, "the name of the channel is NULL");
  if (!value) return edge_fail(edge, STATUS_USAGE, "there is nowhere to put the value: NULL");
  const char *names[CHANNEL_COUNT];
  for (int i = 0; i < CHANNEL_COUNT; i++) names[i] = channel_rows[i].name;
  const int found = edge_find(channel, names, CHANNEL_COUNT);
  if (found < 0) return edge_unknown(edge, "channel", channel, names, CHANNEL_COUNT);
  struct error what;
  error_clear(&what);
  double values[CHANNEL_COUNT];
  if (simulation_sample(run->sim, values, &what) != STATUS_OK) return edge_tell(edge, &what);
  *value = values[found];
  return BLADEGAP_OK;
}
