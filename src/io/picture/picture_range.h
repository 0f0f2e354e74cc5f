/* The ends of an axis, the same for every picture: gnuplot is never left to find them, as a line that does not move would have no
 * range, and a lesson is often just such a line. */
#ifndef IO_PICTURE_PICTURE_RANGE_H
#define IO_PICTURE_PICTURE_RANGE_H

#include <stdbool.h>

/* What values reach; empty: low above high. */
struct picture_range {
  double low, high;
};

struct picture_range picture_range_empty(void);

/* Takes a value in; NaN, infinities and what is too large to be drawn (beyond 1e30) are passed over. */
void picture_range_add(struct picture_range *range, double value);

/* The axis for these values: at least least_span wide (above 0), with a margin, never below zero where no value is. from_zero: zero
 * is in view. Of an empty range an axis from zero. Always low < high, both finite. */
struct picture_range picture_range_axis(struct picture_range values, double least_span, bool from_zero);

/* The least span for a channel, by the unit its name ends in: what is less is no movement to look at. */
double picture_range_least_span(const char *channel_name);

/* That unit as an axis shows it; "" if the name has none. */
const char *picture_range_unit(const char *channel_name);

#endif
