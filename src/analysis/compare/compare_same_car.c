#include "analysis/compare/compare_same_car.h"

#include "analysis/compare/compare_effects.h"

#include <math.h>

// Beyond what a film, its cleaning, another day or another instrument does to one car; each several times the largest that a shipped
// engine shows between heavily filmed and clean (tests/unit/analysis/test_compare.c). Invented.
#define TARGET_RPM      40.0 // both warm, nothing switched on; by 2 rpm per K of coolant, which may be 15 K apart
#define TARGET_SIGN_RPM 20.0 // by so much it is one sign among others
#define AIR_RATIO       1.6  // air at idle per turn, one against the other
#define KEY_ON_PCT      2.5  // position with the key on
#define POSITION_PCT    8.0  // position at idle
#define PRESSURE_RATIO  1.6

static double ratio(double one, double other) { return fmax(one / other, other / one); }

static bool has(const struct compare_side *side, enum estimate_quantity quantity) {
  for (size_t i = 0; i < side->readings.count; i++)
    if (side->readings.readings[i].quantity == quantity) return true;
  return false;
}

/* Signals that a car has or has not; a log may merely leave one out, so a difference must be both ways. */
static bool other_signals(const struct compare_side *before, const struct compare_side *after) {
  static const enum estimate_quantity kinds[] = {ESTIMATE_QUANTITY_maf_gps, ESTIMATE_QUANTITY_map_kpa,
                                                 ESTIMATE_QUANTITY_bypass_steps, ESTIMATE_QUANTITY_charge_kpa,
                                                 ESTIMATE_QUANTITY_trim2_pct};
  bool only_before = false, only_after = false;
  for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
    only_before = only_before || (has(before, kinds[i]) && !has(after, kinds[i]));
    only_after = only_after || (has(after, kinds[i]) && !has(before, kinds[i]));
  }
  return only_before && only_after;
}

bool compare_same_car(const struct compare_side *before, const struct compare_side *after, struct compare_result *result) {
  const enum estimate_condition idle = ESTIMATE_CONDITION_idle;
  const double speed[2] = {compare_effects_value(before, idle, ESTIMATE_QUANTITY_speed_rpm),
                           compare_effects_value(after, idle, ESTIMATE_QUANTITY_speed_rpm)};
  int signs = 0;
  const struct compare_effect *e = compare_effect_find(result, idle, ESTIMATE_QUANTITY_target_rpm);
  if (e && fabs(e->change) > TARGET_SIGN_RPM) {
    signs += fabs(e->change) > TARGET_RPM ? 2 : 1; // be it another car or a load: what is compared is not one idle
    compare_effects_say(&result->why,
                        "The idle target was %.0f rpm and is %.0f: another car, or something was switched on in one of the two.",
                        e->before, e->after);
  }
  e = compare_effect_find(result, idle, ESTIMATE_QUANTITY_maf_gps);
  if (e && ratio(e->before / speed[0], e->after / speed[1]) > AIR_RATIO) {
    signs++;
    compare_effects_say(&result->why, "Air at idle was %.2f g/s and is %.2f: per turn, that is an engine of a different size.",
                        e->before, e->after);
  }
  e = compare_effect_find(result, idle, ESTIMATE_QUANTITY_map_kpa);
  if (e && ratio(e->before, e->after) > PRESSURE_RATIO) {
    signs++;
    compare_effects_say(&result->why, "Manifold pressure at idle was %.0f kPa and is %.0f.", e->before, e->after);
  }
  e = compare_effect_find(result, idle, ESTIMATE_QUANTITY_tp_pct);
  if (e && fabs(e->change) > POSITION_PCT) {
    signs += 2;
    compare_effects_say(&result->why, "Throttle position at idle was %.1f %% and is %.1f: different tracks, or different scales.",
                        e->before, e->after);
  }
  e = compare_effect_find(result, ESTIMATE_CONDITION_key_on, ESTIMATE_QUANTITY_tp_pct);
  if (e && fabs(e->change) > KEY_ON_PCT) {
    signs++;
    compare_effects_say(&result->why,
                        "Position with the key on was %.1f %% and is %.1f: another track, or the part was replaced.", e->before,
                        e->after);
  }
  if (has(before, ESTIMATE_QUANTITY_bypass_steps) != has(after, ESTIMATE_QUANTITY_bypass_steps)) {
    signs++;
    compare_effects_say(&result->why, "An idle bypass valve is read in only one of the two.");
  }
  if (other_signals(before, after)) {
    signs += 2;
    compare_effects_say(&result->why, "The two logs have different kinds of signals; each has some that the other lacks.");
  }
  return signs < 2;
}
