#include "io/config/file_kind.h"

#include "io/config/config.h"
#include "io/config/engine_file.h"
#include "io/config/record_file.h"
#include "io/config/scenario_file.h"

#include <stdlib.h>

static enum status check_engine(const char *path, struct error *error) {
  struct engine *engine = calloc(1, sizeof *engine); // some kilobytes of curves: not on the stack
  if (!engine) return error_append(error, STATUS_NO_MEMORY, "%s: out of memory", path);
  const enum status status = engine_file_read(path, engine, error);
  free(engine);
  return status;
}

static enum status check_scenario(const char *path, struct error *error) {
  struct scenario scenario;
  const enum status status = scenario_file_read(path, &scenario, error);
  scenario_destroy(&scenario);
  return status;
}

static enum status check_record(const char *path, struct error *error) {
  struct scenario scenario;
  const enum status status = record_file_read(path, &scenario, error);
  scenario_destroy(&scenario);
  return status;
}

static bool never(const struct config *config) {
  (void)config;
  return false;
}

/* Columns: name, whether an open file is of this kind, full check. */
static const struct {
  const char *name;
  bool (*recognises)(const struct config *config);
  enum status (*check)(const char *path, struct error *error);
} kinds[FILE_KIND_COUNT] = {
    [FILE_KIND_ENGINE] = {"engine file", engine_file_recognises, check_engine},
    [FILE_KIND_SCENARIO] = {"scenario", scenario_file_recognises, check_scenario},
    [FILE_KIND_RECORD] = {"record", never, check_record}, // it is no tree of settings
};

const char *file_kind_name(enum file_kind kind) { return kinds[kind].name; }

enum status file_kind_of(const char *path, enum file_kind *kind, struct error *error) {
  if (record_file_is(path)) {
    *kind = FILE_KIND_RECORD;
    return STATUS_OK;
  }
  struct config *config;
  *kind = FILE_KIND_COUNT;
  enum status status = config_open(path, &config, error);
  if (status != STATUS_OK) return status;
  for (size_t i = 0; i < FILE_KIND_COUNT; i++)
    if (*kind == FILE_KIND_COUNT && kinds[i].recognises(config)) *kind = (enum file_kind)i;
  if (*kind == FILE_KIND_COUNT)
    config_fault(config, 1,
                 "neither an engine file (groups throttle, intake, ...) nor a scenario (engine, duration_s, "
                 "timeline)");
  status = config_report(config, error);
  config_close(config);
  return status;
}

enum status file_kind_check(const char *path, enum file_kind *kind, struct error *error) {
  const enum status status = file_kind_of(path, kind, error);
  return status == STATUS_OK ? kinds[*kind].check(path, error) : status;
}
