#include "analysis/live/live_bench.h"

#include "analysis/settle/launch.h"
#include "sim/record.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_SIZE = 512 };

struct live_bench *live_bench_create(void) {
  struct live_bench *bench = calloc(1, sizeof *bench);
  if (!bench) return NULL;
  scenario_init(&bench->scenario);
  scenario_init(&bench->record);
  recording_init(&bench->events);
  return bench;
}

void live_bench_destroy(struct live_bench *bench) {
  if (!bench) return;
  simulation_destroy(bench->sim);
  recording_destroy(&bench->events);
  scenario_destroy(&bench->scenario);
  scenario_destroy(&bench->record);
  free(bench);
}

void live_bench_idle(struct scenario *scenario, const char *engine_path, const char *engine_name) {
  snprintf(scenario->name, sizeof scenario->name, "live-%.100s", engine_name);
  snprintf(scenario->title, sizeof scenario->title, "Live: %.100s", engine_name);
  snprintf(scenario->engine_path, sizeof scenario->engine_path, "%s", engine_path);
  scenario_set_start(scenario, SCENARIO_START_SETTLED);
}

/* ---- time ---- */

static enum status note_event(const struct recording_event *event, void *user, struct error *error) {
  return recording_add_event(user, event, error);
}

static void keep_row(struct live_bench *bench) {
  static const int channels[LIVE_BENCH_TRACE_COUNT] = {
#define TRACE(channel) CHANNEL_##channel,
      LIVE_BENCH_TRACE_LIST(TRACE)
#undef TRACE
  };
  struct live_bench_history *history = &bench->history;
  const size_t at = (history->begin + history->count) % LIVE_BENCH_HISTORY_ROWS;
  for (int i = 0; i < LIVE_BENCH_TRACE_COUNT; i++) history->values[at][i] = bench->row[channels[i]];
  if (history->count < LIVE_BENCH_HISTORY_ROWS)
    history->count++;
  else
    history->begin = (history->begin + 1) % LIVE_BENCH_HISTORY_ROWS;
}

static enum status look(struct live_bench *bench, struct error *error) {
  const enum status status = simulation_sample(bench->sim, bench->row, error);
  if (status == STATUS_OK) keep_row(bench);
  return status;
}

enum status live_bench_begin(struct live_bench *bench, const struct solver_vtable *solver, struct error *error) {
  const struct solver_options options = solver_options_default();
  bench->scenario.film_on_demand = true;
  enum status status = launch_scenario(&bench->engine, &bench->scenario, solver, &options, &bench->sim, error);
  if (status != STATUS_OK) return status;
  simulation_watch(bench->sim, note_event, &bench->events);
  status = simulation_keep(bench->sim, &bench->record, error);
  return status == STATUS_OK ? look(bench, error) : status;
}

enum status live_bench_pass(struct live_bench *bench, long ticks, long *passed, struct error *error) {
  const long most = (long)SCENARIO_TIME_MOST_S * LIVE_BENCH_TICKS_PER_S;
  enum status status = STATUS_OK;
  *passed = 0;
  while (status == STATUS_OK && *passed < ticks && bench->sim->tick < most) {
    status = simulation_tick(bench->sim, error);
    if (status == STATUS_OK && bench->sim->tick % LIVE_BENCH_ROW_TICKS == 0) status = look(bench, error);
    if (status == STATUS_OK) (*passed)++;
  }
  return status;
}

const double *live_bench_history_row(const struct live_bench *bench, size_t index) {
  return bench->history.values[(bench->history.begin + index) % LIVE_BENCH_HISTORY_ROWS];
}

/* ---- a typed line ---- */

/* What the reader of records says, without the place, which is always the same line. */
static enum status say(const struct error *faults, struct error *error) {
  static const char place[] = "typed:2: ";
  char first[LINE_SIZE];
  size_t size = strcspn(faults->text, "\n");
  if (size >= sizeof first) size = sizeof first - 1;
  memcpy(first, faults->text, size);
  first[size] = '\0';
  const bool placed = strncmp(first, place, sizeof place - 1) == 0;
  return error_set(error, STATUS_USAGE, "%.400s", placed ? first + sizeof place - 1 : first);
}

enum status live_bench_read_step(const char *line, struct scenario_step *step, struct error *error) {
  char text[LINE_SIZE];
  const int size = snprintf(text, sizeof text, RECORD_MARK " %d x\n1 %s\n2 end\n", RECORD_FORMAT, line);
  if (size < 0 || size >= LINE_SIZE) return error_set(error, STATUS_USAGE, "that is too long for one action");
  if (strncmp(line, "end", 3) == 0) return error_set(error, STATUS_USAGE, "the session ends with the key q");
  if (strchr(line, '\n')) return error_set(error, STATUS_USAGE, "an action is one line");
  struct scenario read;
  struct error faults;
  error_clear(&faults);
  scenario_init(&read);
  const enum status status = record_read(text, (size_t)size, "typed", &read, &faults);
  enum status said = STATUS_OK;
  if (status == STATUS_NO_MEMORY)
    said = error_set(error, status, "%.400s", faults.text);
  else if (status != STATUS_OK)
    said = say(&faults, error);
  else if (read.step_count != 1)
    said = error_set(error, STATUS_USAGE, "type a condition and its value, as in: film_um 40 (bladegap list faults has all)");
  else
    *step = read.steps[0];
  scenario_destroy(&read);
  return said;
}
