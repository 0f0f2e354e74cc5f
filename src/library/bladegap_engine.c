#include "library/bladegap_engine.h"

#include "analysis/estimate/estimate_place.h"
#include "analysis/sweep/sweep_axis.h"
#include "base/near_miss.h"
#include "base/units.h"
#include "car/engine_check.h"
#include "car/engine_pack.h"
#include "car/setting.h"
#include "library/shipped.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SHIPPED_MAX = 64 };
#define ENGINE_OFF "engine_off"

static void unknown_engine(struct edge edge, const char *name) {
  const char *names[SHIPPED_MAX];
  size_t count = 0;
  for (; count < shipped_engine_count && count < SHIPPED_MAX; count++) names[count] = shipped_engines[count].name;
  edge_unknown(edge, "engine", name, names, count);
}

static bladegap_engine *allocate(struct edge edge) {
  bladegap_engine *engine = calloc(1, sizeof *engine);
  if (!engine) edge_fail(edge, STATUS_NO_MEMORY, "out of memory for an engine");
  return engine;
}

bladegap_engine *bladegap_engine_shipped(const char *name, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!name) {
    edge_fail(edge, STATUS_USAGE, "which engine? The name is NULL");
    return NULL;
  }
  const struct shipped_engine *shipped = NULL;
  for (size_t i = 0; i < shipped_engine_count; i++)
    if (strcmp(shipped_engines[i].name, name) == 0) shipped = &shipped_engines[i];
  if (!shipped) {
    unknown_engine(edge, name);
    return NULL;
  }
  bladegap_engine *engine = allocate(edge);
  if (!engine) return NULL;
  if (!engine_pack_undo(shipped->numbers, shipped->number_count, &engine->engine)) {
    edge_fail(edge, STATUS_INTERNAL, "the library was built from two versions: its engine '%s' does not match", name);
    bladegap_engine_destroy(engine);
    return NULL;
  }
  snprintf(engine->engine.name, sizeof engine->engine.name, "%s", shipped->name);
  snprintf(engine->engine.title, sizeof engine->engine.title, "%s", shipped->title);
  settle_query_init(&engine->query);
  engine->query.all_balances = true;
  return engine;
}

bladegap_engine *bladegap_engine_copy(const bladegap_engine *engine, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!engine) {
    edge_fail(edge, STATUS_USAGE, "the engine is NULL");
    return NULL;
  }
  bladegap_engine *copy = allocate(edge);
  if (copy) *copy = *engine;
  return copy;
}

void bladegap_engine_destroy(bladegap_engine *engine) { free(engine); }

const char *bladegap_engine_title(const bladegap_engine *engine) { return engine ? engine->engine.title : NULL; }

/* ---- Named values ---- */

static int set_learned(bladegap_engine *engine, double value, struct edge edge) {
  if (!(value >= SWEEP_AXIS_LEARNED_LOW && value <= SWEEP_AXIS_LEARNED_HIGH))
    return edge_fail(edge, STATUS_USAGE, SWEEP_AXIS_LEARNED "=%g is out of range: %g to %g (learned air offset)", value,
                     SWEEP_AXIS_LEARNED_LOW, SWEEP_AXIS_LEARNED_HIGH);
  engine->query.learning = SETTLE_STALE;
  engine->query.learned_ratio = value * UNITS_RATIO_PER_PCT;
  return BLADEGAP_OK;
}

static int set_engine_off(bladegap_engine *engine, double value, struct edge edge) {
  const bool off = value >= 1.0, on = value <= 0.0;
  if (!(value >= 0.0 && value <= 1.0) || (!off && !on))
    return edge_fail(edge, STATUS_USAGE, ENGINE_OFF "=%g: it is a switch, 0 or 1 (key on, the engine standing)", value);
  engine->query.engine_off = off;
  return BLADEGAP_OK;
}

/* The row that a name stands for; `what` says NULLs and unknown names. */
static int find(const bladegap_engine *engine, const char *name, struct setting *setting, struct edge edge) {
  if (!engine) return edge_fail(edge, STATUS_USAGE, "the engine is NULL");
  if (!name) return edge_fail(edge, STATUS_USAGE, "the name of the quantity is NULL");
  struct error what;
  error_clear(&what);
  *setting = (struct setting){0};
  if (strcmp(name, SWEEP_AXIS_LEARNED) == 0 || strcmp(name, ENGINE_OFF) == 0) return BLADEGAP_OK;
  return setting_find(name, setting, &what) == STATUS_OK ? BLADEGAP_OK : edge_tell(edge, &what);
}

int bladegap_engine_set(bladegap_engine *engine, const char *name, double value, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  struct setting setting;
  const int code = find(engine, name, &setting, edge);
  if (code != BLADEGAP_OK) return code;
  if (strcmp(name, SWEEP_AXIS_LEARNED) == 0) return set_learned(engine, value, edge);
  if (strcmp(name, ENGINE_OFF) == 0) return set_engine_off(engine, value, edge);
  struct error what;
  error_clear(&what);
  if (setting_check(&setting, value, &what) != STATUS_OK) return edge_tell(edge, &what);
  setting_apply(&setting, value, &engine->engine, &engine->query.conditions);
  engine->place_told |= estimate_place_tells(name);
  return BLADEGAP_OK;
}

int bladegap_engine_get(const bladegap_engine *engine, const char *name, double *value, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!value) return edge_fail(edge, STATUS_USAGE, "there is nowhere to put the value: NULL");
  struct setting setting;
  const int code = find(engine, name, &setting, edge);
  if (code != BLADEGAP_OK) return code;
  if (strcmp(name, ENGINE_OFF) == 0)
    *value = engine->query.engine_off;
  else if (strcmp(name, SWEEP_AXIS_LEARNED) == 0)
    *value = engine->query.learning == SETTLE_STALE ? engine->query.learned_ratio / UNITS_RATIO_PER_PCT : (double)NAN;
  else
    *value = setting_value(&setting, &engine->engine, &engine->query.conditions);
  return BLADEGAP_OK;
}

int bladegap_engine_relearn(bladegap_engine *engine, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!engine) return edge_fail(edge, STATUS_USAGE, "the engine is NULL");
  engine->query.learning = SETTLE_LEARNED;
  engine->query.learned_ratio = 0.0;
  return BLADEGAP_OK;
}

/* ---- Contradictions ---- */

int bladegap_engine_ready(const bladegap_engine *engine, struct edge edge) {
  if (!engine) return edge_fail(edge, STATUS_USAGE, "the engine is NULL");
  struct error what;
  error_clear(&what);
  if (engine_check(&engine->engine, &what) != STATUS_OK) return edge_tell(edge, &what);
  if (engine->query.engine_off && engine->query.conditions.hold_speed_rad_s > 0.0)
    return edge_fail(edge, STATUS_USAGE, ENGINE_OFF " and hold_rpm contradict each other: leave one out");
  return BLADEGAP_OK;
}

int bladegap_engine_check(const bladegap_engine *engine, char *error, size_t error_size) {
  return bladegap_engine_ready(engine, edge_begin(error, error_size));
}
