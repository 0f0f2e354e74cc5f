/* What a run leaves behind: rows of channels at even spacing, and the events between them. */
#ifndef SIM_RECORDING_H
#define SIM_RECORDING_H

#include "base/error.h"
#include "sim/channels.h"

#include <stddef.h>

enum recording_event_kind {
  RECORDING_NOTE,       // the scenario says something
  RECORDING_CODE,       // a fault code changed its state
  RECORDING_ENGINE,     // stall, standstill, start, key
  RECORDING_CONTROLLER, // a limit reached or left, learned offset reset
  RECORDING_KIND_COUNT
};
extern const char *const recording_kind_names[RECORDING_KIND_COUNT];

/* What a RECORDING_ENGINE or RECORDING_CONTROLLER event says, for those who do not read its text. */
enum recording_value {
  RECORDING_VALUE_STALL,
  RECORDING_VALUE_STANDSTILL,
  RECORDING_VALUE_STARTED,
  RECORDING_VALUE_LEARNED_LIMIT,
  RECORDING_VALUE_AT_LIMIT,
  RECORDING_VALUE_RESET,
  RECORDING_VALUE_CLEARED,
  RECORDING_VALUE_LIMP,
  RECORDING_VALUE_LOST_CLOSED,
  RECORDING_VALUE_KEY, // plus enum key
  RECORDING_VALUE_COUNT = RECORDING_VALUE_KEY + KEY_START + 1
};
extern const char *const recording_value_names[RECORDING_VALUE_COUNT];

enum { RECORDING_TEXT_SIZE = 200 };

struct recording_event {
  double time_s;
  enum recording_event_kind kind;
  int code;  // enum monitor_code of a RECORDING_CODE, else -1
  int value; // its new enum code_state; of other kinds an enum recording_value
  char text[RECORDING_TEXT_SIZE];
};

/* Takes a row as it comes. */
typedef enum status (*recording_sink)(const double values[CHANNEL_COUNT], void *user, struct error *error);

struct recording {
  size_t row_count, row_capacity;
  recording_sink sink; // rows go there and are not kept: memory stays flat; NULL: they are kept
  void *sink_user;
  double *values; // row after row of CHANNEL_COUNT values in the channels' edge units; owned; NULL with a sink
  size_t event_count, event_capacity;
  struct recording_event *events; // in order of time; owned
};

void recording_init(struct recording *recording);
void recording_destroy(struct recording *recording);
MUST_CHECK enum status recording_append(struct recording *recording, const double values[CHANNEL_COUNT], struct error *error);

/* Room for so many rows in all, so that none of them need be moved. */
MUST_CHECK enum status recording_reserve(struct recording *recording, size_t rows, struct error *error);
MUST_CHECK enum status recording_add_event(struct recording *recording, const struct recording_event *event, struct error *error);

static inline double recording_value(const struct recording *recording, size_t row, enum channel channel) {
  return recording->values[row * CHANNEL_COUNT + (size_t)channel];
}

#endif
