#include "sim/recording.h"

#include <stdlib.h>
#include <string.h>

enum { FIRST_CAPACITY = 256 };

const char *const recording_kind_names[RECORDING_KIND_COUNT] = {
    [RECORDING_NOTE] = "note",
    [RECORDING_CODE] = "code",
    [RECORDING_ENGINE] = "engine",
    [RECORDING_CONTROLLER] = "controller",
};

const char *const recording_value_names[RECORDING_VALUE_COUNT] = {
    [RECORDING_VALUE_STALL] = "stall",
    [RECORDING_VALUE_STANDSTILL] = "standstill",
    [RECORDING_VALUE_STARTED] = "started",
    [RECORDING_VALUE_LEARNED_LIMIT] = "learned_limit",
    [RECORDING_VALUE_AT_LIMIT] = "at_limit",
    [RECORDING_VALUE_RESET] = "reset",
    [RECORDING_VALUE_CLEARED] = "cleared",
    [RECORDING_VALUE_LIMP] = "limp",
    [RECORDING_VALUE_LOST_CLOSED] = "closed_stop_lost",
    [RECORDING_VALUE_KEY + KEY_OFF] = "key_off",
    [RECORDING_VALUE_KEY + KEY_ON] = "key_on",
    [RECORDING_VALUE_KEY + KEY_START] = "key_start",
};

void recording_init(struct recording *recording) { *recording = (struct recording){0}; }

void recording_destroy(struct recording *recording) {
  if (!recording) return;
  free(recording->values);
  free(recording->events);
  recording_init(recording);
}

/* Room for one more item of this size; doubles. */
static enum status grow(void **items, size_t *capacity, size_t count, size_t size, struct error *error) {
  if (count < *capacity) return STATUS_OK;
  const size_t wanted = *capacity ? 2 * *capacity : FIRST_CAPACITY;
  void *bigger = realloc(*items, wanted * size);
  if (!bigger) return error_set(error, STATUS_NO_MEMORY, "out of memory after %zu rows of the run", count);
  *items = bigger;
  *capacity = wanted;
  return STATUS_OK;
}

enum status recording_append(struct recording *recording, const double values[CHANNEL_COUNT], struct error *error) {
  if (recording->sink) {
    recording->row_count++;
    return recording->sink(values, recording->sink_user, error);
  }
  const size_t size = CHANNEL_COUNT * sizeof(double);
  void *items = recording->values;
  const enum status status = grow(&items, &recording->row_capacity, recording->row_count, size, error);
  recording->values = items;
  if (status != STATUS_OK) return status;
  memcpy(recording->values + recording->row_count++ * CHANNEL_COUNT, values, size);
  return STATUS_OK;
}

enum status recording_reserve(struct recording *recording, size_t rows, struct error *error) {
  if (rows <= recording->row_capacity) return STATUS_OK;
  double *values = reallocarray(recording->values, rows, CHANNEL_COUNT * sizeof *values);
  if (!values) return error_set(error, STATUS_NO_MEMORY, "out of memory for %zu rows", rows);
  recording->values = values;
  recording->row_capacity = rows;
  return STATUS_OK;
}

enum status recording_add_event(struct recording *recording, const struct recording_event *event, struct error *error) {
  void *items = recording->events;
  const enum status status = grow(&items, &recording->event_capacity, recording->event_count, sizeof *event, error);
  recording->events = items;
  if (status != STATUS_OK) return status;
  recording->events[recording->event_count++] = *event;
  return STATUS_OK;
}
