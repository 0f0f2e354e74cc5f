#include "analysis/unit/unit.h"

#include "analysis/settle/launch.h"
#include "base/digest.h"
#include "car/engine_check.h"
#include "car/engine_pack.h"
#include "sim/simulation.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { ACTION_COUNT = SCENARIO_ACTION_LOSE_CLOSED };

/* All that was set from outside: what a state keeps beside the simulation. */
struct unit_settings {
  double conditions[CONDITION_MOST]; // user's unit
  double key, start, seed;
  double actions[ACTION_COUNT + 1]; // 0 or 1, by enum scenario_action
  double start_s;
};

struct unit {
  struct engine created, engine; // as it came; with the parameters of now
  struct unit_settings settings;
  struct scenario scenario;
  struct simulation *sim; // owned; NULL until somebody looks or it begins
  bool begun;
  bool sampled; // values and codes are those of now, and the simulation has had its turn at this moment
  double values[CHANNEL_COUNT];
  int codes[MONITOR_CODE_COUNT];
  void *before; // owned: the simulation as it was before it was sampled
  size_t before_size, before_room;
  events_sink sink;
  void *user;
};

/* ---- Life ---- */

static void settings_init(struct unit_settings *settings) {
  *settings = (struct unit_settings){0};
  struct unit_variable variable;
  for (uint32_t i = 0; unit_variable_at(i, &variable); i++) {
    if (variable.kind == UNIT_KIND_CONDITION) settings->conditions[variable.index] = variable.start;
    if (variable.kind == UNIT_KIND_KEY) settings->key = variable.start;
    if (variable.kind == UNIT_KIND_START) settings->start = variable.start;
    if (variable.kind == UNIT_KIND_SEED) settings->seed = variable.start;
  }
}

static void forget(struct unit *unit) {
  simulation_destroy(unit->sim);
  unit->sim = NULL;
  unit->begun = unit->sampled = false;
}

void unit_reset(struct unit *unit) {
  forget(unit);
  unit->engine = unit->created;
  settings_init(&unit->settings);
}

enum status unit_create(const struct engine *engine, struct unit **unit, struct error *error) {
  *unit = calloc(1, sizeof **unit);
  if (!*unit) return error_set(error, STATUS_NO_MEMORY, "out of memory for a unit");
  (*unit)->created = *engine;
  (*unit)->created.calibrated_on = NULL;
  scenario_init(&(*unit)->scenario);
  unit_reset(*unit);
  return STATUS_OK;
}

void unit_destroy(struct unit *unit) {
  if (!unit) return;
  forget(unit);
  scenario_destroy(&unit->scenario);
  free(unit->before);
  free(unit);
}

void unit_watch(struct unit *unit, events_sink sink, void *user) {
  unit->sink = sink;
  unit->user = user;
  if (unit->sim) simulation_watch(unit->sim, sink, user);
}

void unit_start_at(struct unit *unit, double start_s) { unit->settings.start_s = start_s; }

double unit_time_s(const struct unit *unit) { return unit->settings.start_s + (unit->sim ? simulation_time_s(unit->sim) : 0.0); }

bool unit_begun(const struct unit *unit) { return unit->begun; }

/* ---- Beginning ---- */

static void set_up(struct unit *unit, enum scenario_start start) {
  struct scenario *scenario = &unit->scenario;
  scenario_set_start(scenario, start);
  scenario->seed = (uint64_t)unit->settings.seed;
  scenario->film_on_demand = true; // it may be changed at every step
  snprintf(scenario->name, sizeof scenario->name, "the unit");
  conditions_init(&scenario->initial);
  for (size_t i = 0; i < condition_count; i++) {
    const struct field *field = &condition_rows[i].field;
    conditions_set(&scenario->initial, field, field_writable(field, field_to_si(field, unit->settings.conditions[i])));
  }
}

/* Makes the simulation unless it is there. */
static enum status make(struct unit *unit, enum scenario_start start, struct error *error) {
  if (unit->sim) return STATUS_OK;
  enum status status = engine_check(&unit->engine, error);
  if (status != STATUS_OK) return status;
  set_up(unit, start);
  const struct solver_options options = solver_options_default();
  status = launch_scenario(&unit->engine, &unit->scenario, &solver_fast, &options, &unit->sim, error);
  if (status == STATUS_OK) simulation_watch(unit->sim, unit->sink, unit->user);
  return status;
}

static enum status play(struct unit *unit, const struct scenario_step *step, struct error *error) {
  return simulation_play(unit->sim, step, error);
}

enum status unit_begin(struct unit *unit, struct error *error) {
  const enum scenario_start start = (enum scenario_start)(int)unit->settings.start;
  enum status status = make(unit, start, error);
  if (status != STATUS_OK) return status;
  const int key = (int)unit->settings.key;
  // one that begins with the key off has it turned; one that idles has it turned off at once
  if (start == SCENARIO_START_KEY_OFF || key == KEY_OFF) status = play(unit, &(struct scenario_step){.key = key}, error);
  for (int i = 1; i <= ACTION_COUNT && status == STATUS_OK; i++)
    if (unit->settings.actions[i] > 0.0)
      status = play(unit, &(struct scenario_step){.key = -1, .action = (enum scenario_action)i}, error);
  unit->begun = status == STATUS_OK;
  return status;
}

/* ---- Looking ---- */

/* The simulation decides as it is looked at, and what is set then would come too late: so what it was like before is kept. */
static enum status keep_before(struct unit *unit, struct error *error) {
  const size_t size = simulation_save_size(unit->sim);
  if (size > unit->before_room) {
    void *room = realloc(unit->before, size);
    if (!room) return error_set(error, STATUS_NO_MEMORY, "out of memory for a state of the unit");
    unit->before = room;
    unit->before_room = size;
  }
  unit->before_size = size;
  return simulation_save(unit->sim, unit->before, size, error);
}

static enum status sample(struct unit *unit, struct error *error) {
  if (unit->sampled) return STATUS_OK;
  enum status status = make(unit, (enum scenario_start)(int)unit->settings.start, error);
  if (status == STATUS_OK) status = keep_before(unit, error);
  if (status == STATUS_OK) status = simulation_sample(unit->sim, unit->values, error);
  if (status != STATUS_OK) return status;
  struct scan scan = {0};
  simulation_scan(unit->sim, &scan);
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) unit->codes[i] = (int)scan.monitors.code[i].code;
  unit->sampled = true;
  return STATUS_OK;
}

static enum status unlook(struct unit *unit, struct error *error) {
  if (!unit->sampled) return STATUS_OK;
  unit->sampled = false;
  return simulation_restore(unit->sim, unit->before, unit->before_size, error);
}

static enum status unknown(uint32_t reference, struct error *error) {
  return error_set(error, STATUS_USAGE, "there is no variable with the reference %lu", (unsigned long)reference);
}

static const char *const type_names[] = {"a real number", "an integer", "a boolean"};

static enum status check_type(const struct unit_variable *variable, enum unit_type type, struct error *error) {
  if (variable->type == type) return STATUS_OK;
  return error_set(error, STATUS_USAGE, "%s is %s, not %s", variable->name, type_names[variable->type], type_names[type]);
}

/* Outputs, which are asked for at every step, without the words about them. */
static bool get_output(struct unit *unit, uint32_t reference, enum unit_type type, double *value) {
  enum unit_kind kind;
  size_t index;
  if (!unit->sampled || !unit_variable_find(reference, &kind, &index)) return false;
  if (kind == UNIT_KIND_CHANNEL && type == UNIT_REAL)
    *value = unit->values[index];
  else if (kind == UNIT_KIND_CODE && type == UNIT_INTEGER)
    *value = unit->codes[index];
  else
    return false;
  return true;
}

enum status unit_get(struct unit *unit, uint32_t reference, enum unit_type type, double *value, struct error *error) {
  if (get_output(unit, reference, type, value)) return STATUS_OK;
  struct unit_variable variable;
  if (!unit_variable_at(reference, &variable)) return unknown(reference, error);
  enum status status = check_type(&variable, type, error);
  const bool is_output = variable.role == UNIT_OUTPUT;
  if (status == STATUS_OK && is_output) status = sample(unit, error);
  if (status != STATUS_OK) return status;
  switch (variable.kind) {
  case UNIT_KIND_TIME:
    *value = unit_time_s(unit);
    break;
  case UNIT_KIND_CONDITION:
    *value = unit->settings.conditions[variable.index];
    break;
  case UNIT_KIND_KEY:
    *value = unit->settings.key;
    break;
  case UNIT_KIND_ACTION:
    *value = unit->settings.actions[variable.index];
    break;
  case UNIT_KIND_START:
    *value = unit->settings.start;
    break;
  case UNIT_KIND_SEED:
    *value = unit->settings.seed;
    break;
  case UNIT_KIND_PARAMETER:
    *value = unit_variable_parameter(&variable, &unit->engine);
    break;
  case UNIT_KIND_CHANNEL:
    *value = unit->values[variable.index];
    break;
  case UNIT_KIND_CODE:
    *value = unit->codes[variable.index];
    break;
  }
  return STATUS_OK;
}

/* ---- Setting ---- */

static enum status check_value(const struct unit *unit, const struct unit_variable *variable, double value, struct error *error) {
  if (variable->role == UNIT_OUTPUT || variable->role == UNIT_TIME)
    return error_set(error, STATUS_USAGE, "%s is an output and cannot be set", variable->name);
  if (variable->role == UNIT_PARAMETER && unit->begun)
    return error_set(error, STATUS_USAGE, "%s is a parameter, and cannot change once the unit has started", variable->name);
  if (!unit_variable_fits(variable, &unit->created))
    return error_set(error, STATUS_USAGE, "%s does not exist on %s", variable->name, unit->created.name);
  if (variable->kind == UNIT_KIND_CONDITION) return condition_check(&condition_rows[variable->index], value, error);
  if (!isfinite(value) || value < variable->min || value > variable->max)
    return error_set(error, STATUS_USAGE, "%s=%g is out of range: %g to %g", variable->name, value, variable->min, variable->max);
  return STATUS_OK;
}

static void put_parameter(struct unit *unit, const struct unit_variable *variable, double value) {
  void *base = (char *)&unit->engine + variable->base;
  if (variable->type == UNIT_INTEGER) {
    const int whole = (int)value;
    memcpy((char *)base + variable->field->offset, &whole, sizeof whole);
  } else {
    field_set_real(variable->field, base, field_to_si(variable->field, value));
  }
}

static double *place_of(struct unit *unit, const struct unit_variable *variable) {
  switch (variable->kind) {
  case UNIT_KIND_CONDITION:
    return &unit->settings.conditions[variable->index];
  case UNIT_KIND_KEY:
    return &unit->settings.key;
  case UNIT_KIND_ACTION:
    return &unit->settings.actions[variable->index];
  case UNIT_KIND_START:
    return &unit->settings.start;
  case UNIT_KIND_SEED:
    return &unit->settings.seed;
  default:
    return NULL;
  }
}

/* What a running engine makes of an input that is another now. */
static enum status act(struct unit *unit, const struct unit_variable *variable, double value, struct error *error) {
  struct scenario_step step = {.key = -1};
  if (variable->kind == UNIT_KIND_CONDITION) {
    step.set_count = 1;
    step.sets[0] = (struct scenario_set){variable->index, field_to_si(variable->field, value)};
  } else if (variable->kind == UNIT_KIND_KEY) {
    step.key = (int)value;
  } else if (value > 0.0) {
    step.action = (enum scenario_action)variable->index;
  } else {
    return STATUS_OK; // a request that is taken back
  }
  enum status status = unlook(unit, error);
  if (status == STATUS_OK) status = play(unit, &step, error);
  return status;
}

enum status unit_set(struct unit *unit, uint32_t reference, enum unit_type type, double value, struct error *error) {
  struct unit_variable variable;
  if (!unit_variable_at(reference, &variable)) return unknown(reference, error);
  enum status status = check_type(&variable, type, error);
  if (status == STATUS_OK) status = check_value(unit, &variable, value, error);
  if (status != STATUS_OK) return status;
  double *place = place_of(unit, &variable);
  const double now = place ? *place : unit_variable_parameter(&variable, &unit->engine);
  if (!(now < value) && !(now > value)) return STATUS_OK;
  // nobody but unit_destroy() takes NULL. NOLINTNEXTLINE(clang-analyzer-core.NullDereference)
  if (unit->begun) status = act(unit, &variable, value, error);
  if (status != STATUS_OK) return status;
  if (!unit->begun) forget(unit); // somebody has looked at how it would begin
  if (place)
    *place = value;
  else
    put_parameter(unit, &variable, value);
  return STATUS_OK;
}

/* ---- Time ---- */

bool unit_ticks(double seconds, size_t *ticks) {
  const double count = seconds / COMPUTER_PERIOD_S, whole = round(count);
  if (!(whole >= 1.0) || !(fabs(count - whole) <= 1e-6 * fmax(1.0, 1e-3 * whole)) || whole > 1e9) return false;
  *ticks = (size_t)whole;
  return true;
}

enum status unit_step(struct unit *unit, size_t ticks, struct error *error) {
  if (!unit->begun) return error_set(error, STATUS_USAGE, "the unit has not started");
  const double left = (double)SCENARIO_TIME_MOST_S / COMPUTER_PERIOD_S - (double)unit->sim->tick;
  if ((double)ticks > left)
    return error_set(error, STATUS_USAGE, "%zu ticks more is more than a day in all: %.0f are left", ticks, left);
  unit->sampled = false;
  for (size_t i = 0; i < ticks; i++) {
    const enum status status = simulation_tick(unit->sim, error);
    if (status != STATUS_OK) return status;
  }
  return STATUS_OK;
}

/* ---- States ---- */

#define MARK UINT64_C(0x62676170756e3031)

struct unit_head {
  uint64_t mark, table, digest; // of the table of variables; of all behind this struct
  uint64_t numbers, simulation; // numbers of the engine; bytes of the simulation, 0 for one that has not begun
  struct unit_settings settings;
};

/* A unit that has been looked at is saved as it was before: what is set then still acts at once. */
static size_t simulation_size(const struct unit *unit) {
  return !unit->begun ? 0 : unit->sampled ? unit->before_size : simulation_save_size(unit->sim);
}

size_t unit_save_size(struct unit *unit) {
  return sizeof(struct unit_head) + engine_pack_size() * sizeof(double) + simulation_size(unit);
}

static uint64_t digest_of(const char *memory, const struct unit_head *head) {
  uint64_t digest = digest_add(DIGEST_OF_NOTHING, &head->settings, sizeof head->settings);
  return digest_add(digest, memory + sizeof *head, head->numbers * sizeof(double) + head->simulation);
}

enum status unit_save(struct unit *unit, void *memory, size_t size, struct error *error) {
  if (!memory || size < unit_save_size(unit))
    return error_set(error, STATUS_USAGE, "there are %zu bytes to save the unit in; it needs %zu", memory ? size : 0,
                     unit_save_size(unit));
  double *numbers = malloc(engine_pack_size() * sizeof *numbers);
  if (!numbers) return error_set(error, STATUS_NO_MEMORY, "out of memory for a state of the unit");
  struct unit_head head;
  memset(&head, 0, sizeof head);
  head.mark = MARK;
  head.table = unit_variable_digest();
  head.numbers = engine_pack(&unit->engine, numbers);
  head.simulation = simulation_size(unit);
  head.settings = unit->settings;
  char *at = (char *)memory + sizeof head;
  memcpy(at, numbers, head.numbers * sizeof *numbers);
  free(numbers);
  at += head.numbers * sizeof(double);
  enum status status = STATUS_OK;
  if (head.simulation > 0 && unit->sampled)
    memcpy(at, unit->before, unit->before_size);
  else if (head.simulation > 0)
    status = simulation_save(unit->sim, at, head.simulation, error);
  head.digest = digest_of(memory, &head);
  memcpy(memory, &head, sizeof head);
  return status;
}

/* The engine's numbers into the unit; a simulation of another engine is given up. */
static enum status take_engine(struct unit *unit, const char *numbers, size_t count, struct error *error) {
  double *copy = malloc((count ? count : 1) * sizeof *copy);
  struct engine *engine = malloc(sizeof *engine);
  enum status status = copy && engine ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, "out of memory for a state of the unit");
  if (status == STATUS_OK) {
    memcpy(copy, numbers, count * sizeof *copy); // the memory need not be aligned
    *engine = unit->engine;
    if (!engine_pack_undo(copy, count, engine)) status = error_set(error, STATUS_USAGE, "the state holds another build's engine");
  }
  if (status == STATUS_OK && engine_digest(engine) != engine_digest(&unit->engine)) {
    forget(unit);
    memcpy(engine->name, unit->engine.name, sizeof engine->name);
    memcpy(engine->title, unit->engine.title, sizeof engine->title);
    unit->engine = *engine;
  }
  free(copy);
  free(engine);
  return status;
}

enum status unit_restore(struct unit *unit, const void *memory, size_t size, struct error *error) {
  struct unit_head head;
  if (!memory || size < sizeof head)
    return error_set(error, STATUS_USAGE, "the state is %zu bytes, too few for one", memory ? size : 0);
  memcpy(&head, memory, sizeof head);
  const bool fits = head.mark == MARK && head.table == unit_variable_digest() && head.numbers <= engine_pack_size() &&
                    head.simulation <= size && sizeof head + head.numbers * sizeof(double) + head.simulation <= size;
  if (!fits || digest_of(memory, &head) != head.digest)
    return error_set(error, STATUS_USAGE, "the state was not completely saved by a unit of this build");
  const char *numbers = (const char *)memory + sizeof head, *saved = numbers + head.numbers * sizeof(double);
  enum status status = take_engine(unit, numbers, head.numbers, error);
  if (status != STATUS_OK) return status;
  unit->settings = head.settings;
  unit->sampled = false;
  if (head.simulation == 0) {
    forget(unit);
    return STATUS_OK;
  }
  status = make(unit, SCENARIO_START_KEY_OFF, error); // any will do: all that moves is restored
  if (status == STATUS_OK) status = simulation_restore(unit->sim, saved, head.simulation, error);
  unit->begun = status == STATUS_OK;
  return status;
}
