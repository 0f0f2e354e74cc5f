#include "analysis/estimate/estimate_reading.h"

#include <math.h>

const struct estimate_condition_row estimate_conditions[ESTIMATE_CONDITION_COUNT] = {
#define CONDITION(name, minutes, needs, text) {#name, text, minutes, needs},
    ESTIMATE_CONDITION_LIST(CONDITION)
#undef CONDITION
};

const struct estimate_instrument_row estimate_instruments[ESTIMATE_INSTRUMENT_COUNT] = {
    {"stream", "data stream", 0.0},
    {"gauge", "gauge on the manifold", 5.0},
    {"meter", "voltmeter", 4.0},
    {"torch", "torch, intake pipe off, drive asleep and unplugged", 15.0},
    {"log", "log of a slow opening, against one of the same car clean", 5.0},
};

#define CHANNEL_OF(name) p->values[CHANNEL_##name]
#define QUANTITY(name, resolution, flicker, share, where, instrument, text, value) \
  static double value_of_##name(const struct estimate_point *p) { return value; }
ESTIMATE_QUANTITY_LIST(QUANTITY)
#undef QUANTITY
#undef CHANNEL_OF

const struct estimate_quantity_row estimate_quantities[ESTIMATE_QUANTITY_COUNT] = {
#define QUANTITY(name, resolution, flicker, share, where, instrument, text, value) \
  {#name, text, resolution, flicker, share, where, ESTIMATE_##instrument, value_of_##name},
    ESTIMATE_QUANTITY_LIST(QUANTITY)
#undef QUANTITY
};

static bool same_name(const char *given, const char *name) {
  for (; *given && *name; given++, name++)
    if (*given != *name && !(*given == '-' && *name == '_')) return false;
  return *given == *name;
}

int estimate_condition_find(const char *name) {
  for (int i = 0; i < ESTIMATE_CONDITION_COUNT; i++)
    if (same_name(name, estimate_conditions[i].name)) return i;
  return -1;
}

int estimate_quantity_find(const char *name) {
  for (int i = 0; i < ESTIMATE_QUANTITY_COUNT; i++)
    if (same_name(name, estimate_quantities[i].name)) return i;
  return -1;
}

double estimate_reading_sd(enum estimate_quantity quantity, double value, double resolution, double flicker) {
  const struct estimate_quantity_row *row = &estimate_quantities[quantity];
  const double count = isnan(resolution) ? row->resolution : resolution;
  const double noise = isnan(flicker) ? hypot(row->flicker, row->flicker_share * value) : flicker;
  return hypot(count / sqrt(12.0), noise);
}

double estimate_reading_plain(double value, int decimals) { return fabs(value) < 0.5 * pow(10.0, -decimals) ? 0.0 : value; }

const struct estimate_reading *estimate_readings_find(const struct estimate_readings *readings, enum estimate_quantity quantity,
                                                      enum estimate_condition condition) {
  for (size_t i = 0; i < readings->count; i++)
    if (readings->readings[i].quantity == quantity && readings->readings[i].condition == condition) return &readings->readings[i];
  return NULL;
}

const struct estimate_whole estimate_wholes[ESTIMATE_WHOLE_COUNT] = {
    {ESTIMATE_QUANTITY_trim_pct, {ESTIMATE_QUANTITY_stft_pct, ESTIMATE_QUANTITY_ltft_pct}, true},
    {ESTIMATE_QUANTITY_trim2_pct, {ESTIMATE_QUANTITY_stft2_pct, ESTIMATE_QUANTITY_ltft2_pct}, true},
    {ESTIMATE_QUANTITY_idle_air_pct, {ESTIMATE_QUANTITY_learned_pct, ESTIMATE_QUANTITY_effort_pct}, false},
};

void estimate_readings_join(struct estimate_readings *readings) {
  for (size_t j = 0; j < ESTIMATE_WHOLE_COUNT; j++)
    for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++) {
      const struct estimate_whole *w = &estimate_wholes[j];
      const enum estimate_condition condition = (enum estimate_condition)c;
      const struct estimate_reading *first = estimate_readings_find(readings, w->parts[0], condition);
      const struct estimate_reading *second = estimate_readings_find(readings, w->parts[1], condition);
      if (!w->joined || !first || !second || estimate_readings_find(readings, w->whole, condition)) continue;
      const double sum = first->value + second->value;
      struct estimate_reading *kept = &readings->readings[first - readings->readings];
      struct estimate_reading *gone = &readings->readings[second - readings->readings];
      *kept = (struct estimate_reading){w->whole, condition, sum, estimate_reading_sd(w->whole, sum, NAN, NAN)};
      *gone = readings->readings[--readings->count];
    }
}
