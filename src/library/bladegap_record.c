/* Records of runs: what was done and when, as text. */
#include "base/digest.h"
#include "library/bladegap_engine.h"
#include "library/bladegap_run.h"
#include "sim/record.h"

#include <math.h>
#include <string.h>

/* ---- Of a run ---- */

uint64_t bladegap_run_digest(const bladegap_run *run) {
  const struct scenario *record = &run->record;
  uint64_t digest = digest_add(DIGEST_OF_NOTHING, &record->seed, sizeof record->seed);
  digest = digest_add(digest, &record->settled, sizeof record->settled);
  digest = digest_add(digest, &record->running, sizeof record->running);
  for (size_t i = 0; i < condition_count; i++) {
    const double value = conditions_value(&record->initial, &condition_rows[i].field);
    digest = digest_add(digest, &value, sizeof value);
  }
  for (size_t i = 0; i < record->step_count; i++) {
    const struct scenario_step *step = &record->steps[i];
    digest = digest_add(digest, &step->at_s, sizeof step->at_s);
    digest = digest_add(digest, &step->ramp_s, sizeof step->ramp_s);
    digest = digest_add(digest, &step->key, sizeof step->key);
    digest = digest_add(digest, &step->action, sizeof step->action);
    digest = digest_add(digest, step->note, strlen(step->note));
    for (size_t k = 0; k < step->set_count; k++) {
      digest = digest_add(digest, &step->sets[k].condition, sizeof step->sets[k].condition);
      digest = digest_add(digest, &step->sets[k].value, sizeof step->sets[k].value);
    }
  }
  return digest;
}

/* A record names its engine: it must be as it ships. */
static int check_engine(const bladegap_run *run, struct edge edge) {
  bladegap_engine *shipped = bladegap_engine_shipped(run->engine->name, edge.text, edge.size);
  if (!shipped) return BLADEGAP_USAGE;
  const bool same = engine_digest(&shipped->engine) == engine_digest(run->engine);
  bladegap_engine_destroy(shipped);
  return same ? BLADEGAP_OK
              : edge_fail(edge, STATUS_USAGE, "a record names its engine, and this is no longer %s: parameters were set",
                          run->engine->name);
}

int bladegap_run_record(const bladegap_run *run, char *record, size_t size, size_t *needed, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  int code = bladegap_run_ready(run, edge);
  if (code != BLADEGAP_OK) return code;
  if (run->unrecorded) return edge_fail(edge, STATUS_USAGE, "a record cannot describe what was done: %s", run->unrecorded);
  code = check_engine(run, edge);
  if (code != BLADEGAP_OK) return code;
  const size_t length = record_write(&run->record, run->engine->name, record, record ? size : 0);
  if (needed) *needed = length + 1;
  if (!record || length < size) return BLADEGAP_OK;
  return edge_fail(edge, STATUS_USAGE, "the record takes %zu bytes, there are %zu", length + 1, size);
}

/* ---- Back to a run ---- */

static enum status begin(bladegap_run *run, const char *source, struct error *error) {
  char unknown[ENGINE_TEXT_SIZE];
  bladegap_engine *shipped = bladegap_engine_shipped(run->scenario.engine_path, unknown, sizeof unknown);
  if (!shipped) return error_set(error, STATUS_BAD_CONFIG, "%s:1: %s", source, unknown);
  *run->engine = shipped->engine;
  bladegap_engine_destroy(shipped);
  if (run->scenario.solver[0] && strcmp(run->scenario.solver, solver_fast.name) != 0)
    return error_set(error, STATUS_BAD_CONFIG,
                     "%s: the record was made with the solver %s; this library has %s only, and would "
                     "not give the same",
                     source, run->scenario.solver, solver_fast.name);
  return bladegap_run_begin(run, (double)NAN, error);
}

bladegap_run *bladegap_run_replay(const char *source, const char *record, size_t size, double *end_s, char *error,
                                  size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!source || !record) {
    edge_fail(edge, STATUS_USAGE, "the record or the name of its source are NULL");
    return NULL;
  }
  bladegap_run *run = bladegap_run_allocate(edge);
  if (!run) return NULL;
  struct error what;
  error_clear(&what);
  enum status status = record_read(record, size, source, &run->scenario, &what);
  if (status == STATUS_OK) status = begin(run, source, &what);
  if (status != STATUS_OK) {
    edge_tell(edge, &what);
    bladegap_run_destroy(run);
    return NULL;
  }
  if (end_s) *end_s = run->scenario.duration_s;
  return run;
}
