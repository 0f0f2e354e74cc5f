#include "base/grid.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

void grid_init(struct grid *grid) { *grid = (struct grid){0}; }

void grid_destroy(struct grid *grid) {
  for (size_t i = 0; i < grid->column_count; i++) free(grid->columns[i]);
  for (size_t i = 0; i < grid->cell_count; i++) free(grid->cells[i].text);
  free(grid->columns);
  free(grid->cells);
  grid_init(grid);
}

/* Room for one more item; the room doubles. */
static bool grow(struct grid *grid, void **items, size_t *room, size_t count, size_t size) {
  if (count < *room) return true;
  const size_t wanted = *room ? 2 * *room : 16;
  void *bigger = reallocarray(*items, wanted, size);
  if (!bigger) {
    grid->failed = true;
    return false;
  }
  *items = bigger;
  *room = wanted;
  return true;
}

void grid_column(struct grid *grid, const char *name) {
  assert(grid->cell_count == 0);
  void *columns = grid->columns;
  const bool fits = grow(grid, &columns, &grid->column_room, grid->column_count, sizeof *grid->columns);
  grid->columns = columns;
  if (!fits) return;
  char *copy = strdup(name);
  if (copy)
    grid->columns[grid->column_count++] = copy;
  else
    grid->failed = true;
}

void grid_columns(struct grid *grid, const char *const *names, size_t count) {
  for (size_t i = 0; i < count; i++) grid_column(grid, names[i]);
}

static void add(struct grid *grid, char *text, double number) {
  void *cells = grid->cells;
  const bool fits = grow(grid, &cells, &grid->cell_room, grid->cell_count, sizeof *grid->cells);
  grid->cells = cells;
  if (fits)
    grid->cells[grid->cell_count++] = (struct grid_cell){text, number};
  else
    free(text);
}

void grid_text(struct grid *grid, const char *text) {
  char *copy = strdup(text);
  if (!copy) grid->failed = true;
  add(grid, copy, (double)NAN);
}

void grid_number(struct grid *grid, double number) { add(grid, NULL, number); }

void grid_nothing(struct grid *grid) { add(grid, NULL, (double)NAN); }

size_t grid_row_count(const struct grid *grid) { return grid->column_count ? grid->cell_count / grid->column_count : 0; }

const struct grid_cell *grid_cell_at(const struct grid *grid, size_t row, size_t column) {
  return &grid->cells[row * grid->column_count + column];
}

int grid_find(const struct grid *grid, const char *name) {
  for (size_t i = 0; i < grid->column_count; i++)
    if (strcmp(grid->columns[i], name) == 0) return (int)i;
  return -1;
}
