#include "analysis/compare/compare_effects.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#define CORRECTION_SD_RATIO 0.3 // of a correction by the model: it is not the car; invented
#define COOLANT_TOLD_K      5.0 // differences worth a sentence; common practice, no source
#define INTAKE_TOLD_K       10.0
#define AMBIENT_TOLD_KPA    1.0
#define UNGOVERNED_FROM_RPM 15.0 // off its target by more, idle control is at its end
#define BATTERY_TOLD_V      0.4

void compare_effects_say(struct compare_words *words, const char *format, ...) {
  if (words->count == COMPARE_WORDS_MAX) return;
  va_list values;
  va_start(values, format);
  vsnprintf(words->text[words->count++], COMPARE_WORDS_SIZE, format, values);
  va_end(values);
}

/* ---- Readings of a side ---- */

static bool reading_of(const struct compare_side *side, enum estimate_condition condition, enum estimate_quantity quantity,
                       double *value, double *sd) {
  const struct estimate_reading *found = estimate_readings_find(&side->readings, quantity, condition);
  if (found) {
    *value = found->value;
    *sd = found->sd;
    return true;
  }
  for (size_t i = 0; i < ESTIMATE_WHOLE_COUNT; i++) {
    if (estimate_wholes[i].whole != quantity) continue;
    const struct estimate_reading *one = estimate_readings_find(&side->readings, estimate_wholes[i].parts[0], condition);
    const struct estimate_reading *other = estimate_readings_find(&side->readings, estimate_wholes[i].parts[1], condition);
    if (!one || !other) return false;
    *value = one->value + other->value;
    *sd = hypot(one->sd, other->sd);
    return true;
  }
  return false;
}

double compare_effects_value(const struct compare_side *side, enum estimate_condition condition,
                             enum estimate_quantity quantity) {
  double value, sd;
  return reading_of(side, condition, quantity, &value, &sd) ? value : NAN;
}

/* ---- Conditions ---- */

static bool difference(const struct compare_side *before, const struct compare_side *after, enum estimate_condition condition,
                       enum estimate_quantity quantity, double *change) {
  const double one = compare_effects_value(before, condition, quantity),
               other = compare_effects_value(after, condition, quantity);
  const bool known = isfinite(one) && isfinite(other);
  if (known) *change = other - one;
  return known;
}

struct compare_unlike compare_effects_unlike(const struct compare_side *before, const struct compare_side *after) {
  struct compare_unlike u = {0};
  u.coolant_known = difference(before, after, ESTIMATE_CONDITION_idle, ESTIMATE_QUANTITY_coolant_c, &u.coolant_k);
  u.intake_known = difference(before, after, ESTIMATE_CONDITION_idle, ESTIMATE_QUANTITY_intake_c, &u.intake_k);
  u.ambient_known = difference(before, after, ESTIMATE_CONDITION_key_on, ESTIMATE_QUANTITY_barometer_kpa, &u.ambient_kpa) ||
                    difference(before, after, ESTIMATE_CONDITION_key_on, ESTIMATE_QUANTITY_map_kpa, &u.ambient_kpa);
  return u;
}

static void tell_conditions(const struct compare_side *before, const struct compare_side *after, const struct compare_unlike *u,
                            const struct compare_model *model, struct compare_result *result) {
  const char *what = model->known ? "corrected by the car's model" : "not corrected without --car, so the intervals are wider";
  if (u->coolant_known && fabs(u->coolant_k) > COOLANT_TOLD_K)
    compare_effects_say(&result->unequal, "Coolant %+.0f C from before to after: %s.", u->coolant_k, what);
  if (u->intake_known && fabs(u->intake_k) > INTAKE_TOLD_K)
    compare_effects_say(&result->unequal, "Intake air %+.0f C from before to after: %s.", u->intake_k, what);
  if (u->ambient_known && fabs(u->ambient_kpa) > AMBIENT_TOLD_KPA)
    compare_effects_say(&result->unequal, "Air pressure %+.1f kPa (weather, or another altitude): %s.", u->ambient_kpa, what);
  double battery;
  if (difference(before, after, ESTIMATE_CONDITION_idle, ESTIMATE_QUANTITY_charging_v, &battery) &&
      fabs(battery) > BATTERY_TOLD_V)
    compare_effects_say(&result->unequal,
                        "Charging voltage %+.1f V: the electrical load was not the same, and this is not corrected.", battery);
  if (before->compressor_on != after->compressor_on)
    compare_effects_say(&result->unequal, "The compressor ran in only one of the two, so their idles cannot be compared.");
  const char *missing = !u->coolant_known  ? !u->intake_known ? "Coolant and intake air" : "Coolant"
                        : !u->intake_known ? "Intake air"
                                           : NULL;
  if (missing)
    compare_effects_say(&result->unequal, "%s not in both logs: assumed as on two ordinary warm days.%s", missing,
                        u->ambient_known ? "" : " Nor is the air pressure.");
  else if (!u->ambient_known)
    compare_effects_say(&result->unequal, "Air pressure not in both: assumed as on two ordinary days at one place.");
}

/* ---- Effects ---- */

/* Those that tell most of a repair at the throttle, first. */
static const enum estimate_quantity order[] = {
    ESTIMATE_QUANTITY_speed_rpm,    ESTIMATE_QUANTITY_tp_pct,      ESTIMATE_QUANTITY_blade_pct,    ESTIMATE_QUANTITY_bypass_steps,
    ESTIMATE_QUANTITY_idle_air_pct, ESTIMATE_QUANTITY_learned_pct, ESTIMATE_QUANTITY_effort_pct,   ESTIMATE_QUANTITY_maf_gps,
    ESTIMATE_QUANTITY_map_kpa,      ESTIMATE_QUANTITY_spark_deg,   ESTIMATE_QUANTITY_trim_pct,     ESTIMATE_QUANTITY_trim2_pct,
    ESTIMATE_QUANTITY_target_rpm,   ESTIMATE_QUANTITY_load_pct,    ESTIMATE_QUANTITY_manifold_kpa,
};
static const enum estimate_condition conditions[] = {
    ESTIMATE_CONDITION_idle,      ESTIMATE_CONDITION_drive,   ESTIMATE_CONDITION_idle_ac,   ESTIMATE_CONDITION_hold_2500,
    ESTIMATE_CONDITION_cold_idle, ESTIMATE_CONDITION_ac_step, ESTIMATE_CONDITION_gear_step, ESTIMATE_CONDITION_key_on,
};

/* Whether idle control holds the speed; taken as so where the target is not known. */
static bool governed(const struct compare_side *side, enum estimate_condition condition, const struct compare_model *model) {
  const double speed = compare_effects_value(side, condition, ESTIMATE_QUANTITY_speed_rpm);
  double target = compare_effects_value(side, condition, ESTIMATE_QUANTITY_target_rpm);
  if (isnan(target) && condition == ESTIMATE_CONDITION_idle && model->known) target = model->target_rpm;
  return !(fabs(speed - target) > UNGOVERNED_FROM_RPM);
}

static void add_effect(const struct compare_side *before, const struct compare_side *after, const struct compare_model *model,
                       const struct compare_unlike *unlike, enum estimate_condition condition, enum estimate_quantity quantity,
                       struct compare_result *result) {
  struct compare_effect e = {.condition = condition, .quantity = quantity};
  double sd_before, sd_after;
  if (result->effect_count == COMPARE_EFFECT_MAX) return;
  if (!reading_of(before, condition, quantity, &e.before, &sd_before)) return;
  if (!reading_of(after, condition, quantity, &e.after, &sd_after)) return;
  const double size = 0.5 * (e.before + e.after);
  const double day_before = compare_rows_day_sd(quantity, size, governed(before, condition, model));
  const double day_after = compare_rows_day_sd(quantity, size, governed(after, condition, model));
  e.load = sqrt(2.0) * compare_rows_load_sd(condition, quantity, size);
  const double unequal = compare_rows_unequal_sd(quantity, size, unlike);
  const double by_model = model->known ? model->day_change[condition][quantity] : NAN;
  e.corrected = isfinite(by_model) ? by_model : 0.0;
  e.unequal = isfinite(by_model) ? fmin(unequal, CORRECTION_SD_RATIO * (fabs(e.corrected) + unequal)) : unequal;
  if (condition == ESTIMATE_CONDITION_hold_2500 && before->held_rpm > 0.0 && after->held_rpm > 0.0) {
    const double of_speed = (after->held_rpm - before->held_rpm) * compare_rows_by_speed(quantity, size);
    e.corrected += of_speed;
    e.unequal = hypot(e.unequal, CORRECTION_SD_RATIO * of_speed);
  }
  e.change = e.after - e.before - e.corrected;
  e.sd = sqrt(sd_before * sd_before + sd_after * sd_after + day_before * day_before + day_after * day_after + e.load * e.load +
              e.unequal * e.unequal);
  e.low = e.change - COMPARE_EFFECTS_90 * e.sd;
  e.high = e.change + COMPARE_EFFECTS_90 * e.sd;
  result->effects[result->effect_count++] = e;
}

void compare_effects(const struct compare_side *before, const struct compare_side *after, const struct compare_model *model,
                     struct compare_result *result) {
  const struct compare_unlike unlike = compare_effects_unlike(before, after);
  tell_conditions(before, after, &unlike, model, result);
  for (size_t c = 0; c < sizeof conditions / sizeof conditions[0]; c++)
    for (size_t q = 0; q < sizeof order / sizeof order[0]; q++)
      add_effect(before, after, model, &unlike, conditions[c], order[q], result);
}
