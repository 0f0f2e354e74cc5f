#include "analysis/estimate/estimate_reading.h"
#include "base/attributes.h"
#include "base/near_miss.h"
#include "car/causes.h"
#include "car/conditions.h"
#include "commands/command.h"
#include "commands/data_folder.h"
#include "commands/listing.h"
#include "commands/solver_list.h"
#include "control/monitors.h"
#include "io/config/engine_file.h"
#include "io/config/scenario_file.h"
#include "plant/plant_params.h"
#include "sim/channels.h"

#include <string.h>

/* ---- what is in files ---- */

static const char *const file_columns[] = {"title", "file"};

static enum status fill_files(struct listing *listing, const char *subfolder,
                              void (*add)(struct listing *listing, const char *path), struct error *error) {
  struct data_folder_files files;
  const enum status status = data_folder_list(subfolder, &files, error);
  if (status != STATUS_OK) return status;
  for (size_t i = 0; i < files.count; i++) add(listing, files.paths[i]);
  data_folder_release(&files);
  return STATUS_OK;
}

static const char faulty[] = "(cannot be read: bladegap check tells why)";

static void add_engine(struct listing *listing, const char *path) {
  struct engine engine;
  struct error ignored; // `check` tells it in full
  error_clear(&ignored);
  const bool good = engine_file_read(path, &engine, &ignored) == STATUS_OK;
  listing_text(listing, good ? engine.title : faulty);
  listing_text(listing, path);
}

static void add_scenario(struct listing *listing, const char *path) {
  struct scenario scenario;
  struct error ignored;
  error_clear(&ignored);
  scenario_init(&scenario);
  const bool good = scenario_file_read(path, &scenario, &ignored) == STATUS_OK;
  listing_text(listing, good ? scenario.title : faulty);
  listing_text(listing, path);
  scenario_destroy(&scenario);
}

static enum status fill_engines(struct listing *listing, struct error *error) {
  return fill_files(listing, "models", add_engine, error);
}

static enum status fill_scenarios(struct listing *listing, struct error *error) {
  return fill_files(listing, "scenarios", add_scenario, error);
}

/* ---- what is in tables ---- */

static const char *const channel_columns[] = {"name", "decimals", "seen_by", "text"};

static enum status fill_channels(struct listing *listing, struct error *error) {
  (void)error;
  for (size_t i = 0; i < CHANNEL_COUNT; i++) {
    listing_text(listing, channel_rows[i].name);
    listing_real(listing, channel_rows[i].decimals);
    listing_text(listing, channel_rows[i].view == CHANNEL_INSTRUMENT ? "instrument" : "model only");
    listing_text(listing, channel_rows[i].text);
  }
  return STATUS_OK;
}

static const char *const fault_columns[] = {"name", "kind", "min", "max", "start", "text"};

static enum status fill_faults(struct listing *listing, struct error *error) {
  (void)error;
  for (size_t i = 0; i < condition_count; i++) {
    const struct condition_row *row = &condition_rows[i];
    listing_text(listing, row->field.key);
    listing_text(listing, condition_kind_names[row->kind]);
    listing_real(listing, row->field.min);
    listing_real(listing, row->field.max);
    listing_real(listing, row->initial);
    listing_text(listing, row->field.text);
  }
  return STATUS_OK;
}

static const char *const code_columns[] = {"code", "definition", "condition", "not_tested_if"};

static enum status fill_codes(struct listing *listing, struct error *error) {
  (void)error;
  for (size_t i = 0; i < MONITOR_CODE_COUNT; i++) {
    const struct monitor_row *row = &monitor_rows[i];
    char missing[400] = "";
    for (size_t bit = 0; bit < MONITOR_ENABLE_COUNT; bit++) {
      const size_t used = strlen(missing);
      if (row->enable & 1u << bit)
        snprintf(missing + used, sizeof missing - used, "%s%s", used ? "; " : "", monitor_enable_texts[bit]);
    }
    listing_text(listing, row->code);
    listing_text(listing, row->text);
    listing_text(listing, row->condition);
    listing_text(listing, missing);
  }
  return STATUS_OK;
}

static const char *const parameter_columns[] = {"group", "key", "kind", "min", "max", "text"};
static const char *const field_kind_names[] = {
    [FIELD_REAL] = "number",   [FIELD_SWITCH] = "switch", [FIELD_COUNT] = "count",
    [FIELD_CHOICE] = "choice", [FIELD_CURVE] = "curve",
};

/* What a key left out of the file stands for. */
static void add_default(const struct field *field, size_t size, char *text) {
  const size_t used = strlen(text);
  if (!field->has_default) return;
  if (field->kind == FIELD_CURVE)
    snprintf(text + used, size - used, "; may be left out");
  else if (field->kind == FIELD_CHOICE)
    snprintf(text + used, size - used, "; left out: %s", field->choices[(int)field->initial]);
  else
    snprintf(text + used, size - used, "; left out: %.9g", field->initial);
}

static void add_group(struct listing *listing, const struct field_group *group) {
  for (size_t i = 0; i < group->count; i++) {
    const struct field *field = &group->fields[i];
    char text[400];
    snprintf(text, sizeof text, "%s", field->text);
    for (size_t k = 0; field->kind == FIELD_CHOICE && field->choices[k]; k++) {
      const size_t used = strlen(text);
      snprintf(text + used, sizeof text - used, "%s%s", k ? ", " : ": ", field->choices[k]);
    }
    add_default(field, sizeof text, text);
    listing_text(listing, group->name);
    listing_text(listing, field->key);
    listing_text(listing, field_kind_names[field->kind]);
    if (field->kind == FIELD_CHOICE) {
      listing_none(listing);
      listing_none(listing);
    } else {
      listing_real(listing, field->min);
      listing_real(listing, field->max);
    }
    listing_text(listing, text);
  }
}

static enum status fill_parameters(struct listing *listing, struct error *error) {
  (void)error;
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) add_group(listing, &engine_parts[i].groups[j]);
  return STATUS_OK;
}

static const char *const reading_columns[] = {"name", "read_at", "with", "resolution", "text"};

static enum status fill_readings(struct listing *listing, struct error *error) {
  (void)error;
  for (size_t i = 0; i < ESTIMATE_QUANTITY_COUNT; i++) {
    const struct estimate_quantity_row *row = &estimate_quantities[i];
    char conditions[200] = "";
    for (size_t k = 0; k < ESTIMATE_CONDITION_COUNT; k++) {
      const size_t used = strlen(conditions);
      if (row->conditions & 1u << k)
        snprintf(conditions + used, sizeof conditions - used, "%s%s", used ? ", " : "", estimate_conditions[k].name);
    }
    listing_text(listing, row->name);
    listing_text(listing, conditions);
    listing_text(listing, estimate_instruments[row->instrument].name);
    listing_real(listing, row->resolution);
    listing_text(listing, row->text);
  }
  return STATUS_OK;
}

static const char *const condition_columns[] = {"name", "minutes", "text"};

static enum status fill_conditions(struct listing *listing, struct error *error) {
  (void)error;
  for (size_t i = 0; i < ESTIMATE_CONDITION_COUNT; i++) {
    listing_text(listing, estimate_conditions[i].name);
    listing_real(listing, estimate_conditions[i].minutes);
    listing_text(listing, estimate_conditions[i].text);
  }
  return STATUS_OK;
}

static const char *const cause_columns[] = {"name", "severity", "least", "most", "text"};

static enum status fill_causes(struct listing *listing, struct error *error) {
  (void)error;
  for (size_t i = 0; i < CAUSE_COUNT; i++) {
    listing_text(listing, cause_rows[i].name);
    if (i == CAUSE_nothing) {
      for (int k = 0; k < 3; k++) listing_none(listing);
    } else {
      listing_text(listing, cause_rows[i].condition);
      listing_real(listing, cause_rows[i].least);
      listing_real(listing, cause_rows[i].most);
    }
    listing_text(listing, cause_rows[i].text);
  }
  return STATUS_OK;
}

static const char *const solver_columns[] = {"name", "text"};

static enum status fill_solvers(struct listing *listing, struct error *error) {
  (void)error;
  for (size_t i = 0; i < SOLVER_LIST_COUNT; i++) {
    listing_text(listing, solver_list_rows[i]->name);
    listing_text(listing, solver_list_rows[i]->text);
  }
  return STATUS_OK;
}

static const char *const exit_code_columns[] = {"code", "text"};

static enum status fill_exit_codes(struct listing *listing, struct error *error) {
  (void)error;
  for (int i = 0; i < STATUS_COUNT; i++) {
    listing_real(listing, status_exit_code((enum status)i));
    listing_text(listing, status_text((enum status)i));
  }
  return STATUS_OK;
}

/* ---- the kinds ---- */

/* KIND(C name, name at the edge, columns) */
#define KIND_LIST(KIND) \
  KIND(engines, "engines", file_columns) \
  KIND(scenarios, "scenarios", file_columns) \
  KIND(channels, "channels", channel_columns) \
  KIND(faults, "faults", fault_columns) \
  KIND(codes, "codes", code_columns) \
  KIND(parameters, "parameters", parameter_columns) \
  KIND(readings, "readings", reading_columns) \
  KIND(conditions, "conditions", condition_columns) \
  KIND(causes, "causes", cause_columns) \
  KIND(solvers, "solvers", solver_columns) \
  KIND(exit_codes, "exit-codes", exit_code_columns)

static const struct {
  const char *const *columns;
  size_t column_count;
  enum status (*fill)(struct listing *listing, struct error *error);
} kind_rows[] = {
#define KIND(name, edge, columns) {columns, ARRAY_COUNT(columns), fill_##name},
    KIND_LIST(KIND)
#undef KIND
};

static const char *const kind_names[] = {
#define KIND(name, edge, columns) edge,
    KIND_LIST(KIND)
#undef KIND
        NULL,
};

static enum status unknown_kind(const char *word, struct error *error) {
  char list[256] = "";
  for (size_t i = 0; i < ARRAY_COUNT(kind_rows); i++) {
    const size_t used = strlen(list);
    snprintf(list + used, sizeof list - used, "%s%s", i ? ", " : "", kind_names[i]);
  }
  const char *near = near_miss_best(word, kind_names, ARRAY_COUNT(kind_rows));
  return error_set(error, STATUS_USAGE, "list: '%s' is none of %s%s%s%s", word, list, near ? "; did you mean " : "",
                   near ? near : "", near ? "?" : "");
}

static enum status run(const struct command_line *line, struct error *error) {
  size_t kind = 0;
  while (kind < ARRAY_COUNT(kind_rows) && strcmp(kind_names[kind], line->operands[0]) != 0) kind++;
  if (kind == ARRAY_COUNT(kind_rows)) return unknown_kind(line->operands[0], error);
  struct listing listing;
  listing_init(&listing, kind_names[kind], kind_rows[kind].column_count, kind_rows[kind].columns, line->json);
  enum status status = kind_rows[kind].fill(&listing, error);
  if (status == STATUS_OK && (line->json || !line->quiet)) status = listing_print(&listing, error);
  listing_destroy(&listing);
  return status;
}

const struct command command_list = {
    .name = "list",
    .text = "engines, scenarios, channels, faults, codes, parameters, and what an estimate knows",
    .operands = "KIND",
    .operand_least = 1,
    .operand_most = 1,
    .run = run,
    .details = "KIND is one of engines, scenarios, channels, faults, codes, parameters, readings, conditions, causes, "
               "solvers, exit-codes.\n\n"
               "faults are all the quantities that a scenario's timeline, --set and --vary know by name: faults, "
               "loads, "
               "the driver, the world. parameters are the keys of an engine file, with the range each may have. A "
               "name "
               "ends in its unit; ranges are in that unit. seen_by says whether a trade instrument shows a "
               "channel. readings are what bladegap estimate takes, conditions where it takes them, and causes what it "
               "looks for.\n\n"
               "  bladegap list faults\n"
               "  bladegap list channels --json",
    .operand_choices = kind_names,
};
