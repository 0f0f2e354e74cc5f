#include "readings.h"

#include <math.h>

const char *const reading_set_names[READING_SET_COUNT] = {
#define SET(name, text) #name,
    READING_SET_LIST(SET)
#undef SET
};
const char *const reading_set_texts[READING_SET_COUNT] = {
#define SET(name, text) text,
    READING_SET_LIST(SET)
#undef SET
};

/* Where each quantity is read in a full test. Parts of a sum are left out beside the sum, and so is what needs tools or is another
 * form of the same signal. */
static unsigned read_at(enum estimate_quantity quantity) {
  switch (quantity) {
  case ESTIMATE_QUANTITY_stft_pct:
  case ESTIMATE_QUANTITY_ltft_pct:
  case ESTIMATE_QUANTITY_stft2_pct:
  case ESTIMATE_QUANTITY_ltft2_pct:
  case ESTIMATE_QUANTITY_learned_pct:
  case ESTIMATE_QUANTITY_effort_pct:
  case ESTIMATE_QUANTITY_tps1_v:
  case ESTIMATE_QUANTITY_maf_v:
  case ESTIMATE_QUANTITY_closed_gap_mm2:
  case ESTIMATE_QUANTITY_area_lost_pct:
    return 0;
  case ESTIMATE_QUANTITY_tps2_v:
    return ESTIMATE_AT_REST;
  case ESTIMATE_QUANTITY_manifold_kpa:
    return ESTIMATE_AT(idle) | ESTIMATE_AT(hold_2500);
  default:
    return estimate_quantities[quantity].conditions;
  }
}

static unsigned conditions_of(enum reading_set set, const struct engine *engine) {
  if (set == READING_SET_idle) return ESTIMATE_AT(idle);
  unsigned conditions = 0;
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++)
    if (estimate_forward_has(engine, (enum estimate_condition)c)) conditions |= 1u << c;
  return conditions;
}

bool readings_take(const struct engine *engine, enum reading_set set, const struct tested_car *car, bool then,
                   const struct reading_spread *spread, struct estimate_readings *readings, struct estimate_setting *setting) {
  const struct estimate_point *points = then ? car->then : car->now;
  const unsigned conditions = conditions_of(set, engine);
  readings->count = 0;
  estimate_setting_init(setting);
  setting->cold_coolant_c = round(points[ESTIMATE_CONDITION_cold_idle].values[CHANNEL_coolant_c]);
  for (int c = 0; c < ESTIMATE_CONDITION_COUNT; c++) {
    if (!(conditions & (1u << c))) continue;
    if (!points[c].runs) return false;
    for (int q = 0; q < ESTIMATE_QUANTITY_COUNT; q++) {
      const enum estimate_quantity quantity = (enum estimate_quantity)q;
      const bool scanned = estimate_quantities[q].instrument == ESTIMATE_STREAM;
      if ((read_at(quantity) & (1u << c)) && (scanned || set != READING_SET_idle))
        drawn_car_add_reading(&car->car, quantity, (enum estimate_condition)c, then, &points[c], spread->sd[c][q], readings);
    }
  }
  return true;
}
