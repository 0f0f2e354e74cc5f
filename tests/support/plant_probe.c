#include "support/plant_probe.h"

#include "car/setting.h"
#include "io/config/engine_file.h"
#include "support/check.h"

#include <stdlib.h>

static void must_be_ok(enum status status, const struct error *error) {
  if (status != STATUS_OK) fail_msg("%s", error->text);
}

struct plant_probe *plant_probe_create(const char *engine_path) {
  struct error error;
  error_clear(&error);
  struct plant_probe *probe = calloc(1, sizeof *probe);
  if (!probe) fail_msg("out of memory for a probe of %s", engine_path);
  must_be_ok(engine_file_read(engine_path, &probe->engine, &error), &error);
  must_be_ok(settle_create(&probe->engine, &probe->settle, &error), &error);
  settle_query_init(&probe->query);
  return probe;
}

void plant_probe_destroy(struct plant_probe *probe) {
  if (probe) settle_destroy(probe->settle);
  free(probe);
}

void plant_probe_set(struct plant_probe *probe, const char *name, double value) {
  struct error error;
  error_clear(&error);
  struct setting setting;
  must_be_ok(setting_find(name, &setting, &error), &error);
  must_be_ok(setting_check(&setting, value, &error), &error);
  setting_apply(&setting, value, &probe->engine, &probe->query.conditions);
}

void plant_probe_settle(struct plant_probe *probe) {
  settle_change_engine(probe->settle, &probe->engine);
  settle_solve(probe->settle, &probe->query, &probe->point);
  probe->vehicle = *settle_rest(probe->settle);
}

struct plant_signals plant_probe_signals(const struct plant_probe *probe) {
  struct plant_signals signals;
  plant_signals(&probe->engine.plant, &probe->vehicle.inputs, &probe->vehicle.state, &signals);
  return signals;
}

struct plant_state plant_probe_rates(const struct plant_probe *probe) {
  struct plant_state rates;
  plant_rates(&probe->engine.plant, &probe->vehicle.inputs, &probe->vehicle.state, &rates);
  return rates;
}

double plant_probe_value(const struct plant_probe *probe, enum channel channel) { return probe->point.values[channel]; }
