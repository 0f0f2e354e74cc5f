#include "fmu/component.h"

#include "fmu/resource.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TEXT_SIZE = 512 };

void component_token(char token[COMPONENT_TOKEN_SIZE]) {
  snprintf(token, COMPONENT_TOKEN_SIZE, "{bladegap-%016" PRIx64 "}", unit_variable_digest());
}

static void tell(struct component *component, enum component_status status, const char *category, const char *text) {
  const bool wanted = status == COMPONENT_OK ? component->logs_events : component->logs_errors;
  if (wanted && component->tell) component->tell(component, status, category, text);
}

enum component_status component_tell_error(struct component *component, const struct error *error, enum component_status status) {
  static const char *const categories[] = {"logEvents", "logStatusWarning", "logStatusDiscard", "logStatusError",
                                           "logStatusFatal"};
  tell(component, status, categories[status], error->text);
  return status;
}

static enum component_status fail(struct component *component, enum component_status status, const char *text) {
  struct error error;
  error_clear(&error);
  (void)!error_set(&error, STATUS_USAGE, "%s", text);
  return component_tell_error(component, &error, status);
}

static enum status pass_on(const struct recording_event *event, void *user, struct error *error) {
  (void)error;
  struct component *component = user;
  char text[TEXT_SIZE];
  snprintf(text, sizeof text, "%.2f s: %s", event->time_s, event->text);
  tell(component, COMPONENT_OK, "logEvents", text);
  return STATUS_OK;
}

static enum status make(struct component *component, const char *token, const char *location, struct error *error) {
  char own[COMPONENT_TOKEN_SIZE], folder[RESOURCE_PATH_SIZE];
  struct engine *engine = malloc(sizeof *engine);
  if (!engine) return error_set(error, STATUS_NO_MEMORY, "out of memory for an engine");
  component_token(own);
  enum status status = STATUS_OK;
  if (token && *token && strcmp(token, own) != 0)
    status = error_set(error, STATUS_USAGE, "the description is from another version: its token is %.60s, not %s", token, own);
  if (status == STATUS_OK) status = resource_folder(location, folder, error);
  if (status == STATUS_OK) status = resource_read(folder, engine, error);
  if (status == STATUS_OK) status = unit_create(engine, &component->unit, error);
  if (status == STATUS_OK) unit_watch(component->unit, pass_on, component);
  free(engine);
  return status;
}

struct component *component_create(const char *name, const char *token, const char *location, component_teller teller,
                                   void *environment, void *logger, bool logging) {
  struct component *component = calloc(1, sizeof *component);
  if (!component) return NULL;
  *component = (struct component){
      .tell = teller, .environment = environment, .logger = logger, .logs_errors = true, .logs_events = logging};
  component->name = strdup(name && *name ? name : "bladegap");
  struct error error;
  error_clear(&error);
  if (component->name && make(component, token, location, &error) == STATUS_OK) return component;
  component_tell_error(component, &error, COMPONENT_ERROR);
  component_destroy(component);
  return NULL;
}

void component_destroy(struct component *component) {
  if (!component) return;
  unit_destroy(component->unit);
  free(component->name);
  free(component);
}

bool component_may(struct component *component, unsigned phases, const char *what) {
  static const char *const names[] = {"instantiated", "initializing", "stepping", "terminated"};
  if (!component) return false;
  if (phases & (1u << component->phase)) return true;
  char text[TEXT_SIZE];
  snprintf(text, sizeof text, "%s is not allowed while the unit is %s", what, names[component->phase]);
  fail(component, COMPONENT_ERROR, text);
  return false;
}

void component_log(struct component *component, bool on, size_t count, const char *const categories[]) {
  if (count == 0) component->logs_events = component->logs_errors = on;
  for (size_t i = 0; i < count; i++) {
    const bool all = strcmp(categories[i], "logAll") == 0;
    if (all || strcmp(categories[i], "logEvents") == 0) component->logs_events = on;
    if (all || strncmp(categories[i], "logStatus", 9) == 0) component->logs_errors = on;
  }
}

void component_reset(struct component *component) {
  unit_reset(component->unit);
  component->phase = COMPONENT_INSTANTIATED;
  component->stops = false;
}

enum component_status component_set_up(struct component *component, double start_s, bool stops, double stop_s) {
  if (!isfinite(start_s) || (stops && !(stop_s > start_s)))
    return fail(component, COMPONENT_ERROR, "the stop time is not after the start time");
  unit_start_at(component->unit, start_s);
  component->stops = stops;
  component->stop_s = stop_s;
  return COMPONENT_OK;
}

enum component_status component_initialize(struct component *component) {
  struct error error;
  error_clear(&error);
  if (unit_begin(component->unit, &error) != STATUS_OK) return component_tell_error(component, &error, COMPONENT_ERROR);
  component->phase = COMPONENT_STEPPING;
  return COMPONENT_OK;
}

/* A value that cannot be is discarded: nothing has changed, and the importer may go on with another. */
enum component_status component_set(struct component *component, uint32_t reference, enum unit_type type, double value) {
  struct error error;
  error_clear(&error);
  const enum status status = unit_set(component->unit, reference, type, value, &error);
  if (status == STATUS_OK) return COMPONENT_OK;
  struct unit_variable variable;
  const bool settable = unit_variable_at(reference, &variable) && variable.type == type &&
                        (variable.role == UNIT_INPUT || (variable.role == UNIT_PARAMETER && !unit_begun(component->unit)));
  return component_tell_error(component, &error, status == STATUS_USAGE && settable ? COMPONENT_DISCARD : COMPONENT_ERROR);
}

enum component_status component_get(struct component *component, uint32_t reference, enum unit_type type, double *value) {
  struct error error;
  error_clear(&error);
  if (unit_get(component->unit, reference, type, value, &error) == STATUS_OK) return COMPONENT_OK;
  return component_tell_error(component, &error, COMPONENT_ERROR);
}

enum component_status component_step(struct component *component, double now, double size) {
  struct error error;
  error_clear(&error);
  size_t ticks;
  char text[TEXT_SIZE];
  const double own = unit_time_s(component->unit);
  if (!(fabs(now - own) <= 1e-6 * fmax(1.0, fabs(own)))) {
    snprintf(text, sizeof text, "the step begins at %.9g s, the unit is at %.9g s", now, own);
    return fail(component, COMPONENT_ERROR, text);
  }
  if (!unit_ticks(size, &ticks)) {
    snprintf(text, sizeof text, "a step of %.9g s is not a whole multiple of the unit's own 0.01 s; nothing was computed", size);
    return fail(component, COMPONENT_DISCARD, text);
  }
  if (component->stops && own + size > component->stop_s + 1e-6 * fmax(1.0, fabs(component->stop_s)))
    return fail(component, COMPONENT_ERROR, "the step goes beyond the given stop time");
  if (unit_step(component->unit, ticks, &error) == STATUS_OK) return COMPONENT_OK;
  return component_tell_error(component, &error, COMPONENT_ERROR);
}

/* ---- States ---- */

struct state {
  size_t size;
  char bytes[];
};

static struct state *allocate(struct component *component, void **state, size_t size) {
  struct state *block = *state;
  if (!block || block->size != size) block = realloc(*state, sizeof *block + size);
  if (!block) {
    fail(component, COMPONENT_ERROR, "out of memory for a state");
    return NULL;
  }
  block->size = size;
  *state = block;
  return block;
}

enum component_status component_state_take(struct component *component, void **state) {
  struct error error;
  error_clear(&error);
  if (!state) return fail(component, COMPONENT_ERROR, "there is nowhere to put the state: NULL");
  struct state *block = allocate(component, state, unit_save_size(component->unit) + sizeof component->phase);
  if (!block) return COMPONENT_ERROR;
  memcpy(block->bytes, &component->phase, sizeof component->phase);
  const size_t head = sizeof component->phase;
  if (unit_save(component->unit, block->bytes + head, block->size - head, &error) == STATUS_OK) return COMPONENT_OK;
  return component_tell_error(component, &error, COMPONENT_ERROR);
}

enum component_status component_state_put(struct component *component, const void *state) {
  struct error error;
  error_clear(&error);
  const struct state *block = state;
  enum component_phase phase;
  if (!block || block->size < sizeof phase) return fail(component, COMPONENT_ERROR, "there is no state to go back to: NULL");
  memcpy(&phase, block->bytes, sizeof phase);
  if (unit_restore(component->unit, block->bytes + sizeof phase, block->size - sizeof phase, &error) != STATUS_OK)
    return component_tell_error(component, &error, COMPONENT_ERROR);
  component->phase = phase;
  return COMPONENT_OK;
}

enum component_status component_state_size(struct component *component, const void *state, size_t *size) {
  if (!state || !size) return fail(component, COMPONENT_ERROR, "there is no state: NULL");
  *size = ((const struct state *)state)->size;
  return COMPONENT_OK;
}

enum component_status component_state_write(struct component *component, const void *state, char *bytes, size_t size) {
  const struct state *block = state;
  if (!block || !bytes || size < block->size) return fail(component, COMPONENT_ERROR, "there is too little room for the state");
  memcpy(bytes, block->bytes, block->size);
  return COMPONENT_OK;
}

enum component_status component_state_read(struct component *component, const char *bytes, size_t size, void **state) {
  if (!bytes || !state) return fail(component, COMPONENT_ERROR, "there are no bytes of a state: NULL");
  *state = NULL;
  struct state *block = allocate(component, state, size);
  if (!block) return COMPONENT_ERROR;
  memcpy(block->bytes, bytes, size);
  return COMPONENT_OK;
}
