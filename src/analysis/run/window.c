#include "analysis/run/window.h"

#include "base/bounds.h"

#include <math.h>

/* First row whose time is not below t; rows are in order of time. */
static size_t first_at(const struct recording *recording, double time_s) {
  size_t low = 0, high = recording->row_count;
  while (low < high) {
    const size_t middle = (low + high) / 2;
    if (recording_value(recording, middle, CHANNEL_time_s) < time_s)
      low = middle + 1;
    else
      high = middle;
  }
  return low;
}

struct window window_between(const struct recording *recording, double from_s, double to_s) {
  const double hair = 1e-6;
  struct window window = {first_at(recording, from_s - hair), first_at(recording, to_s + hair)};
  if (window.last < window.first) window.last = window.first;
  return window;
}

double window_mean(const struct recording *recording, struct window window, enum channel channel) {
  double sum = 0.0;
  for (size_t row = window.first; row < window.last; row++) sum += recording_value(recording, row, channel);
  return window_rows(window) ? sum / (double)window_rows(window) : NAN;
}

double window_least(const struct recording *recording, struct window window, enum channel channel) {
  double least = INFINITY; // what is not a number is passed over
  for (size_t row = window.first; row < window.last; row++)
    least = bounds_smaller(recording_value(recording, row, channel), least);
  return least < INFINITY ? least : NAN;
}

double window_most(const struct recording *recording, struct window window, enum channel channel) {
  double most = -INFINITY;
  for (size_t row = window.first; row < window.last; row++) most = bounds_larger(recording_value(recording, row, channel), most);
  return most > -INFINITY ? most : NAN;
}
