/* A simulation's moving parts as one block of memory.
 *
 * Copied as they stand, without what points somewhere: engine, design, gap table and scenario are those of the simulation that is
 * restored, and the table's own rungs are aimed anew. A digest over the block tells whether it is whole. */
#include "sim/simulation.h"

#include "base/digest.h"

#include <stdlib.h>
#include <string.h>

#define MARK UINT64_C(0x62676170736e3031)

struct saved_head {
  uint64_t mark, size, digest; // of all that follows
};

struct saved {
  struct saved_head head;
  uint64_t engine, timeline; // digests
  size_t waiting_count;      // steps behind this struct
  struct vehicle vehicle;
  struct timeline times;
  struct driver driver;
  double crank_s;
  long tick, row_tick;
  bool settling, resting, decided;
  struct roughness roughness;
  struct events_seen seen;
  struct film_bore_parts parts;
};

/* What the simulation has and a saved one must fit. */
static uint64_t digest_timeline(const struct scenario *scenario) {
  uint64_t digest = digest_add(DIGEST_OF_NOTHING, &scenario->step_count, sizeof scenario->step_count);
  for (size_t i = 0; i < scenario->step_count; i++) {
    const struct scenario_step *step = &scenario->steps[i];
    digest = digest_add(digest, &step->at_s, sizeof step->at_s);
    digest = digest_add(digest, &step->ramp_s, sizeof step->ramp_s);
    digest = digest_add(digest, &step->key, sizeof step->key);
    digest = digest_add(digest, &step->action, sizeof step->action);
    for (size_t k = 0; k < step->set_count; k++) {
      digest = digest_add(digest, &step->sets[k].condition, sizeof step->sets[k].condition);
      digest = digest_add(digest, &step->sets[k].value, sizeof step->sets[k].value);
    }
  }
  return digest;
}

static uint64_t digest_body(const void *memory, size_t size) {
  return digest_add(DIGEST_OF_NOTHING, (const char *)memory + sizeof(struct saved_head), size - sizeof(struct saved_head));
}

size_t simulation_save_size(const struct simulation *sim) {
  return sizeof(struct saved) + sim->waiting_count * sizeof *sim->waiting;
}

/* Writes one member of struct saved; the memory need not be aligned. */
#define PUT(member, value)  memcpy((char *)memory + offsetof(struct saved, member), &(value), sizeof(value))
#define TAKE(member, value) memcpy(&(value), (const char *)memory + offsetof(struct saved, member), sizeof(value))

enum status simulation_save(const struct simulation *sim, void *memory, size_t size, struct error *error) {
  const size_t wanted = simulation_save_size(sim);
  if (!memory || size < wanted)
    return error_set(error, STATUS_USAGE, "there are %zu bytes to save the simulation in; it needs %zu", memory ? size : 0,
                     wanted);
  memset(memory, 0, sizeof(struct saved)); // gaps between members too
  const uint64_t engine = engine_digest(sim->vehicle.engine), timeline = digest_timeline(sim->scenario);
  const struct film_bore_parts parts = film_bore_parts_of(&sim->vehicle.film_bore);
  PUT(engine, engine);
  PUT(timeline, timeline);
  PUT(waiting_count, sim->waiting_count);
  PUT(vehicle, sim->vehicle);
  PUT(times, sim->timeline);
  PUT(driver, sim->driver);
  PUT(crank_s, sim->crank_s);
  PUT(tick, sim->tick);
  PUT(row_tick, sim->row_tick);
  PUT(settling, sim->settling);
  PUT(resting, sim->resting);
  PUT(decided, sim->decided);
  PUT(roughness, sim->roughness);
  PUT(seen, sim->events.seen);
  PUT(parts, parts);
  if (sim->waiting_count) memcpy((char *)memory + sizeof(struct saved), sim->waiting, sim->waiting_count * sizeof *sim->waiting);
  const struct saved_head head = {MARK, wanted, digest_body(memory, wanted)};
  PUT(head, head);
  return STATUS_OK;
}

static enum status check(const struct simulation *sim, const void *memory, size_t size, struct error *error) {
  struct saved_head head = {0};
  if (memory && size >= sizeof(struct saved)) TAKE(head, head);
  if (head.mark != MARK || head.size > size || head.size < sizeof(struct saved) || head.digest != digest_body(memory, head.size))
    return error_set(error, STATUS_USAGE, "this memory contains no completely saved simulation");
  uint64_t engine, timeline;
  TAKE(engine, engine);
  TAKE(timeline, timeline);
  if (engine != engine_digest(sim->vehicle.engine))
    return error_set(error, STATUS_USAGE,
                     "what was saved belongs to another engine than %s as it is now; change the engine first",
                     sim->vehicle.engine->name);
  if (timeline != digest_timeline(sim->scenario))
    return error_set(error, STATUS_USAGE, "what was saved belongs to another timeline than that of %s", sim->scenario->name);
  return STATUS_OK;
}

/* The vehicle, all pointers being those of its new place. */
static void take_vehicle(struct simulation *sim, const void *memory) {
  struct vehicle *vehicle = &sim->vehicle;
  const struct engine *engine = vehicle->engine;
  const struct computer_params *params = vehicle->design.params;
  const struct plant_params *plant = vehicle->design.plant;
  struct film_bore_parts parts;
  TAKE(vehicle, *vehicle);
  TAKE(parts, parts);
  vehicle->engine = engine;
  vehicle->design.params = params;
  vehicle->design.plant = plant;
  film_bore_aim(&vehicle->film_bore, parts);

  if (vehicle->inputs.bore) vehicle->inputs.bore = &vehicle->film_bore.table;
}

/* The record ends where time now stands; what waits will be added to it when it acts. */
static void cut_record(struct simulation *sim) {
  struct scenario *record = sim->kept;
  const double last_s = simulation_acts_s(sim) - COMPUTER_PERIOD_S + 1e-9; // of the tick that acted last, and a hair
  while (record->step_count > 0 && record->steps[record->step_count - 1].at_s > last_s) record->step_count--;
  record->duration_s = simulation_time_s(sim);
}

enum status simulation_restore(struct simulation *sim, const void *memory, size_t size, struct error *error) {
  const enum status status = check(sim, memory, size, error);
  if (status != STATUS_OK) return status;
  size_t waiting_count;
  TAKE(waiting_count, waiting_count);
  if (waiting_count > sim->waiting_capacity) {
    struct scenario_step *waiting = realloc(sim->waiting, waiting_count * sizeof *waiting);
    if (!waiting) return error_set(error, STATUS_NO_MEMORY, "out of memory for %zu actions at one moment", waiting_count);
    sim->waiting = waiting;
    sim->waiting_capacity = waiting_count;
  }
  if (waiting_count) memcpy(sim->waiting, (const char *)memory + sizeof(struct saved), waiting_count * sizeof *sim->waiting);
  sim->waiting_count = waiting_count;
  take_vehicle(sim, memory);
  TAKE(times, sim->timeline);
  sim->timeline.scenario = sim->scenario;
  TAKE(driver, sim->driver);
  TAKE(crank_s, sim->crank_s);
  TAKE(tick, sim->tick);
  TAKE(row_tick, sim->row_tick);
  TAKE(settling, sim->settling);
  TAKE(resting, sim->resting);
  TAKE(decided, sim->decided);
  TAKE(roughness, sim->roughness);
  TAKE(seen, sim->events.seen);
  if (sim->kept) cut_record(sim);
  return STATUS_OK;
}
