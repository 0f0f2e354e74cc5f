#include "library/bladegap_table.h"

#include "analysis/lists/lists.h"
#include "library/shipped.h"

#include <stdlib.h>
#include <string.h>

bladegap_table *bladegap_table_create(struct edge edge) {
  bladegap_table *table = calloc(1, sizeof *table);
  if (table)
    grid_init(&table->grid);
  else
    edge_fail(edge, STATUS_NO_MEMORY, "out of memory for a table");
  return table;
}

bladegap_table *bladegap_table_finish(bladegap_table *table, struct edge edge) {
  if (!table->grid.failed) return table;
  edge_fail(edge, STATUS_NO_MEMORY, "out of memory for a table");
  bladegap_table_destroy(table);
  return NULL;
}

void bladegap_table_destroy(bladegap_table *table) {
  if (!table) return;
  grid_destroy(&table->grid);
  free(table);
}

/* ---- Lists ---- */

static void fill_engines(struct grid *grid) {
  static const char *const columns[] = {"name", "title"};
  grid_columns(grid, columns, 2);
  for (size_t i = 0; i < shipped_engine_count; i++) {
    grid_text(grid, shipped_engines[i].name);
    grid_text(grid, shipped_engines[i].title);
  }
}

bladegap_table *bladegap_list(const char *kind, char *error, size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!kind) {
    edge_fail(edge, STATUS_USAGE, "a list of what? The kind is NULL");
    return NULL;
  }
  const char *names[LISTS_COUNT + 1] = {"engines"};
  memcpy(names + 1, lists_names, sizeof lists_names);
  const int found = edge_find(kind, names, LISTS_COUNT + 1);
  if (found < 0) {
    edge_unknown(edge, "list", kind, names, LISTS_COUNT + 1);
    return NULL;
  }
  bladegap_table *table = bladegap_table_create(edge);
  if (!table) return NULL;
  if (found == 0)
    fill_engines(&table->grid);
  else
    lists_fill((enum lists_kind)(found - 1), &table->grid);
  return bladegap_table_finish(table, edge);
}

/* ---- Cells ---- */

size_t bladegap_table_row_count(const bladegap_table *table) { return table ? grid_row_count(&table->grid) : 0; }

size_t bladegap_table_column_count(const bladegap_table *table) { return table ? table->grid.column_count : 0; }

const char *bladegap_table_column(const bladegap_table *table, size_t index) {
  return table && index < table->grid.column_count ? table->grid.columns[index] : NULL;
}

/* Index of a column; -1 and a text if there is none. */
static int find_column(const bladegap_table *table, const char *column, struct edge edge) {
  const int found = table && column ? grid_find(&table->grid, column) : -1;
  if (!table)
    edge_fail(edge, STATUS_USAGE, "the table is NULL");
  else if (!column)
    edge_fail(edge, STATUS_USAGE, "the name of the column is NULL");
  else if (found < 0)
    edge_unknown(edge, "column", column, (const char *const *)table->grid.columns, table->grid.column_count);
  return found;
}

static const struct grid_cell *find_cell(const bladegap_table *table, size_t row, const char *column, struct edge edge) {
  const int found = find_column(table, column, edge);
  if (found < 0) return NULL;
  const size_t count = grid_row_count(&table->grid);
  if (row < count) return grid_cell_at(&table->grid, row, (size_t)found);
  edge_fail(edge, STATUS_USAGE, "there is no row %zu: the table has %zu, counted from 0", row, count);
  return NULL;
}

int bladegap_table_text(const bladegap_table *table, size_t row, const char *column, const char **text, char *error,
                        size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!text) return edge_fail(edge, STATUS_USAGE, "there is nowhere to put the text: NULL");
  const struct grid_cell *cell = find_cell(table, row, column, edge);
  if (!cell) return BLADEGAP_USAGE;
  *text = cell->text;
  return BLADEGAP_OK;
}

int bladegap_table_number(const bladegap_table *table, size_t row, const char *column, double *number, char *error,
                          size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  if (!number) return edge_fail(edge, STATUS_USAGE, "there is nowhere to put the number: NULL");
  const struct grid_cell *cell = find_cell(table, row, column, edge);
  if (!cell) return BLADEGAP_USAGE;
  *number = cell->number;
  return BLADEGAP_OK;
}

int bladegap_table_numbers(const bladegap_table *table, const char *column, double *numbers, size_t count, char *error,
                           size_t error_size) {
  const struct edge edge = edge_begin(error, error_size);
  const int found = find_column(table, column, edge);
  if (found < 0) return BLADEGAP_USAGE;
  const size_t rows = grid_row_count(&table->grid);
  if (count != rows) return edge_fail(edge, STATUS_USAGE, "room for %zu numbers, the table has %zu rows", count, rows);
  if (!numbers && count > 0) return edge_fail(edge, STATUS_USAGE, "there is nowhere to put the numbers: NULL");
  for (size_t i = 0; i < count; i++) numbers[i] = grid_cell_at(&table->grid, i, (size_t)found)->number;
  return BLADEGAP_OK;
}
