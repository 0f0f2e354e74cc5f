/* What an estimate came to, as numbers and tables. */
#include "base/attributes.h"
#include "library/bladegap_estimate.h"
#include "library/bladegap_table.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { CAUTIONS_SIZE = 400, NOTE_SIZE = 500 }; // the names of all; a sentence of a log

/* ---- Numbers ---- */

/* NUMBER(name, value from estimate e and findings f) */
// clang-format off
#define NUMBER_LIST(NUMBER) \
  NUMBER(p_value, e->p_value) \
  NUMBER(baseline_p_value, e->baseline_p_value) \
  NUMBER(film_probability, e->film_probability) \
  NUMBER(film_um, e->film_best_um) \
  NUMBER(film_low_um, e->film_low_um) \
  NUMBER(film_high_um, e->film_high_um) \
  NUMBER(area_loss_pct, f->area_loss_best_pct) \
  NUMBER(area_loss_low_pct, f->area_loss_low_pct) \
  NUMBER(area_loss_high_pct, f->area_loss_high_pct) \
  NUMBER(entropy_bits, f->next.entropy_bits) \
  NUMBER(learned_now_pct, f->after.applies ? f->after.learned_now_pct : (double)NAN) \
  NUMBER(relearn_s, f->after.applies ? f->after.relearn_s : (double)NAN) \
  NUMBER(cure_probability, f->after.applies ? f->after.cure_probability : (double)NAN)
// clang-format on

static const char *const number_names[] = {
#define NUMBER(name, value) #name,
    NUMBER_LIST(NUMBER)
#undef NUMBER
};

int bladegap_estimate_value(const bladegap_estimate *estimate, const char *name, double *value, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int code = bladegap_estimate_done(estimate, edge);
  if (code != BLADEGAP_OK) return code;
  if (!name) return edge_fail(edge, STATUS_USAGE, "the name of the number is NULL");
  if (!value) return edge_fail(edge, STATUS_USAGE, "there is nowhere to put the number: NULL");
  const int found = edge_find(name, number_names, ARRAY_COUNT(number_names));
  if (found < 0) return edge_unknown(edge, "number of an estimate", name, number_names, ARRAY_COUNT(number_names));
  const struct estimate *e = estimate->estimate;
  const struct estimate_findings *f = estimate->findings;
  const double values[] = {
#define NUMBER(name, value) value,
      NUMBER_LIST(NUMBER)
#undef NUMBER
  };
  *value = values[found];
  return BLADEGAP_OK;
}

/* ---- Tables ---- */

static void put_severity(const struct estimate_hypothesis *h, size_t place, struct grid *grid) {
  if (place < h->fault.count) {
    grid_text(grid, cause_rows[h->fault.cause[place]].condition);
    grid_number(grid, h->mean[place]);
    grid_number(grid, fmin(h->low[place], h->high[place]));
    grid_number(grid, fmax(h->low[place], h->high[place]));
  } else {
    for (int i = 0; i < 4; i++) grid_nothing(grid);
  }
}

static const char *name_of(const struct estimate_hypothesis *h, char name[ESTIMATE_NAME_SIZE]) {
  estimate_hypothesis_name(h, name);
  return name;
}

static void fill_causes(const bladegap_estimate *e, struct grid *grid) {
  const struct estimate_findings *f = e->findings;
  static const char *const columns[] = {"cause", "text", "prior",        "probability", "p_value", "severity_of", "severity",
                                        "low",   "high", "severity2_of", "severity2",   "low2",    "high2"};
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  char name[ESTIMATE_NAME_SIZE];
  for (size_t i = 0; i < f->estimate->count; i++) {
    const struct estimate_hypothesis *h = &f->estimate->hypotheses[f->estimate->order[i]];
    grid_text(grid, name_of(h, name));
    grid_text(grid, cause_rows[estimate_hypothesis_cause(h)].text);
    grid_number(grid, h->prior);
    grid_number(grid, h->probability);
    grid_number(grid, h->p_value);
    put_severity(h, 0, grid);
    put_severity(h, 1, grid);
  }
}

static void fill_comparisons(const bladegap_estimate *e, struct grid *grid) {
  const struct estimate_findings *f = e->findings;
  static const char *const columns[] = {"reading", "condition", "value", "sd", "cause", "expected", "spread", "off", "weight"};
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  char name[ESTIMATE_NAME_SIZE];
  for (size_t i = 0; i < f->reading_count; i++) {
    const struct estimate_reading *r = &f->estimate->problem.readings->readings[f->order[i]];
    for (size_t k = 0; k < f->leading_count; k++) {
      const struct estimate_comparison *c = &f->comparisons[k][f->order[i]];
      grid_text(grid, estimate_quantities[r->quantity].name);
      grid_text(grid, estimate_conditions[r->condition].name);
      grid_number(grid, r->value);
      grid_number(grid, r->sd);
      grid_text(grid, name_of(&f->estimate->hypotheses[f->leading[k]], name));
      grid_number(grid, c->expected);
      grid_number(grid, c->spread);
      grid_number(grid, c->off);
      grid_number(grid, c->weight);
    }
  }
}

/* "fingers, leads": their sentences are in the table "cautions". */
static const char *caution_names(unsigned cautions, char text[CAUTIONS_SIZE]) {
  size_t used = 0;
  text[0] = '\0';
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((cautions >> i) & 1u)
      used += (size_t)snprintf(text + used, CAUTIONS_SIZE - used, "%s%s", used ? ", " : "", caution_rows[i].name);
  return text;
}

static void fill_next(const bladegap_estimate *e, struct grid *grid) {
  const struct estimate_findings *f = e->findings;
  static const char *const columns[] = {"test", "text", "gain_bits", "minutes", "cautions"};
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  char cautions[CAUTIONS_SIZE];
  for (size_t i = 0; i < f->next.count; i++) {
    grid_text(grid, f->next.tests[i].name);
    grid_text(grid, f->next.tests[i].text);
    grid_number(grid, f->next.tests[i].gain_bits);
    grid_number(grid, f->next.tests[i].minutes);
    grid_text(grid, caution_names(f->next.tests[i].cautions, cautions));
  }
}

static void put_range(const struct estimate_range *range, struct grid *grid) {
  grid_number(grid, range->middle);
  grid_number(grid, range->low);
  grid_number(grid, range->high);
}

static void fill_after(const bladegap_estimate *e, struct grid *grid) {
  const struct estimate_findings *f = e->findings;
  static const char *const columns[] = {"reading",   "condition",  "now",       "now_low",       "now_high",      "stale",
                                        "stale_low", "stale_high", "relearned", "relearned_low", "relearned_high"};
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  for (size_t i = 0; f->after.applies && i < f->after.count; i++) {
    const struct estimate_after_reading *r = &f->after.readings[i];
    grid_text(grid, estimate_quantities[r->quantity].name);
    grid_text(grid, estimate_conditions[r->condition].name);
    put_range(&r->now, grid);
    put_range(&r->stale, grid);
    put_range(&r->relearned, grid);
  }
}

static void fill_why(const bladegap_estimate *e, struct grid *grid) {
  const struct estimate_findings *f = e->findings;
  grid_column(grid, "text");
  for (size_t i = 0; i < f->why.count; i++) grid_text(grid, f->why.claims[i].text);
}

static void fill_limits(const bladegap_estimate *e, struct grid *grid) {
  const struct estimate_findings *f = e->findings;
  const char *limits[ESTIMATE_FINDINGS_LIMIT_MAX];
  const size_t count = estimate_findings_limits(f->estimate, limits);
  grid_column(grid, "text");
  for (size_t i = 0; i < count; i++) grid_text(grid, limits[i]);
}

static void fill_cautions(const bladegap_estimate *e, struct grid *grid) {
  const struct estimate_findings *f = e->findings;
  const unsigned cautions = estimate_findings_cautions(f, f->next.count);
  static const char *const columns[] = {"text", "caution"};
  grid_columns(grid, columns, ARRAY_COUNT(columns));
  for (int i = 0; i < CAUTION_COUNT; i++)
    if ((cautions >> i) & 1u) {
      grid_text(grid, caution_rows[i].text);
      grid_text(grid, caution_rows[i].name);
    }
  grid_text(grid, caution_disclaimer);
  grid_text(grid, "");
}

/* A line of the notes is a row. */
static void fill_notes(const bladegap_estimate *e, struct grid *grid) {
  grid_column(grid, "text");
  for (const char *at = e->notes; at && *at;) {
    char line[NOTE_SIZE];
    const size_t length = strcspn(at, "\n");
    snprintf(line, sizeof line, "%.*s", (int)length, at);
    grid_text(grid, line);
    at += length + (at[length] == '\n');
  }
}

/* TABLE(name at the edge) */
#define TABLE_LIST(TABLE) \
  TABLE(causes) \
  TABLE(comparisons) \
  TABLE(next) \
  TABLE(after) \
  TABLE(why) \
  TABLE(limits) \
  TABLE(cautions) \
  TABLE(notes)

static const char *const table_names[] = {
#define TABLE(name) #name,
    TABLE_LIST(TABLE)
#undef TABLE
};

static void (*const table_fills[])(const bladegap_estimate *e, struct grid *grid) = {
#define TABLE(name) fill_##name,
    TABLE_LIST(TABLE)
#undef TABLE
};

bladegap_table *bladegap_estimate_table(const bladegap_estimate *estimate, const char *kind, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (bladegap_estimate_done(estimate, edge) != BLADEGAP_OK) return NULL;
  const int found = kind ? edge_find(kind, table_names, ARRAY_COUNT(table_names)) : -1;
  bladegap_table *table = NULL;
  if (!kind)
    edge_fail(edge, STATUS_USAGE, "a table of what? The kind is NULL");
  else if (found < 0)
    edge_unknown(edge, "table of an estimate", kind, table_names, ARRAY_COUNT(table_names));
  else
    table = bladegap_table_create(edge);
  if (!table) return NULL;
  table_fills[found](estimate, &table->grid);
  return bladegap_table_finish(table, edge);
}
