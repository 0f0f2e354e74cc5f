#include "io/picture/picture_range.h"

#include "base/attributes.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#define MARGIN_RATIO  0.06
#define DRAWABLE_MOST 1e30
#define FINEST_RATIO  1e-4 // of the values themselves: gnuplot counts in doubles, but its tics in seven digits

/* Everyday steps of each unit: an idle that moves by less than 100 rpm stands still on a picture. */
static const struct unit_row {
  const char *ending, *text;
  double span;
} unit_rows[] = {
    {"_rpm", "rpm", 200.0}, {"_pct", "%", 5.0},  {"_deg", "°", 1.0},        {"_kpa", "kPa", 5.0},      {"_gps", "g/s", 0.5},
    {"_mm2", "mm²", 2.0},   {"_um", "µm", 10.0}, {"_steps", "steps", 10.0}, {"_nm", "N·m", 5.0},       {"_v", "V", 1.0},
    {"_a", "A", 1.0},       {"_c", "°C", 10.0},  {"_s", "s", 10.0},         {"lambda", "lambda", 0.1},
};

struct picture_range picture_range_empty(void) {
  return (struct picture_range){INFINITY, -INFINITY};
}

void picture_range_add(struct picture_range *range, double value) {
  if (!(fabs(value) <= DRAWABLE_MOST)) return;
  range->low = fmin(range->low, value);
  range->high = fmax(range->high, value);
}

struct picture_range picture_range_axis(struct picture_range values, double least_span, bool from_zero) {
  if (!(values.low <= values.high)) values = (struct picture_range){0.0, 0.0};
  if (from_zero) values = (struct picture_range){fmin(values.low, 0.0), fmax(values.high, 0.0)};
  const bool positive = values.low >= 0.0;
  least_span = fmax(least_span, FINEST_RATIO * fmax(fabs(values.low), fabs(values.high)));
  const double missing = fmax(least_span - (values.high - values.low), 0.0);
  struct picture_range axis = {values.low - 0.5 * missing, values.high + 0.5 * missing};
  const double margin = MARGIN_RATIO * (axis.high - axis.low);
  axis = (struct picture_range){axis.low - margin, axis.high + margin};
  if (!positive || axis.low >= 0.0) return axis;
  axis.high = fmax(axis.high, axis.high - axis.low - margin); // what would lie below zero is wanted above
  axis.low = 0.0;
  return axis;
}

static const struct unit_row *unit_of(const char *channel_name) {
  const size_t length = strlen(channel_name);
  for (size_t i = 0; i < ARRAY_COUNT(unit_rows); i++) {
    const size_t size = strlen(unit_rows[i].ending);
    if (length >= size && strcmp(channel_name + length - size, unit_rows[i].ending) == 0) return &unit_rows[i];
  }
  return NULL;
}

double picture_range_least_span(const char *channel_name) {
  const struct unit_row *unit = unit_of(channel_name);
  return unit ? unit->span : 1.0;
}

const char *picture_range_unit(const char *channel_name) {
  const struct unit_row *unit = unit_of(channel_name);
  return unit ? unit->text : "";
}
