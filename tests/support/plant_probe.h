/* An engine at a settled idle, to be asked at its edges: what it gives at another pressure, speed, spark or blade angle, all else as
 * it idles. Asks the plant's own signals, so that it goes wherever the physics goes. */
#ifndef TESTS_SUPPORT_PLANT_PROBE_H
#define TESTS_SUPPORT_PLANT_PROBE_H

#include "analysis/settle/settle.h"

struct plant_probe {
  struct engine engine;
  struct settle *settle;
  struct settle_query query;
  struct settle_point point; // the idle
  struct vehicle vehicle;    // at it; to be changed and asked
};

/* Reads the engine file; warm idle, nothing switched on. plant_probe_settle() follows. What goes wrong fails the test with its
 * message. Not to be moved afterwards. */
struct plant_probe *plant_probe_create(const char *engine_path);
void plant_probe_destroy(struct plant_probe *probe);

/* A condition or an engine value by its name at the edge, in the user's unit. */
void plant_probe_set(struct plant_probe *probe, const char *name, double value);

/* Finds the idle under the query's conditions and returns to it. */
void plant_probe_settle(struct plant_probe *probe);

/* Signals and rates of the vehicle as it now stands. */
struct plant_signals plant_probe_signals(const struct plant_probe *probe);
struct plant_state plant_probe_rates(const struct plant_probe *probe);

/* A channel of the settled point. */
double plant_probe_value(const struct plant_probe *probe, enum channel channel);

#endif
