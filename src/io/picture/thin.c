#include "io/picture/thin.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>

/* The points of one pixel column; NONE before the first. */
#define NONE ((size_t)-1)
struct column {
  size_t number;
  size_t first, lowest, highest, last;
};

static const struct column empty_column = {NONE, NONE, NONE, NONE, NONE};

static double y_at(const struct thin_series *series, size_t i) { return series->y[i * series->stride]; }

/* Appends a point unless it was the one before. */
static size_t keep(size_t *kept, size_t count, size_t point) {
  if (count > 0 && kept[count - 1] == point) return count;
  kept[count] = point;
  return count + 1;
}

static size_t keep_column(const struct column *column, size_t *kept, size_t count) {
  if (column->first == NONE) return count;
  const bool low_first = column->lowest < column->highest;
  count = keep(kept, count, column->first);
  count = keep(kept, count, low_first ? column->lowest : column->highest);
  count = keep(kept, count, low_first ? column->highest : column->lowest);
  return keep(kept, count, column->last);
}

size_t thin_points(const struct thin_series *series, double x_low, double x_high, size_t column_count, size_t *kept) {
  assert(x_low < x_high && column_count > 0);
  struct column column = empty_column;
  size_t count = 0;
  bool in_gap = true; // a gap before the first point need not be shown
  for (size_t i = 0; i < series->count; i++) {
    const double x = series->x[i * series->stride], y = y_at(series, i);
    if (!(x >= x_low && x <= x_high)) continue;
    if (isnan(y)) {
      count = keep_column(&column, kept, count);
      column = empty_column;
      if (!in_gap) count = keep(kept, count, i);
      in_gap = true;
      continue;
    }
    in_gap = false;
    const size_t number = (size_t)((x - x_low) / (x_high - x_low) * (double)column_count);
    if (number != column.number) {
      count = keep_column(&column, kept, count);
      column = (struct column){number, i, i, i, i};
    }
    if (y < y_at(series, column.lowest)) column.lowest = i;
    if (y > y_at(series, column.highest)) column.highest = i;
    column.last = i;
  }
  return keep_column(&column, kept, count);
}
