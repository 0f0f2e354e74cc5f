/* Acting on a run. */
#include "library/bladegap_engine.h"
#include "library/bladegap_run.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HAIR_S 1e-9 // far below a tick, above what decimals round off

/* ---- At the next tick ---- */

int bladegap_run_set(bladegap_run *run, const char *condition, double value, double ramp_s, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = bladegap_run_ready(run, edge);
  if (code != BLADEGAP_OK) return code;
  if (!condition) return edge_fail(edge, STATUS_USAGE, "the name of the condition is NULL");
  struct error what;
  error_clear(&what);
  const enum status status = simulation_set(run->sim, condition, value, ramp_s, &what);
  return status == STATUS_OK ? BLADEGAP_OK : edge_tell(edge, &what);
}

static int play(bladegap_run *run, const struct scenario_step *step, struct edge edge) {
  struct error what;
  error_clear(&what);
  return simulation_play(run->sim, step, &what) == STATUS_OK ? BLADEGAP_OK : edge_tell(edge, &what);
}

/* A word out of a list that ends in NULL, -1 and a text if it is none. */
static int find_word(const char *what, const char *word, const char *const *words, struct edge edge) {
  size_t count = 0;
  while (words[count]) count++;
  const int found = word ? edge_find(word, words, count) : -1;
  if (!word)
    edge_fail(edge, STATUS_USAGE, "the name of the %s is NULL", what);
  else if (found < 0)
    edge_unknown(edge, what, word, words, count);
  return found;
}

int bladegap_run_key(bladegap_run *run, const char *key, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = bladegap_run_ready(run, edge);
  if (code != BLADEGAP_OK) return code;
  const int found = find_word("position of the key", key, computer_key_names, edge);
  return found < 0 ? BLADEGAP_USAGE : play(run, &(struct scenario_step){.key = found}, edge);
}

int bladegap_run_act(bladegap_run *run, const char *action, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = bladegap_run_ready(run, edge);
  if (code != BLADEGAP_OK) return code;
  const int found = find_word("action", action, scenario_action_names + 1, edge); // "none" is none
  if (found < 0) return BLADEGAP_USAGE;
  return play(run, &(struct scenario_step){.key = -1, .action = (enum scenario_action)(found + 1)}, edge);
}

int bladegap_run_note(bladegap_run *run, const char *note, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = bladegap_run_ready(run, edge);
  if (code != BLADEGAP_OK) return code;
  if (!note) return edge_fail(edge, STATUS_USAGE, "the note is NULL");
  struct scenario_step step = {.key = -1};
  if (strlen(note) >= sizeof step.note)
    return edge_fail(edge, STATUS_USAGE, "the note is %zu bytes long; allowed: 1 to %zu", strlen(note), sizeof step.note - 1);
  snprintf(step.note, sizeof step.note, "%s", note);
  return play(run, &step, edge);
}

int bladegap_run_change_engine(bladegap_run *run, const bladegap_engine *engine, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  int code = bladegap_run_ready(run, edge);
  if (code == BLADEGAP_OK) code = bladegap_engine_ready(engine, edge);
  if (code != BLADEGAP_OK) return code;
  struct engine *other = calloc(1, sizeof *other);
  if (!other) return edge_fail(edge, STATUS_NO_MEMORY, "out of memory for an engine");
  *other = engine->engine;
  struct error what;
  error_clear(&what);
  const enum status status = simulation_change_engine(run->sim, other, &what);
  struct engine *unused = status == STATUS_OK ? run->engine : other;
  if (status == STATUS_OK) {
    run->engine = other;
    run->unrecorded = "its engine was changed while it ran";
  }
  free(unused);
  return status == STATUS_OK ? BLADEGAP_OK : edge_tell(edge, &what);
}

/* ---- Saving ---- */

/* What stands before the block of the simulation: whose record it belongs to. */
struct head {
  uint64_t record, check; // check: the same turned over, so that a head that is not whole is noticed
};

size_t bladegap_run_save_size(const bladegap_run *run) { return run ? sizeof(struct head) + simulation_save_size(run->sim) : 0; }

int bladegap_run_save(const bladegap_run *run, void *memory, size_t size, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = bladegap_run_ready(run, edge);
  if (code != BLADEGAP_OK) return code;
  const size_t wanted = bladegap_run_save_size(run);
  if (!memory || size < wanted)
    return edge_fail(edge, STATUS_USAGE, "there are %zu bytes to save the run in; it needs %zu", memory ? size : 0, wanted);
  const uint64_t record = bladegap_run_digest(run);
  const struct head head = {record, ~record};
  memcpy(memory, &head, sizeof head);
  struct error what;
  error_clear(&what);
  const enum status status = simulation_save(run->sim, (char *)memory + sizeof head, size - sizeof head, &what);
  return status == STATUS_OK ? BLADEGAP_OK : edge_tell(edge, &what);
}

int bladegap_run_restore(bladegap_run *run, const void *memory, size_t size, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = bladegap_run_ready(run, edge);
  if (code != BLADEGAP_OK) return code;
  struct head head = {0};
  if (memory && size >= sizeof head) memcpy(&head, memory, sizeof head);
  if (head.check != ~head.record) return edge_fail(edge, STATUS_USAGE, "this memory contains no completely saved run");
  struct error what;
  error_clear(&what);
  if (simulation_restore(run->sim, (const char *)memory + sizeof head, size - sizeof head, &what) != STATUS_OK)
    return edge_tell(edge, &what);
  if (head.record != bladegap_run_digest(run)) run->unrecorded = "it goes on from what another run had saved";
  struct recording *events = &run->events; // what has not happened yet is forgotten; that of this moment has if it was looked at
  const double yet_s = simulation_acts_s(run->sim) - HAIR_S;
  while (events->event_count > 0 && events->events[events->event_count - 1].time_s > yet_s) events->event_count--;
  return BLADEGAP_OK;
}
