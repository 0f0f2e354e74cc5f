#include "analysis/lists/lists.h"

#include "analysis/estimate/estimate_reading.h"
#include "base/attributes.h"
#include "base/status.h"
#include "car/card.h"
#include "car/causes.h"
#include "car/conditions.h"
#include "car/engine.h"
#include "car/remedy.h"
#include "control/features.h"
#include "control/monitors.h"
#include "sim/channels.h"

#include <stdio.h>
#include <string.h>

static const char *const channels_columns[] = {"name", "decimals", "seen_by", "text"};

static void fill_channels(struct grid *grid) {
  for (size_t i = 0; i < CHANNEL_COUNT; i++) {
    grid_text(grid, channel_rows[i].name);
    grid_number(grid, channel_rows[i].decimals);
    grid_text(grid, channel_rows[i].view == CHANNEL_INSTRUMENT ? "instrument" : "model only");
    grid_text(grid, channel_rows[i].text);
  }
}

static const char *const faults_columns[] = {"name", "kind", "min", "max", "start", "needs", "text"};

/* What an engine must have, "cable" or "drive, two_tracks"; nothing if any will do. */
static void add_needs(struct grid *grid, unsigned needs) {
  char text[200] = "";
  for (size_t i = 0; i < FEATURE_COUNT; i++) {
    const size_t used = strlen(text);
    if (needs & 1u << i) snprintf(text + used, sizeof text - used, "%s%s", used ? ", " : "", feature_names[i]);
  }
  grid_text(grid, text);
}

static void fill_faults(struct grid *grid) {
  for (size_t i = 0; i < condition_count; i++) {
    const struct condition_row *row = &condition_rows[i];
    grid_text(grid, row->field.key);
    grid_text(grid, condition_kind_names[row->kind]);
    grid_number(grid, row->field.min);
    grid_number(grid, row->field.max);
    grid_number(grid, row->initial);
    add_needs(grid, row->needs);
    grid_text(grid, row->field.text);
  }
}

static const char *const codes_columns[] = {"code", "definition", "condition", "not_tested_if"};

static void fill_codes(struct grid *grid) {
  for (size_t i = 0; i < MONITOR_CODE_COUNT; i++) {
    const struct monitor_row *row = &monitor_rows[i];
    char missing[400] = "";
    for (size_t bit = 0; bit < MONITOR_ENABLE_COUNT; bit++) {
      const size_t used = strlen(missing);
      if (row->enable & 1u << bit)
        snprintf(missing + used, sizeof missing - used, "%s%s", used ? "; " : "", monitor_enable_texts[bit]);
    }
    grid_text(grid, row->code);
    grid_text(grid, row->text);
    grid_text(grid, row->condition);
    grid_text(grid, missing);
  }
}

static const char *const parameters_columns[] = {"group", "key", "kind", "min", "max", "default", "text"};
static const char *const field_kind_names[] = {
    [FIELD_REAL] = "number",   [FIELD_SWITCH] = "switch", [FIELD_COUNT] = "count",
    [FIELD_CHOICE] = "choice", [FIELD_CURVE] = "curve",
};

/* What a key left out of the file stands for. */
static void add_default(struct grid *grid, const struct field *field) {
  if (!field->has_default || field->kind == FIELD_CURVE)
    grid_nothing(grid);
  else if (field->kind == FIELD_CHOICE)
    grid_text(grid, field->choices[(int)field->initial]);
  else
    grid_number(grid, field->initial);
}

static void add_group(struct grid *grid, const struct field_group *group) {
  for (size_t i = 0; i < group->count; i++) {
    const struct field *field = &group->fields[i];
    char text[400];
    snprintf(text, sizeof text, "%s", field->text);
    for (size_t k = 0; field->kind == FIELD_CHOICE && field->choices[k]; k++) {
      const size_t used = strlen(text);
      snprintf(text + used, sizeof text - used, "%s%s", k ? ", " : ": ", field->choices[k]);
    }
    grid_text(grid, group->name);
    grid_text(grid, field->key);
    grid_text(grid, field_kind_names[field->kind]);
    if (field->kind == FIELD_CHOICE) {
      grid_nothing(grid);
      grid_nothing(grid);
    } else {
      grid_number(grid, field->min);
      grid_number(grid, field->max);
    }
    add_default(grid, field);
    grid_text(grid, text);
  }
}

static void fill_parameters(struct grid *grid) {
  for (size_t i = 0; i < ENGINE_PART_COUNT; i++)
    for (size_t j = 0; j < *engine_parts[i].count; j++) add_group(grid, &engine_parts[i].groups[j]);
}

static const char *const readings_columns[] = {"name", "read_at", "with", "resolution", "text"};

static void fill_readings(struct grid *grid) {
  for (size_t i = 0; i < ESTIMATE_QUANTITY_COUNT; i++) {
    const struct estimate_quantity_row *row = &estimate_quantities[i];
    char conditions[200] = "";
    for (size_t k = 0; k < ESTIMATE_CONDITION_COUNT; k++) {
      const size_t used = strlen(conditions);
      if (row->conditions & 1u << k)
        snprintf(conditions + used, sizeof conditions - used, "%s%s", used ? ", " : "", estimate_conditions[k].name);
    }
    grid_text(grid, row->name);
    grid_text(grid, conditions);
    grid_text(grid, estimate_instruments[row->instrument].name);
    grid_number(grid, row->resolution);
    grid_text(grid, row->text);
  }
}

static const char *const conditions_columns[] = {"name", "minutes", "text"};

static void fill_conditions(struct grid *grid) {
  for (size_t i = 0; i < ESTIMATE_CONDITION_COUNT; i++) {
    grid_text(grid, estimate_conditions[i].name);
    grid_number(grid, estimate_conditions[i].minutes);
    grid_text(grid, estimate_conditions[i].text);
  }
}

static const char *const causes_columns[] = {"name", "severity", "least", "most", "text"};

static void fill_causes(struct grid *grid) {
  for (size_t i = 0; i < CAUSE_COUNT; i++) {
    grid_text(grid, cause_rows[i].name);
    if (i == CAUSE_nothing || i == CAUSE_unlisted) {
      for (int k = 0; k < 3; k++) grid_nothing(grid);
    } else {
      grid_text(grid, cause_rows[i].condition);
      grid_number(grid, cause_rows[i].least);
      grid_number(grid, cause_rows[i].most);
    }
    grid_text(grid, cause_rows[i].text);
  }
}

static const char *const costs_columns[] = {"key", "least", "most", "usual", "text"};
static void fill_costs(struct grid *grid) {
  for (size_t g = 0; g < remedy_cost_group_count; g++)
    for (size_t i = 0; i < remedy_cost_groups[g].count; i++) {
      const struct field *field = &remedy_cost_groups[g].fields[i];
      char key[96];
      snprintf(key, sizeof key, "%s.%s", remedy_cost_groups[g].name, field->key);
      grid_text(grid, key);
      grid_number(grid, field->min);
      grid_number(grid, field->max);
      grid_number(grid, field->initial);
      grid_text(grid, field->text);
    }
}

static const char *const card_columns[] = {"name", "unit", "min", "max", "sets", "question"};

static void fill_card(struct grid *grid) {
  for (size_t i = 0; i < CARD_COUNT; i++) {
    const struct card_row *row = &card_rows[i];
    char words[200] = "";
    for (size_t k = 0; row->choices && row->choices[k]; k++) {
      const size_t used = strlen(words);
      snprintf(words + used, sizeof words - used, "%s%s", k ? ", " : "", row->choices[k]);
    }
    grid_text(grid, row->key);
    grid_text(grid, row->choices ? words : row->unit);
    if (row->choices) {
      grid_nothing(grid);
      grid_nothing(grid);
    } else {
      grid_number(grid, row->least);
      grid_number(grid, row->most);
    }
    grid_text(grid, row->sets);
    grid_text(grid, row->question);
  }
}

static const char *const exit_codes_columns[] = {"code", "text"};

static void fill_exit_codes(struct grid *grid) {
  for (int i = 0; i < STATUS_COUNT; i++) {
    grid_number(grid, status_exit_code((enum status)i));
    grid_text(grid, status_text((enum status)i));
  }
}

/* ---- All of them ---- */

static const struct {
  const char *const *columns;
  size_t column_count;
  void (*fill)(struct grid *grid);
} rows[LISTS_COUNT] = {
#define LIST(name, edge) {name##_columns, ARRAY_COUNT(name##_columns), fill_##name},
    LISTS_LIST(LIST)
#undef LIST
};

const char *const lists_names[LISTS_COUNT] = {
#define LIST(name, edge) edge,
    LISTS_LIST(LIST)
#undef LIST
};

void lists_fill(enum lists_kind kind, struct grid *grid) {
  grid_columns(grid, rows[kind].columns, rows[kind].column_count);
  rows[kind].fill(grid);
}
