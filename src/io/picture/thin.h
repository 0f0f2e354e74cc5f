/* Less data, the same picture: from each column of pixels only what can be seen.
 *
 * Of all points in one pixel column a line drawing shows the first, the last, the lowest and the highest.
 * Keeping those, in their order, draws the same pixels (Jugel et al., "M4: a visualization-oriented time
 * series data aggregation", VLDB 2014, from memory). Peaks of one sample survive. */
#ifndef IO_PICTURE_THIN_H
#define IO_PICTURE_THIN_H

#include <stddef.h>

/* Points in order of x; y[i * stride] and x[i * stride]. A NaN in y is a gap in the line, in x the point
 * is left out. */
struct thin_series {
  const double *x, *y;
  size_t stride, count;
};

/* Writes the numbers of the points to keep, ascending, and returns how many; kept has room for
 * series->count. Of a run of NaN one is kept, so that the line breaks there. x_low to x_high is divided
 * into column_count pixel columns; points outside are left out. x_low < x_high, column_count > 0. */
size_t thin_points(const struct thin_series *series, double x_low, double x_high, size_t column_count, size_t *kept);

#endif
