/* Rows and named columns of cells, each a text, a number or nothing: what lists and answers are handed over in. */
#ifndef BASE_GRID_H
#define BASE_GRID_H

#include "base/attributes.h"

#include <stdbool.h>
#include <stddef.h>

struct grid_cell {
  char *text;    // owned; NULL: a number, or nothing
  double number; // NaN: a text, or nothing
};

struct grid {
  size_t column_count, column_room;
  char **columns; // owned
  size_t cell_count, cell_room;
  struct grid_cell *cells; // row after row; owned
  bool failed;             // out of memory: something is missing
};

void grid_init(struct grid *grid);
void grid_destroy(struct grid *grid);

/* Columns, all of them before the first cell. */
void grid_column(struct grid *grid, const char *name);
void grid_columns(struct grid *grid, const char *const *names, size_t count);

/* The next cell: row after row, column after column. */
void grid_text(struct grid *grid, const char *text);
void grid_number(struct grid *grid, double number);
void grid_nothing(struct grid *grid);

/* Whole rows. */
size_t grid_row_count(const struct grid *grid);

const struct grid_cell *grid_cell_at(const struct grid *grid, size_t row, size_t column);

/* Index of the column with this name, -1 if none. */
int grid_find(const struct grid *grid, const char *name);

#endif
