/* What belongs to a run, as tables. */
#include "base/attributes.h"
#include "car/caution.h"
#include "control/features.h"
#include "library/bladegap_run.h"
#include "library/bladegap_table.h"
#include "physics/orifice.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void fill_events(const bladegap_run *run, struct grid *grid) {
  static const char *const columns[] = {"time_s", "kind", "code", "value", "text"};
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  for (size_t i = 0; i < run->events.event_count; i++) {
    const struct recording_event *event = &run->events.events[i];
    const bool of_code = event->kind == RECORDING_CODE;
    grid_number(grid, event->time_s);
    grid_text(grid, recording_kind_names[event->kind]);
    grid_text(grid, of_code ? monitor_rows[event->code].code : "");
    grid_text(grid, of_code                         ? monitors_code_state_name((enum code_state)event->value)
                    : event->kind == RECORDING_NOTE ? ""
                                                    : recording_value_names[event->value]);
    grid_text(grid, event->text);
  }
}

static void fill_codes(const bladegap_run *run, struct grid *grid) {
  static const char *const columns[] = {"code", "state", "lamp", "definition"};
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  struct scan scan = {0};
  simulation_scan(run->sim, &scan);
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const struct monitor_state *state = &scan.monitors.code[i];
    if (state->code == CODE_NONE) continue;
    grid_text(grid, monitor_rows[i].code);
    grid_text(grid, monitors_code_state_name(state->code));
    grid_number(grid, state->lamp);
    grid_text(grid, monitor_rows[i].text);
  }
}

/* What keeps a monitor from testing now, "the engine was cold, the battery was low"; nothing if it tests. */
static void add_missing(struct grid *grid, unsigned missing) {
  char text[400] = "";
  for (size_t i = 0; i < MONITOR_ENABLE_COUNT; i++) {
    const size_t used = strlen(text);
    if (missing >> i & 1u) snprintf(text + used, sizeof text - used, "%s%s", used ? ", " : "", monitor_enable_texts[i]);
  }
  grid_text(grid, text);
}

static void fill_monitors(const bladegap_run *run, struct grid *grid) {
  static const char *const columns[] = {"code",  "state",  "tested", "failed",   "missing",  "now",
                                        "limit", "beyond", "unit",   "lasted_s", "needed_s", "condition"};
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  const struct computer_state *computer = &run->sim->vehicle.computer;
  const struct computer_params *params = &run->engine->computer;
  const unsigned possible = monitors_possible(features_of(&run->engine->plant, params));
  for (int i = 0; i < MONITOR_CODE_COUNT; i++) {
    const struct monitor_row *row = &monitor_rows[i];
    const struct monitor_state *state = &computer->memory.monitors.code[i];
    if (row->enable & ~possible) continue;
    const unsigned missing = row->enable & ~computer->measures.enabled;
    grid_text(grid, row->code);
    grid_text(grid, monitors_code_state_name(state->code));
    grid_number(grid, state->tested);
    grid_number(grid, state->failed);
    add_missing(grid, missing);
    grid_number(grid, missing ? (double)NAN : row->measure(&computer->measures) * row->user_factor);
    grid_number(grid, row->threshold * row->user_factor);
    grid_text(grid, row->user_factor < 0.0 ? "below" : "above");
    grid_text(grid, row->user_unit);
    grid_number(grid, state->failing_s);
    grid_number(grid, row->debounce_ratio * params->supervision.debounce_s);
    grid_text(grid, row->condition);
  }
}

static void fill_air(const bladegap_run *run, struct grid *grid) {
  static const char *const columns[] = {"name", "value"};
  const struct vehicle *vehicle = &run->sim->vehicle;
  const double ambient_pa = conditions_ambient_pa(&vehicle->conditions);
  const struct {
    const char *name;
    double value;
  } rows[] = {{"ambient_kpa", ambient_pa / UNITS_PA_PER_KPA},
              {"pressure_ratio", vehicle->state.manifold_pressure_pa / ambient_pa},
              {"critical_ratio", orifice_critical_ratio()}};
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  for (size_t i = 0; i < ARRAY_COUNT(rows); i++) {
    grid_text(grid, rows[i].name);
    grid_number(grid, rows[i].value);
  }
}

static void fill_torch(const bladegap_run *run, struct grid *grid) {
  static const char *const columns[] = {"text"};
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  grid_text(grid, caution_torch(features_of(&run->engine->plant, &run->engine->computer)));
}

static const char *const kind_names[] = {"events", "codes", "monitors", "air", "torch"};
static void (*const kind_fills[])(const bladegap_run *run, struct grid *grid) = {fill_events, fill_codes, fill_monitors, fill_air,
                                                                                 fill_torch};

bladegap_table *bladegap_run_table(const bladegap_run *run, const char *kind, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (bladegap_run_ready(run, edge) != BLADEGAP_OK) return NULL;
  const int found = kind ? edge_find(kind, kind_names, ARRAY_COUNT(kind_names)) : -1;
  bladegap_table *table = NULL;
  if (!kind)
    edge_fail(edge, STATUS_USAGE, "a table of what? The kind is NULL");
  else if (found < 0)
    edge_unknown(edge, "table of a run", kind, kind_names, ARRAY_COUNT(kind_names));
  else
    table = bladegap_table_create(edge);
  if (!table) return NULL;
  kind_fills[found](run, &table->grid);
  return bladegap_table_finish(table, edge);
}
