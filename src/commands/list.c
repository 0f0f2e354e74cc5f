#include "analysis/lists/lists.h"
#include "base/attributes.h"
#include "base/near_miss.h"
#include "commands/command.h"
#include "commands/listing.h"
#include "commands/solver_list.h"
#include "io/config/data_folder.h"
#include "io/config/engine_file.h"
#include "io/config/scenario_file.h"
#include "io/scantool/log_shapes.h"
#include "io/scantool/log_signals.h"

#include <math.h>
#include <string.h>

/* ---- what is in files ---- */

static const char *const file_columns[] = {"title", "file"};

static enum status fill_files(struct grid *grid, const char *subfolder, void (*add)(struct grid *grid, const char *path),
                              struct error *error) {
  struct data_folder_files files;
  const enum status status = data_folder_list(subfolder, &files, error);
  if (status != STATUS_OK) return status;
  grid_columns(grid, file_columns, ARRAY_COUNT(file_columns));
  for (size_t i = 0; i < files.count; i++) add(grid, files.paths[i]);
  data_folder_release(&files);
  return STATUS_OK;
}

static const char faulty[] = "(cannot be read: bladegap check shows why)";

static void add_engine(struct grid *grid, const char *path) {
  struct engine engine;
  struct error ignored; // `check` tells it in full
  error_clear(&ignored);
  const bool good = engine_file_read(path, &engine, &ignored) == STATUS_OK;
  grid_text(grid, good ? engine.title : faulty);
  grid_text(grid, path);
}

static void add_scenario(struct grid *grid, const char *path) {
  struct scenario scenario;
  struct error ignored;
  error_clear(&ignored);
  scenario_init(&scenario);
  const bool good = scenario_file_read(path, &scenario, &ignored) == STATUS_OK;
  grid_text(grid, good ? scenario.title : faulty);
  grid_text(grid, path);
  scenario_destroy(&scenario);
}

static enum status fill_engines(struct grid *grid, struct error *error) { return fill_files(grid, "models", add_engine, error); }

static enum status fill_scenarios(struct grid *grid, struct error *error) {
  return fill_files(grid, "scenarios", add_scenario, error);
}

/* ---- what is in tables ---- */

static const char *const solver_columns[] = {"name", "text"};

static enum status fill_solvers(struct grid *grid, struct error *error) {
  (void)error;
  grid_columns(grid, solver_columns, ARRAY_COUNT(solver_columns));
  for (size_t i = 0; i < SOLVER_LIST_COUNT; i++) {
    grid_text(grid, solver_list_rows[i]->name);
    grid_text(grid, solver_list_rows[i]->text);
  }
  return STATUS_OK;
}

static const char *const shape_columns[] = {"name", "text"};

static enum status fill_log_shapes(struct grid *grid, struct error *error) {
  (void)error;
  grid_columns(grid, shape_columns, ARRAY_COUNT(shape_columns));
  for (size_t i = 0; i < log_shapes_count; i++) {
    grid_text(grid, log_shapes[i].name);
    grid_text(grid, log_shapes[i].text);
  }
  return STATUS_OK;
}

static const char *const signal_columns[] = {"short", "name", "unit", "id", "every", "noise", "usual"};

static enum status fill_log_signals(struct grid *grid, struct error *error) {
  (void)error;
  grid_columns(grid, signal_columns, ARRAY_COUNT(signal_columns));
  for (size_t i = 0; i < log_signals_count; i++) {
    const struct log_signal *signal = &log_signals[i];
    char identifier[8] = "";
    if (signal->identifier) snprintf(identifier, sizeof identifier, "%02X", signal->identifier);
    grid_text(grid, signal->abbreviation);
    grid_text(grid, signal->name);
    grid_text(grid, signal->unit);
    grid_text(grid, identifier);
    grid_number(grid, signal->every);
    grid_number(grid, signal->noise);
    grid_text(grid, signal->usual ? "yes" : "no");
  }
  return STATUS_OK;
}

static const char *const key_columns[] = {"place", "key", "kind", "min", "max", "otherwise", "text"};

/* Keys of a scenario file; a choice has its words behind the text. */
static enum status fill_keys(struct grid *grid, struct error *error) {
  (void)error;
  grid_columns(grid, key_columns, ARRAY_COUNT(key_columns));
  for (size_t i = 0; i < scenario_file_key_count; i++) {
    const struct scenario_file_key *key = &scenario_file_keys[i];
    const bool range = key->field && key->field->kind != FIELD_CHOICE;
    char text[400];
    snprintf(text, sizeof text, "%s", key->text);
    for (size_t k = 0; key->field && key->field->kind == FIELD_CHOICE && key->field->choices[k]; k++) {
      const size_t used = strlen(text);
      snprintf(text + used, sizeof text - used, "%s%s", k ? ", " : "; one of ", key->field->choices[k]);
    }
    grid_text(grid, key->place);
    grid_text(grid, key->key);
    grid_text(grid, key->kind);
    if (range)
      grid_number(grid, key->field->min);
    else
      grid_nothing(grid);
    if (range)
      grid_number(grid, key->field->max);
    else
      grid_nothing(grid);
    grid_text(grid, key->required ? "(required)" : key->otherwise);
    grid_text(grid, text);
  }
  return STATUS_OK;
}

/* ---- the kinds ---- */

/* KIND(C name, name at the edge) */
#define KIND_LIST(KIND) \
  KIND(engines, "engines") \
  KIND(scenarios, "scenarios") \
  KIND(keys, "keys") \
  LISTS_LIST(KIND) \
  KIND(solvers, "solvers") \
  KIND(log_shapes, "log-shapes") \
  KIND(log_signals, "log-signals")

#define LIST(name, edge) \
  static enum status fill_##name(struct grid *grid, struct error *error) { \
    (void)error; \
    lists_fill(LISTS_##name, grid); \
    return STATUS_OK; \
  }
LISTS_LIST(LIST)
#undef LIST

static enum status (*const fills[])(struct grid *grid, struct error *error) = {
#define KIND(name, edge) fill_##name,
    KIND_LIST(KIND)
#undef KIND
};

static const char *const kind_names[] = {
#define KIND(name, edge) edge,
    KIND_LIST(KIND)
#undef KIND
        NULL,
};

static enum status unknown_kind(const char *word, struct error *error) {
  char list[256] = "";
  for (size_t i = 0; i < ARRAY_COUNT(fills); i++) {
    const size_t used = strlen(list);
    snprintf(list + used, sizeof list - used, "%s%s", i ? ", " : "", kind_names[i]);
  }
  const char *near = near_miss_best(word, kind_names, ARRAY_COUNT(fills));
  return error_set(error, STATUS_USAGE, "list: '%s' is none of %s%s%s%s", word, list, near ? "; did you mean " : "",
                   near ? near : "", near ? "?" : "");
}

static enum status print(const char *name, const struct grid *grid, bool as_json, struct error *error) {
  struct listing listing;
  listing_init(&listing, name, grid->column_count, (const char *const *)grid->columns, as_json);
  for (size_t i = 0; i < grid->cell_count; i++) {
    const struct grid_cell *cell = &grid->cells[i];
    if (cell->text)
      listing_text(&listing, cell->text);
    else if (isnan(cell->number))
      listing_none(&listing);
    else
      listing_real(&listing, cell->number);
  }
  return listing_print(&listing, error);
}

static enum status run(const struct command_line *line, struct error *error) {
  size_t kind = 0;
  while (kind < ARRAY_COUNT(fills) && strcmp(kind_names[kind], line->operands[0]) != 0) kind++;
  if (kind == ARRAY_COUNT(fills)) return unknown_kind(line->operands[0], error);
  struct grid grid;
  grid_init(&grid);
  enum status status = fills[kind](&grid, error);
  if (grid.failed) status = error_set(error, STATUS_NO_MEMORY, "out of memory for a list");
  if (status == STATUS_OK && (line->json || !line->quiet)) status = print(kind_names[kind], &grid, line->json, error);
  grid_destroy(&grid);
  return status;
}

const struct command command_list = {
    .name = "list",
    .text = "engines, scenarios, channels, faults, codes, parameters, and what an estimate knows",
    .operands = "KIND",
    .operand_least = 1,
    .operand_most = 1,
    .run = run,
    .details =
        "KIND is one of engines, scenarios, keys, channels, faults, codes, parameters, readings, conditions, causes, costs, "
        "card, solvers, log-shapes, log-signals, exit-codes.\n\nfaults are all the quantities that a scenario's timeline, --set "
        "and --vary know by name: faults, loads, the driver, the world. needs says what an engine must have for one to have an "
        "effect. keys are those of a scenario file, parameters those of an engine file, with the range each may have; a file may "
        "give only what differs from another (like = \"four-16\";). A name ends in its unit; ranges are in that unit. seen_by "
        "says whether a trade instrument shows a channel. readings are what bladegap estimate takes, conditions where it takes "
        "them, causes what it looks for, and costs what it weighs, by the keys of its --costs FILE. log-shapes and log-signals "
        "are those of bladegap run --as-log.\n\n  bladegap list faults\n  bladegap list channels --json",
    .operand_choices = kind_names,
};
