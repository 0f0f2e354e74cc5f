/* Acting on a simulation: what is played waits for the next tick and then has its turn with the timeline. */
#include "sim/simulation.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WAITING_FIRST = 4 };

/* Conditions as they will be when what waits has acted; a ramp counts as if it had ended. */
static struct conditions conditions_then(const struct simulation *sim) {
  struct conditions then = sim->vehicle.conditions;
  for (size_t i = 0; i < sim->waiting_count; i++)
    for (size_t k = 0; k < sim->waiting[i].set_count; k++)
      conditions_set(&then, &condition_rows[sim->waiting[i].sets[k].condition].field, sim->waiting[i].sets[k].value);
  return then;
}

static enum status make_room(struct simulation *sim, struct error *error) {
  if (sim->waiting_count < sim->waiting_capacity) return STATUS_OK;
  const size_t capacity = sim->waiting_capacity ? 2 * sim->waiting_capacity : WAITING_FIRST;
  struct scenario_step *waiting = realloc(sim->waiting, capacity * sizeof *waiting);
  if (!waiting) return error_set(error, STATUS_NO_MEMORY, "out of memory for %zu actions at one moment", capacity);
  sim->waiting = waiting;
  sim->waiting_capacity = capacity;
  return STATUS_OK;
}

enum status simulation_play(struct simulation *sim, const struct scenario_step *step, struct error *error) {
  const struct conditions then = conditions_then(sim);
  enum status status = scenario_check_step(step, &then, error);
  if (status == STATUS_OK) status = make_room(sim, error);
  if (status != STATUS_OK) return status;
  struct scenario_step *next = &sim->waiting[sim->waiting_count++];
  *next = *step;
  next->at_s = simulation_acts_s(sim);
  for (size_t i = 0; i < next->set_count; i++) {
    struct scenario_set *set = &next->sets[i];
    set->value = field_writable(&condition_rows[set->condition].field, set->value);
  }
  return STATUS_OK;
}

enum status simulation_set(struct simulation *sim, const char *condition, double value, double ramp_s, struct error *error) {
  const struct condition_row *row;
  enum status status = condition_find_or_say(condition, &row, error);
  if (status == STATUS_OK) status = condition_check(row, value, error);
  if (status != STATUS_OK) return status;
  const struct scenario_step step = {
      .ramp_s = ramp_s,
      .set_count = 1,
      .sets = {{(size_t)(row - condition_rows), field_to_si(&row->field, value)}},
      .key = -1,
  };
  return simulation_play(sim, &step, error);
}

enum status simulation_keep(struct simulation *sim, struct scenario *record, struct error *error) {
  if (record && (sim->tick > 0 || sim->decided))
    return error_set(error, STATUS_USAGE, "a record begins with its run; this one is at %.2f s", simulation_time_s(sim));
  sim->kept = record;
  if (!record) return STATUS_OK;
  const struct scenario *scenario = sim->scenario;
  memcpy(record->name, scenario->name, sizeof record->name);
  memcpy(record->title, scenario->title, sizeof record->title);
  memcpy(record->engine_path, scenario->engine_path, sizeof record->engine_path);
  record->record_s = scenario->record_s;
  record->seed = scenario->seed;
  snprintf(record->solver, sizeof record->solver, "%s", sim->solver->vtable->name);
  record->running = scenario->running || sim->resting;
  record->settled = sim->resting;
  record->film_on_demand = sim->vehicle.film_bore.on_demand;
  record->initial = sim->vehicle.conditions;
  record->duration_s = 0.0;
  record->step_count = 0;
  return STATUS_OK;
}

void simulation_watch(struct simulation *sim, events_sink sink, void *user) {
  sim->event_sink = sink;
  sim->event_user = user;
}
