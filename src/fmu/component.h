/* What an FMI instance is behind either version: a unit, where it is in its life, and whom it tells. */
#ifndef FMU_COMPONENT_H
#define FMU_COMPONENT_H

#include "analysis/unit/unit.h"

#include <stdbool.h>

/* Both versions number their states so: OK, Warning, Discard, Error, Fatal. */
enum component_status { COMPONENT_OK, COMPONENT_WARNING, COMPONENT_DISCARD, COMPONENT_ERROR, COMPONENT_FATAL };

enum component_phase { COMPONENT_INSTANTIATED, COMPONENT_INITIALIZING, COMPONENT_STEPPING, COMPONENT_TERMINATED };

/* Phases as bits, for component_may(). */
enum {
  COMPONENT_BEFORE = 1u << COMPONENT_INSTANTIATED,
  COMPONENT_IN_INITIALIZATION = 1u << COMPONENT_INITIALIZING,
  COMPONENT_IN_STEPS = 1u << COMPONENT_STEPPING,
  COMPONENT_SETTABLE = COMPONENT_BEFORE | COMPONENT_IN_INITIALIZATION | COMPONENT_IN_STEPS,
  COMPONENT_ANY = COMPONENT_SETTABLE | 1u << COMPONENT_TERMINATED,
};

struct component;
typedef void (*component_teller)(struct component *component, enum component_status status, const char *category,
                                 const char *text);

struct component {
  struct unit *unit; // owned
  enum component_phase phase;
  char *name; // owned
  component_teller tell;
  void *environment, *logger; // the importer's
  bool logs_events, logs_errors;
  bool stops;
  double stop_s;
};

/* Makes one with the engine of the resources. token: what the description has; "" is not looked at. NULL after telling why. */
struct component *component_create(const char *name, const char *token, const char *location, component_teller tell,
                                   void *environment, void *logger, bool logging);
void component_destroy(struct component *component);

/* What the description says that this build is: 16 hexadecimal digits, or the same with words before. */
enum { COMPONENT_TOKEN_SIZE = 48 };
void component_token(char token[COMPONENT_TOKEN_SIZE]);

/* Whether a call is allowed in one of these phases (bits, 1 << phase); an error is told if not. */
bool component_may(struct component *component, unsigned phases, const char *what);

enum component_status component_tell_error(struct component *component, const struct error *error, enum component_status status);

/* Turns categories of messages on or off; none named: all. */
void component_log(struct component *component, bool on, size_t count, const char *const categories[]);

/* Back to how it was instantiated. */
void component_reset(struct component *component);

/* The worse of two. */
static inline enum component_status component_worse(enum component_status a, enum component_status b) { return b > a ? b : a; }

enum component_status component_set_up(struct component *component, double start_s, bool stops, double stop_s);
enum component_status component_initialize(struct component *component);
enum component_status component_set(struct component *component, uint32_t reference, enum unit_type type, double value);
enum component_status component_get(struct component *component, uint32_t reference, enum unit_type type, double *value);

/* A step from where it is; now: where the importer believes that is. */
enum component_status component_step(struct component *component, double now, double size);

/* A state is a block: its size, then what unit_save() writes. */
enum component_status component_state_take(struct component *component, void **state);
enum component_status component_state_put(struct component *component, const void *state);
enum component_status component_state_size(struct component *component, const void *state, size_t *size);
enum component_status component_state_write(struct component *component, const void *state, char *bytes, size_t size);
enum component_status component_state_read(struct component *component, const char *bytes, size_t size, void **state);

#endif
